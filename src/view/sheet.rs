//! Sheets for a household in its language: the monthly log and the checkoff of a curriculum, as text or as a page to print;
//! the log also as CSV rows and as a calendar.

mod calendar;
mod checkoff;
mod language;
mod page;
mod rows;
mod text;
mod words;

pub(crate) use calendar::{CALENDAR_MARK, calendar, due_days};
pub(crate) use language::Language;
pub(crate) use rows::rows;

use super::{TextStyle, html, unusable};
use crate::report::Report;
use crate::report::sheet::SheetReport;
use crate::text::visible;

/// The kind of page in its mark.
const KIND: &str = "sheet";

/// Renders a sheet as text.
pub(crate) fn sheet(report: &Report<SheetReport>, language: &Language, look: TextStyle) -> String {
    let mut out = unusable(look, &report.unusable);
    if let Some(log) = &report.body.log {
        out.push_str(&text::log(log, language, look));
        out.push_str(&super::paragraph(look, language.say("page.caution")));
    }
    for checkoff in &report.body.checkoffs {
        out.push_str(&checkoff::text(checkoff, language, look));
        out.push_str(&super::paragraph(look, &visible(&checkoff::typed(checkoff))));
        out.push('\n');
    }
    if report.body.log.is_none() {
        out.push_str(&super::paragraph(look, &report.caution));
    }
    out
}

/// Renders a sheet as a self-contained HTML page to print.
pub(crate) fn sheet_page(report: &Report<SheetReport>, language: &Language) -> String {
    let body = &report.body;
    let sheets = maud::html! {
        main {
            @if let Some(log) = &body.log { (page::log(log, language)) }
            @for checkoff in &body.checkoffs { (checkoff::page(checkoff, language)) "\n" }
        }
    };
    let title = match (&body.log, body.checkoffs.first()) {
        (Some(log), _) => words::title(log, language),
        (None, Some(checkoff)) => checkoff::title(checkoff, language),
        (None, None) => language.say("page.title").to_owned(),
    };
    html::page_in(&language.code, KIND, &title, include_str!("sheet/print.css"), sheets)
}

/// Returns the mark that only such a page begins with.
pub(crate) fn sheet_mark() -> String {
    html::mark(KIND)
}
