//! Monthly infections relative to the month's exposure: a u-chart with exact Poisson probability limits.
//!
//! The limits have the same tail probability as three standard errors of a normal distribution; common practice, no
//! source. Left out on purpose: three standard errors themselves, which for a small count are below 0 and turn chance
//! into a signal.

use super::super::tail::{poisson_at_least, poisson_at_most};

/// The maximum probability that a count is beyond a limit, per side.
const SIDE: f64 = 0.00135;

/// The maximum expected count of a month; above it nothing is beyond the limits.
const MOST_EXPECTED: f64 = 1e6;

/// The counts within probability limits, given an expected count; a count outside them is *beyond*.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct CountLimits {
    /// Lower limit: at most 0.00135 of such months have fewer.
    pub least: u64,
    /// Upper limit: at most 0.00135 of such months have more.
    pub most: u64,
}

impl CountLimits {
    /// Returns the exact Poisson probability limits around an expected count of 0 or more.
    ///
    /// If more than a million are expected, nothing is beyond. NaN counts as 0.
    ///
    /// ```
    /// # use exitsite::surveillance::chart::counts::CountLimits;
    /// // with one expected, 5 occur by chance in 1 of 273 months, 6 in 1 of 1,683
    /// assert_eq!(CountLimits::of(1.0), CountLimits { least: 0, most: 5 });
    /// assert_eq!(CountLimits::of(20.0), CountLimits { least: 8, most: 35 });
    /// // no exposure: one infection is beyond
    /// assert_eq!(CountLimits::of(0.0), CountLimits { least: 0, most: 0 });
    /// ```
    pub fn of(expected: f64) -> CountLimits {
        if expected > MOST_EXPECTED {
            return CountLimits { least: 0, most: u64::MAX };
        }
        let expected = expected.max(0.0);
        // Outside this range the probabilities are below any limit.
        let reach = 10.0 * expected.sqrt() + 20.0;
        let (from, to) = ((expected - reach).max(0.0) as u64, (expected + reach) as u64);
        let counts: Vec<u64> = (from..=to).collect();
        let least = counts.partition_point(|count| poisson_at_most(*count, expected) <= SIDE);
        let most = counts.partition_point(|count| poisson_at_least(count + 1, expected) > SIDE);
        CountLimits { least: from + least as u64, most: from + most as u64 }
    }
}
