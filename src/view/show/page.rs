//! One patient's story as a page to print (US Letter or A4): summary, current state, timeline in lanes, and the same timeline
//! as a table for screen readers.

use maud::{Markup, html};

use super::lanes::{DrawnLane, JOINED_DAYS, lanes, of_lane, picture, total_words};
use super::{course_lines, criteria, has_scores, heading, now};
use crate::audit::Month;
use crate::day::Period;
use crate::event::Kind;
use crate::report::show::{Happened, ShowReport};
use crate::report::{At, Report};
use crate::score::NO_ALL_CLEAR;
use crate::text::{count, visible};
use crate::view::html::{self, INTERNAL};

/// The kind of page in its mark.
const KIND: &str = "show";

/// Returns the mark that only such a page begins with.
pub(crate) fn show_mark() -> String {
    html::mark(KIND)
}

/// Renders one patient's story as a self-contained HTML page.
pub(crate) fn show_page(report: &Report<ShowReport>) -> String {
    let body = &report.body;
    let page = html! {
        main {
            p class="release" { (INTERNAL) } "\n"
            h1 { (heading(body)) small { "   as of " (report.as_of.minute()) } } "\n"
            @if let Some(first) = report.unusable.first() {
                p class="warn" {
                    "Incomplete: " (count(report.unusable.len() as i64, "file")) " cannot be read, the first "
                    (first.file) ": " (first.message)
                } "\n"
            }
            p class="answer" { (now::answer(body, report.as_of.date())) } "\n"
            @for block in now::blocks(body, report.as_of.date()) {
                h2 { (block.heading) } "\n"
                (list("open", &block.lines)) "\n"
            }
            @match days(body) {
                Some(days) => {
                    h2 { "Timeline from " (days.from) " to " (days.to) } "\n"
                    figure { (picture(body, days)) } "\n"
                    p class="caution" { (legend()) } "\n"
                    (table(body)) "\n"
                }
                None => p { "No records to draw." },
            }
            h2 { "Course" } "\n"
            (list("course", &course_lines(body))) "\n"
            @for one in &body.infection_criteria {
                h2 { (criteria::heading(one)) } "\n"
                table { tbody { @for (name, words) in criteria::rows(one) { (row(&name, html! { (words) })) } } } "\n"
                p class="caution" { (criteria::CONCLUDES_NOTHING) } "\n"
            }
            @if has_scores(body) { p class="caution" { (NO_ALL_CLEAR) } "\n" }
            p class="caution" { (report.caution) } "\n"
        }
    };
    html::page(KIND, &format!("Exit-site story {}", body.patient), include_str!("story.css"), page)
}

/// Returns the days drawn: the period, or the first to the last day on file.
fn days(body: &ShowReport) -> Option<Period> {
    let on_file = || body.timeline.iter().map(|event| event.at.date());
    body.period.or(on_file().min().zip(on_file().max()).map(|(from, to)| Period { from, to }))
}

fn list(class: &str, lines: &[String]) -> Markup {
    html! { ul class=(class) { @for line in lines { li { (line.trim_start()) } "\n" } } }
}

fn legend() -> String {
    format!(
        "Score: a dot is a total, an I the range of an incomplete total; neighboring totals are connected unless more than {JOINED_DAYS} days apart. P pull, S shower, C culture (black: growth, plain: no growth, dashed: no result yet), T treatment, I infection as determined (T and I dashed: not ended by then), | change. Marks that would touch become ticks (culture with growth thick, without a result dashed)."
    )
}

/// Renders the events of the picture as a table, by lane.
fn table(body: &ShowReport) -> Markup {
    html! {
        table { tbody {
            @for scores in &body.scores {
                @let points = scores.points.iter().map(|point| (point.at, total_words(point))).collect::<Vec<_>>();
                (row(&format!("score, exit {}", visible(&scores.exit)), by_month(&points)))
            }
            @for lane in &lanes() {
                @let events = of_lane(body, lane).into_iter().map(|event| (event.at, event_words(event, lane)));
                (row(lane.name, by_month(&events.collect::<Vec<_>>())))
            }
        } }
    }
}

fn row(name: &str, said: Markup) -> Markup {
    html! { tr { th scope="row" { (name) } td { (said) } } "\n" }
}

/// Renders texts after their unbroken dates, one paragraph per month.
fn by_month(events: &[(At, String)]) -> Markup {
    let month = |event: &(At, String)| Month::of(event.0.date());
    html! {
        @if events.is_empty() { "none on file" }
        @for events in events.chunk_by(|a, b| month(a) == month(b)) {
            p {
                b { (month(&events[0])) } " "
                @for (n, (at, words)) in events.iter().enumerate() {
                    @if n > 0 { " · " }
                    span class="day" { (in_month(at)) } @if !words.is_empty() { " " (words) }
                }
            }
        }
    }
}

/// Formats an event of the table; for frequent kinds, the time alone.
fn event_words(event: &Happened, lane: &DrawnLane) -> String {
    let exit = event.exit.as_ref().map(|exit| format!("{} ", visible(exit))).unwrap_or_default();
    match lane.kind {
        Kind::Change | Kind::Shower => exit.trim_end().to_owned(),
        _ => format!("{exit}{}", visible(&event.words)),
    }
}

/// Formats the day of the month, with the time if known.
fn in_month(at: &At) -> String {
    match at {
        At::Time(time) => time.format("%d %H:%M").to_string(),
        At::Day(day) => day.format("%d").to_string(),
    }
}
