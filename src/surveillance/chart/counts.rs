//! Infections a month over that month's exposure: a u-chart with exact Poisson probability limits.
//!
//! The limits leave as much outside as three standard errors of a normal curve do; common practice, no source. Left out
//! on purpose: three standard errors themselves, which for a small count lie below 0 and call chance a signal.

use super::super::tail::{poisson_at_least, poisson_at_most};

/// The chance that a count lies beyond a limit, on each side, at most.
const SIDE: f64 = 0.00135;

/// The most that may be expected of a month; above it nothing is beyond.
const MOST_EXPECTED: f64 = 1e6;

/// The counts that chance alone seldom passes, for an expected count; a count outside of them is *beyond*.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct CountLimits {
    /// Fewer are seen in at most 0.00135 of such months.
    pub least: u64,
    /// More are seen in at most 0.00135 of such months.
    pub most: u64,
}

impl CountLimits {
    /// Exact Poisson probability limits around an expected count, 0 or more.
    ///
    /// Above a million nothing is beyond. What is not a number is 0.
    ///
    /// ```
    /// # use exitsite::surveillance::chart::counts::CountLimits;
    /// // of one expected, 5 come by chance in 1 of 273 months, 6 in 1 of 1,683
    /// assert_eq!(CountLimits::of(1.0), CountLimits { least: 0, most: 5 });
    /// assert_eq!(CountLimits::of(20.0), CountLimits { least: 8, most: 35 });
    /// // nobody there: one is beyond
    /// assert_eq!(CountLimits::of(0.0), CountLimits { least: 0, most: 0 });
    /// ```
    pub fn of(expected: f64) -> CountLimits {
        if expected > MOST_EXPECTED {
            return CountLimits { least: 0, most: u64::MAX };
        }
        let expected = expected.max(0.0);
        // Before and behind these the chances are below any that is asked for.
        let reach = 10.0 * expected.sqrt() + 20.0;
        let (from, to) = ((expected - reach).max(0.0) as u64, (expected + reach) as u64);
        let counts: Vec<u64> = (from..=to).collect();
        let least = counts.partition_point(|count| poisson_at_most(*count, expected) <= SIDE);
        let most = counts.partition_point(|count| poisson_at_least(count + 1, expected) > SIDE);
        CountLimits { least: from + least as u64, most: from + most as u64 }
    }
}
