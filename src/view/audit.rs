//! The audit as text: the sections of the report in order.

mod external;
mod page;
mod pool;
mod section;

pub(crate) use external::{audit_external, external_mark, external_page};
pub(crate) use page::{audit_mark, audit_page};
pub(crate) use pool::{pool, pool_mark, pool_page};

use section::{Section, heading, sections};

use super::html::INTERNAL;
use super::{TextStyle, hanging, paragraph, unusable};
use crate::report::Report;
use crate::report::audit::AuditReport;
use crate::text::visible;

/// Renders the audit.
pub(crate) fn audit(report: &Report<AuditReport>, look: TextStyle) -> String {
    let mut out = format!("{INTERNAL}\n\n{}", unusable(look, &report.unusable));
    for hidden in &report.body.hidden {
        out.push_str(&hanging(look, &format!("  {}: {}", visible(&hidden.patient), hidden.what), "    "));
    }
    if !report.body.hidden.is_empty() {
        out.push('\n');
    }
    for words in heading(&report.body) {
        out.push_str(&paragraph(look, &words));
    }
    for section in sections(&report.body) {
        out.push_str(&text(&section, look));
    }
    out.push('\n');
    out.push_str(&paragraph(look, &report.caution));
    out
}

fn text(section: &Section, look: TextStyle) -> String {
    let mut out = format!("\n{}\n", section.title.to_uppercase());
    if let Some(meaning) = section.words.first() {
        out.push_str(&paragraph(look, meaning));
    }
    for table in &section.tables {
        out.push('\n');
        out.push_str(&table.text_or_lines(look));
    }
    if !section.tables.is_empty() && section.words.len() > 1 {
        out.push('\n');
    }
    for words in section.words.iter().skip(1) {
        out.push_str(&paragraph(look, words));
    }
    out
}
