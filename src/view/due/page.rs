//! The morning list as a page to print: a box for what came of each call.

use super::block::Block;
use super::fact::{first, is_plain, second};
use super::line::head;
use super::{counts, unnamed};
use crate::day::Calendar;
use crate::report::Report;
use crate::report::due::{DueReport, Row};
use crate::view::html::{self, Markup};
use crate::view::{not_known_words, off_words};

/// The kind of page, by which one of ours is known again.
const KIND: &str = "due";

/// The mark at the beginning of such a page and of no other file.
pub(crate) fn due_mark() -> String {
    html::mark(KIND)
}

/// The rows that `is_shown` takes, as a page: one file, its style inside, nothing fetched from anywhere.
pub(crate) fn due_page(report: &Report<DueReport>, calendar: &Calendar, is_shown: impl Fn(&Row) -> bool) -> String {
    let body = &report.body;
    let mut parts = vec![Markup::of("h1", "", "Exit-site list"), Markup::of("p", "", counts(report, calendar))];
    let files = unnamed(report);
    if !files.is_empty() {
        let files: Vec<String> = files.iter().map(|file| format!("{}: {}", file.file, file.message)).collect();
        parts.push(Markup::of("p", "warn", format!("Not complete. Cannot read {}", files.join("; "))));
    }
    let shown: Vec<&Row> = body.rows.iter().filter(|row| is_shown(row)).collect();
    for block in Block::ALL {
        let rows: Vec<&Row> = shown.iter().copied().filter(|row| Block::of(row) == block).collect();
        if !rows.is_empty() {
            parts.push(Markup::of("h2", "", format!("{} ({})", block.heading(), rows.len())));
            parts.push(table(block, &rows));
        }
    }
    if shown.is_empty() {
        parts.push(Markup::of("p", "", "None of them is overdue, due today or has an open signal that is known."));
    }
    for line in [off_words(&body.off), not_known_words(&body.signals_not_known)].into_iter().flatten() {
        parts.push(Markup::of("p", "", line));
    }
    parts.push(Markup::of("p", "caution", &report.caution));
    let title = "Exit-site list";
    html::page(KIND, title, include_str!("due.css"), parts.into_iter().map(Markup::on_a_line))
}

/// The rows of a block, each with a box to write in.
fn table(block: Block, rows: &[&Row]) -> Markup {
    let row = |row: &&Row| {
        let [code, place, call] = head(row);
        let is_routine = block == Block::DueToday && is_plain(row);
        let mut facts = vec![Markup::text(first(row).join("; "))];
        let more = second(row);
        if !more.is_empty() && !is_routine {
            facts.push(Markup::of("div", "more", more.join("; ")));
        }
        let cells = [
            Markup::element("th", &[("scope", "row")], [Markup::text(code)]),
            Markup::of("td", "", place),
            Markup::of("td", "", call),
            Markup::element("td", &[], facts),
            Markup::element("td", &[("class", "box")], []),
        ];
        Markup::element("tr", &[], cells).on_a_line()
    };
    let heads = ["Patient", "Place", "Call", "Why", "What came of it"]
        .map(|head| Markup::element("th", &[("scope", "col")], [Markup::text(head)]));
    let head = Markup::element("thead", &[], [Markup::element("tr", &[], heads)]);
    Markup::element("table", &[], [head, Markup::element("tbody", &[], rows.iter().map(row))])
}
