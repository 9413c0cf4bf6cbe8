//! Interventions of the program: the rate before and after each, and the evidence that it has fallen.
//! Left out on purpose: causes. A program often intervenes after a bad period, and regression to the mean alone would improve
//! the next one.

use chrono::NaiveDate;
use schemars::JsonSchema;
use serde::Serialize;

use super::charts::{ChartKind, ControlChart, Load, SumPoint, sums};
use super::infections::{Comparison, year_to};
use super::{MONTH_DAYS, Rates, device_days, events};
use crate::audit::{Contribution, Month};
use crate::day::{Period, after, before};
use crate::policy::Intervention;
use crate::surveillance::chart::cusum::{Cusum, lower_months_to_alarm};
use crate::surveillance::rate::Rate;
use crate::word::words;

/// The minimum number of earlier infections for a lower-sided alarm. Source: rules of the audit, as for the other alarm.
const LEAST_INFECTIONS: u64 = 10;

/// An intervention of the program, with the rates before and after.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Intervened {
    /// The intervention.
    #[serde(flatten)]
    pub intervention: Intervention,
    /// The rate from its first day on, compared with that of the 12 months before.
    pub comparison: Comparison,
    /// The rate since its first day, per 1,000 device-days.
    pub rate: Rate,
    /// The rate in the 12 months before, per 1,000 device-days.
    pub rate_before: Rate,
    /// The infection-free time up to the last day.
    pub quiet: Quiet,
    /// The lower-sided alarm for a halved rate: a Poisson CUSUM from the first day on, against the rate before.
    pub lower_alarm: ControlChart<SumPoint, Month, LowerAlarm>,
}

/// The infection-free time up to the report's last day, and its probability at the rate before the intervention.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Quiet {
    /// The first day: the day after the last onset, or the first day of the intervention if there was none since.
    pub from: NaiveDate,
    /// Days from that day through the last day of the report.
    pub days: i64,
    /// Device-days in that time.
    pub device_days: i64,
    /// The probability of no infection in as many device-days, 0 to 1; null without an infection before the intervention.
    pub chance: Option<f64>,
    /// That probability at the upper 95 % limit of the rate before.
    pub chance_low: Option<f64>,
    /// That probability at the lower 95 % limit of the rate before.
    pub chance_high: Option<f64>,
}

/// Fields of the lower-sided alarm.
#[derive(Debug, Clone, Default, Serialize, JsonSchema)]
pub struct LowerAlarm {
    /// The reason why no alarm is computed; null if one is.
    pub none_because: Option<NoLowerAlarm>,
    /// Infections expected per month at the rate before.
    pub expected: Option<f64>,
    /// In-control average run length: mean months to a false alarm if the rate has not changed.
    pub in_control_months: Option<f64>,
    /// That run length if the true rate before was its lower 95 % limit.
    pub in_control_months_at_low: Option<f64>,
    /// That run length if the true rate before was its upper 95 % limit.
    pub in_control_months_at_high: Option<f64>,
    /// Out-of-control average run length: mean months to detect a halved rate.
    pub expected_delay_months: Option<f64>,
    /// The first month of the alarm still active in the last month; null if none is.
    pub alarm_since: Option<Month>,
    /// The first month with an alarm, even if it has ended; null if there was none.
    pub first_alarm: Option<Month>,
}

words! {
    /// The reason why no lower-sided alarm is computed.
    pub enum NoLowerAlarm {
        /// No device-days before the intervention.
        NothingBefore = "no device-days before the change",
        /// Too few infections before the intervention.
        FewBefore = "fewer than 10 infections in the 12 months before the change",
        /// No device-days since the intervention.
        NothingSince = "no device-days since the change",
    }
}

impl Intervened {
    /// Returns the interventions up to a day, by first day.
    pub(super) fn all(all: &[Contribution], interventions: &[Intervention], last: NaiveDate) -> Vec<Intervened> {
        let made = interventions.iter().filter(|intervention| intervention.on <= last);
        let mut made: Vec<Intervened> = made.map(|one| Intervened::of(all, one, last)).collect();
        made.sort_by_key(|one| one.intervention.on);
        made
    }

    /// Returns the interventions that begin after a day, by first day.
    pub(super) fn later(interventions: &[Intervention], last: NaiveDate) -> Vec<Intervention> {
        let mut later: Vec<Intervention> = interventions.iter().filter(|one| one.on > last).cloned().collect();
        later.sort_by_key(|one| one.on);
        later
    }

    fn of(all: &[Contribution], intervention: &Intervention, last: NaiveDate) -> Intervened {
        let since = Period { from: intervention.on, to: last };
        let comparison = Comparison::of(all, since, Some(year_to(before(intervention.on))));
        let rate_before = Rates::of(comparison.events_before, comparison.device_days_before).per_1000_device_days;
        Intervened {
            intervention: intervention.clone(),
            rate: Rates::of(comparison.events, comparison.device_days).per_1000_device_days,
            rate_before,
            quiet: Quiet::of(all, since, &rate_before),
            lower_alarm: lower_alarm(all, since, &comparison),
            comparison,
        }
    }
}

impl Quiet {
    fn of(all: &[Contribution], since: Period, rate_before: &Rate) -> Quiet {
        let last_onset = events(all, since).map(|(_, infection)| infection.onset).max();
        let quiet = Period { from: last_onset.map_or(since.from, after), to: since.to };
        let device_days = device_days(all, quiet);
        let is_known = rate_before.rate.is_some_and(|rate| rate > 0.0);
        let chance =
            |rate: Option<f64>| rate.filter(|_| is_known).map(|rate| (-rate * device_days as f64 / 1000.0).exp());
        Quiet {
            from: quiet.from,
            days: (after(quiet.to) - quiet.from).num_days(),
            device_days,
            chance: chance(rate_before.rate),
            chance_low: chance(rate_before.high),
            chance_high: chance(rate_before.low),
        }
    }
}

fn lower_alarm(
    all: &[Contribution],
    since: Period,
    compared: &Comparison,
) -> ControlChart<SumPoint, Month, LowerAlarm> {
    let mut chart = ControlChart {
        kind: ChartKind::Cusum,
        points: Vec::new(),
        center: None,
        low: None,
        high: None,
        beyond: Vec::new(),
        of_kind: LowerAlarm { none_because: no_alarm(compared), ..LowerAlarm::default() },
    };
    if chart.of_kind.none_because.is_some() {
        return chart;
    }
    let load = Load { events: compared.events_before, days: compared.device_days_before };
    let expected = expected_a_month(all, compared);
    let cusum = Cusum::lower(expected);
    chart.points = sums(all, &cusum, load, since, |_| false);
    chart.beyond = chart.points.iter().filter(|point| point.alarm).map(|point| point.month).collect();
    chart.high = Some(cusum.threshold);
    let rate = Rate::of(load.events, load.events as f64);
    let at = |ratio: Option<f64>| {
        Some(lower_months_to_alarm(expected, ratio?, cusum.threshold)).filter(|months| months.is_finite())
    };
    let holds = chart.points.iter().rev().take_while(|point| point.alarm).last();
    chart.of_kind = LowerAlarm {
        none_because: None,
        expected: Some(expected),
        in_control_months: Some(cusum.in_control_months),
        in_control_months_at_low: at(rate.low),
        in_control_months_at_high: at(rate.high),
        expected_delay_months: Some(cusum.expected_delay_months),
        alarm_since: holds.map(|point| point.month),
        first_alarm: chart.beyond.first().copied(),
    };
    chart
}

fn no_alarm(compared: &Comparison) -> Option<NoLowerAlarm> {
    match compared {
        Comparison { device_days_before: ..=0, .. } => Some(NoLowerAlarm::NothingBefore),
        Comparison { events_before: ..LEAST_INFECTIONS, .. } => Some(NoLowerAlarm::FewBefore),
        Comparison { device_days: ..=0, .. } => Some(NoLowerAlarm::NothingSince),
        _ => None,
    }
}

/// Returns the infections per month in the 12 months before, or in the part of them since the first day on file.
fn expected_a_month(all: &[Contribution], compared: &Comparison) -> f64 {
    let first = all.iter().map(|one| one.stay.from).min().unwrap_or(compared.before_from).max(compared.before_from);
    let days = (after(compared.before_to) - first).num_days().max(1);
    compared.events_before as f64 * MONTH_DAYS / days as f64
}
