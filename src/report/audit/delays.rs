//! Reporting delay of infections, and the final counts to expect for recent months.

use chrono::NaiveDate;
use schemars::JsonSchema;
use serde::Serialize;

use super::events;
use crate::audit::{AuditSpan, Contribution, Determination, Month, month_of, months};
use crate::day::{Period, plus};
use crate::surveillance::delay::{LikelyTotal, Quantiles, Reported, known_by};
use crate::surveillance::share::Share;

/// The maximum expected delay, in days. Common practice, no source.
const LONGEST_DAYS: i64 = 180;
/// The minimum number of earlier infections for a likely count. Common practice, no source.
const LEAST: u64 = 5;

/// The delay from onset to determination and to the entry of the record.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Delays {
    /// Infections of the period.
    pub period: DelayTimes,
    /// All infections on file with an onset at least `longest_days` before the report date.
    pub earlier: DelayTimes,
    /// The maximum delay used for likely counts, in days.
    pub longest_days: i64,
    /// Infections of `earlier` with a longer delay; likely counts exclude them.
    pub longer: u64,
    /// The minimum number of the others for a likely count.
    pub least: u64,
    /// The months up to the period's end whose counts may still rise, oldest first.
    pub months: Vec<MonthSoFar>,
}

/// Quantiles of delays, in days.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, JsonSchema)]
pub struct DelayTimes {
    /// From onset to determination.
    pub to_determination: Quantiles,
    /// From determination to entry of the record.
    pub to_entry: Quantiles,
    /// From onset to entry of the record.
    pub total: Quantiles,
}

/// The infections of a month, so far and as finally expected.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, JsonSchema)]
pub struct MonthSoFar {
    /// The month of onset, as 2026-10.
    pub month: Month,
    /// The last day of the month, or the last day counted.
    pub through: NaiveDate,
    /// Infections on file on the report date.
    pub so_far: u64,
    /// Earlier infections with an onset up to the same day of the month.
    pub earlier: u64,
    /// Earlier infections on file after as many days as lie between `through` and the report date.
    pub earlier_known: u64,
    /// Lower 95 % limit of `earlier_known` ÷ `earlier` (Wilson score); null without earlier infections.
    pub earlier_known_low: Option<f64>,
    /// Upper limit.
    pub earlier_known_high: Option<f64>,
    /// The likely total with 95 % prediction limits (mid-P); null if there are too few earlier infections.
    #[serde(flatten)]
    pub likely: LikelyTotal,
}

impl Delays {
    pub(super) fn of(all: &[Contribution], span: &AuditSpan) -> Delays {
        let today = span.today;
        let ever = Period { from: NaiveDate::MIN, to: today };
        let known: Vec<&Determination> =
            events(all, ever).map(|(_, one)| one).filter(|infection| infection.entered <= today).collect();
        let settled = || known.iter().copied().filter(|one| one.onset <= plus(today, -LONGEST_DAYS));
        let earlier: Vec<Reported> = settled().filter(|one| delay(one) <= LONGEST_DAYS).map(reported).collect();
        let of_month = |month: Period| {
            let through = month.to.min(span.period.to);
            let lag = (today - through).num_days();
            let cut = (through < month.to).then(|| (through - month.from).num_days() + 1);
            let so_far = known.iter().filter(|one| month.from <= one.onset && one.onset <= through).count() as u64;
            let counted = known_by(&earlier, cut, lag);
            let known_share = Share::of(&[counted]);
            let is_enough = counted.whole >= LEAST;
            MonthSoFar {
                month: Month::of(month.from),
                through,
                so_far,
                earlier: counted.whole,
                earlier_known: counted.part,
                earlier_known_low: known_share.low,
                earlier_known_high: known_share.high,
                likely: if is_enough { LikelyTotal::of(so_far, counted) } else { LikelyTotal::default() },
            }
        };
        let last = Period { from: month_of(plus(today, -LONGEST_DAYS)), to: Month::of(span.period.to).days().to };
        let is_open = |month: &MonthSoFar| (today - month.through).num_days() < LONGEST_DAYS;
        Delays {
            period: DelayTimes::of(known.iter().copied().filter(|one| span.period.contains(one.onset))),
            earlier: DelayTimes::of(settled()),
            longest_days: LONGEST_DAYS,
            longer: (settled().count() - earlier.len()) as u64,
            least: LEAST,
            months: months(last).map(of_month).filter(is_open).collect(),
        }
    }
}

impl DelayTimes {
    fn of<'a>(all: impl Iterator<Item = &'a Determination> + Clone) -> DelayTimes {
        DelayTimes {
            to_determination: Quantiles::of(all.clone().map(|one| days(one.onset, one.determined))),
            to_entry: Quantiles::of(all.clone().map(|one| days(one.determined, one.entered))),
            total: Quantiles::of(all.map(delay)),
        }
    }
}

fn reported(one: &Determination) -> Reported {
    let month = Month::of(one.onset).days();
    Reported { offset: days(month.from, one.onset), length: days(month.from, month.to) + 1, delay: delay(one) }
}

fn delay(one: &Determination) -> i64 {
    days(one.onset, one.entered)
}

/// Returns the days between two dates; 0 if the second is earlier.
fn days(from: NaiveDate, to: NaiveDate) -> i64 {
    (to - from).num_days().max(0)
}
