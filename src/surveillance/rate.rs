//! A rate of events over an exposure, with exact and mid-P Poisson limits.
//!
//! Source of the exact limits: Garwood F, Biometrika 1936;28:437. Of the mid-P limits: Lancaster HO, J Am Stat Assoc
//! 1961;56:223, who counts half of the probability of the observed count (from memory). Left out on purpose: shorter
//! limits with unequal tails, and the normal approximation, which is invalid for a rare event.

use schemars::JsonSchema;
use serde::Serialize;

use super::tail::{MOST_EVENTS, SIDE, bisect, poisson_at_least, poisson_at_most, told};

/// Events per unit of exposure, with 95 % limits; all null without exposure.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, JsonSchema)]
pub struct Rate {
    /// Events ÷ exposure.
    pub rate: Option<f64>,
    /// Exact lower limit.
    pub low: Option<f64>,
    /// Exact upper limit.
    pub high: Option<f64>,
    /// Mid-P lower limit.
    pub mid_p_low: Option<f64>,
    /// Mid-P upper limit.
    pub mid_p_high: Option<f64>,
}

impl Rate {
    /// Returns the rate of `events` over an `exposure`.
    ///
    /// The unit is that of the exposure: device-days ÷ 1,000 give a rate per 1,000 device-days. Without events the lower
    /// limits are 0. An exposure of 0 or less counts as none; above [`MOST_EVENTS`] events the limits are null.
    ///
    /// ```
    /// # use exitsite::surveillance::rate::Rate;
    /// let digits = |figure: Option<f64>| figure.map(|figure| format!("{figure:.4}"));
    /// // no infection in 2,500 device-days, per 1,000: up to 3.6889 ÷ 2.5
    /// let none = Rate::of(0, 2.5);
    /// assert_eq!((none.rate, none.low, digits(none.high)), (Some(0.0), Some(0.0), Some("1.4756".to_owned())));
    /// // 10 infections in 10,000 device-days
    /// let ten = Rate::of(10, 10.0);
    /// assert_eq!((ten.rate, digits(ten.low), digits(ten.high)), (Some(1.0), Some("0.4795".to_owned()), Some("1.8390".to_owned())));
    /// // no exposure
    /// assert_eq!(Rate::of(0, 0.0), Rate::default());
    /// ```
    pub fn of(events: u64, exposure: f64) -> Rate {
        if !(exposure > 0.0 && exposure.is_finite()) {
            return Rate::default();
        }
        let per_exposure = |count: f64| told(count / exposure);
        let limit = |limit: fn(u64, Weight, f64) -> f64, weight| {
            (events <= MOST_EVENTS).then(|| per_exposure(limit(events, weight, SIDE))).flatten()
        };
        Rate {
            rate: per_exposure(events as f64),
            low: limit(lower_limit, Weight::Whole),
            high: limit(upper_limit, Weight::Whole),
            mid_p_low: limit(lower_limit, Weight::Half),
            mid_p_high: limit(upper_limit, Weight::Half),
        }
    }
}

/// The part of the probability of the observed count that belongs to a tail.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Weight {
    /// All: exact.
    Whole,
    /// Half: mid-P.
    Half,
}

/// The mean at which `events` or more have probability `side`; 0 without events.
///
/// `side` is the tail probability, 0.025 for 95 % limits; `events` at most [`MOST_EVENTS`].
pub fn lower_limit(events: u64, weight: Weight, side: f64) -> f64 {
    let tail = |mean| match weight {
        Weight::Whole => poisson_at_least(events, mean),
        Weight::Half => (poisson_at_least(events, mean) + poisson_at_least(events + 1, mean)) / 2.0,
    };
    if events == 0 { 0.0 } else { bisect(0.0, events as f64, |mean| tail(mean) <= side) }
}

/// The mean at which `events` or fewer have probability `side`.
pub fn upper_limit(events: u64, weight: Weight, side: f64) -> f64 {
    let fewer = |mean| if events == 0 { 0.0 } else { poisson_at_most(events - 1, mean) };
    let tail = |mean| match weight {
        Weight::Whole => poisson_at_most(events, mean),
        Weight::Half => (poisson_at_most(events, mean) + fewer(mean)) / 2.0,
    };
    // At twice the count plus a hundred, the probability is below any requested value.
    let (from, to) = (events as f64, 2.0 * events as f64 + 100.0);
    bisect(from, to, |mean| tail(mean) >= side)
}
