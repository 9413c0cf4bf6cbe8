//! The tails of the Poisson and the binomial distribution, and where a tail is as heavy as it should be.
//!
//! Each tail is an incomplete gamma or beta function, so that a far one keeps its digits. Left out on purpose: one minus
//! the other tail, which loses them, and ready-made quantiles, which are good to ten digits only.

use statrs::function::beta::beta_reg;
use statrs::function::gamma::{gamma_lr, gamma_ur, ln_gamma};

/// The most events that limits are told of.
///
/// Up to here the tails are checked against an independent library; from some hundred thousand on the incomplete beta
/// function stops before it has converged, without a word.
pub const MOST_EVENTS: u64 = 100_000;

/// The probability outside of 95 % limits, on each side.
pub(super) const SIDE: f64 = 0.025;

/// The chance of `count` events or more where `mean` are expected, 0 or more.
pub(super) fn poisson_at_least(count: u64, mean: f64) -> f64 {
    match count {
        0 => 1.0,
        _ if mean <= 0.0 => 0.0,
        _ => gamma_lr(count as f64, mean),
    }
}

/// The chance of `count` events or fewer where `mean` are expected, 0 or more.
pub(super) fn poisson_at_most(count: u64, mean: f64) -> f64 {
    if mean <= 0.0 { 1.0 } else { gamma_ur(count as f64 + 1.0, mean) }
}

/// [`poisson_at_least`], continued between whole counts; `count` more than 0.
pub(super) fn poisson_from(count: f64, mean: f64) -> f64 {
    gamma_lr(count, mean)
}

/// [`poisson_at_most`], continued between whole counts, 0 or more.
pub(super) fn poisson_to(count: f64, mean: f64) -> f64 {
    gamma_ur(count + 1.0, mean)
}

/// The chance that a gamma variable of this shape and rate, both more than 0, is `value` or less.
pub(super) fn gamma_at_most(value: f64, shape: f64, rate: f64) -> f64 {
    if value <= 0.0 { 0.0 } else { gamma_lr(shape, rate * value) }
}

/// The chance of exactly `count` events where `mean` are expected, more than 0.
pub(super) fn poisson_exactly(count: u64, mean: f64) -> f64 {
    (count as f64 * mean.ln() - mean - ln_gamma(count as f64 + 1.0)).exp()
}

/// The chance that of `part` + `rest` events `part` or more fall where each falls with a chance of `share`.
pub(super) fn binomial_at_least(part: u64, rest: u64, share: f64) -> f64 {
    if part == 0 { 1.0 } else { beta_reg(part as f64, rest as f64 + 1.0, share) }
}

/// The place between `from` and `to` where a claim that holds at first ceases to hold, to the last digit.
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

/// A number that can be told: neither infinite nor not-a-number.
pub(super) fn told(number: f64) -> Option<f64> {
    number.is_finite().then_some(number)
}
