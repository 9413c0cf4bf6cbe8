//! The morning list as a page to print: a box for what came of each call.

use maud::{Markup, html};

use super::block::Block;
use super::fact::{first, second};
use super::line::head;
use super::{NONE_SHOWN, closing_lines, counts, patients, titled, unnamed};
use crate::day::Calendar;
use crate::entry::Contacts;
use crate::report::Report;
use crate::report::due::{DueReport, Row};
use crate::view::contact;
use crate::view::html::{self, INTERNAL};

/// The kind of page, by which one of ours is known again.
const KIND: &str = "due";

/// Behind the first line where the page holds names.
const WITH_NAMES: &str = ", names, telephone numbers: shred after use";

/// The mark at the beginning of such a page and of no other file.
pub(crate) fn due_mark() -> String {
    html::mark(KIND)
}

/// The rows that `is_shown` takes, as a page: one file, its style inside, nothing fetched from anywhere.
///
/// With `contacts` each row says whom to call and how.
pub(crate) fn due_page(
    report: &Report<DueReport>,
    calendar: &Calendar,
    is_shown: impl Fn(&Row) -> bool,
    contacts: &Contacts,
) -> String {
    let body = &report.body;
    let shown: Vec<&Row> = body.rows.iter().filter(|row| is_shown(row)).collect();
    let of_block = |block| shown.iter().copied().filter(|row| Block::of(row) == block).collect::<Vec<&Row>>();
    let page = html! {
        p class="release" { (INTERNAL) @if !contacts.is_empty() { (WITH_NAMES) } } "\n"
        h1 { "Exit-site list" } "\n"
        p { (counts(report, calendar)) } "\n"
        @for file in unnamed(report) {
            p class="warn" { "Not complete. Cannot read " (file.file) ": " (file.message) } "\n"
        }
        @for (block, rows) in Block::ALL.map(|block| (block, of_block(block))) {
            @if !rows.is_empty() {
                h2 { (titled(block, patients(&rows))) } "\n"
                (table(&rows, contacts)) "\n"
            }
        }
        @if shown.is_empty() { p { (NONE_SHOWN) } "\n" }
        @for line in closing_lines(body, &shown) {
            p { (line) } "\n"
        }
        p class="caution" { (report.caution) } "\n"
    };
    html::page(KIND, "Exit-site list", include_str!("due.css"), page)
}

/// The rows of a block, each with a box to write in.
fn table(rows: &[&Row], contacts: &Contacts) -> Markup {
    html! {
        table {
            thead { tr { @for head in ["Patient", "Place", "Call", "Why", "What came of it"] { th scope="col" { (head) } } } }
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
