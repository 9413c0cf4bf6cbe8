//! The tails of the Poisson and binomial distributions, and the inversion of a tail.
//!
//! Each tail is an incomplete gamma or beta function, so that a small one keeps its precision. Left out on purpose: one
//! minus the other tail, which loses it, and library quantiles, which are accurate to ten digits only.

use statrs::function::beta::beta_reg;
use statrs::function::gamma::{gamma_lr, gamma_ur, ln_gamma};

/// The maximum number of events for which limits are computed.
///
/// Up to here the tails are checked against an independent library; from some hundred thousand on, the incomplete beta
/// function silently stops before it has converged.
pub const MOST_EVENTS: u64 = 100_000;

/// The probability outside 95 % limits, per side.
pub(super) const SIDE: f64 = 0.025;

/// P(X ≥ `count`) for a Poisson variable with a mean of 0 or more.
pub(super) fn poisson_at_least(count: u64, mean: f64) -> f64 {
    match count {
        0 => 1.0,
        _ if mean <= 0.0 => 0.0,
        _ => gamma_lr(count as f64, mean),
    }
}

/// P(X ≤ `count`) for a Poisson variable with a mean of 0 or more.
pub(super) fn poisson_at_most(count: u64, mean: f64) -> f64 {
    if mean <= 0.0 { 1.0 } else { gamma_ur(count as f64 + 1.0, mean) }
}

/// [`poisson_at_least`], interpolated between integers; `count` more than 0.
pub(super) fn poisson_from(count: f64, mean: f64) -> f64 {
    gamma_lr(count, mean)
}

/// [`poisson_at_most`], interpolated between integers; `count` 0 or more.
pub(super) fn poisson_to(count: f64, mean: f64) -> f64 {
    gamma_ur(count + 1.0, mean)
}

/// P(X ≤ `value`) for a gamma variable with this shape and rate, both more than 0.
pub(super) fn gamma_at_most(value: f64, shape: f64, rate: f64) -> f64 {
    if value <= 0.0 { 0.0 } else { gamma_lr(shape, rate * value) }
}

/// P(X = `count`) for a Poisson variable with a mean of more than 0.
pub(super) fn poisson_exactly(count: u64, mean: f64) -> f64 {
    (count as f64 * mean.ln() - mean - ln_gamma(count as f64 + 1.0)).exp()
}

/// P(X ≥ `part`) for a binomial variable with `part` + `rest` trials and success probability `share`.
pub(super) fn binomial_at_least(part: u64, rest: u64, share: f64) -> f64 {
    if part == 0 { 1.0 } else { beta_reg(part as f64, rest as f64 + 1.0, share) }
}

/// The point between `from` and `to` at which a predicate that is true at first becomes false, to the last digit.
pub(super) fn bisect(from: f64, to: f64, holds: impl Fn(f64) -> bool) -> f64 {
    let (mut holding, mut ceased) = (from, to);
    loop {
        let middle = holding + (ceased - holding) / 2.0;
        if middle <= holding || middle >= ceased {
            return middle;
        }
        if holds(middle) {
            holding = middle;
        } else {
            ceased = middle;
        }
    }
}

/// The number, unless it is infinite or NaN.
pub(super) fn told(number: f64) -> Option<f64> {
    number.is_finite().then_some(number)
}
