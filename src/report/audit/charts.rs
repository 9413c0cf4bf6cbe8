//! Monthly control charts of infections and of days with dressing current, and the alarm for a doubled rate.

mod alarm;

pub(super) use alarm::sums;
pub use alarm::{Alarm, SumPoint};

use chrono::NaiveDate;
use schemars::JsonSchema;
use serde::Serialize;

use super::changes::{cares, sum};
use super::{device_days, events};
use crate::audit::{AuditSpan, Contribution, Month, month_of, months};
use crate::day::{Period, after, before};
use crate::policy::{Audit, Baseline};
use crate::surveillance::chart::between::Between;
use crate::surveillance::chart::counts::CountLimits;
use crate::surveillance::chart::shares::Shares;
use crate::surveillance::share::{ClusterCount, Share};
use crate::word::words;

/// The minimum number of covered patients for control limits in a month. Source: rules of the audit.
const LEAST_PATIENTS: usize = 10;
/// The number of months charted for days with dressing current, including the period's last one; more if the period is
/// longer.
const MONTHS_CHARTED: i32 = 12;

words! {
    /// The type of a chart.
    pub enum ChartKind {
        /// Device-days from one infection to the next.
        DaysBetween = "days-between",
        /// Infections per device-days.
        U = "u-chart",
        /// A cumulative sum of evidence for a doubled rate.
        Cusum = "poisson-cusum",
        /// A proportion.
        P = "p-chart",
    }
}

/// The control charts.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Charts {
    /// Device-days between infections: the main chart of a rare event.
    pub days_between: ControlChart<BetweenPoint, NaiveDate, Gaps>,
    /// Infections per month over that month's device-days.
    pub infections: ControlChart<CountPoint, Month, Basis>,
    /// The alarm for a doubled rate: a Poisson CUSUM that starts at the end of the policy's baseline.
    pub alarm: ControlChart<SumPoint, Month, Alarm>,
    /// Days with dressing current per month.
    pub on_time: ControlChart<OnTimePoint, Month, Widened>,
}

/// A chart with points `P`, positions `A` of the points outside the limits, and chart-specific fields `M`.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct ControlChart<P, A, M> {
    /// The type of chart.
    pub kind: ChartKind,
    /// The points, oldest first.
    pub points: Vec<P>,
    /// The center line; null if unknown.
    pub center: Option<f64>,
    /// The lower limit; null if each point has its own.
    pub low: Option<f64>,
    /// The upper limit, or the alarm threshold; null if each point has its own.
    pub high: Option<f64>,
    /// The positions of the points outside the limits.
    pub beyond: Vec<A>,
    /// The fields specific to this type of chart.
    #[serde(flatten)]
    pub of_kind: M,
}

/// Fields of the chart of device-days between infections. Its center is the median gap. At a constant rate, 0.00135 of all
/// gaps fall below the lower limit and as many above the upper one. The lower limit is null if it is under one day: the
/// mean device-days per day on file.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Gaps {
    /// Device-days from the last infection to the period's end; null if there was none.
    pub since_last: Option<i64>,
    /// True if the limits come from the policy's baseline; false if from all data on file.
    pub from_baseline: bool,
}

/// One infection.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct BetweenPoint {
    /// The date of onset.
    pub onset: NaiveDate,
    /// Device-days since the previous infection; 0 on the same day.
    pub device_days: i64,
    /// True if that gap is outside the limits; a gap of 0 is not judged.
    pub beyond: bool,
}

/// Fields of the chart of infections per month. Its center is a rate per 1,000 device-days; null, as are all limits, without
/// an infection to set them by.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Basis {
    /// True if the center comes from the policy's baseline; false if from all data on file.
    pub from_baseline: bool,
}

/// One month of infections.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct CountPoint {
    /// The month, as 2026-10.
    pub month: Month,
    /// Infections by onset.
    pub events: u64,
    /// Device-days.
    pub device_days: i64,
    /// Infections per 1,000 device-days; null without device-days.
    pub rate: Option<f64>,
    /// Lower limit of that rate.
    pub low: Option<f64>,
    /// Upper limit of that rate.
    pub high: Option<f64>,
    /// True if the rate is outside the limits.
    pub beyond: bool,
}

/// Fields of the chart of days with dressing current. Its center is the proportion over all its months.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Widened {
    /// The design effect that widens the limits.
    pub design_effect: Option<f64>,
}

/// One month of days with dressing current.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct OnTimePoint {
    /// The month, as 2026-10.
    pub month: Month,
    /// Covered expected days.
    pub days: u64,
    /// Days with dressing current.
    pub in_date: u64,
    /// Patients with at least one covered expected day.
    pub patients: u64,
    /// The proportion of days with dressing current; null without covered expected days.
    pub share: Option<f64>,
    /// Lower limit; null for fewer than 10 patients.
    pub low: Option<f64>,
    /// Upper limit; null for fewer than 10 patients.
    pub high: Option<f64>,
    /// True if the proportion is outside the limits.
    pub beyond: bool,
}

/// Infections and device-days of a range of days.
#[derive(Debug, Clone, Copy)]
pub(super) struct Load {
    pub(super) events: u64,
    pub(super) days: i64,
}

impl Load {
    fn of(all: &[Contribution], period: Period) -> Load {
        Load { events: events(all, period).count() as u64, days: device_days(all, period) }
    }
}

impl Charts {
    pub(super) fn of(all: &[Contribution], span: &AuditSpan, audit: Option<&Audit>) -> Charts {
        let first = all.iter().map(|one| one.stay.from).min().unwrap_or(span.period.to);
        let on_file = Period { from: first, to: span.period.to };
        let baseline = audit.and_then(|audit| audit.baseline.as_ref()).and_then(baseline_days);
        let known = baseline.filter(|baseline| baseline.to <= span.period.to);
        let of_baseline = known.map(|baseline| Load::of(all, baseline)).filter(|load| load.events > 0 && load.days > 0);
        let basis = of_baseline.unwrap_or_else(|| Load::of(all, on_file));
        Charts {
            days_between: days_between(all, on_file, basis, of_baseline.is_some()),
            infections: infections(all, on_file, basis, of_baseline.is_some()),
            alarm: alarm::alarm(all, baseline, span, audit),
            on_time: on_time(all, span),
        }
    }
}

fn days_between(
    all: &[Contribution],
    on_file: Period,
    basis: Load,
    from_baseline: bool,
) -> ControlChart<BetweenPoint, NaiveDate, Gaps> {
    let mut onsets: Vec<NaiveDate> = events(all, on_file).map(|(_, infection)| infection.onset).collect();
    onsets.sort();
    let limits = (basis.events > 0).then(|| Between::of(basis.days as f64 / basis.events as f64));
    let one_day = device_days(all, on_file) as f64 / on_file.days().count().max(1) as f64;
    let low = limits.map(|limits| limits.low).filter(|low| *low >= one_day);
    let point = |pair: &[NaiveDate]| {
        let days = device_days(all, Period { from: after(pair[0]), to: pair[1] });
        // An onset is known to the day, so a gap may be longer by that day's device-days.
        let most = days + device_days(all, Period { from: pair[0], to: pair[0] });
        let is_short = days > 0 && low.is_some_and(|low| (most as f64) < low);
        let beyond = is_short || limits.is_some_and(|limits| (days as f64) > limits.high);
        BetweenPoint { onset: pair[1], device_days: days, beyond }
    };
    let points: Vec<BetweenPoint> = onsets.windows(2).map(point).collect();
    let since = |last: &NaiveDate| device_days(all, Period { from: after(*last), to: on_file.to });
    ControlChart {
        kind: ChartKind::DaysBetween,
        beyond: points.iter().filter(|point| point.beyond).map(|point| point.onset).collect(),
        points,
        center: limits.map(|limits| limits.center),
        low,
        high: limits.map(|limits| limits.high),
        of_kind: Gaps { since_last: onsets.last().map(since), from_baseline },
    }
}

fn infections(
    all: &[Contribution],
    on_file: Period,
    basis: Load,
    from_baseline: bool,
) -> ControlChart<CountPoint, Month, Basis> {
    let mean = (basis.days > 0 && basis.events > 0).then(|| basis.events as f64 / basis.days as f64);
    let point = |month: Period| {
        let load = Load::of(all, month);
        let per_1000 = |count: f64| (load.days > 0).then(|| count * 1000.0 / load.days as f64);
        let limits = mean.map(|mean| CountLimits::of(mean * load.days as f64));
        CountPoint {
            month: Month::of(month.from),
            events: load.events,
            device_days: load.days,
            rate: per_1000(load.events as f64),
            low: limits.and_then(|limits| per_1000(limits.least as f64)),
            high: limits.and_then(|limits| per_1000(limits.most as f64)),
            beyond: load.days > 0
                && limits.is_some_and(|limits| load.events < limits.least || load.events > limits.most),
        }
    };
    let points: Vec<CountPoint> = months(on_file).map(point).collect();
    ControlChart {
        kind: ChartKind::U,
        beyond: points.iter().filter(|point| point.beyond).map(|point| point.month).collect(),
        points,
        center: mean.map(|mean| mean * 1000.0),
        low: None,
        high: None,
        of_kind: Basis { from_baseline },
    }
}

fn on_time(all: &[Contribution], span: &AuditSpan) -> ControlChart<OnTimePoint, Month, Widened> {
    let year = (1..MONTHS_CHARTED).fold(month_of(span.period.to), |month, _| month_of(before(month)));
    let charted = Period { from: year.min(month_of(span.period.from)).max(span.charts.from), to: span.period.to };
    let counted = |days: Period| cares(all).map(|care| sum(&care.days_in_date(days), |_| true)).collect::<Vec<_>>();
    let whole = Share::of(&counted(charted));
    let point = |month: Period| {
        let counted = counted(month);
        let patients = counted.iter().filter(|one| one.whole > 0).count();
        let total: ClusterCount = counted.into_iter().sum();
        let share = (total.whole > 0).then(|| total.part as f64 / total.whole as f64);
        let limits = whole
            .value
            .filter(|_| patients >= LEAST_PATIENTS)
            .map(|center| Shares::of(center, total.whole as f64, whole.design_effect.unwrap_or(1.0)));
        let is_beyond = |limits: Shares| share.is_some_and(|share| share < limits.low || share > limits.high);
        OnTimePoint {
            month: Month::of(month.from),
            days: total.whole,
            in_date: total.part,
            patients: patients as u64,
            share,
            low: limits.map(|limits| limits.low),
            high: limits.map(|limits| limits.high),
            beyond: limits.is_some_and(is_beyond),
        }
    };
    let points: Vec<OnTimePoint> = months(charted).map(point).collect();
    ControlChart {
        kind: ChartKind::P,
        beyond: points.iter().filter(|point| point.beyond).map(|point| point.month).collect(),
        points,
        center: whole.value,
        low: None,
        high: None,
        of_kind: Widened { design_effect: whole.design_effect },
    }
}

/// Returns the baseline's first and last day.
fn baseline_days(Baseline { from, through }: &Baseline) -> Option<Period> {
    Some(Period { from: Month::read(from)?.days().from, to: Month::read(through)?.days().to })
}
