//! The grades for a person: total, band and trend, and the items as a small table, worst first.

use std::cmp::Reverse;

use super::{Look, hanging, paragraph, table, unusable, words};
use crate::policy::Rubric;
use crate::report::Report;
use crate::report::grade::{GradeReport, Row};
use crate::score::{Assessment, ScoredItem, Trend, WEAKNESS};
use crate::text::visible;

/// The grades by a rubric, the worst first.
pub(crate) fn grade(report: &Report<GradeReport>, rubric: &Rubric, look: Look) -> String {
    let mut out = unusable(look, &report.unusable);
    let mut rows: Vec<&Row> = report.body.rows.iter().collect();
    rows.sort_by_key(|row| Reverse(row.assessments.iter().map(|assessment| rank(assessment, rubric)).max()));
    let (scored, others): (Vec<&Row>, Vec<&Row>) = rows.into_iter().partition(|row| !row.assessments.is_empty());
    for row in scored {
        for assessment in &row.assessments {
            let headline = format!("{}  {}", who(row), headline(assessment));
            out.push_str(&hanging(look, &headline, "    "));
            out.push_str(&items(&assessment.score.items, look));
        }
        if !row.later_unusable.is_empty() {
            let files = visible(&row.later_unusable.join(", "));
            let words = format!("    Not known to be the latest: {files} cannot be read and may be later.");
            out.push_str(&hanging(look, &words, "    "));
        }
        out.push('\n');
    }
    for row in others {
        let why = if row.exit.is_none() { "cannot read patient.toml" } else { "no site record" };
        out.push_str(&format!("{}  {why}\n", who(row)));
        if !row.later_unusable.is_empty() {
            let files = visible(&row.later_unusable.join(", "));
            out.push_str(&hanging(look, &format!("    {files} cannot be read and may be one."), "    "));
        }
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

fn who(row: &Row) -> String {
    row.exit.as_ref().map_or(row.patient.clone(), |exit| format!("{} exit {}", row.patient, visible(exit)))
}

/// The place in the list: the worst band, then what may be it, then the other bands; by points inside a band.
fn rank(assessment: &Assessment, rubric: &Rubric) -> (usize, i64, i64) {
    let score = &assessment.score;
    let worst = rubric.cutoffs.len();
    let band = match rubric.cutoffs.iter().position(|cutoff| cutoff.band == score.band) {
        Some(n) if n + 1 == worst => worst + 1,
        Some(n) => n,
        None => worst,
    };
    (band, score.total_max, score.total_min)
}

/// A score in one line: total, band, and which way it moves.
pub(super) fn short(assessment: &Assessment) -> String {
    format!("score {}: {}, {}", total(assessment), words::band(&assessment.score.band), trend(assessment.trend))
}

fn headline(assessment: &Assessment) -> String {
    let who = if assessment.staff_look { "seen by staff" } else { "not seen by staff" };
    let (at, score) = (assessment.at.minute(), &assessment.score);
    let most: i64 = score.items.iter().map(|item| item.most).sum();
    let band = words::band(&score.band);
    format!("{band}: {} of {most} points, {}; {who}, {at}", total(assessment), trend(assessment.trend))
}

/// The total, or its range where an item was not looked at.
pub(super) fn total(assessment: &Assessment) -> String {
    let score = &assessment.score;
    assessment.total.map_or_else(|| format!("{} to {}", score.total_min, score.total_max), |total| total.to_string())
}

fn trend(trend: Trend) -> &'static str {
    match trend {
        Trend::First => "first record",
        Trend::Rising => "rising",
        Trend::Steady => "steady",
        Trend::Falling => "falling",
        Trend::Unclear => "trend unclear",
    }
}

/// The items with their points, the most points first, what was not looked at behind them.
fn items(items: &[ScoredItem], look: Look) -> String {
    let mut items: Vec<&ScoredItem> = items.iter().collect();
    items.sort_by_key(|item| (item.points.is_none(), Reverse(item.points)));
    let row = |item: &&ScoredItem| {
        let value = item.value.map_or("not looked at".to_owned(), |value| words::finding(item.field, value));
        let points = match item.points {
            Some(points) => format!("{points} of {}", item.most),
            None => format!("0 to {}", item.most),
        };
        vec![format!("    {}", words::field(item.field)), points, value]
    };
    let rows: Vec<Vec<String>> = items.iter().map(row).collect();
    let text = table(look, &["", "", ""], rows);
    text.lines().filter(|line| !line.is_empty()).map(|line| format!("{line}\n")).collect()
}
