//! The grades for a person: total, band, trend, and every item.

use super::{Look, hanging, paragraph, unusable};
use crate::event::Finding;
use crate::report::Report;
use crate::report::grade::GradeReport;
use crate::score::{Assessment, ScoredItem, Trend, WEAKNESS};
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
            out.push_str(&hanging(look, &format!("    {}", items(&assessment.score.items)), "    "));
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
        None => {
            format!("{} to {}, not everything was looked at", assessment.score.total_min, assessment.score.total_max)
        }
    };
    format!("score {total}: {}, {}", assessment.score.band, trend(assessment.trend))
}

fn headline(assessment: &Assessment) -> String {
    let total = match assessment.total {
        Some(total) => format!("total {total}"),
        None => format!(
            "total {} to {}, not everything was looked at",
            assessment.score.total_min, assessment.score.total_max
        ),
    };
    let who = if assessment.staff_look { "seen by staff" } else { "not seen by staff" };
    format!("{}  {}  {total}, {}, {who}", assessment.at.minute(), assessment.score.band, trend(assessment.trend))
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

fn items(items: &[ScoredItem]) -> String {
    let item = |item: &ScoredItem| {
        let value = match item.value {
            Some(Finding::Word(word)) => word.to_owned(),
            Some(Finding::Measure(number)) => number.to_string(),
            Some(Finding::Flag(flag)) => flag.to_string(),
            None => "not looked at".to_owned(),
        };
        let points = item.points.map_or(String::new(), |points| format!(" = {points}"));
        format!("{} {value}{points}", item.field)
    };
    items.iter().map(item).collect::<Vec<_>>().join(" · ")
}
