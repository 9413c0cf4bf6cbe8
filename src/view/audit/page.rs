//! The audit as a page to read or print, US Letter or A4: the same sections as the text, with their charts.
//!
//! Left out on purpose: anything that only the page would say. A picture draws figures of the report, and says in words
//! what it draws.

mod curves;
mod drawing;
mod gaps;
mod months;
mod sums;
pub(super) mod tables;

use super::INTERNAL;
use crate::report::Report;
use crate::report::audit::{AuditReport, Picture, Section, heading, sections};
use crate::text::{count, visible};
use crate::view::html::{self, Markup};

/// The kind of page, by which one of ours is known again.
const KIND: &str = "audit";

/// So many files that cannot be used, and so many patients of whom something is hidden, are named on the page; the text
/// names all of them.
const MOST_NAMED: usize = 8;

/// What stands at the beginning of such a page and of no other file.
pub fn audit_mark() -> String {
    html::mark(KIND)
}

/// The audit as a page: one file, its style inside, nothing fetched from anywhere.
pub fn audit_page(report: &Report<AuditReport>) -> String {
    let body = &report.body;
    let as_of = report.as_of.minute();
    let title = format!("Exit-site audit {} to {}", body.period.from, body.period.to);
    let title_shown = [
        Markup::text("Exit-site audit "),
        Markup::of("span", "day", body.period.from.to_string()),
        Markup::text(" to "),
        Markup::of("span", "day", body.period.to.to_string()),
        Markup::of("small", "", format!("   as of {as_of}")),
    ];
    let mut parts = vec![Markup::of("p", "release", INTERNAL), Markup::element("h1", &[], title_shown)];
    parts.extend(not_complete(report));
    parts.extend(heading(body).into_iter().map(|words| Markup::of("p", "", words)));
    let mut beside = Vec::new();
    for section in sections(body) {
        if stands_beside(&section) {
            beside.push(drawn(&section, body).on_a_line());
            continue;
        }
        parts.extend(side_by_side(&mut beside));
        parts.push(drawn(&section, body));
    }
    parts.extend(side_by_side(&mut beside));
    parts.push(Markup::of("p", "caution", &report.caution));
    html::page(
        KIND,
        &format!("{title} {}", visible(&body.program)),
        include_str!("page.css"),
        [Markup::element("main", &[], parts.into_iter().map(Markup::on_a_line)).on_a_line()],
    )
}

/// What is missing, first of all.
fn not_complete(report: &Report<AuditReport>) -> Option<Markup> {
    let hidden = &report.body.hidden;
    if report.unusable.is_empty() && hidden.is_empty() {
        return None;
    }
    let file = |file: &crate::report::Unusable| {
        let place = file.line.map_or(file.file.clone(), |line| format!("{}:{line}", file.file));
        format!("{place}: {}", file.message)
    };
    let mut lines: Vec<String> = report.unusable.iter().take(MOST_NAMED).map(file).collect();
    lines.extend(more(report.unusable.len(), "file"));
    lines.extend(hidden.iter().take(MOST_NAMED).map(|hidden| format!("{}: {}", hidden.patient, hidden.what)));
    lines.extend(more(hidden.len(), "patient"));
    let lines = lines.into_iter().map(|line| Markup::of("li", "", line));
    let words = Markup::of("b", "", "This report is not complete. These files could not be used:");
    Some(Markup::element("div", &[("class", "warn")], [words, Markup::element("ul", &[], lines)]))
}

fn more(all: usize, what: &str) -> Option<String> {
    let more = all.checked_sub(MOST_NAMED).filter(|more| *more > 0)?;
    Some(format!("and {} more, which the text of this report names", count(more as i64, what)))
}

/// A section: what it means, then its pictures and its figures, then what else there is to say.
fn drawn(section: &Section, body: &AuditReport) -> Markup {
    let mut parts = vec![Markup::of("h2", "", section.title)];
    let mut words = section.words.iter();
    parts.extend(words.next().map(|meaning| Markup::of("p", "meaning", meaning)));
    let (figures, not_drawn): (Vec<_>, Vec<_>) =
        section.pictures.iter().map(|picture| picture_of(*picture, body)).partition(Result::is_ok);
    let figures: Vec<Markup> = figures.into_iter().flatten().map(Markup::on_a_line).collect();
    let (narrow, wide): (Vec<Markup>, Vec<Markup>) = tables::tables(&section.sheets);
    parts.extend(not_drawn.into_iter().filter_map(Result::err).map(|why| Markup::of("p", "", why)));
    match figures.len() {
        0 => parts.extend(narrow),
        // one picture has its figures beside it, two stand beside each other
        1 => parts.push(group("sides", [group("", figures), group("", narrow)])),
        _ => parts.extend([group("sides", figures), group("columns", narrow)]),
    }
    parts.extend(wide);
    parts.extend(words.map(|words| Markup::of("p", "", words)));
    Markup::element("section", &[], parts.into_iter().map(Markup::on_a_line))
}

fn group(class: &str, parts: impl IntoIterator<Item = Markup>) -> Markup {
    let attributes = [("class", class)];
    Markup::element("div", if class.is_empty() { &[] } else { &attributes }, parts)
}

/// Whether a section is narrow enough to stand beside another.
fn stands_beside(section: &Section) -> bool {
    section.pictures.is_empty() && section.sheets.iter().all(tables::is_narrow) && !tables::are_alike(&section.sheets)
}

/// The sections that stand beside each other, in columns; one alone has the page's width.
fn side_by_side(beside: &mut Vec<Markup>) -> Option<Markup> {
    let parts = std::mem::take(beside);
    (!parts.is_empty()).then(|| group(if parts.len() > 1 { "columns" } else { "" }, parts))
}

/// A picture of the report, or why there is none.
fn picture_of(picture: Picture, body: &AuditReport) -> Result<Markup, String> {
    let (charts, first) = (&body.charts, &body.first_infection);
    let drawing = match picture {
        Picture::DaysBetween => gaps::days_between(&charts.days_between),
        Picture::Infections => months::infections(&charts.infections),
        Picture::Alarm => sums::alarm(&charts.alarm),
        Picture::OnTime => months::on_time(&charts.on_time),
        Picture::Incidence => curves::incidence(first),
        Picture::Freedom => curves::freedom(first),
    };
    drawing.map(drawing::Drawing::figure)
}
