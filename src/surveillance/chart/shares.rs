//! A monthly proportion: a p-chart whose limits are widened by the design effect.
//!
//! Source of the limits: NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.3.2; for the design effect see
//! [`Share`](super::super::share::Share). Left out on purpose: separate limits for each patient.

/// The number of standard errors from the center line to a limit.
const STANDARD_ERRORS: f64 = 3.0;

/// The limits of one month's proportion.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shares {
    /// Lower limit, 0 or more.
    pub low: f64,
    /// Upper limit, 1 or less.
    pub high: f64,
}

impl Shares {
    /// Returns three standard errors on each side of `center`, for a month with denominator `whole`, widened by the
    /// design effect.
    ///
    /// The center is a proportion, 0 to 1, the denominator a count and the design effect 1 or more. A month with
    /// denominator 0 has the limits 0 and 1.
    ///
    /// ```
    /// # use exitsite::surveillance::chart::shares::Shares;
    /// let digits = |limits: Shares| format!("{:.3}-{:.3}", limits.low, limits.high);
    /// // 90 % of days with dressing current, in a month of 300
    /// assert_eq!(digits(Shares::of(0.9, 300.0, 1.0)), "0.848-0.952");
    /// assert_eq!(digits(Shares::of(0.9, 300.0, 4.0)), "0.796-1.000");
    /// assert_eq!(digits(Shares::of(0.9, 0.0, 1.0)), "0.000-1.000");
    /// ```
    pub fn of(center: f64, whole: f64, design_effect: f64) -> Shares {
        let center = center.clamp(0.0, 1.0);
        let reach = STANDARD_ERRORS * (center * (1.0 - center) / whole * design_effect).sqrt();
        // `max` and `min` of a number and NaN are the number.
        Shares { low: (center - reach).max(0.0), high: (center + reach).min(1.0) }
    }
}
