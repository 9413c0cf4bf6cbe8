//! Expected changes in a period, with the outcome of each.

use chrono::NaiveDate;
use schemars::JsonSchema;
use serde::Serialize;

use super::Judged;
use crate::chart::Chart;
use crate::day::Period;
use crate::patient::ExitSite;
use crate::policy::CarePlan;
use crate::schedule::{ChangeOutcome, DaysInDate, Expectation, Missed, OnTime, Schedule};
use crate::timeline::Timeline;

/// The report of missed changes.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct MissedReport {
    /// The period.
    pub period: Period,
    /// One row per exit site open in the period.
    pub rows: Vec<MissedRow>,
}

/// One exit site's row.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct MissedRow {
    /// The patient's code.
    pub patient: String,
    /// The exit site's id; null if the patient's course cannot be read.
    pub exit: Option<String>,
    /// The figures; null if a file that they need cannot be read.
    #[serde(flatten)]
    pub figures: Judged<Figures>,
}

/// The expected changes of one exit site, by outcome.
#[derive(Debug, Clone, Default, Serialize, JsonSchema)]
pub struct Figures {
    /// Sum of on time, late and missed.
    pub expected: i64,
    /// Done on the due day or earlier.
    pub on_time: i64,
    /// Done after the due day, before the next change was due.
    pub late: i64,
    /// Not done before the next change was due.
    pub missed: i64,
    /// Not reported yet.
    pub unreported: i64,
    /// Not done yet, but can still be done.
    pub open: i64,
    /// Days that ended with no regular change past due.
    pub days_in_date: DaysInDate<Option<f64>>,
    /// Proportion of expected changes done on time.
    pub share: OnTime<Proportion>,
    /// The longest gap between two changes, in days.
    pub longest_gap_days: Option<i64>,
    /// Expected days of the period, before today, that no record covers.
    pub days_not_covered: i64,
    /// Due days of missed changes that a household that reports each change did not report.
    pub not_reported_on: Vec<NaiveDate>,
    /// The expected changes.
    pub changes: Vec<Expectation>,
}

/// A proportion without limits, 0 to 1.
#[derive(Debug, Clone, Copy, Default, Serialize, JsonSchema)]
#[schemars(inline)]
pub struct Proportion {
    /// The proportion; null if the denominator is 0.
    pub value: Option<f64>,
}

/// Returns a patient's rows, one per exit site open in the period. Requires the window `Changes`.
pub fn rows(plan: &CarePlan, chart: &Chart, period: Period) -> Vec<MissedRow> {
    let timeline = chart.timeline();
    let row = |exit: &ExitSite| {
        let schedule = Schedule { plan, patient: &chart.patient, exit };
        let figures = chart.unread.is_empty().then(|| Figures::of(Missed::of(&schedule, &timeline, period), &timeline));
        MissedRow { patient: chart.patient.code.clone(), exit: Some(exit.id.clone()), figures: figures.into() }
    };
    chart.patient.exits_open_between(period.from, period.to).map(row).collect()
}

/// Returns the row of a patient whose course cannot be read.
pub(crate) fn unjudged(code: &str) -> Vec<MissedRow> {
    vec![MissedRow { patient: code.to_owned(), exit: None, figures: Judged::Unreadable }]
}

impl Figures {
    fn of(missed: Missed, timeline: &Timeline) -> Figures {
        let [on_time, late, missed_count, unreported, open] = [
            ChangeOutcome::OnTime,
            ChangeOutcome::Late,
            ChangeOutcome::Missed,
            ChangeOutcome::Unreported,
            ChangeOutcome::Open,
        ]
        .map(|outcome| missed.count(outcome));
        let expected = on_time + late + missed_count;
        let (days, in_date) = (missed.days.len() as i64, missed.days_in_date());
        Figures {
            expected,
            on_time,
            late,
            missed: missed_count,
            unreported,
            open,
            days_in_date: DaysInDate { days: days as u64, in_date: in_date as u64, share: share(in_date, days) },
            share: OnTime {
                share: Proportion { value: share(on_time, expected) },
                if_all_missed: share(on_time, expected + unreported),
                if_all_met: share(on_time + unreported, expected + unreported),
            },
            longest_gap_days: missed.longest_gap_days,
            days_not_covered: missed.days_not_covered,
            not_reported_on: missed
                .expectations
                .iter()
                .filter(|one| one.outcome == ChangeOutcome::Missed && timeline.is_covered_by_silence(one.due_on))
                .map(|one| one.due_on)
                .collect(),
            changes: missed.expectations,
        }
    }
}

/// Returns a proportion, 0 to 1; `None` if the denominator is 0.
fn share(part: i64, whole: i64) -> Option<f64> {
    (whole > 0).then(|| part as f64 / whole as f64)
}
