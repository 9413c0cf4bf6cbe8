//! The scores as text: total, band and trend, with the items as a small table, worst first.

use std::cmp::Reverse;

use chrono::NaiveDate;

use super::{TextStyle, hanging, paragraph, table, unusable, words};
use crate::event::Signal;
use crate::policy::Rubric;
use crate::report::Report;
use crate::report::grade::{GradeReport, GradeRow};
use crate::score::{ScoredItem, ScoredSite, Trend, WEAKNESS};
use crate::signal::{Episode, Urgency};
use crate::text::visible;

/// Renders the scores by a rubric, worst first.
pub(crate) fn grade(report: &Report<GradeReport>, rubric: &Rubric, look: TextStyle) -> String {
    let mut out = unusable(look, &report.unusable);
    let mut rows: Vec<&GradeRow> = report.body.rows.iter().collect();
    rows.sort_by_key(|row| Reverse(rank(row, rubric)));
    for row in rows {
        out.push_str(&graded(row, report.as_of.date(), look));
    }
    if report.body.rows.is_empty() {
        out.push_str("No patients on file: patients/ is missing or empty.\n");
    }
    out.push('\n');
    if Rubric::built_in().as_ref() == Some(rubric) {
        out.push_str(&paragraph(look, WEAKNESS));
    }
    out.push_str(&paragraph(look, &report.caution));
    out
}

fn who(row: &GradeRow) -> String {
    row.exit.as_ref().map_or(row.patient.clone(), |exit| format!("{} exit {}", row.patient, visible(exit)))
}

/// Renders a row: each site record with its items.
fn graded(row: &GradeRow, today: NaiveDate, look: TextStyle) -> String {
    let mut out = String::new();
    if row.assessments.is_empty() {
        let why = if row.exit.is_none() { "cannot read patient.toml" } else { "no site record" };
        out.push_str(&format!("{}  {why}\n", who(row)));
    }
    if !row.later_unusable.is_empty() {
        let files = visible(&row.later_unusable.join(", "));
        let words = format!("{}  Latest score not known: {files} cannot be read and may be later.", who(row));
        out.push_str(&hanging(look, &words, "    "));
    }
    if row.exit.is_some() {
        let lines = open_signals(row, today).into_iter();
        lines.for_each(|line| out.push_str(&hanging(look, &format!("{}  {line}", who(row)), "    ")));
    }
    for assessment in &row.assessments {
        out.push_str(&hanging(look, &format!("{}  {}", who(row), headline(assessment)), "    "));
        out.push_str(&items(&assessment.score.items, look));
    }
    if !row.assessments.is_empty() {
        out.push('\n');
    }
    out
}

/// Lists the open signals of the exit site, before any score: two equal scores in a row are not an all-clear.
fn open_signals(row: &GradeRow, today: NaiveDate) -> Vec<String> {
    let Some(signals) = &row.signals else { return vec!["open signals not known".to_owned()] };
    let said = |signal: &Episode| {
        let latest = signal.evidence.last().filter(|_| signal.signal == Signal::ScoreRising);
        let latest = latest.map(|said| format!(" ({})", words::observation(&said.what, today))).unwrap_or_default();
        let act = || words::act(signal.latest_action.as_ref(), signal.signal, |_| String::new());
        let acted = if signal.news_answered { format!(" ({})", act()) } else { String::new() };
        format!("{}{latest} since {}{acted}", words::signal(signal.signal), super::day::since(signal, today))
    };
    let list = |heading: &str, is_taken: &dyn Fn(&Episode) -> bool| {
        let names: Vec<String> = signals.iter().filter(|signal| is_taken(signal)).map(said).collect();
        (!names.is_empty()).then(|| format!("{heading}: {}", names.join(", ")))
    };
    let open = |urgency| move |signal: &Episode| signal.urgency == urgency && !signal.news_answered;
    let lists = [
        list("NEEDS REVIEW TODAY", &open(Urgency::Today)),
        list("needs review this week", &open(Urgency::ThisWeek)),
        list("acted on, still open", &|signal| signal.news_answered),
    ];
    lists.into_iter().flatten().collect()
}

/// Returns the sort key, greatest first: the worst band, then rows that may be in it, then the other bands, each by points;
/// rows without a site record last.
fn rank(row: &GradeRow, rubric: &Rubric) -> (usize, i64, i64) {
    let bands = rubric.cutoffs.len();
    let of = |assessment: &ScoredSite| {
        let score = &assessment.score;
        let band = match rubric.cutoffs.iter().position(|cutoff| cutoff.band == score.band) {
            Some(n) if n + 1 == bands => bands + 2,
            Some(n) => n + 1,
            None => bands + 1,
        };
        (band, score.total_max, score.total_min)
    };
    let is_unknown = row.exit.is_none() || !row.later_unusable.is_empty();
    let unknown = is_unknown.then_some((bands + 1, i64::MAX, 0));
    row.assessments.iter().map(of).chain(unknown).max().unwrap_or_default()
}

/// Formats a score in one line: total, band and trend.
pub(super) fn in_a_line(assessment: &ScoredSite) -> String {
    format!(
        "score {}: {}, {}",
        total(assessment),
        words::band(&assessment.score.band, &assessment.score.unscored),
        trend(assessment.trend)
    )
}

fn headline(assessment: &ScoredSite) -> String {
    let who = if assessment.staff_look { "seen by staff" } else { "not seen by staff" };
    let (at, score) = (assessment.at.minute(), &assessment.score);
    let most: i64 = score.items.iter().map(|item| item.most).sum();
    let band = words::band(&score.band, &score.unscored);
    format!("{band}: {} of {most} points, {}; {who}, {at}", total(assessment), trend(assessment.trend))
}

/// Formats the total, or its range if an item was not recorded.
pub(super) fn total(assessment: &ScoredSite) -> String {
    let score = &assessment.score;
    assessment.total.map_or_else(|| format!("{} to {}", score.total_min, score.total_max), |total| total.to_string())
}

fn trend(trend: Trend) -> &'static str {
    match trend {
        Trend::First => "first record",
        Trend::Rising => "rising",
        Trend::Steady => "same total as the record before",
        Trend::Falling => "falling",
        Trend::Unclear => "trend unclear",
    }
}

/// Renders the items with points, most first, then one line each for items without points and items not recorded.
fn items(items: &[ScoredItem], look: TextStyle) -> String {
    let mut found: Vec<&ScoredItem> = items.iter().filter(|item| item.points > Some(0)).collect();
    found.sort_by_key(|item| Reverse(item.points));
    let row = |item: &&ScoredItem| {
        let points = item.points.unwrap_or_default();
        let value = item.value.map(|value| words::finding(item.field, value)).unwrap_or_default();
        vec![format!("    {}", words::field(item.field)), format!("{points} of {}", item.most), value]
    };
    let rows: Vec<Vec<String>> = found.iter().map(row).collect();
    let mut out: String = table(look, &["", "", ""], rows).lines().skip(1).map(|line| format!("{line}\n")).collect();
    for (points, name) in [(Some(0), "no points"), (None, "not recorded")] {
        let fields: Vec<&str> =
            items.iter().filter(|item| item.points == points).map(|item| words::field(item.field)).collect();
        if !fields.is_empty() {
            out.push_str(&hanging(look, &format!("    {name}: {}", fields.join(", ")), "      "));
        }
    }
    out
}
