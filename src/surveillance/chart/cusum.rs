//! The alarm: a Poisson CUSUM that adds up what a doubled rate would explain better than the baseline does.

/// The ratio that the alarm is tuned to.
pub const RATIO: f64 = 2.0;
/// Months without a change between two false alarms, on average.
pub const IN_CONTROL_MONTHS: f64 = 100.0;

/// One month of the chart.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sum {
    /// S after this month.
    pub value: f64,
    /// Whether it has reached the threshold.
    pub is_alarm: bool,
}

/// A CUSUM tuned for a baseline.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cusum {
    /// An alarm at this value of S, or above.
    pub threshold: f64,
    /// Months between two false alarms at the baseline, on average.
    pub in_control_months: f64,
    /// Months until a doubled rate is seen, on average.
    pub expected_delay_months: f64,
}

impl Cusum {
    /// The CUSUM for `expected` infections a month at the baseline, more than 0.
    pub fn of(expected: f64) -> Cusum {
        Cusum { threshold: expected, in_control_months: 0.0, expected_delay_months: 0.0 }
    }

    /// S, month by month, from the counts and what the baseline expects of each month's exposure. `is_acknowledged`
    /// says of a month (by its index) whether an alarm of it was acknowledged: S begins anew after it.
    pub fn run(&self, months: &[(u64, f64)], is_acknowledged: impl Fn(usize) -> bool) -> Vec<Sum> {
        let _ = (months, is_acknowledged);
        Vec::new()
    }
}
