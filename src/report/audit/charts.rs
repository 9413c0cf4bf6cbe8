//! From month to month: device-days between infections, infections a month, the alarm for a doubled rate, days in date.

use chrono::NaiveDate;
use schemars::JsonSchema;
use serde::Serialize;

use super::changes::{cares, sum};
use super::{Days, device_days, events};
use crate::audit::{Contribution, Span, month_of, months, next_month};
use crate::day::{Period, after, before};
use crate::policy::{Audit, Baseline};
use crate::surveillance::chart::between::Between;
use crate::surveillance::chart::counts::Counts;
use crate::surveillance::chart::cusum::Cusum;
use crate::surveillance::chart::shares::Shares;
use crate::surveillance::share::{Counted, Share};

/// No alarm from a baseline of fewer infections. Source: rules of the audit.
const LEAST_INFECTIONS: u64 = 10;
/// So many months of days in date are charted, the period's last one included; more where the period is longer.
const MONTHS_CHARTED: i32 = 12;

/// The charts.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Charts {
    /// Device-days between infections: the main picture of a rare event.
    pub days_between: BetweenChart,
    /// Infections a month.
    pub infections: CountChart,
    /// The alarm for a doubled rate.
    pub alarm: Alarm,
    /// Days in date a month.
    pub on_time: OnTimeChart,
}

/// Device-days of the whole program from one infection to the next.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct BetweenChart {
    /// `days-between`.
    pub kind: String,
    /// A point for each infection but the first.
    pub points: Vec<BetweenPoint>,
    /// Device-days since the last infection, up to the period's end; null if there was none.
    pub since_last: Option<i64>,
    /// Half of all gaps are shorter, if the rate does not change; null without infections.
    pub center: Option<f64>,
    /// Shorter in 0.00135 of all gaps.
    pub low: Option<f64>,
    /// Longer in 0.00135 of all gaps.
    pub high: Option<f64>,
    /// The onsets whose gap is outside of the limits.
    pub beyond: Vec<NaiveDate>,
    /// Whether the limits are those of the policy's baseline, rather than of all that is on file.
    pub from_baseline: bool,
}

/// One infection.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct BetweenPoint {
    /// Its onset.
    pub onset: NaiveDate,
    /// Device-days since the one before; 0 on the same day.
    pub device_days: i64,
    /// Whether that is outside of the limits.
    pub beyond: bool,
}

/// Infections a month over that month's device-days.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct CountChart {
    /// `u-chart`.
    pub kind: String,
    /// A point for each month, from the first with device-days.
    pub points: Vec<CountPoint>,
    /// The rate per 1,000 device-days that the limits are around; null without device-days.
    pub center: Option<f64>,
    /// Null: the limits are each month's own.
    pub low: Option<f64>,
    /// Null: the limits are each month's own.
    pub high: Option<f64>,
    /// The months outside of their limits.
    pub beyond: Vec<String>,
    /// Whether the center is that of the policy's baseline, rather than of all that is on file.
    pub from_baseline: bool,
}

/// One month.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct CountPoint {
    /// The month, as 2026-10.
    pub month: String,
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
    /// Whether the rate is outside of the limits.
    pub beyond: bool,
}

/// The alarm for a doubled rate: a Poisson CUSUM from the end of the policy's baseline on.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Alarm {
    /// `poisson-cusum`.
    pub kind: String,
    /// Why there is no alarm; null where there is.
    pub none_because: Option<String>,
    /// The months of the baseline; null where the policy gives none.
    pub baseline: Option<Days>,
    /// Infections of the baseline.
    pub baseline_events: Option<u64>,
    /// Device-days of the baseline.
    pub baseline_device_days: Option<i64>,
    /// A point for each month since.
    pub points: Vec<SumPoint>,
    /// Always null.
    pub center: Option<f64>,
    /// Always null.
    pub low: Option<f64>,
    /// The threshold: an alarm at this sum, or above.
    pub high: Option<f64>,
    /// The months of an alarm.
    pub beyond: Vec<String>,
    /// Months between two false alarms, on average.
    pub in_control_months: Option<f64>,
    /// Months until a doubled rate is seen, on average.
    pub expected_delay_months: Option<f64>,
}

/// One month of the alarm.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct SumPoint {
    /// The month, as 2026-10.
    pub month: String,
    /// Infections by onset.
    pub events: u64,
    /// Infections that the baseline expects of that month's device-days.
    pub expected: f64,
    /// The sum.
    pub value: f64,
    /// Whether it is an alarm.
    pub alarm: bool,
    /// Whether the policy marks that alarm as acknowledged; the sum then begins anew.
    pub acknowledged: bool,
}

/// Days in date a month.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct OnTimeChart {
    /// `p-chart`.
    pub kind: String,
    /// A point for each month.
    pub points: Vec<OnTimePoint>,
    /// The share over all these months; null without such days.
    pub center: Option<f64>,
    /// Null: the limits are each month's own.
    pub low: Option<f64>,
    /// Null: the limits are each month's own.
    pub high: Option<f64>,
    /// The design effect that widens the limits.
    pub design_effect: Option<f64>,
    /// The months outside of their limits.
    pub beyond: Vec<String>,
}

/// One month of days in date.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct OnTimePoint {
    /// The month, as 2026-10.
    pub month: String,
    /// Covered expected days.
    pub days: u64,
    /// Of them in date.
    pub in_date: u64,
    /// Their share; null without such days.
    pub share: Option<f64>,
    /// Lower limit.
    pub low: Option<f64>,
    /// Upper limit.
    pub high: Option<f64>,
    /// Whether the share is outside of the limits.
    pub beyond: bool,
}

/// Infections and device-days of some days.
#[derive(Debug, Clone, Copy)]
struct Load {
    events: u64,
    days: i64,
}

impl Load {
    fn of(all: &[Contribution], period: Period) -> Load {
        Load { events: events(all, period).count() as u64, days: device_days(all, period) }
    }
}

impl Charts {
    pub(super) fn of(all: &[Contribution], span: &Span, audit: Option<&Audit>) -> Charts {
        let first = all.iter().map(|one| one.stay.from).min().unwrap_or(span.period.to);
        let on_file = Period { from: first, to: span.period.to };
        let baseline = audit.and_then(|audit| audit.baseline.as_ref()).and_then(baseline_days);
        let known = baseline.filter(|baseline| baseline.to <= span.period.to);
        let of_baseline = known.map(|baseline| Load::of(all, baseline)).filter(|load| load.events > 0 && load.days > 0);
        let basis = of_baseline.unwrap_or_else(|| Load::of(all, on_file));
        Charts {
            days_between: BetweenChart::of(all, on_file, basis, of_baseline.is_some()),
            infections: CountChart::of(all, on_file, basis, of_baseline.is_some()),
            alarm: Alarm::of(all, baseline, span, audit),
            on_time: OnTimeChart::of(all, span),
        }
    }
}

impl BetweenChart {
    fn of(all: &[Contribution], on_file: Period, basis: Load, from_baseline: bool) -> BetweenChart {
        let mut onsets: Vec<NaiveDate> = events(all, on_file).map(|(_, infection)| infection.onset).collect();
        onsets.sort();
        let limits = (basis.events > 0).then(|| Between::of(basis.days as f64 / basis.events as f64));
        let points = onsets.windows(2).map(|pair| {
            let days = device_days(all, Period { from: after(pair[0]), to: pair[1] });
            // An onset is a day, so a gap may be as much longer as that day has device-days.
            let most = days + device_days(all, Period { from: pair[0], to: pair[0] });
            let beyond = limits.is_some_and(|limits| (most as f64) < limits.low || (days as f64) > limits.high);
            BetweenPoint { onset: pair[1], device_days: days, beyond }
        });
        let points: Vec<BetweenPoint> = points.collect();
        let since = |last: &NaiveDate| device_days(all, Period { from: after(*last), to: on_file.to });
        BetweenChart {
            kind: "days-between".into(),
            beyond: points.iter().filter(|point| point.beyond).map(|point| point.onset).collect(),
            points,
            since_last: onsets.last().map(since),
            center: limits.map(|limits| limits.center),
            low: limits.map(|limits| limits.low),
            high: limits.map(|limits| limits.high),
            from_baseline,
        }
    }
}

impl CountChart {
    fn of(all: &[Contribution], on_file: Period, basis: Load, from_baseline: bool) -> CountChart {
        let mean = (basis.days > 0).then(|| basis.events as f64 / basis.days as f64);
        let point = |month: Period| {
            let load = Load::of(all, month);
            let per_1000 = |count: f64| (load.days > 0).then(|| count * 1000.0 / load.days as f64);
            let limits = mean.map(|mean| Counts::of(mean * load.days as f64));
            CountPoint {
                month: named(month),
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
        CountChart {
            kind: "u-chart".into(),
            beyond: points.iter().filter(|point| point.beyond).map(|point| point.month.clone()).collect(),
            points,
            center: mean.map(|mean| mean * 1000.0),
            low: None,
            high: None,
            from_baseline,
        }
    }
}

impl Alarm {
    fn of(all: &[Contribution], baseline: Option<Period>, span: &Span, audit: Option<&Audit>) -> Alarm {
        let is_over = |baseline: &Period| baseline.to < span.period.to;
        let load = baseline.filter(is_over).map(|baseline| Load::of(all, baseline));
        let none_because = match (baseline, load) {
            (None, _) => Some("the policy names no baseline ([audit] baseline)".to_owned()),
            (Some(baseline), _) if !is_over(&baseline) => {
                Some("the policy's baseline is not over before the end of this report".to_owned())
            }
            (_, Some(load)) if load.events < LEAST_INFECTIONS => Some(format!(
                "the policy's baseline holds {}; under {LEAST_INFECTIONS} an alarm would say nothing",
                crate::text::count(load.events as i64, "infection")
            )),
            _ => None,
        };
        let mut alarm = Alarm {
            kind: "poisson-cusum".into(),
            baseline: baseline.map(|days| Days { from: days.from, to: days.to }),
            baseline_events: load.map(|load| load.events),
            baseline_device_days: load.map(|load| load.days),
            points: Vec::new(),
            center: None,
            low: None,
            high: None,
            beyond: Vec::new(),
            in_control_months: None,
            expected_delay_months: None,
            none_because,
        };
        if let (None, Some(baseline), Some(load)) = (&alarm.none_because, baseline, load) {
            alarm.run(all, baseline, load, span, audit);
        }
        alarm
    }

    fn run(&mut self, all: &[Contribution], baseline: Period, load: Load, span: &Span, audit: Option<&Audit>) {
        let of_baseline = months(baseline).count() as f64;
        let cusum = Cusum::of(load.events as f64 / of_baseline);
        let since: Vec<Period> = months(Period { from: after(baseline.to), to: span.period.to }).collect();
        let loads: Vec<Load> = since.iter().map(|month| Load::of(all, *month)).collect();
        let expected = |of: &Load| load.events as f64 * of.days as f64 / load.days as f64;
        let seen: Vec<(u64, f64)> = loads.iter().map(|load| (load.events, expected(load))).collect();
        let acknowledged = |n: usize| {
            let of_policy = audit.map(|audit| audit.acknowledged.as_slice()).unwrap_or_default();
            since.get(n).is_some_and(|month| of_policy.iter().any(|one| one.month == named(*month)))
        };
        let sums = cusum.run(&seen, acknowledged);
        let point = |n: usize| SumPoint {
            month: named(since[n]),
            events: seen[n].0,
            expected: seen[n].1,
            value: sums[n].value,
            alarm: sums[n].is_alarm,
            acknowledged: sums[n].is_alarm && acknowledged(n),
        };
        self.points = (0..since.len().min(sums.len())).map(point).collect();
        self.beyond = self.points.iter().filter(|point| point.alarm).map(|point| point.month.clone()).collect();
        self.high = Some(cusum.threshold);
        self.in_control_months = Some(cusum.in_control_months);
        self.expected_delay_months = Some(cusum.expected_delay_months);
    }
}

impl OnTimeChart {
    fn of(all: &[Contribution], span: &Span) -> OnTimeChart {
        let year = (1..MONTHS_CHARTED).fold(month_of(span.period.to), |month, _| month_of(before(month)));
        let charted = Period { from: year.min(month_of(span.period.from)).max(span.charts.from), to: span.period.to };
        let counted = |days: Period| cares(all).map(|care| sum(&care.days_in_date(days), |_| true)).collect::<Vec<_>>();
        let whole = Share::of(&counted(charted));
        let point = |month: Period| {
            let total = counted(month).iter().fold(Counted::default(), |sum, one| Counted {
                part: sum.part + one.part,
                whole: sum.whole + one.whole,
            });
            let share = (total.whole > 0).then(|| total.part as f64 / total.whole as f64);
            let limits = whole
                .value
                .filter(|_| total.whole > 0)
                .map(|center| Shares::of(center, total.whole as f64, whole.design_effect.unwrap_or(1.0)));
            let is_beyond = |limits: Shares| share.is_some_and(|share| share < limits.low || share > limits.high);
            OnTimePoint {
                month: named(month),
                days: total.whole,
                in_date: total.part,
                share,
                low: limits.map(|limits| limits.low),
                high: limits.map(|limits| limits.high),
                beyond: limits.is_some_and(is_beyond),
            }
        };
        let points: Vec<OnTimePoint> = months(charted).map(point).collect();
        OnTimeChart {
            kind: "p-chart".into(),
            beyond: points.iter().filter(|point| point.beyond).map(|point| point.month.clone()).collect(),
            points,
            center: whole.value,
            low: None,
            high: None,
            design_effect: whole.design_effect,
        }
    }
}

/// The days of the baseline's months, both included.
fn baseline_days(Baseline { from, through }: &Baseline) -> Option<Period> {
    let first = |month: &str| format!("{month}-01").parse::<NaiveDate>().ok();
    Some(Period { from: first(from)?, to: before(next_month(first(through)?)) })
}

/// A month's name, as 2026-10.
fn named(month: Period) -> String {
    month.from.format("%Y-%m").to_string()
}
