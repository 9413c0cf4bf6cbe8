//! The alarm for a doubled rate: a Poisson CUSUM that starts at the end of the policy's baseline.

use schemars::JsonSchema;
use serde::Serialize;

use super::{ChartKind, ControlChart, Load};
use crate::audit::{AuditSpan, Contribution, Month, months};
use crate::day::{Period, after};
use crate::policy::Audit;
use crate::surveillance::chart::cusum::{Cusum, Sum, months_to_alarm};
use crate::surveillance::rate::Rate;

/// The minimum number of infections in a baseline for an alarm. Source: rules of the audit.
const LEAST_INFECTIONS: u64 = 10;
/// Fields of the alarm.
#[derive(Debug, Clone, Default, Serialize, JsonSchema)]
pub struct Alarm {
    /// The reason why no alarm is computed; null if one is.
    pub none_because: Option<String>,
    /// The months of the baseline; null if the policy sets none.
    pub baseline: Option<Period>,
    /// Infections in the baseline.
    pub baseline_events: Option<u64>,
    /// Device-days in the baseline.
    pub baseline_device_days: Option<i64>,
    /// In-control average run length: mean months between false alarms.
    pub in_control_months: Option<f64>,
    /// That run length if the true rate is the baseline's lower 95 % limit.
    pub in_control_months_at_low: Option<f64>,
    /// That run length if the true rate is the baseline's upper 95 % limit.
    pub in_control_months_at_high: Option<f64>,
    /// Out-of-control average run length: mean months to detect a doubled rate.
    pub expected_delay_months: Option<f64>,
    /// The first month of the latest open alarm; null if no alarm is open.
    pub alarm_since: Option<Month>,
    /// The month in which the sum behind that alarm rose above 0.
    pub sum_left_zero: Option<Month>,
}

/// One month of the alarm.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct SumPoint {
    /// The month, as 2026-10.
    pub month: Month,
    /// Infections by onset.
    pub events: u64,
    /// Infections expected from the baseline rate and that month's device-days.
    pub expected: f64,
    /// The cumulative sum.
    pub value: f64,
    /// True if the sum is at the alarm threshold.
    pub alarm: bool,
    /// True if the policy marks the alarm as acknowledged; the sum then restarts at 0.
    pub acknowledged: bool,
}

pub(super) fn alarm(
    all: &[Contribution],
    baseline: Option<Period>,
    span: &AuditSpan,
    audit: Option<&Audit>,
) -> ControlChart<SumPoint, Month, Alarm> {
    let load = baseline.filter(|baseline| baseline.to < span.period.to).map(|baseline| Load::of(all, baseline));
    let mut chart = ControlChart {
        kind: ChartKind::Cusum,
        points: Vec::new(),
        center: None,
        low: None,
        high: None,
        beyond: Vec::new(),
        of_kind: Alarm {
            none_because: no_alarm(baseline, load),
            baseline,
            baseline_events: load.map(|load| load.events),
            baseline_device_days: load.map(|load| load.days),
            ..Alarm::default()
        },
    };
    let (None, Some(baseline), Some(load)) = (&chart.of_kind.none_because, baseline, load) else { return chart };
    let cusum = Cusum::of(load.events as f64 / months(baseline).count() as f64);
    let acknowledged =
        |month: Month| audit.is_some_and(|audit| audit.acknowledged.iter().any(|one| one.month == month.to_string()));
    chart.points = sums(all, &cusum, load, Period { from: after(baseline.to), to: span.period.to }, acknowledged);
    chart.beyond = chart.points.iter().filter(|point| point.alarm).map(|point| point.month).collect();
    chart.high = Some(cusum.threshold);
    chart.of_kind.in_control_months = Some(cusum.in_control_months);
    chart.of_kind.expected_delay_months = Some(cusum.expected_delay_months);
    let rate = Rate::of(load.events, load.events as f64);
    let expected = load.events as f64 / months(baseline).count() as f64;
    let at = |ratio: Option<f64>| Some(months_to_alarm(expected, ratio?, cusum.threshold)).filter(|n| n.is_finite());
    chart.of_kind.in_control_months_at_low = at(rate.low);
    chart.of_kind.in_control_months_at_high = at(rate.high);
    (chart.of_kind.alarm_since, chart.of_kind.sum_left_zero) = open_alarm(&chart.points).unzip();
    chart
}

/// Returns the first month of the latest open alarm, and the month in which its sum rose above 0.
fn open_alarm(points: &[SumPoint]) -> Option<(Month, Month)> {
    let last = points.iter().rposition(|point| point.alarm && !point.acknowledged)?;
    let is_open = |point: &&SumPoint| point.alarm && !point.acknowledged;
    let is_above = |point: &&SumPoint| point.value > 0.0 && !point.acknowledged;
    let first = |is_so: &dyn Fn(&&SumPoint) -> bool| points[..=last].iter().rev().take_while(is_so).last();
    Some((first(&is_open)?.month, first(&is_above)?.month))
}

fn no_alarm(baseline: Option<Period>, load: Option<Load>) -> Option<String> {
    match (baseline, load) {
        (None, _) => Some("no baseline is set in the policy ([audit] baseline)".to_owned()),
        (_, None) => Some("the policy's baseline does not end before the end of this report".to_owned()),
        (_, Some(load)) if load.events < LEAST_INFECTIONS => Some(format!(
            "the policy's baseline has {}; an alarm needs at least {LEAST_INFECTIONS}",
            crate::text::count(load.events as i64, "infection")
        )),
        _ => None,
    }
}

/// Computes the sum of each month since the baseline, whose `load` is given.
pub(in crate::report::audit) fn sums(
    all: &[Contribution],
    cusum: &Cusum,
    load: Load,
    since: Period,
    acknowledged: impl Fn(Month) -> bool,
) -> Vec<SumPoint> {
    let since: Vec<Period> = months(since).collect();
    let expected = |of: Load| load.events as f64 * of.days as f64 / load.days as f64;
    let loads = since.iter().map(|month| Load::of(all, *month));
    let seen: Vec<(u64, f64)> = loads.map(|load| (load.events, expected(load))).collect();
    let month = |n: usize| Month::of(since[n].from);
    let sums = cusum.run(&seen, |n| acknowledged(month(n)));
    let point = |(n, sum): (usize, &Sum)| SumPoint {
        month: month(n),
        events: seen[n].0,
        expected: seen[n].1,
        value: sum.value,
        alarm: sum.is_alarm,
        acknowledged: sum.is_alarm && acknowledged(month(n)),
    };
    sums.iter().enumerate().map(point).collect()
}
