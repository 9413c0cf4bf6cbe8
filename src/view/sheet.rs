//! Sheets for a household: the log of a month and the checkoff of a curriculum, as text, as a page to print, and, of the
//! log, as rows for a spreadsheet.

mod checkoff;
mod page;
mod rows;
mod text;
mod words;

pub use rows::rows;

use super::{Look, html, unusable};
use crate::report::Report;
use crate::report::sheet::SheetReport;

/// The kind of page, by which one of ours is known again.
const KIND: &str = "sheet";

/// A sheet as text.
pub fn sheet(report: &Report<SheetReport>, look: Look) -> String {
    let mut out = unusable(look, &report.unusable);
    if let Some(log) = &report.body.log {
        out.push_str(&text::log(log, look));
    }
    for checkoff in &report.body.checkoffs {
        out.push_str(&checkoff::text(checkoff, look));
    }
    out.push_str(&super::paragraph(look, &report.caution));
    out
}

/// A sheet as a page to print: one file, its style inside, nothing fetched from anywhere.
pub fn sheet_page(report: &Report<SheetReport>) -> String {
    let body = &report.body;
    let logs = body.log.iter().flat_map(|log| page::log(report, log));
    let checkoffs = body.checkoffs.iter().map(|checkoff| checkoff::page(report, checkoff));
    let title = match (&body.log, body.checkoffs.first()) {
        (Some(log), _) => format!("Driveline exit-site log {}, {}", log.patient, words::month(log)),
        (None, Some(checkoff)) => format!("Checkoff {} version {}", checkoff.curriculum, checkoff.version),
        (None, None) => "Sheet".to_owned(),
    };
    html::page(KIND, &title, include_str!("sheet/print.css"), logs.chain(checkoffs))
}

/// What stands at the beginning of such a page and of no other file.
pub fn sheet_mark() -> String {
    html::mark(KIND)
}
