//! The audit for a person: the sections of the report, one after the other.

mod external;
mod page;

pub use external::{audit_external, external_mark, external_page};
pub use page::{audit_mark, audit_page};

use super::{Look, hanging, paragraph, table, unusable, widest};
use crate::report::Report;
use crate::report::audit::{AuditReport, Section, Sheet, heading, sections};
use crate::text::visible;

/// Says of a report that it holds the codes of patients, first of all.
const INTERNAL: &str = "internal: patient codes";

/// The audit.
pub fn audit(report: &Report<AuditReport>, look: Look) -> String {
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

fn text(section: &Section, look: Look) -> String {
    let mut out = format!("\n{}\n", section.title.to_uppercase());
    if let Some(meaning) = section.words.first() {
        out.push_str(&paragraph(look, meaning));
    }
    for sheet in &section.sheets {
        out.push('\n');
        out.push_str(&figures(sheet, look));
    }
    if !section.sheets.is_empty() && section.words.len() > 1 {
        out.push('\n');
    }
    for words in section.words.iter().skip(1) {
        out.push_str(&paragraph(look, words));
    }
    out
}

/// A table where it fits; else each row as a line of its own, each figure behind its name.
fn figures(sheet: &Sheet, look: Look) -> String {
    let needs: usize = (0..sheet.heads.len()).map(|n| widest(&sheet.heads[n], &sheet.rows, n) + 2).sum();
    if needs <= look.width + 2 {
        return numbers(sheet, look);
    }
    let line = |row: &Vec<String>| {
        let cells = sheet.heads.iter().zip(row).skip(1).filter(|(_, cell)| !cell.is_empty());
        let named: Vec<String> =
            cells.map(|(head, cell)| if head.is_empty() { cell.clone() } else { format!("{head} {cell}") }).collect();
        hanging(look, &format!("{}: {}", row[0].trim(), named.join(" · ")), "    ")
    };
    sheet.rows.iter().map(line).collect()
}

/// The first column to the left, figures to the right.
fn numbers(sheet: &Sheet, look: Look) -> String {
    let is_figure = |n: usize| {
        let mut cells = sheet.rows.iter().filter_map(|row| row.get(n)).filter(|cell| !cell.is_empty()).peekable();
        n > 0
            && cells.peek().is_some()
            && cells.all(|cell| cell == "-" || cell.starts_with(|c: char| c.is_ascii_digit()))
    };
    let right: Vec<bool> = (0..sheet.heads.len()).map(is_figure).collect();
    let widths: Vec<usize> = (0..sheet.heads.len()).map(|n| widest(&sheet.heads[n], &sheet.rows, n)).collect();
    let align = |n: usize, text: &str| {
        if right[n] { format!("{text:>width$}", width = widths[n]) } else { text.to_owned() }
    };
    let heads: Vec<String> = sheet.heads.iter().enumerate().map(|(n, head)| align(n, head)).collect();
    let rows = sheet.rows.iter().map(|row| row.iter().enumerate().map(|(n, cell)| align(n, cell)).collect()).collect();
    table(look, &heads.iter().map(String::as_str).collect::<Vec<_>>(), rows)
}
