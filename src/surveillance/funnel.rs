//! A funnel plot: control limits for the rates of several programs, by exposure.
//!
//! Source: Spiegelhalter DJ, Stat Med 2005;24:1185 (control limits of 95 % and 99.8 % around a common rate). The limits
//! are those of the exact tails, interpolated between counts by the incomplete gamma function: they are smooth, and a
//! whole count is beyond one exactly if its own tail is that small. Left out on purpose: the interpolation in that
//! paper's appendix, which chance exceeds more often than stated (*from memory*), and ranks, which are mostly chance.

use schemars::JsonSchema;
use serde::Serialize;

use super::log_rank;
use super::tail::{MOST_EVENTS, SIDE, bisect, poisson_at_least, poisson_at_most, poisson_from, poisson_to, told};
use crate::word::words;

/// The probability outside the outer limits, per side: 99.8 %.
const OUTER: f64 = 0.001;
/// The fewest events that each program must expect for the p of a chi-square. Source: common practice (Cochran WG,
/// Biometrics 1954;10:417, *from memory*).
const LEAST_EXPECTED: f64 = 5.0;

/// Control limits of a rate around a common one.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, JsonSchema)]
pub struct FunnelLimits {
    /// Lower limit; null if even a count of 0 is not rare enough.
    pub low: Option<f64>,
    /// Upper limit; null without a common rate.
    pub high: Option<f64>,
}

/// The limits at one exposure.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, JsonSchema)]
pub struct Funnel {
    /// Limits of 95 %.
    pub inner: FunnelLimits,
    /// Limits of 99.8 %.
    pub outer: FunnelLimits,
}

words! {
    /// The side on which a rate is beyond the limits.
    pub enum Beyond {
        /// Fewer events than chance explains.
        Below = "below",
        /// More events than chance explains.
        Above = "above",
    }
}

impl Funnel {
    /// Returns the limits of a rate over an `exposure` around a common `rate` per unit of exposure.
    ///
    /// All null without exposure, without a rate, or if more than [`MOST_EVENTS`] are expected.
    ///
    /// ```
    /// # use exitsite::surveillance::funnel::Funnel;
    /// let digits = |figure: Option<f64>| figure.map_or("none".to_owned(), |figure| format!("{figure:.3}"));
    /// // 3 expected: 8 or more occur in 1.2 % of such years, 7 or more in 3.4 %; none at all in 5.0 %
    /// let small = Funnel::of(0.3, 10.0);
    /// assert_eq!([small.inner.low, small.inner.high, small.outer.high].map(digits), ["none", "0.729", "1.008"]);
    /// // 30 are expected
    /// let large = Funnel::of(0.3, 100.0);
    /// assert_eq!([large.inner.low, large.inner.high].map(digits), ["0.193", "0.417"]);
    /// assert_eq!(Funnel::of(0.0, 10.0), Funnel::default());
    /// ```
    pub fn of(rate: f64, exposure: f64) -> Funnel {
        let limits = |side| FunnelLimits::of(rate, exposure, side).unwrap_or_default();
        Funnel { inner: limits(SIDE), outer: limits(OUTER) }
    }
}

impl FunnelLimits {
    fn of(rate: f64, exposure: f64, side: f64) -> Option<FunnelLimits> {
        let expected = rate * exposure;
        if !(rate > 0.0 && exposure > 0.0 && expected > 0.0 && expected <= MOST_EVENTS as f64) {
            return None;
        }
        let low = fewest(expected, side).and_then(|count| told(count / exposure));
        Some(FunnelLimits { low, high: told(most(expected, side) / exposure) })
    }
}

impl Beyond {
    /// Returns the side on which a count is beyond the 99.8 % limits, if any: as many or more, or as few or fewer, occur
    /// in at most 1 of 1,000 such programs.
    pub fn of(events: u64, expected: f64) -> Option<Beyond> {
        Beyond::at(events, expected, OUTER)
    }

    /// The side on which a count is beyond the limits of 95 %, if it is: at most 1 of 40 such programs have as many or
    /// more, or as few or fewer.
    pub(crate) fn of_inner(events: u64, expected: f64) -> Option<Beyond> {
        Beyond::at(events, expected, SIDE)
    }

    fn at(events: u64, expected: f64, side: f64) -> Option<Beyond> {
        if !(expected > 0.0 && expected <= MOST_EVENTS as f64) {
            return None;
        }
        let is_above = poisson_at_least(events, expected) <= side;
        let is_below = poisson_at_most(events, expected) <= side;
        match (is_above, is_below) {
            (true, _) => Some(Beyond::Above),
            (_, true) => Some(Beyond::Below),
            _ => None,
        }
    }
}

/// Pearson's chi-square of the events of several programs against those expected at one shared rate.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, JsonSchema)]
pub struct Heterogeneity {
    /// The sum of (observed − expected)² ÷ expected; null without an event, or of fewer than two programs.
    pub chi_square: Option<f64>,
    /// Degrees of freedom: the programs less one; null as above.
    pub df: Option<u64>,
    /// The probability of a chi-square as large or larger at one shared rate; null where a program expects under 5.
    pub p: Option<f64>,
}

impl Heterogeneity {
    /// The chi-square over programs, each with its observed and its expected events.
    ///
    /// ```
    /// # use exitsite::surveillance::funnel::Heterogeneity;
    /// // 8, 12 and 10 where 10 are expected of each: 0.4 + 0.4 + 0; R: pchisq(0.8, 2, lower.tail = FALSE)
    /// let found = Heterogeneity::of(&[(8, 10.0), (12, 10.0), (10, 10.0)]);
    /// assert_eq!((found.df, found.p.map(|p| format!("{p:.4}"))), (Some(2), Some("0.6703".to_owned())));
    /// // too few for a p
    /// assert_eq!(Heterogeneity::of(&[(1, 3.0), (5, 3.0)]).p, None);
    /// assert_eq!(Heterogeneity::of(&[(4, 4.0)]), Heterogeneity::default());
    /// ```
    pub fn of(programs: &[(u64, f64)]) -> Heterogeneity {
        if programs.len() < 2 || programs.iter().any(|(_, expected)| *expected <= 0.0) {
            return Heterogeneity::default();
        }
        let part = |(observed, expected): &(u64, f64)| (*observed as f64 - expected).powi(2) / expected;
        let (chi_square, df) = (programs.iter().map(part).sum(), programs.len() as u64 - 1);
        let is_enough = programs.iter().all(|(_, expected)| *expected >= LEAST_EXPECTED);
        Heterogeneity {
            chi_square: told(chi_square),
            df: Some(df),
            p: if is_enough { log_rank::tail(chi_square, df) } else { None },
        }
    }
}

/// The count, interpolated between integers, that is reached or exceeded with probability `side`.
fn most(expected: f64, side: f64) -> f64 {
    bisect(0.0, 2.0 * expected + 100.0, |count| poisson_from(count, expected) >= side)
}

/// The count, interpolated between integers, that is not exceeded with probability `side`; `None` if 0 has more.
fn fewest(expected: f64, side: f64) -> Option<f64> {
    let up_to = |count: f64| poisson_to(count, expected);
    (up_to(0.0) <= side).then(|| bisect(0.0, expected, |count| up_to(count) <= side))
}
