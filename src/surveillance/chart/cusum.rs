//! The alarms: a Poisson CUSUM of the evidence for a doubled rate against the baseline, and a lower-sided one for a
//! halved rate.
//!
//! Source of the chart: Lucas JM, Technometrics 1985;27:129. The run lengths of its threshold are computed for this
//! project, see [`run_length()`]. Left out on purpose: a head start.

pub mod run_length;

use run_length::{lower_run_length, run_length};

/// The rate ratio to which the alarm is tuned.
pub const RATIO: f64 = 2.0;
/// The rate ratio to which the lower-sided alarm is tuned.
pub const LOWER_RATIO: f64 = 0.5;
/// The average number of months between two false alarms.
pub const IN_CONTROL_MONTHS: f64 = 100.0;

/// The resolution of a threshold.
const STEPS_OF_ONE: u32 = 1000;
/// The range of monthly expected counts for which a threshold is computed.
const LEAST_EXPECTED: f64 = 1e-3;
const MOST_EXPECTED: f64 = 1e3;
/// The tolerance for reaching the threshold. Months without an infection add up to it exactly.
const TIE: f64 = 1e-9;

/// Returns the average number of months until an alarm, for a CUSUM with `expected` infections a month at the baseline,
/// if the true rate is `ratio` times the baseline.
///
/// ```
/// # use exitsite::surveillance::chart::cusum::{Cusum, months_to_alarm};
/// // an imprecise baseline of one infection a month: false alarms are far rarer, or far more frequent, than intended
/// let threshold = Cusum::of(1.0).threshold;
/// assert_eq!([0.5, 1.0, 1.5].map(|ratio| months_to_alarm(1.0, ratio, threshold).round()), [7979.0, 100.0, 16.0]);
/// ```
pub fn months_to_alarm(expected: f64, ratio: f64, threshold: f64) -> f64 {
    run_length(ratio * expected, (RATIO - 1.0) * expected / RATIO.ln(), threshold / RATIO.ln(), 0.0)
}

/// Returns the average number of months until an alarm, for a lower-sided CUSUM with `expected` infections a month at the
/// old rate, if the true rate is `ratio` times the old one.
///
/// ```
/// # use exitsite::surveillance::chart::cusum::{Cusum, lower_months_to_alarm};
/// let lower = Cusum::lower(1.0);
/// assert_eq!(lower_months_to_alarm(1.0, 0.5, lower.threshold), lower.expected_delay_months);
/// // no infection at all: the sum increases by one half each month
/// assert_eq!(lower_months_to_alarm(1.0, 1e-12, lower.threshold).round(), (lower.threshold / 0.5).ceil());
/// ```
pub fn lower_months_to_alarm(expected: f64, ratio: f64, threshold: f64) -> f64 {
    let of_one = -LOWER_RATIO.ln();
    lower_run_length(ratio * expected, (1.0 - LOWER_RATIO) * expected / of_one, (threshold - TIE) / of_one)
}

/// One month of the chart.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sum {
    /// S after this month.
    pub value: f64,
    /// True if S has reached the threshold.
    pub is_alarm: bool,
}

/// A CUSUM tuned for a baseline.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cusum {
    /// Rate ratio to which it is tuned: 2, or 1/2 if lower-sided.
    pub ratio: f64,
    /// Threshold: an alarm is S at this value or above.
    pub threshold: f64,
    /// Average months between two false alarms at the baseline.
    pub in_control_months: f64,
    /// Average months until a doubled (or halved) rate is detected.
    pub expected_delay_months: f64,
}

impl Cusum {
    /// Returns the CUSUM for `expected` infections a month at the baseline, more than 0.
    ///
    /// The threshold is the smallest multiple of 0.001 at which false alarms are 100 months apart or more on average, for
    /// months of equal exposure, starting from S = 0. Since S takes some values often, the average is slightly above 100,
    /// and far above it if few or many infections are expected (under 0.05, over 30). The delay also starts from S = 0
    /// and includes the month of the alarm. An expected count outside 0.001 to 1,000 is clamped.
    ///
    /// ```
    /// # use exitsite::surveillance::chart::cusum::Cusum;
    /// // one infection a month
    /// let cusum = Cusum::of(1.0);
    /// assert_eq!(format!("{:.3} {:.1} {:.1}", cusum.threshold, cusum.in_control_months, cusum.expected_delay_months), "2.557 100.1 7.1");
    /// ```
    pub fn of(expected: f64) -> Cusum {
        Cusum::tuned(expected, RATIO, months_to_alarm)
    }

    /// Returns the lower-sided CUSUM for `expected` infections a month at the old rate: its alarm indicates a halved
    /// rate. Everything else is as for [`Cusum::of`].
    ///
    /// ```
    /// # use exitsite::surveillance::chart::cusum::Cusum;
    /// // one infection a month
    /// let lower = Cusum::lower(1.0);
    /// assert_eq!(format!("{:.3} {:.1} {:.1}", lower.threshold, lower.in_control_months, lower.expected_delay_months), "2.501 104.4 14.1");
    /// ```
    pub fn lower(expected: f64) -> Cusum {
        Cusum::tuned(expected, LOWER_RATIO, lower_months_to_alarm)
    }

    /// Returns the CUSUM for a ratio; `months_to_alarm` gives the run length from expected count, ratio and threshold.
    fn tuned(expected: f64, ratio: f64, months_to_alarm: impl Fn(f64, f64, f64) -> f64) -> Cusum {
        let expected = if expected > LEAST_EXPECTED { expected.min(MOST_EXPECTED) } else { LEAST_EXPECTED };
        let threshold = |steps: u32| f64::from(steps) / f64::from(STEPS_OF_ONE);
        let months = |steps, ratio: f64| months_to_alarm(expected, ratio, threshold(steps));
        // Alarms of a sum of log likelihood ratios are at least e^threshold apart (Lorden G, Ann Math Stat 1971;42:1897,
        // from memory), which bounds the threshold from above.
        let (mut short, mut enough) = (0, (IN_CONTROL_MONTHS.ln() * f64::from(STEPS_OF_ONE)).ceil() as u32);
        while enough - short > 1 {
            let middle = u32::midpoint(short, enough);
            if months(middle, 1.0) >= IN_CONTROL_MONTHS { enough = middle } else { short = middle }
        }
        Cusum {
            ratio,
            threshold: threshold(enough),
            in_control_months: months(enough, 1.0),
            expected_delay_months: months(enough, ratio),
        }
    }

    /// Returns S month by month, from the counts and the counts expected from each month's exposure at the baseline.
    /// `is_acknowledged` returns true for a month (by index) whose alarm was acknowledged: S restarts after it.
    ///
    /// S = max(0, S + x ln 2 − E), starting from 0; lower-sided, S = max(0, S + E/2 − x ln 2). An alarm is S at or above
    /// the threshold; until it is acknowledged, S continues, and every month at or above the threshold is an alarm.
    /// Acknowledging a month without an alarm has no effect. The threshold stays that of the baseline, whatever the
    /// exposure of a month.
    ///
    /// ```
    /// # use exitsite::surveillance::chart::cusum::Cusum;
    /// let cusum = Cusum { ratio: 2.0, threshold: 2.0, in_control_months: 100.0, expected_delay_months: 9.0 };
    /// let months = [(1, 1.0), (3, 1.0), (3, 1.0), (2, 1.0), (0, 2.0)];
    /// let told = |acknowledged: Option<usize>| {
    ///     let sums = cusum.run(&months, |month| Some(month) == acknowledged);
    ///     sums.iter().map(|sum| format!("{:.2}{}", sum.value, if sum.is_alarm { "!" } else { "" })).collect::<Vec<_>>().join(" ")
    /// };
    /// assert_eq!(told(None), "0.00 1.08 2.16! 2.55! 0.55");
    /// assert_eq!(told(Some(2)), "0.00 1.08 2.16! 0.39 0.00");
    /// ```
    pub fn run(&self, months: &[(u64, f64)], is_acknowledged: impl Fn(usize) -> bool) -> Vec<Sum> {
        let mut before = 0.0;
        let mut sums = Vec::with_capacity(months.len());
        for (month, (count, expected)) in months.iter().enumerate() {
            let step = *count as f64 * self.ratio.ln() - (self.ratio - 1.0) * expected;
            // `max` of 0 and NaN is 0.
            let value = (before + step).clamp(f64::MIN, f64::MAX).max(0.0);
            let is_alarm = value >= self.threshold - TIE;
            before = if is_alarm && is_acknowledged(month) { 0.0 } else { value };
            sums.push(Sum { value, is_alarm });
        }
        sums
    }
}
