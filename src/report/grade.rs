//! The score of each exit site: item by item, band, trend.

use schemars::JsonSchema;
use serde::Serialize;

use crate::chart::{Chart, Looks};
use crate::event::Kind;
use crate::patient::Exit;
use crate::policy::Scoring;
use crate::rules::Rules;
use crate::score::{Assessment, Graded, grade};
use crate::timeline::Timeline;

/// The grades.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct GradeReport {
    /// A row for each exit site on file.
    pub rows: Vec<Row>,
}

/// One exit site's row.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Row {
    /// The patient's code.
    pub patient: String,
    /// The exit site's id; null where the patient cannot be judged.
    pub exit: Option<String>,
    /// The site records that were asked for, in order.
    pub assessments: Vec<Assessment>,
    /// Files that cannot be used and may be later than the latest site record.
    pub later_unusable: Vec<String>,
}

/// A patient's row for each exit site. It needs the window `Sites`.
pub fn rows(scoring: &Scoring, chart: &Chart, wanted: Looks) -> Vec<Row> {
    let row = |exit: &Exit| {
        let (assessments, later_unusable) = exit_site(scoring, chart, exit, wanted);
        Row { patient: chart.patient.code.clone(), exit: Some(exit.id.clone()), assessments, later_unusable }
    };
    chart.patient.exits.iter().map(row).collect()
}

/// The row of a patient who cannot be judged.
pub fn unjudged(code: &str) -> Vec<Row> {
    vec![Row { patient: code.to_owned(), exit: None, assessments: Vec::new(), later_unusable: Vec::new() }]
}

/// The site records of an exit site that were asked for, and the unreadable files that may be later than the latest one.
fn exit_site(scoring: &Scoring, chart: &Chart, exit: &Exit, wanted: Looks) -> (Vec<Assessment>, Vec<String>) {
    let timeline = chart.timeline();
    let graded = graded(chart.rules, scoring, &timeline, exit);
    let latest = graded.last().map(|graded| graded.event);
    let later_unusable = chart.unread.later_than(latest, &[Kind::Change, Kind::Assessment]);
    (assessments(scoring, &timeline, &graded, wanted), later_unusable)
}

/// Every site record of an exit site as the program's policy scores it.
pub fn graded<'t>(rules: Rules, scoring: &Scoring, timeline: &'t Timeline, exit: &'t Exit) -> Vec<Graded<'t>> {
    let signals = rules.policy.and_then(|policy| policy.signals.as_ref());
    let image_counts = signals.is_some_and(|signals| signals.image_counts);
    grade(timeline, exit, scoring, rules.people, image_counts)
}

fn assessments(scoring: &Scoring, timeline: &Timeline, graded: &[Graded], wanted: Looks) -> Vec<Assessment> {
    let chosen: Vec<&Graded> = match wanted {
        Looks::Latest => graded.last().into_iter().collect(),
        Looks::Each(period) => graded
            .iter()
            .filter(|graded| period.is_none_or(|period| period.contains(graded.event.when.care_day)))
            .collect(),
    };
    chosen.into_iter().map(|graded| graded.assessment(scoring, &timeline.patient.calendar)).collect()
}
