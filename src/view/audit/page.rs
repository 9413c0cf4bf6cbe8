//! The audit as a page to read or print (US Letter or A4): the sections of the text, with charts.
//! Left out on purpose: information that only the page would have. Each picture draws figures of the report and describes
//! them in words.

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
use crate::view::table::CellTable;

/// The kind of page in its mark.
const KIND: &str = "audit";

/// The maximum number of unreadable files, and of patients with hidden records, listed on the page; the text lists all.
const MOST_NAMED: usize = 8;
/// The maximum number of columns of a table placed next to another.
const NARROW: usize = 6;

/// Returns the mark that only such a page begins with.
pub(crate) fn audit_mark() -> String {
    html::mark(KIND)
}

/// Renders the audit as a self-contained HTML page.
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

/// Renders the unreadable files, and the figures that they affect.
fn not_complete(report: &Report<AuditReport>) -> Markup {
    let (unusable, hidden) = (&report.unusable, &report.body.hidden);
    let file = |file: &Unusable| {
        let place = file.line.map_or(file.file.clone(), |line| format!("{}:{line}", file.file));
        format!("{place}: {}", file.message)
    };
    html! {
        @if !unusable.is_empty() || !hidden.is_empty() {
            div class="warn" {
                b { "This report is incomplete. These files could not be read:" }
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
    html! { @if more > 0 { li { "and " (count(more as i64, what)) " more, listed in the text version of this report" } } }
}

/// Renders a section: its lead sentence, then pictures and tables, then the other sentences.
fn drawn(section: &Section, body: &AuditReport) -> Markup {
    let (figures, not_drawn): (Vec<_>, Vec<_>) =
        section.pictures.iter().map(|picture| picture_of(*picture, body)).partition(Result::is_ok);
    let figures: Vec<Markup> = figures.into_iter().flatten().collect();
    let (narrow, wide): (Vec<&CellTable>, Vec<&CellTable>) = match &section.page {
        Some(_) => (Vec::new(), Vec::new()),
        None => section.tables.iter().partition(|table| is_narrow(table)),
    };
    html! {
        section {
            h2 { (section.title) } "\n"
            @if let Some(meaning) = section.words.first() { p class="meaning" { (unbroken(meaning)) } "\n" }
            @for why in not_drawn.into_iter().filter_map(Result::err) { p { (why) } "\n" }
            // One picture goes next to its table; two go next to each other.
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

fn tables(section: &Section, tables: &[&CellTable]) -> Markup {
    let caption = |table: &CellTable| format!("{}: {}", section.title, table.headings.join(", "));
    html! { @for table in tables { (table.scrolling(&caption(table))) "\n" } }
}

fn is_narrow(table: &CellTable) -> bool {
    table.headings.len() <= NARROW
}

/// Returns true if a section is narrow enough to go next to another.
fn stands_beside(section: &Section) -> bool {
    section.pictures.is_empty() && section.page.is_none() && section.tables.iter().all(is_narrow)
}

/// Draws a picture of the report, or returns the reason why there is none.
fn picture_of(picture: Picture, body: &AuditReport) -> Result<Markup, String> {
    let (charts, first) = (&body.charts, &body.first_infection);
    let marked = Marked { period: body.period, through: body.counted_through, interventions: &body.interventions };
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
