//! Recurrent events: the mean cumulative count of infections, and their overdispersion between patients.

use std::collections::BTreeMap;

use chrono::NaiveDate;
use schemars::JsonSchema;
use serde::Serialize;

use super::events;
use crate::audit::Contribution;
use crate::day::Period;
use crate::surveillance::follow_up::{AtRisk, FollowUp, FollowUpEnd};
use crate::surveillance::mean_count::{MeanCountStep, RecurrentEvents, at_risk, mean_count};
use crate::surveillance::rate::Rate;
use crate::surveillance::spread::RateVariance;

/// All infections of each patient, counted as in the rates. Death, transplant and recovery end the count; a transfer, or any
/// other end, censors it.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Recurrent {
    /// Patients on file by the last day, including those with an infection before the records began.
    pub patients: u64,
    /// Their infections on file by the last day.
    pub events: u64,
    /// Patients by number of infections, including 0.
    pub by_infections: Vec<WithInfections>,
    /// The mean cumulative count: infections per patient by days since implant.
    pub mean_count: Vec<MeanCountStep>,
    /// The number at risk by days since implant.
    pub at_risk: Vec<AtRisk>,
    /// The displayed part of the count; null if too few patients were at risk on every day.
    pub shown: Option<ShownCount>,
    /// The period's rate with its between-patient variation.
    pub of_period: BetweenPatients,
    /// The rate of all time on file up to the last day, with its between-patient variation.
    pub on_file: BetweenPatients,
}

/// The patients with a given number of infections.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, JsonSchema)]
pub struct WithInfections {
    /// Infections per patient.
    pub infections: u64,
    /// Patients with that number.
    pub patients: u64,
}

/// The part of the mean count with enough patients at risk, for those under support at its start and from then on.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct ShownCount {
    /// The first day since implant with enough patients at risk.
    pub from: i64,
    /// The last day since implant with enough patients at risk.
    pub to: i64,
    /// Infections per patient since the first day.
    pub mean_count: Vec<MeanCountStep>,
}

/// A rate per 1,000 device-days with its between-patient variation.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, JsonSchema)]
pub struct BetweenPatients {
    /// Infections.
    pub events: u64,
    /// Device-days.
    pub device_days: i64,
    /// Patients with at least one device-day.
    pub patients: u64,
    /// The rate with its Poisson limits.
    pub rate: Rate,
    /// The robust variance compared with the Poisson variance.
    #[serde(flatten)]
    pub spread: RateVariance,
}

impl Recurrent {
    pub(super) fn of(all: &[Contribution], period: Period, least: u64) -> Recurrent {
        let last = period.to;
        let courses: Vec<RecurrentEvents> = all.iter().filter_map(|one| course(one, last)).collect();
        let mut by_infections: BTreeMap<u64, u64> = BTreeMap::new();
        for course in &courses {
            *by_infections.entry(course.onsets.len() as u64).or_default() += 1;
        }
        let with = |(infections, patients)| WithInfections { infections, patients };
        Recurrent {
            patients: courses.len() as u64,
            events: courses.iter().map(|course| course.onsets.len() as u64).sum(),
            by_infections: by_infections.into_iter().map(with).collect(),
            mean_count: mean_count(&courses),
            at_risk: at_risk(&courses),
            shown: ShownCount::of(&courses, least),
            of_period: BetweenPatients::of(all, period),
            on_file: BetweenPatients::of(all, Period { from: NaiveDate::MIN, to: last }),
        }
    }
}

/// Returns a patient's time on file up to a day, with the infections in it.
fn course(one: &Contribution, last: NaiveDate) -> Option<RecurrentEvents> {
    let follow_up = one.stay.observed(last).filter(FollowUp::is_observed)?;
    let is_counted = |onset: NaiveDate| onset <= last && one.stay.holds(onset);
    let events = one.infections.iter().filter(|infection| infection.is_event() && is_counted(infection.onset));
    Some(RecurrentEvents {
        follow_up,
        onsets: events.map(|infection| one.stay.since_implant(infection.onset)).collect(),
    })
}

impl ShownCount {
    /// Computes the count from the first to the last day with at least `least` at risk.
    fn of(courses: &[RecurrentEvents], least: u64) -> Option<ShownCount> {
        let steps = at_risk(courses);
        let from = steps.iter().find(|step| step.patients >= least)?.day;
        let last = steps.iter().rposition(|step| step.patients >= least)?;
        let to = steps.get(last + 1).map_or(from, |next| next.day - 1);
        let cut = |course: &RecurrentEvents| {
            let FollowUp { from: entry, to: left, end } = course.follow_up;
            let end = if left > to { FollowUpEnd::Censored } else { end };
            RecurrentEvents {
                follow_up: FollowUp { from: entry.max(from), to: left.min(to), end },
                onsets: course.onsets.clone(),
            }
        };
        Some(ShownCount { from, to, mean_count: mean_count(&courses.iter().map(cut).collect::<Vec<_>>()) })
    }
}

impl BetweenPatients {
    fn of(all: &[Contribution], period: Period) -> BetweenPatients {
        let mut counts: BTreeMap<&str, u64> = BTreeMap::new();
        for (one, _) in events(all, period) {
            *counts.entry(one.patient.as_str()).or_default() += 1;
        }
        let count = |one: &Contribution| counts.get(one.patient.as_str()).copied().unwrap_or(0);
        let each =
            all.iter().map(|one| (count(one), one.stay.days(period))).filter(|(events, days)| *days > 0 || *events > 0);
        let each: Vec<(u64, i64)> = each.collect();
        let (events, device_days) = each.iter().fold((0, 0), |sum, one| (sum.0 + one.0, sum.1 + one.1));
        BetweenPatients {
            events,
            device_days,
            patients: each.iter().filter(|(_, days)| *days > 0).count() as u64,
            rate: Rate::of(events, device_days as f64 / 1000.0),
            spread: RateVariance::of(
                &each.iter().map(|(events, days)| (*events, *days as f64 / 1000.0)).collect::<Vec<_>>(),
            ),
        }
    }
}
