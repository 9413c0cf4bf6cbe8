//! One patient's story as text: current state, scores, timeline, course.

mod criteria;
mod lanes;
mod now;
mod page;

pub(crate) use page::{show_mark, show_page};

use chrono::NaiveDate;

use super::day::short_day;
use super::{TextStyle, contact, grade, hanging, paragraph, unusable, words};
use crate::entry::Contacts;
use crate::report::show::{Happened, Scores, ShowReport};
use crate::report::{At, Report};
use crate::score::{NO_ALL_CLEAR, ScoredSite};
use crate::text::visible;

/// Renders one patient's story.
pub(crate) fn show(report: &Report<ShowReport>, contacts: &Contacts, look: TextStyle) -> String {
    let (body, today) = (&report.body, report.as_of.date());
    let mut out = unusable(look, &report.unusable);
    out.push_str(&hanging(look, &heading(body), "  "));
    for line in contact::household(contacts, &body.patient, body.caregivers.iter().map(|code| (code.as_str(), None))) {
        out.push_str(&hanging(look, &line, "  "));
    }
    out.push_str(&paragraph(look, &now::answer(body, today)));
    out.push('\n');
    out.push_str(&now::text(body, today, look));
    for scores in &body.scores {
        out.push_str(&hanging(look, &score_line(scores, today), "  "));
    }
    out.push('\n');
    out.push_str(&timeline(body, look));
    out.push_str(&course(body, look));
    out.push_str(&criteria::text(body, look));
    if has_scores(body) {
        out.push_str(&paragraph(look, NO_ALL_CLEAR));
    }
    out.push_str(&paragraph(look, &report.caution));
    out
}

/// Returns true if the page contains a score.
fn has_scores(body: &ShowReport) -> bool {
    let of_row = |row: &crate::report::due::Row| row.site().is_some_and(|site| site.score.is_some());
    body.scores.iter().any(|scores| !scores.points.is_empty()) || body.due.iter().flatten().any(of_row)
}

/// Returns the heading: the patient, implant, records and end of support.
fn heading(body: &ShowReport) -> String {
    let mut out = visible(&body.patient);
    if let Some(implanted) = body.implanted {
        out.push_str(&format!(" · implanted {implanted}"));
    }
    if let Some(from) = body.records_from.filter(|from| Some(*from) != body.implanted) {
        out.push_str(&format!(" · records from {from}"));
    }
    if let Some(ended) = &body.ended {
        out.push_str(&format!(" · support ended {}, {}", ended.on, ended.why));
    }
    out
}

fn course(body: &ShowReport, look: TextStyle) -> String {
    let lines = course_lines(body);
    if lines.is_empty() {
        return String::new();
    }
    let lines: String = lines.iter().map(|line| hanging(look, &format!("  {line}"), "    ")).collect();
    format!("Course\n{lines}\n")
}

/// Lists exit sites, places, orders, intolerances and caregivers.
fn course_lines(body: &ShowReport) -> Vec<String> {
    let mut lines = Vec::new();
    for exit in &body.exits {
        let until = exit.until.map(|until| format!(" until {until}")).unwrap_or_default();
        lines.push(format!(
            "exit {}  {}, {}, from {}{until}, POD {}",
            visible(&exit.id),
            exit.at.to_string().replace('-', " "),
            exit.why.to_string().replace('-', " "),
            exit.from,
            exit.pod
        ));
    }
    for care in &body.care {
        let reports = if care.reports == crate::patient::Reports::Log { ", reports by log" } else { "" };
        let zone = care.time_zone.as_ref().map(|zone| format!(", {zone}")).unwrap_or_default();
        lines.push(format!("{}  {}{reports}{zone}", care.from, care.place));
    }
    for order in &body.orders {
        let until = order.until.map(|until| format!(" until {until}")).unwrap_or_default();
        let exit = order.exit.as_ref().map(|exit| format!(" for exit {}", visible(exit))).unwrap_or_default();
        let why = order.why.as_ref().map(|why| format!(": {}", visible(why))).unwrap_or_default();
        let runs = if order.runs_today { ", in force today" } else { "" };
        lines.push(format!("order {}{until}{exit}  {} by {}{why}{runs}", order.from, order.says, order.by));
    }
    if let Some(what) = body.intolerances.as_ref().filter(|what| !what.is_empty()) {
        lines.push(format!("does not tolerate {}", visible(&what.join(", "))));
    }
    if !body.caregivers.is_empty() {
        lines.push(format!("caregivers {}", body.caregivers.join(", ")));
    }
    lines
}

/// Formats the scores of an exit site in one line, oldest first.
fn score_line(scores: &Scores, today: NaiveDate) -> String {
    let exit = visible(&scores.exit);
    if scores.points.is_empty() {
        return format!("Score of exit {exit}: no site record in this period");
    }
    let one = |point: &ScoredSite| {
        let band = words::band(&point.score.band, &point.score.unscored);
        format!("{} {} ({band})", short_day(point.at.date(), today), grade::total(point))
    };
    let points: Vec<String> = scores.points.iter().map(one).collect();
    format!("Score of exit {exit}, 0 to {}, oldest first: {}", scores.most, points.join(", "))
}

fn timeline(body: &ShowReport, look: TextStyle) -> String {
    let mut out = match body.period {
        Some(days) => format!("Timeline from {} to {}, newest first\n", days.from, days.to),
        None => "Timeline, newest first\n".to_owned(),
    };
    if body.timeline.is_empty() {
        out.push_str("  no records\n");
    }
    for event in &body.timeline {
        out.push_str(&hanging(look, &format!("  {}", happened(event)), "      "));
        for (n, line) in event.note.iter().flat_map(|note| note.lines()).enumerate() {
            let head = if n == 0 { "note: " } else { "" };
            out.push_str(&hanging(look, &format!("      {head}{}", visible(line)), "      "));
        }
    }
    out.push('\n');
    out
}

fn happened(event: &Happened) -> String {
    let when = match event.at {
        At::Time(time) => time.format("%Y-%m-%d %H:%M").to_string(),
        At::Day(day) => format!("{day}      "),
    };
    let exit = event.exit.as_ref().map(|exit| format!(" {}", visible(exit))).unwrap_or_default();
    let source = words::source(event.source).map(|source| format!(", {source}")).unwrap_or_default();
    let words = if event.words.is_empty() { String::new() } else { format!(": {}", visible(&event.words)) };
    let amended = if event.amended > 0 { " (amended)" } else { "" };
    match &event.voided {
        Some(why) => format!("{when}  {}{exit} — {}", event.kind, visible(why)),
        None => format!("{when}  {}{exit} by {}{source}{words}{amended}", event.kind, visible(&event.by)),
    }
}
