//! Reporting delays: the likely number of events in a range of days, given the delays of earlier events.
//!
//! Some of the earlier events were known equally soon after their range. If delays have not changed, the events known so
//! far are a random draw from both, so a total is likely unless the hypergeometric test of both proportions rejects it at
//! 0.025 per side (Fisher RA 1935, inverted into prediction limits as in Nelson W, Applied Life Data Analysis, 1982,
//! chapter 6, *from memory*), with half of the probability of the observed count (mid-P: exact limits cover 99 % for
//! small counts). Neither a rate nor a delay distribution is assumed. Left out on purpose: delays beyond a maximum, and
//! events too recent to have had it.

use schemars::JsonSchema;
use serde::Serialize;
use statrs::distribution::{Discrete, DiscreteCDF, Hypergeometric};

use super::share::ClusterCount;
use super::tail::SIDE;

/// The maximum number of further events considered.
const MOST: u64 = 1_000;
/// The tolerance for comparing a probability with the limit: some are equal.
const NEAR: f64 = 1e-9;

/// An earlier event; all values in days.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Reported {
    /// Days from the start of its range; 0 on the first day.
    pub offset: i64,
    /// Length of its range.
    pub length: i64,
    /// Reporting delay; 0 on the day of the event.
    pub delay: i64,
}

impl Reported {
    /// Returns true if the event was known `lag` days after the end of its range.
    fn is_known(&self, lag: i64) -> bool {
        self.offset + self.delay < self.length + lag
    }
}

/// Counts the earlier events known `lag` days after the end of their range (0: its last day), out of all.
///
/// If `through` is given, only the first `through` days of each range count.
///
/// ```
/// # use exitsite::surveillance::delay::{Reported, known_by};
/// # use exitsite::surveillance::share::ClusterCount;
/// // onsets on the 10th and the 30th of months of 30 days, known 15 days later
/// let both = [9, 29].map(|offset| Reported { offset, length: 30, delay: 15 });
/// assert_eq!(known_by(&both, None, 0), ClusterCount { part: 1, whole: 2 });
/// assert_eq!(known_by(&both, None, 15), ClusterCount { part: 2, whole: 2 });
/// // by the 24th of the month, of those up to then
/// assert_eq!(known_by(&both, Some(24), 0), ClusterCount { part: 0, whole: 1 });
/// ```
pub fn known_by(earlier: &[Reported], through: Option<i64>, lag: i64) -> ClusterCount {
    let cut = |one: &Reported| Reported { length: through.map_or(one.length, |days| days.min(one.length)), ..*one };
    let inside: Vec<Reported> = earlier.iter().map(cut).filter(|one| one.offset < one.length).collect();
    let part = inside.iter().filter(|one| one.is_known(lag)).count();
    ClusterCount { part: part as u64, whole: inside.len() as u64 }
}

/// The 95 % prediction limits of a total, given the number known so far; a limit is null if there are no earlier events,
/// or if none was known so soon.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, JsonSchema)]
pub struct LikelyTotal {
    /// Lower limit of the final total.
    pub low: Option<u64>,
    /// Upper limit of the final total.
    pub high: Option<u64>,
}

impl LikelyTotal {
    /// Computes the limits from the earlier events and how many of them were known equally soon.
    ///
    /// ```
    /// # use exitsite::surveillance::delay::LikelyTotal;
    /// # use exitsite::surveillance::share::ClusterCount;
    /// let limits = |so_far, part, whole| {
    ///     let likely = LikelyTotal::of(so_far, ClusterCount { part, whole });
    ///     (likely.low, likely.high)
    /// };
    /// // all of 20 were known by then: the mid-P of one more unknown is 0.083, of two more 0.017
    /// assert_eq!(limits(3, 20, 20), (Some(3), Some(4)));
    /// // half of them were
    /// assert_eq!(limits(3, 10, 20), (Some(3), Some(16)));
    /// // none known so soon: no upper limit
    /// assert_eq!(limits(0, 0, 20), (Some(0), None));
    /// // no earlier events
    /// assert_eq!(LikelyTotal::of(3, ClusterCount::default()), LikelyTotal::default());
    /// ```
    pub fn of(so_far: u64, earlier: ClusterCount) -> LikelyTotal {
        if earlier.whole == 0 {
            return LikelyTotal::default();
        }
        let totals = || so_far..=so_far.saturating_add(MOST);
        let part = earlier.part.min(earlier.whole);
        // With each further event, a known proportion this small becomes less likely, and one this large more likely.
        let is_too_few =
            |total: u64| tails(so_far, part, earlier.whole, total).is_some_and(|(below, _)| below <= SIDE + NEAR);
        let is_too_many =
            |total: u64| tails(so_far, part, earlier.whole, total).is_none_or(|(_, above)| above <= SIDE + NEAR);
        let high =
            totals().find(|total| part > 0 && is_too_few(*total)).map(|total| total.saturating_sub(1).max(so_far));
        LikelyTotal { low: totals().find(|total| !is_too_many(*total)), high }
    }
}

/// Returns the probability that, of the known events among a total and all earlier events, `so_far` or fewer belong to
/// the total, and that of `so_far` or more, each with half of the probability of `so_far` itself; `None` beyond the
/// computable range.
fn tails(so_far: u64, part: u64, whole: u64, total: u64) -> Option<(f64, f64)> {
    let (all, known) = (total.checked_add(whole)?, so_far.checked_add(part)?);
    let law = Hypergeometric::new(all, total, known).ok()?;
    let above = if so_far == 0 { 1.0 } else { law.sf(so_far - 1) };
    let half = law.pmf(so_far) / 2.0;
    Some((law.cdf(so_far) - half, above - half))
}

/// Quantiles of delays in days, by the inverse distribution function; all null without events.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Quantiles {
    /// Number of events.
    pub n: u64,
    /// Median.
    pub median: Option<i64>,
    /// Upper quartile.
    pub upper_quartile: Option<i64>,
    /// 90th percentile.
    pub ninetieth: Option<i64>,
    /// Maximum.
    pub longest: Option<i64>,
}

impl Quantiles {
    /// Computes the quantiles of delays in days.
    ///
    /// ```
    /// # use exitsite::surveillance::delay::Quantiles;
    /// let found = Quantiles::of([9, 2, 30, 4]);
    /// assert_eq!((found.n, found.median, found.upper_quartile, found.longest), (4, Some(4), Some(9), Some(30)));
    /// assert_eq!(Quantiles::of([]), Quantiles::default());
    /// ```
    pub fn of(delays: impl IntoIterator<Item = i64>) -> Quantiles {
        let mut sorted: Vec<i64> = delays.into_iter().collect();
        sorted.sort_unstable();
        // The smallest rank with at least the required fraction at or below it.
        let at = |parts: usize, of: usize| sorted.get((sorted.len() * parts).div_ceil(of).saturating_sub(1)).copied();
        Quantiles {
            n: sorted.len() as u64,
            median: at(1, 2),
            upper_quartile: at(3, 4),
            ninetieth: at(9, 10),
            longest: sorted.last().copied(),
        }
    }
}
