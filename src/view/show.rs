//! One patient's story for a person: course, orders, what is due, the score over time, what happened.

mod lanes;
mod now;
mod page;

pub(crate) use page::{show_mark, show_page};

use super::{Look, hanging, paragraph, unusable};
use crate::day::Period;
use crate::report::show::{Happened, Scores, ShowReport};
use crate::report::{At, Report};
use crate::score::{Assessment, NO_ALL_CLEAR};
use crate::text::{self, visible};

/// The most columns of the chart.
const CHART_COLUMNS: usize = 60;

/// One patient's story.
pub(crate) fn show(report: &Report<ShowReport>, look: Look) -> String {
    let body = &report.body;
    let mut out = unusable(look, &report.unusable);
    out.push_str(&course(body, look));
    out.push_str(&now::text(body, look));
    for scores in &body.scores {
        out.push_str(&chart(scores, body.period, look));
    }
    out.push_str(&timeline(body, look));
    out.push_str(&now::criteria_text(body, look));
    if has_scores(body) {
        out.push_str(&paragraph(look, NO_ALL_CLEAR));
    }
    out.push_str(&paragraph(look, &report.caution));
    out
}

/// Whether a score stands on the page.
fn has_scores(body: &ShowReport) -> bool {
    body.scores.iter().any(|scores| !scores.points.is_empty())
        || body.due.iter().flatten().any(|row| row.site().is_some_and(|site| site.score.is_some()))
}

fn course(body: &ShowReport, look: Look) -> String {
    let mut out = format!("{}\n", heading(body));
    course_lines(body).iter().for_each(|line| out.push_str(&hanging(look, &format!("  {line}"), "    ")));
    out.push('\n');
    out
}

/// Who it is about.
fn heading(body: &ShowReport) -> String {
    let mut out = visible(&body.patient);
    if let Some(implanted) = body.implanted {
        out.push_str(&format!(" · implanted {implanted}"));
    }
    if let Some(from) = body.records_from.filter(|from| Some(*from) != body.implanted) {
        out.push_str(&format!(" · records from {from}"));
    }
    out
}

/// Exit sites, places, orders and whatever else holds for a while.
fn course_lines(body: &ShowReport) -> Vec<String> {
    let mut lines = Vec::new();
    for exit in &body.exits {
        let until = exit.until.map(|until| format!(" until {until}")).unwrap_or_default();
        lines.push(format!(
            "exit {}  {}, {}, from {}{until}, POD {}",
            visible(&exit.id),
            exit.at,
            exit.why,
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
        let runs = if order.runs_today { ", runs today" } else { "" };
        lines.push(format!("order {}{until}{exit}  {} by {}{why}{runs}", order.from, order.says, order.by));
    }
    if let Some(what) = body.intolerances.as_ref().filter(|what| !what.is_empty()) {
        lines.push(format!("does not tolerate {}", visible(&what.join(", "))));
    }
    if !body.caregivers.is_empty() {
        lines.push(format!("caregivers {}", body.caregivers.join(", ")));
    }
    if let Some(ended) = &body.ended {
        lines.push(format!("support ended {}, {}", ended.on, ended.why));
    }
    lines
}

/// The score over time, a column for each day or for a few; a gap without a record stays empty.
fn chart(scores: &Scores, period: Option<Period>, look: Look) -> String {
    let Some((first, last)) = scores.points.first().zip(scores.points.last()) else {
        return format!("exit {}: no site record in this period\n\n", visible(&scores.exit));
    };
    let from = period.map_or(first.at.date(), |days| days.from);
    let to = period.map_or(last.at.date(), |days| days.to);
    let columns = CHART_COLUMNS.min(look.width.saturating_sub(6)).max(10);
    let days = (to - from).num_days() + 1;
    let per_column = (days as usize).div_ceil(columns).max(1);
    let columns = (days as usize).div_ceil(per_column);
    let mut worst: Vec<Option<&Assessment>> = vec![None; columns];
    for point in &scores.points {
        let n = (point.at.date() - from).num_days() as usize / per_column;
        if let Some(cell) = worst.get_mut(n) {
            *cell = Some(
                cell.map_or(point, |other| if point.score.total_max >= other.score.total_max { point } else { other }),
            );
        }
    }
    let unit = if per_column == 1 { "a day".to_owned() } else { text::count(per_column as i64, "day") };
    let caption =
        format!("score of exit {}, a column for {unit}; * a total, ? a range, empty: no record", visible(&scores.exit));
    let mut out = paragraph(look, &caption);
    let step = (scores.most + 4) / 5;
    for level in (0..=5).rev().map(|n| n * step.max(1)) {
        let mark = |cell: &Option<&Assessment>| match cell {
            Some(point) if point.complete && rounded(point.score.total_min, step) == level => '*',
            Some(point)
                if !point.complete
                    && rounded(point.score.total_min, step) <= level
                    && level <= rounded(point.score.total_max, step) =>
            {
                '?'
            }
            _ => ' ',
        };
        out.push_str(format!("{level:>4} |{}", worst.iter().map(mark).collect::<String>()).trim_end());
        out.push('\n');
    }
    let (from, to) = (from.to_string(), to.to_string());
    let ends = if columns >= 22 {
        format!("{from}{to:>width$}", width = columns - from.len())
    } else {
        format!("{from} to {to}")
    };
    out.push_str(&format!("     +{}\n      {ends}\n\n", "-".repeat(columns)));
    out
}

/// A total on the chart's level at or above it, so that a finding never looks like none.
fn rounded(total: i64, step: i64) -> i64 {
    let step = step.max(1);
    (total + step - 1) / step * step
}

fn timeline(body: &ShowReport, look: Look) -> String {
    let mut out = match body.period {
        Some(days) => format!("What happened from {} to {}, newest first\n", days.from, days.to),
        None => "What happened, newest first\n".to_owned(),
    };
    if body.timeline.is_empty() {
        out.push_str("  nothing on file\n");
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
    let source =
        if event.source == crate::event::Telling::Seen { String::new() } else { format!(", {}", event.source) };
    let words = if event.words.is_empty() { String::new() } else { format!(": {}", visible(&event.words)) };
    let amended = if event.amended > 0 { " (amended)" } else { "" };
    match &event.voided {
        Some(why) => format!("{when}  {}{exit} — {}", event.kind, visible(why)),
        None => format!("{when}  {}{exit} by {}{source}{words}{amended}", event.kind, visible(&event.by)),
    }
}
