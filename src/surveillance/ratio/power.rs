//! The smallest rate ratio that a comparison would have shown: what "no difference was seen" is worth.
//!
//! The definition is this project's own, there is no published source; the method is that of an unconditional power of a
//! conditional test. Left out on purpose: a power at the ratio that was seen, which only says p in other words.

use super::super::tail::{SIDE, binomial_at_least, poisson_at_least, poisson_exactly, turning_point};

/// The power that is asked for.
const POWER: f64 = 0.8;
/// No ratio above it is looked for.
const LARGEST_RATIO: f64 = 1000.0;
/// Nor any where more events than these were seen before, or would be expected now at the same rate.
const MOST_EXPECTED: f64 = 10_000.0;
/// Chances that change no digit of the answer.
const NEGLIGIBLE: f64 = 1e-14;

/// The smallest ratio above 1 that would have been shown with 80 % power; null without events before.
///
/// The rate before is taken as the truth: the events before are Poisson around those seen, the events now Poisson around
/// the ratio × those seen × the exposure now ÷ the exposure before. *Shown* is an exact two-sided p under 0.05 with more
/// events for the exposure now than before. Null as well where no ratio up to 1,000 would have been, and beyond 10,000
/// events. Both exposures more than 0.
pub fn smallest_detectable(exposure: f64, events_before: u64, exposure_before: f64) -> Option<f64> {
    let mean_before = events_before as f64;
    let same_rate = mean_before * (exposure / exposure_before);
    let is_told = |mean: f64| mean > 0.0 && mean <= MOST_EXPECTED;
    if !(is_told(mean_before) && is_told(same_rate)) {
        return None;
    }
    let outcomes = outcomes_before(mean_before, 1.0 / (1.0 + exposure_before / exposure));
    let power = |ratio: f64| -> f64 {
        outcomes.iter().map(|outcome| outcome.chance * poisson_at_least(outcome.shown_from, ratio * same_rate)).sum()
    };
    let is_short = |ratio| power(ratio) < POWER;
    (!is_short(LARGEST_RATIO)).then(|| turning_point(1.0, LARGEST_RATIO, is_short))
}

/// A count before, and the counts now that differ from it.
struct Outcome {
    chance: f64,
    shown_from: u64,
}

/// The counts before that have a chance worth counting.
fn outcomes_before(mean: f64, fair_share: f64) -> Vec<Outcome> {
    let reach = 8.0 * mean.sqrt() + 20.0;
    let mut shown_from = 1;
    let mut outcomes = Vec::new();
    for before in (mean - reach).max(0.0) as u64..=(mean + reach) as u64 {
        // The more before, the more are needed now. Where the upper tail is under 0.025 it is the smaller one.
        shown_from = first_from(shown_from, |now| 2.0 * binomial_at_least(now, before, fair_share) < 2.0 * SIDE);
        let chance = poisson_exactly(before, mean);
        if chance > NEGLIGIBLE {
            outcomes.push(Outcome { chance, shown_from });
        }
    }
    outcomes
}

/// The first count from `start` on of which a claim holds that, once it holds, holds on.
fn first_from(start: u64, holds: impl Fn(u64) -> bool) -> u64 {
    let mut step = 1;
    let (mut below, mut at) = (start.saturating_sub(1), start);
    while !holds(at) && at < u64::MAX / 4 {
        (below, at) = (at, at + step);
        step *= 2;
    }
    while at - below > 1 {
        let middle = below + (at - below) / 2;
        if holds(middle) { at = middle } else { below = middle }
    }
    at
}
