//! A share a month: a p-chart whose limits are widened by the design effect.
//!
//! Source of the limits: NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.3.2; of the design effect see
//! [`Share`](super::super::share::Share). Left out on purpose: limits of its own for each patient.

/// Standard errors from the center to a limit.
const STANDARD_ERRORS: f64 = 3.0;

/// The limits of one month's share.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shares {
    /// Lower limit, 0 or more.
    pub low: f64,
    /// Upper limit, 1 or less.
    pub high: f64,
}

impl Shares {
    /// Three standard errors on each side of `center`, of a month of `whole`, widened by the design effect.
    ///
    /// The center is a share, 0 to 1, the whole a count and the design effect 1 or more. A month of nothing has limits
    /// that nothing is beyond, 0 and 1.
    ///
    /// ```
    /// # use exitsite::surveillance::chart::shares::Shares;
    /// let digits = |limits: Shares| format!("{:.3}-{:.3}", limits.low, limits.high);
    /// // 90 % days in date, in a month of 300
    /// assert_eq!(digits(Shares::of(0.9, 300.0, 1.0)), "0.848-0.952");
    /// assert_eq!(digits(Shares::of(0.9, 300.0, 4.0)), "0.796-1.000");
    /// assert_eq!(digits(Shares::of(0.9, 0.0, 1.0)), "0.000-1.000");
    /// ```
    pub fn of(center: f64, whole: f64, design_effect: f64) -> Shares {
        let center = center.clamp(0.0, 1.0);
        let reach = STANDARD_ERRORS * (center * (1.0 - center) / whole * design_effect).sqrt();
        // The larger, or the smaller, of a number and what is none is the number.
        Shares { low: (center - reach).max(0.0), high: (center + reach).min(1.0) }
    }
}
