//! The audit as a page to read or print, US Letter or A4: the same sections as the text, with their charts.
//!
//! Left out on purpose: anything that only the page would say. A picture draws figures of the report, and says in words
//! what it draws.

mod curves;
pub(super) mod funnel;
mod gaps;
mod mean_count;
mod months;
mod plot;
mod sums;

use maud::{Markup, html};

use plot::Marked;

use super::section::interventions::drawn as lower_alarm_drawn;
use super::section::{Picture, Section, heading, sections};
use crate::report::audit::AuditReport;
use crate::report::{Report, Unusable};
use crate::text::{count, visible};
use crate::view::html::{self, INTERNAL, unbroken};
use crate::view::table::Table;

/// The kind of page, by which one of ours is known again.
const KIND: &str = "audit";

/// The most unreadable files, and patients with hidden records, on the page; the text names all of them.
const MOST_NAMED: usize = 8;
/// The most columns of a table that leaves room for another beside it.
const NARROW: usize = 6;

/// The mark at the beginning of such a page and of no other file.
pub(crate) fn audit_mark() -> String {
    html::mark(KIND)
}

/// The audit as a page: one file, its style inside, nothing fetched from anywhere.
pub(crate) fn audit_page(report: &Report<AuditReport>) -> String {
    let body = &report.body;
    let as_of = report.as_of.minute();
    let title = format!("Exit-site audit {} to {} {}", body.period.from, body.period.to, visible(&body.program));
    let all = sections(body);
    let page = html! {
        main {
            p class="release" { (INTERNAL) } "\n"
            h1 {
                "Exit-site audit " span class="day" { (body.period.from) } " to " span class="day" { (body.period.to) }
                small { "   as of " (as_of) }
            } "\n"
            (not_complete(report))
            @for words in heading(body) { p { (unbroken(&words)) } "\n" }
            @for group in all.chunk_by(|a, b| stands_beside(a) && stands_beside(b)) {
                @match group {
                    [section] => (drawn(section, body)),
                    sections => div class="columns" { @for section in sections { (drawn(section, body)) "\n" } },
                } "\n"
            }
            p class="caution" { (report.caution) } "\n"
        }
    };
    let head = format!("{title} · as of {as_of} · {INTERNAL}");
    html::page(KIND, &title, &(include_str!("page.css").to_owned() + &html::running_head(&head)), page)
}

/// The files that cannot be read, and what they hide.
fn not_complete(report: &Report<AuditReport>) -> Markup {
    let (unusable, hidden) = (&report.unusable, &report.body.hidden);
    let file = |file: &Unusable| {
        let place = file.line.map_or(file.file.clone(), |line| format!("{}:{line}", file.file));
        format!("{place}: {}", file.message)
    };
    html! {
        @if !unusable.is_empty() || !hidden.is_empty() {
            div class="warn" {
                b { "This report is not complete. These files could not be used:" }
                ul {
                    @for one in unusable.iter().take(MOST_NAMED) { li { (file(one)) } }
                    (more(unusable.len(), "file"))
                    @for one in hidden.iter().take(MOST_NAMED) { li { (one.patient) ": " (one.what) } }
                    (more(hidden.len(), "patient"))
                }
            } "\n"
        }
    }
}

fn more(all: usize, what: &str) -> Markup {
    let more = all.saturating_sub(MOST_NAMED);
    html! { @if more > 0 { li { "and " (count(more as i64, what)) " more, which the text of this report names" } } }
}

/// A section: its meaning, then its pictures and its figures, then the rest of its sentences.
fn drawn(section: &Section, body: &AuditReport) -> Markup {
    let (figures, not_drawn): (Vec<_>, Vec<_>) =
        section.pictures.iter().map(|picture| picture_of(*picture, body)).partition(Result::is_ok);
    let figures: Vec<Markup> = figures.into_iter().flatten().collect();
    let (narrow, wide): (Vec<&Table>, Vec<&Table>) = match &section.page {
        Some(_) => (Vec::new(), Vec::new()),
        None => section.tables.iter().partition(|table| is_narrow(table)),
    };
    html! {
        section {
            h2 { (section.title) } "\n"
            @if let Some(meaning) = section.words.first() { p class="meaning" { (unbroken(meaning)) } "\n" }
            @for why in not_drawn.into_iter().filter_map(Result::err) { p { (why) } "\n" }
            // one picture has its figures beside it, two stand beside each other
            @match &figures[..] {
                [] => (tables(section, &narrow)),
                [figure] => div class="sides" { div { (figure) } div { (tables(section, &narrow)) } },
                figures => {
                    div class="sides" { @for figure in figures { (figure) "\n" } }
                    div class="tables" { (tables(section, &narrow)) }
                }
            }
            (tables(section, &wide))
            @if let Some(page) = &section.page { (page) "\n" }
            @for words in section.words.iter().skip(1) { p { (unbroken(words)) } "\n" }
        }
    }
}

fn tables(section: &Section, tables: &[&Table]) -> Markup {
    let caption = |table: &Table| format!("{}: {}", section.title, table.headings.join(", "));
    html! { @for table in tables { (table.scrolling(&caption(table))) "\n" } }
}

fn is_narrow(table: &Table) -> bool {
    table.headings.len() <= NARROW
}

/// Returns true if a section is narrow enough to stand beside another.
fn stands_beside(section: &Section) -> bool {
    section.pictures.is_empty() && section.page.is_none() && section.tables.iter().all(is_narrow)
}

/// A picture of the report, or why there is none.
fn picture_of(picture: Picture, body: &AuditReport) -> Result<Markup, String> {
    let (charts, first) = (&body.charts, &body.first_infection);
    let marked = Marked { period: body.period, interventions: &body.interventions };
    let drawing = match picture {
        Picture::DaysBetween => gaps::days_between(&charts.days_between, marked),
        Picture::Infections => months::infections(&charts.infections, marked),
        Picture::Alarm => sums::alarm(&charts.alarm, marked),
        Picture::LowerAlarm => match lower_alarm_drawn(&body.interventions) {
            Some(one) => sums::lower_alarm(one, marked),
            None => return Err("There is no lower-sided alarm to draw.".to_owned()),
        },
        Picture::OnTime => months::on_time(&charts.on_time, marked),
        Picture::Incidence => curves::incidence(first),
        Picture::Freedom => curves::freedom(first),
        Picture::MeanCount => mean_count::mean_count(&body.recurrent),
    };
    drawing.map(|drawing| drawing.figure())
}
