//! The grades for a person: total, band, trend, and every item.

use super::{Look, hanging, paragraph, unusable};
use crate::report::grade::{Assessment, GradeReport, Item};
use crate::report::{At, Report};
use crate::score::{Trend, WEAKNESS};
use crate::text::visible;

/// The grades.
pub fn grade(report: &Report<GradeReport>, is_built_in: bool, look: Look) -> String {
    let mut out = unusable(look, &report.unusable);
    for row in &report.body.rows {
        let who = row.exit.as_ref().map_or(row.patient.clone(), |exit| format!("{} {}", row.patient, visible(exit)));
        if row.assessments.is_empty() {
            let why = if row.exit.is_none() { "cannot be judged" } else { "no site record" };
            out.push_str(&format!("{who}  {why}\n"));
        }
        for assessment in &row.assessments {
            out.push_str(&hanging(look, &format!("{who}  {}", headline(assessment)), "    "));
            out.push_str(&hanging(look, &format!("    {}", items(&assessment.items)), "    "));
        }
        if !row.later_unusable.is_empty() {
            let files = visible(&row.later_unusable.join(", "));
            let words = format!("    The latest is not known: {files} cannot be used and may be later.");
            out.push_str(&hanging(look, &words, "    "));
        }
    }
    if report.body.rows.is_empty() {
        out.push_str("No patients on file: patients/ is missing or empty.\n");
    }
    out.push('\n');
    if is_built_in {
        out.push_str(&paragraph(look, WEAKNESS));
    }
    out.push_str(&paragraph(look, &report.caution));
    out
}

/// A score in one line: total, band, and which way it moves.
pub(super) fn short(assessment: &Assessment) -> String {
    let total = match assessment.total {
        Some(total) => total.to_string(),
        None => format!("{} to {}, not everything was looked at", assessment.total_min, assessment.total_max),
    };
    format!("score {total}: {}, {}", assessment.band, trend(assessment.trend))
}

fn headline(assessment: &Assessment) -> String {
    let total = match assessment.total {
        Some(total) => format!("total {total}"),
        None => format!("total {} to {}, not everything was looked at", assessment.total_min, assessment.total_max),
    };
    let who = if assessment.staff_look { "seen by staff" } else { "not seen by staff" };
    format!("{}  {}  {total}, {}, {who}", day(&assessment.at), assessment.band, trend(assessment.trend))
}

fn day(at: &At) -> String {
    match at {
        At::Time(time) => time.format("%Y-%m-%d %H:%M").to_string(),
        At::Day(day) => day.to_string(),
    }
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

fn items(items: &[Item]) -> String {
    let item = |item: &Item| {
        let value = match &item.value {
            serde_json::Value::String(word) => word.clone(),
            serde_json::Value::Null => "not looked at".to_owned(),
            value => value.to_string().trim_end_matches(".0").to_owned(),
        };
        let points = item.points.map_or(String::new(), |points| format!(" = {points}"));
        format!("{} {value}{points}", item.item)
    };
    items.iter().map(item).collect::<Vec<_>>().join(" · ")
}
