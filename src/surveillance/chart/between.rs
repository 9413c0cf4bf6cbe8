//! Device-days between infections: a chart for a rare event.
//!
//! With a constant rate the gaps are exponential, and the limits have the same tail probability as three standard errors
//! of a normal distribution. The method is common practice (a t-chart with probability limits), no source. Left out on
//! purpose: the mean as the center line, since two gaps of three are shorter.

/// The probability that a gap is beyond a limit, per side: that of three standard errors of a normal distribution.
const SIDE: f64 = 0.00135;

/// Limits of a time between events at a constant rate.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Between {
    /// The median: the mean × ln 2.
    pub center: f64,
    /// Lower limit: 0.00135 of all gaps are shorter.
    pub low: f64,
    /// Upper limit: 0.00135 of all gaps are longer.
    pub high: f64,
}

impl Between {
    /// Returns the exponential probability limits around a mean gap.
    ///
    /// The unit is that of the mean. A mean of 0 or less, or NaN, counts as 0, and the limits are then 0.
    ///
    /// ```
    /// # use exitsite::surveillance::chart::between::Between;
    /// // an infection every 1,000 device-days: a gap of 1.3 days is too short, one of 6,608 too long
    /// let limits = Between::of(1000.0);
    /// assert_eq!(format!("{:.2} {:.1} {:.1}", limits.low, limits.center, limits.high), "1.35 693.1 6607.7");
    /// ```
    pub fn of(mean: f64) -> Between {
        let gap = |quantile: f64| (mean.max(0.0) * quantile).min(f64::MAX);
        Between { center: gap(std::f64::consts::LN_2), low: gap(-(-SIDE).ln_1p()), high: gap(-SIDE.ln()) }
    }
}
