//! One patient's story as a page to print, US Letter or A4: course, what is open now, lanes over time, and the same as a
//! table for who cannot see them.

use super::lanes::{JOINED_DAYS, Lane, lanes, of_lane, picture, total_words};
use super::{course_lines, has_scores, heading, now};
use crate::day::Period;
use crate::event::Kind;
use crate::report::show::{Criteria, Happened, ShowReport};
use crate::report::{At, Report};
use crate::score::NO_ALL_CLEAR;
use crate::text::{count, visible};
use crate::view::html::{self, Markup};

/// The kind of page, by which one of ours is known again.
const KIND: &str = "show";

/// What stands at the beginning of such a page and of no other file.
pub fn show_mark() -> String {
    html::mark(KIND)
}

/// One patient's story as a page: one file, its style inside, nothing fetched from anywhere.
pub fn show_page(report: &Report<ShowReport>) -> String {
    let body = &report.body;
    let as_of = report.as_of.minute();
    let mut parts = vec![Markup::element(
        "h1",
        &[],
        [Markup::text(heading(body)), Markup::of("small", "", format!("   as of {as_of}"))],
    )];
    if let Some(first) = report.unusable.first() {
        let files = count(report.unusable.len() as i64, "file");
        let words = format!("Not complete: {files} could not be used, the first {}: {}", first.file, first.message);
        parts.push(Markup::of("p", "warn", words));
    }
    parts.push(list("course", &course_lines(body)));
    parts.push(Markup::of("h2", "", "Open now"));
    parts.push(list("open", &[now::due_lines(body), now::open_lines(body)].concat()));
    if let Some(days) = days(body) {
        parts.push(Markup::of("h2", "", format!("What happened from {} to {}", days.from, days.to)));
        parts.push(Markup::element("figure", &[], [picture(body, days)]));
        parts.push(Markup::of("p", "caution", legend()));
        parts.push(table(body));
    } else {
        parts.push(Markup::of("p", "", "Nothing that is drawn is on file."));
    }
    for criteria in &body.infection_criteria {
        parts.extend(features(criteria));
    }
    if has_scores(body) {
        parts.push(Markup::of("p", "caution", NO_ALL_CLEAR));
    }
    parts.push(Markup::of("p", "caution", &report.caution));
    html::page(
        KIND,
        &format!("Exit-site story {}", body.patient),
        include_str!("story.css"),
        parts.into_iter().map(Markup::on_a_line),
    )
}

/// The days that are drawn: the period, or from the first to the last that is on file.
fn days(body: &ShowReport) -> Option<Period> {
    let on_file = || body.timeline.iter().map(|event| event.at.date());
    body.period.or(on_file().min().zip(on_file().max()).map(|(from, to)| Period { from, to }))
}

fn list(class: &str, lines: &[String]) -> Markup {
    let lines = lines.iter().map(|line| Markup::of("li", "", line.trim_start()).on_a_line());
    Markup::element("ul", &[("class", class)], lines)
}

fn legend() -> String {
    format!(
        "Score: a dot is a total, an I the range of one that is not complete; totals next to each \
         other are joined, those more than {JOINED_DAYS} days apart are not. P pull, S shower, C culture (black: growth, plain: none, broken line: no result yet), T treatment, I infection \
         as determined (both with a broken line: not ended by then), | change."
    )
}

/// What the picture shows, lane by lane.
fn table(body: &ShowReport) -> Markup {
    let mut rows = Vec::new();
    for scores in &body.scores {
        let points = scores.points.iter().map(|point| (short(&point.at), total_words(point)));
        rows.push(row(&format!("score, exit {}", visible(&scores.exit)), points.collect()));
    }
    for lane in &lanes() {
        let events = of_lane(body, lane).into_iter().map(|event| event_words(event, lane));
        rows.push(row(lane.name, events.collect()));
    }
    Markup::element("table", &[], [Markup::element("tbody", &[], rows)])
}

/// A row of texts, each behind a day that is not broken over two lines.
fn row(name: &str, events: Vec<(String, String)>) -> Markup {
    let mut said = Vec::new();
    for (n, (day, words)) in events.iter().enumerate() {
        said.push(Markup::text(if n == 0 { "" } else { " · " }));
        said.push(Markup::of("span", "day", day));
        said.push(Markup::text(format!(" {words}").trim_end()));
    }
    if events.is_empty() {
        said.push(Markup::text("none on file"));
    }
    let name = Markup::element("th", &[("scope", "row")], [Markup::text(name)]);
    Markup::element("tr", &[], [name, Markup::element("td", &[], said)]).on_a_line()
}

/// An event of the table: of those that come every other day the time alone.
fn event_words(event: &Happened, lane: &Lane) -> (String, String) {
    let exit = event.exit.as_ref().map(|exit| format!("{} ", visible(exit))).unwrap_or_default();
    match lane.kind {
        Kind::Change | Kind::Shower => (short(&event.at), exit.trim_end().to_owned()),
        _ => (short(&event.at), format!("{exit}{}", visible(&event.words))),
    }
}

fn short(at: &At) -> String {
    match at {
        At::Time(time) => time.format("%m-%d %H:%M").to_string(),
        At::Day(day) => day.format("%m-%d").to_string(),
    }
}

/// The features on file around an infection.
fn features(criteria: &Criteria) -> Vec<Markup> {
    let rows = now::criteria_rows(criteria).into_iter().map(|(name, words)| row(&name, vec![(String::new(), words)]));
    vec![
        Markup::of("h2", "", now::criteria_heading(criteria)),
        Markup::element("table", &[], [Markup::element("tbody", &[], rows)]),
        Markup::of("p", "caution", now::CONCLUDES_NOTHING),
    ]
}
