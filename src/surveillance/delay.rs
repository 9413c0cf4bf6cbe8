//! Reporting delays: how many events of a stretch of days are likely, given how late earlier ones became known.
//!
//! A part of all earlier events was known at the same time after their stretch. If delays are as they were, those known so
//! far are a draw from all of both, so a total is likely unless the hypergeometric test of both shares rejects it at 0.025 on a
//! side (Fisher RA 1935, turned into prediction limits as in Nelson W, Applied Life Data Analysis, 1982, chapter 6, *from
//! memory*), with half of the chance of the count seen (mid-P: the exact ones cover 99 % of small counts). Neither a rate nor
//! a curve of delays is assumed. Left out on purpose: delays beyond a longest one, and events too recent to have had it.

use schemars::JsonSchema;
use serde::Serialize;
use statrs::distribution::{Discrete, DiscreteCDF, Hypergeometric};

use super::share::ClusterCount;
use super::tail::SIDE;

/// The most events more that are looked for.
const MOST: u64 = 1_000;
/// A chance this near to the limit is at it: some are equal.
const NEAR: f64 = 1e-9;

/// An earlier event, in days.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Reported {
    /// Days from the first one of its stretch; 0 on that day.
    pub offset: i64,
    /// Days of its stretch.
    pub length: i64,
    /// Days until it was known; 0 on its own day.
    pub delay: i64,
}

impl Reported {
    /// Returns true if the event was known `lag` days after the end of its stretch.
    fn is_known(&self, lag: i64) -> bool {
        self.offset + self.delay < self.length + lag
    }
}

/// Earlier events that were known `lag` days after the end of their stretch, 0 on its last day, of all of them.
///
/// Stretches are cut off after so many days (`through`): the events of later days do not count.
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

/// The 95 % prediction limits of a total of which `so_far` are known; an end is null where nothing is earlier, or none of it
/// was known so soon.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, JsonSchema)]
pub struct LikelyTotal {
    /// The fewest that are likely in the end.
    pub low: Option<u64>,
    /// The most that are likely in the end.
    pub high: Option<u64>,
}

impl LikelyTotal {
    /// The limits, given earlier events and those of them that were known at the same time.
    ///
    /// ```
    /// # use exitsite::surveillance::delay::LikelyTotal;
    /// # use exitsite::surveillance::share::ClusterCount;
    /// let limits = |so_far, part, whole| {
    ///     let likely = LikelyTotal::of(so_far, ClusterCount { part, whole });
    ///     (likely.low, likely.high)
    /// };
    /// // all of 20 were known by then: that one more is not has a mid-P of 0.083, two more 0.017
    /// assert_eq!(limits(3, 20, 20), (Some(3), Some(4)));
    /// // half of them were
    /// assert_eq!(limits(3, 10, 20), (Some(3), Some(16)));
    /// // none known so soon: no most
    /// assert_eq!(limits(0, 0, 20), (Some(0), None));
    /// // nothing earlier
    /// assert_eq!(LikelyTotal::of(3, ClusterCount::default()), LikelyTotal::default());
    /// ```
    pub fn of(so_far: u64, earlier: ClusterCount) -> LikelyTotal {
        if earlier.whole == 0 {
            return LikelyTotal::default();
        }
        let totals = || so_far..=so_far.saturating_add(MOST);
        let part = earlier.part.min(earlier.whole);
        // The share known grows less likely to be as small, and more likely to be as large, with each event more.
        let is_too_few =
            |total: u64| tails(so_far, part, earlier.whole, total).is_some_and(|(below, _)| below <= SIDE + NEAR);
        let is_too_many =
            |total: u64| tails(so_far, part, earlier.whole, total).is_none_or(|(_, above)| above <= SIDE + NEAR);
        let high =
            totals().find(|total| part > 0 && is_too_few(*total)).map(|total| total.saturating_sub(1).max(so_far));
        LikelyTotal { low: totals().find(|total| !is_too_many(*total)), high }
    }
}

/// The chance that of so many known, out of a total and all earlier ones, `so_far` or fewer are of the total, and that of
/// `so_far` or more, each with half of the chance of `so_far` itself; `None` beyond what can be computed.
fn tails(so_far: u64, part: u64, whole: u64, total: u64) -> Option<(f64, f64)> {
    let (all, known) = (total.checked_add(whole)?, so_far.checked_add(part)?);
    let law = Hypergeometric::new(all, total, known).ok()?;
    let above = if so_far == 0 { 1.0 } else { law.sf(so_far - 1) };
    let half = law.pmf(so_far) / 2.0;
    Some((law.cdf(so_far) - half, above - half))
}

/// Days by which a share of events had come to pass, by the inverse of their distribution; all null of nothing.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Quantiles {
    /// Events.
    pub n: u64,
    /// The day by which half were over.
    pub median: Option<i64>,
    /// The day by which three quarters were over.
    pub upper_quartile: Option<i64>,
    /// The day by which nine of ten were over.
    pub ninetieth: Option<i64>,
    /// The longest.
    pub longest: Option<i64>,
}

impl Quantiles {
    /// The quantiles of some delays, in days.
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
        // The smallest place with at least so many of ten or four at or below it.
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
