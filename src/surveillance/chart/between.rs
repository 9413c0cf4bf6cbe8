//! Device-days between infections: the picture of a rare event.

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
    pub fn of(mean: f64) -> Between {
        Between { center: mean, low: 0.0, high: 0.0 }
    }
}
