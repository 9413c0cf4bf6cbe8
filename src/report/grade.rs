//! The score of each exit site: item by item, band, trend.

use rayon::prelude::*;
use schemars::JsonSchema;
use serde::Serialize;

use super::Unusable;
use crate::chart::{Chart, Looks, Window};
use crate::day::AsOf;
use crate::event::Kind;
use crate::patient::Exit;
use crate::policy::Scoring;
use crate::program::Program;
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

/// The grades of `codes`.
pub fn report(
    program: &Program,
    scoring: &Scoring,
    codes: &[&str],
    as_of: AsOf,
    wanted: Looks,
) -> (GradeReport, Vec<Unusable>) {
    let read: Vec<(Vec<Row>, Vec<Unusable>)> =
        codes.par_iter().map(|code| patient_rows(program, scoring, code, as_of, wanted)).collect();
    let (rows, unusable): (Vec<_>, Vec<_>) = read.into_iter().unzip();
    (GradeReport { rows: rows.concat() }, unusable.concat())
}

fn patient_rows(
    program: &Program,
    scoring: &Scoring,
    code: &str,
    as_of: AsOf,
    wanted: Looks,
) -> (Vec<Row>, Vec<Unusable>) {
    let row = |exit: Option<&Exit>| Row {
        patient: code.to_owned(),
        exit: exit.map(|exit| exit.id.clone()),
        assessments: Vec::new(),
        later_unusable: Vec::new(),
    };
    let chart = match program.chart(code, &[Window::Sites(wanted)], as_of) {
        Ok(chart) => chart,
        Err(unjudged) => return (vec![row(None)], unjudged.problems.iter().map(Unusable::from).collect()),
    };
    let rows = chart.patient.exits.iter().map(|exit| {
        let (assessments, later_unusable) = exit_site(program, scoring, &chart, exit, wanted);
        Row { assessments, later_unusable, ..row(Some(exit)) }
    });
    (rows.collect(), chart.unread.problems().map(Unusable::from).collect())
}

/// The site records of an exit site that were asked for, and the unreadable files that may be later than the latest one.
fn exit_site(
    program: &Program,
    scoring: &Scoring,
    chart: &Chart,
    exit: &Exit,
    wanted: Looks,
) -> (Vec<Assessment>, Vec<String>) {
    let timeline = chart.timeline();
    let graded = graded(program, scoring, &timeline, exit);
    let latest = graded.last().map(|graded| graded.event);
    let later_unusable = chart.unread.later_than(latest, &[Kind::Change, Kind::Assessment]);
    (assessments(scoring, &timeline, &graded, wanted), later_unusable)
}

/// Every site record of an exit site as the program's policy scores it.
pub(super) fn graded<'t>(
    program: &Program,
    scoring: &Scoring,
    timeline: &'t Timeline,
    exit: &'t Exit,
) -> Vec<Graded<'t>> {
    let signals = program.policy.as_ref().and_then(|policy| policy.signals.as_ref());
    let image_counts = signals.is_some_and(|signals| signals.image_counts);
    grade(timeline, exit, scoring, program.people.as_ref(), image_counts)
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
