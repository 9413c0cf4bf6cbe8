//! Device-days between infections: the picture of a rare event.
//!
//! Under a constant rate the gaps are exponential, and the limits are where that curve leaves as much outside as
//! three standard errors of a normal one do. The method is common practice (a t-chart with probability limits), no source.
//! Left out on purpose: a mean as the center, since two gaps of three are shorter.

/// The chance that a gap lies beyond a limit, on each side: what three standard errors of a normal curve leave.
const SIDE: f64 = 0.00135;

/// Limits of a time between events whose rate does not change.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Between {
    /// Half of all gaps are shorter: the mean × ln 2.
    pub center: f64,
    /// Shorter in 0.00135 of all gaps.
    pub low: f64,
    /// Longer in 0.00135 of all gaps.
    pub high: f64,
}

impl Between {
    /// Exponential probability limits around a mean gap.
    ///
    /// In the unit of the mean. A mean that is not more than 0 is 0, and so are the limits.
    ///
    /// ```
    /// # use exitsite::surveillance::chart::between::Between;
    /// // an infection every 1,000 device-days: 1.4 days are too short a gap, 6,608 too long a one
    /// let limits = Between::of(1000.0);
    /// assert_eq!(format!("{:.2} {:.1} {:.1}", limits.low, limits.center, limits.high), "1.35 693.1 6607.7");
    /// ```
    pub fn of(mean: f64) -> Between {
        let gap = |quantile: f64| (mean.max(0.0) * quantile).min(f64::MAX);
        Between { center: gap(std::f64::consts::LN_2), low: gap(-(-SIDE).ln_1p()), high: gap(-SIDE.ln()) }
    }
}
