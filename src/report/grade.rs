//! The score of each exit site: item by item, band, trend.

use rayon::prelude::*;
use schemars::JsonSchema;
use serde::Serialize;
use serde_json::Value;

use super::{At, Unusable};
use crate::day::{AsOf, Period};
use crate::event::{Event, Finding, Kind};
use crate::history::{History, perhaps_later};
use crate::patient::{Exit, Patient};
use crate::policy::Scoring;
use crate::program::Program;
use crate::score::{Graded, Trend, grade};
use crate::timeline::Timeline;
use crate::word::Word;

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

/// One site record as it was scored.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Assessment {
    /// When.
    pub at: At,
    /// The file.
    pub file: String,
    /// The rubric.
    pub rubric: String,
    /// The total; null where an item was not looked at.
    pub total: Option<i64>,
    /// The least it can be.
    pub total_min: i64,
    /// The most it can be.
    pub total_max: i64,
    /// Whether every item was looked at.
    pub complete: bool,
    /// Whether staff saw the site.
    pub staff_look: bool,
    /// Item by item.
    pub items: Vec<Item>,
    /// The band, or undetermined.
    pub band: String,
    /// Which way it moves.
    pub trend: Trend,
}

/// One item.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Item {
    /// The field of `[site]`.
    pub item: String,
    /// What was found; null if it was not looked at.
    pub value: Value,
    /// Its points; null if it was not looked at.
    pub points: Option<i64>,
}

/// Which site records are asked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Wanted {
    /// The latest of each exit site.
    Latest,
    /// Each, in a period or ever.
    Each(Option<Period>),
}

/// The grades of `codes`.
pub fn report(
    program: &Program,
    scoring: &Scoring,
    codes: &[&str],
    as_of: AsOf,
    wanted: Wanted,
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
    wanted: Wanted,
) -> (Vec<Row>, Vec<Unusable>) {
    let mut problems = Vec::new();
    let Some(patient) = program.patient(code, &mut problems) else {
        problems.retain(|problem| problem.makes_unusable());
        return (
            vec![Row { patient: code.to_owned(), exit: None, assessments: Vec::new(), later_unusable: Vec::new() }],
            problems.iter().map(Unusable::from).collect(),
        );
    };
    let mut history = History::of(&program.folder, &patient, program.folder.patient(code));
    history.open_sites(enough(scoring, &patient, as_of, wanted));
    let (events, problems) = history.into_events();
    let unusable = problems.iter().filter(|problem| problem.makes_unusable()).map(Unusable::from).collect();
    let timeline = Timeline::of(&patient, events, as_of.instant);
    let row = |exit: &Exit| {
        let graded = graded(program, scoring, &timeline, exit);
        let latest = graded.last().map(|graded| graded.event);
        let kinds = [Kind::Change, Kind::Assessment];
        Row {
            patient: code.to_owned(),
            exit: Some(exit.id.clone()),
            assessments: assessments(scoring, &timeline, &graded, wanted),
            later_unusable: perhaps_later(&problems, &kinds, latest, &patient.calendar, as_of.instant),
        }
    };
    (patient.exits.iter().map(row).collect(), unusable)
}

/// Says of each event, newest first, whether enough have been opened: of each exit site the one asked for and the one
/// before it, or all back to the period's first day and one more.
fn enough<'a>(
    scoring: &'a Scoring,
    patient: &'a Patient,
    as_of: AsOf,
    wanted: Wanted,
) -> impl FnMut(&Event) -> bool + 'a {
    let mut records = vec![0; patient.exits.len()];
    move |event| {
        let is_site =
            event.site().is_some_and(|site| scoring.rubric.items.iter().any(|item| site.finding(item.field).is_some()));
        let is_early_enough = match wanted {
            Wanted::Latest => true,
            Wanted::Each(Some(period)) => event.when.care_day < period.from,
            Wanted::Each(None) => false,
        };
        if is_site && is_early_enough && event.void.is_none() && event.exists(&patient.calendar, as_of.instant) {
            for (n, exit) in patient.exits.iter().enumerate() {
                records[n] += i32::from(patient.concerns(event, exit));
            }
        }
        let needed = if wanted == Wanted::Latest { 2 } else { 1 };
        records.iter().all(|count| *count >= needed)
    }
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

fn assessments(scoring: &Scoring, timeline: &Timeline, graded: &[Graded], wanted: Wanted) -> Vec<Assessment> {
    let chosen: Vec<&Graded> = match wanted {
        Wanted::Latest => graded.last().into_iter().collect(),
        Wanted::Each(period) => graded
            .iter()
            .filter(|graded| period.is_none_or(|period| period.contains(graded.event.when.care_day)))
            .collect(),
    };
    chosen.into_iter().map(|graded| Assessment::of(graded, scoring, timeline.patient)).collect()
}

impl Assessment {
    /// A graded site record as it is reported.
    pub fn of(graded: &Graded, scoring: &Scoring, patient: &Patient) -> Assessment {
        let score = &graded.score;
        Assessment {
            at: At::of(&graded.event.when, &patient.calendar),
            file: graded.event.file().to_owned(),
            rubric: scoring.rubric.name.clone(),
            total: score.total(),
            total_min: score.total_min,
            total_max: score.total_max,
            complete: score.is_complete(),
            staff_look: graded.is_staff_look,
            items: score
                .items
                .iter()
                .map(|item| Item { item: item.field.word().to_owned(), value: value(item.value), points: item.points })
                .collect(),
            band: score.band.clone(),
            trend: graded.trend,
        }
    }
}

fn value(finding: Option<Finding>) -> Value {
    match finding {
        None => Value::Null,
        Some(Finding::Word(word)) => Value::from(word),
        Some(Finding::Measure(number)) => Value::from(number),
        Some(Finding::Flag(flag)) => Value::from(flag),
    }
}
