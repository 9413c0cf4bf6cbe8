//! The morning list as a page to print, with a box for the outcome of each call.

use maud::{Markup, html};

use super::block::RowBlock;
use super::fact::{first, second};
use super::line::head;
use super::{closing_lines, counts, none_shown, title_of, unnamed};
use crate::day::Calendar;
use crate::entry::Contacts;
use crate::report::Report;
use crate::report::due::{DueReport, Row};
use crate::view::contact;
use crate::view::html::{self, INTERNAL};

/// The kind of page in its mark.
const KIND: &str = "due";

/// The addition to the first line if the page contains names.
const WITH_NAMES: &str = ", names, phone numbers: shred after use";

/// Returns the mark that only such a page begins with.
pub(crate) fn due_mark() -> String {
    html::mark(KIND)
}

/// Renders the rows that pass `is_shown` as a self-contained HTML page.
/// With `contacts`, each row has the names and phone numbers to call.
pub(crate) fn due_page(
    report: &Report<DueReport>,
    calendar: &Calendar,
    is_shown: impl Fn(&Row) -> bool,
    named: Option<usize>,
    contacts: &Contacts,
) -> String {
    let body = &report.body;
    let shown: Vec<&Row> = body.rows.iter().filter(|row| is_shown(row)).collect();
    let of_block = |block| shown.iter().copied().filter(|row| RowBlock::of(row) == block).collect::<Vec<&Row>>();
    let page = html! {
        p class="release" { (INTERNAL) @if !contacts.is_empty() { (WITH_NAMES) } } "\n"
        h1 { "Exit-site list" } "\n"
        p { (counts(report, calendar, named)) } "\n"
        @for file in unnamed(report) {
            p class="warn" { "Incomplete. Cannot read " (file.file) ": " (file.message) } "\n"
        }
        @for (block, rows) in RowBlock::ALL.map(|block| (block, of_block(block))) {
            @if !rows.is_empty() {
                h2 { (title_of(block, &rows, &body.rows)) } "\n"
                (table(&rows, contacts)) "\n"
            }
        }
        @if shown.is_empty() { p { (none_shown(body)) } "\n" }
        @for line in closing_lines(body, &shown) {
            p { (line) } "\n"
        }
        p class="caution" { (report.caution) } "\n"
    };
    html::page(KIND, "Exit-site list", include_str!("due.css"), page)
}

/// Renders the rows of a block, each with a box to write in.
fn table(rows: &[&Row], contacts: &Contacts) -> Markup {
    html! {
        table {
            thead { tr { @for head in ["Patient", "Place", "Call", "Reason", "Outcome"] { th scope="col" { (head) } } } }
            tbody { @for row in rows { (table_row(row, contacts)) "\n" } }
        }
    }
}

fn table_row(row: &Row, contacts: &Contacts) -> Markup {
    let [code, place, call] = head(row);
    let more = second(row);
    html! {
        tr {
            th scope="row" { (code) }
            td { (place) }
            td {
                (call)
                @for line in contact::of_row(contacts, row) { div class="more" { (line) } }
            }
            td {
                (first(row).join("; "))
                @if !more.is_empty() { div class="more" { (more.join("; ")) } }
            }
            td class="box" {}
        }
    }
}
