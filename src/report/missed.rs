//! Which changes were expected over a period, and what became of each.

use chrono::NaiveDate;
use rayon::prelude::*;
use schemars::JsonSchema;
use serde::Serialize;

use super::Unusable;
use crate::chart::Window;
use crate::day::{AsOf, Period};
use crate::patient::{Exit, Patient};
use crate::policy::Plan;
use crate::program::Program;
use crate::schedule::{Missed, Outcome, Schedule};
use crate::timeline::Timeline;

/// The missed intervals.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct MissedReport {
    /// A row for each exit site that is open in the period.
    pub rows: Vec<Row>,
    /// The period.
    #[serde(skip)]
    pub period: Option<Period>,
}

/// One exit site's row. Figures are null where a file that they need cannot be used.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Row {
    /// The patient's code.
    pub patient: String,
    /// The exit site's id.
    pub exit: Option<String>,
    /// On time, late and missed.
    pub expected: Option<i64>,
    /// On its day, or early.
    pub on_time: Option<i64>,
    /// After its day, before the next was due.
    pub late: Option<i64>,
    /// Not before the next was due.
    pub missed: Option<i64>,
    /// Nobody has told yet.
    pub unreported: Option<i64>,
    /// It can still be made.
    pub open: Option<i64>,
    /// Days on whose end nothing regular was past due.
    pub days_in_date: DaysInDate,
    /// On time of those expected.
    pub share: Share,
    /// The longest gap between two changes, in days.
    pub longest_gap_days: Option<i64>,
    /// Expected days of the period before today that are not covered.
    pub days_not_covered: Option<i64>,
    /// Each expected change.
    pub changes: Vec<ExpectedChange>,
}

/// Covered expected days of the period before today.
#[derive(Debug, Clone, Default, Serialize, JsonSchema)]
pub struct DaysInDate {
    /// All of them.
    pub days: Option<i64>,
    /// Those on whose end nothing regular was past due.
    pub in_date: Option<i64>,
    /// Their share, 0 to 1.
    pub share: Option<f64>,
}

/// A share with its two ends.
#[derive(Debug, Clone, Default, Serialize, JsonSchema)]
pub struct Share {
    /// On time of on time, late and missed.
    pub value: Option<f64>,
    /// The same if all the unreported were missed.
    pub if_all_missed: Option<f64>,
    /// The same if all the unreported were met.
    pub if_all_met: Option<f64>,
}

/// One expected change.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct ExpectedChange {
    /// The day on which it was due.
    pub due_on: NaiveDate,
    /// What became of it.
    pub outcome: Outcome,
    /// The day of the change that ended it.
    pub done_on: Option<NaiveDate>,
    /// Days late; null where that is not known.
    pub days_late: Option<i64>,
    /// The phase of the due day.
    pub phase: String,
}

/// The expected changes of `codes` over a period.
pub fn report(
    program: &Program,
    plan: &Plan,
    codes: &[&str],
    as_of: AsOf,
    period: Period,
) -> (MissedReport, Vec<Unusable>) {
    let read: Vec<(Vec<Row>, Vec<Unusable>)> =
        codes.par_iter().map(|code| patient_rows(program, plan, code, as_of, period)).collect();
    let (rows, unusable): (Vec<_>, Vec<_>) = read.into_iter().unzip();
    (MissedReport { rows: rows.concat(), period: Some(period) }, unusable.concat())
}

fn patient_rows(program: &Program, plan: &Plan, code: &str, as_of: AsOf, period: Period) -> (Vec<Row>, Vec<Unusable>) {
    let chart = match program.chart(code, &[Window::Changes(period)], as_of) {
        Ok(chart) => chart,
        Err(unjudged) => {
            return (vec![Row::unknown(code, None)], unjudged.problems.iter().map(Unusable::from).collect());
        }
    };
    let timeline = chart.timeline();
    let row = |exit: &Exit| {
        if chart.unread.is_empty() {
            Row::of(plan, &chart.patient, exit, &timeline, period)
        } else {
            Row::unknown(code, Some(exit))
        }
    };
    let unusable = chart.unread.problems().map(Unusable::from).collect();
    (chart.patient.exits_open_between(period.from, period.to).map(row).collect(), unusable)
}

impl Row {
    fn of(plan: &Plan, patient: &Patient, exit: &Exit, timeline: &Timeline, period: Period) -> Row {
        let missed = Missed::of(&Schedule { plan, patient, exit }, timeline, period);
        let [on_time, late, missed_count, unreported, open] =
            [Outcome::OnTime, Outcome::Late, Outcome::Missed, Outcome::Unreported, Outcome::Open]
                .map(|outcome| missed.count(outcome));
        let expected = on_time + late + missed_count;
        Row {
            patient: patient.code.clone(),
            exit: Some(exit.id.clone()),
            expected: Some(expected),
            on_time: Some(on_time),
            late: Some(late),
            missed: Some(missed_count),
            unreported: Some(unreported),
            open: Some(open),
            days_in_date: DaysInDate {
                days: Some(missed.days.len() as i64),
                in_date: Some(missed.days_in_date()),
                share: share(missed.days_in_date(), missed.days.len() as i64),
            },
            share: Share {
                value: share(on_time, expected),
                if_all_missed: share(on_time, expected + unreported),
                if_all_met: share(on_time + unreported, expected + unreported),
            },
            longest_gap_days: missed.longest_gap_days,
            days_not_covered: Some(missed.days_not_covered),
            changes: missed
                .expectations
                .into_iter()
                .map(|row| ExpectedChange {
                    due_on: row.due_on,
                    outcome: row.outcome,
                    done_on: row.done_on,
                    days_late: row.days_late,
                    phase: row.phase,
                })
                .collect(),
        }
    }

    fn unknown(code: &str, exit: Option<&Exit>) -> Row {
        Row {
            patient: code.to_owned(),
            exit: exit.map(|exit| exit.id.clone()),
            expected: None,
            on_time: None,
            late: None,
            missed: None,
            unreported: None,
            open: None,
            days_in_date: DaysInDate::default(),
            share: Share::default(),
            longest_gap_days: None,
            days_not_covered: None,
            changes: Vec::new(),
        }
    }
}

/// A share of a whole, 0 to 1; none of nothing.
fn share(part: i64, whole: i64) -> Option<f64> {
    (whole > 0).then(|| part as f64 / whole as f64)
}
