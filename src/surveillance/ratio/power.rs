//! The smallest rise and the smallest fall that a comparison would have shown: what "no difference was seen" is worth.
//!
//! The definition is this project's own, there is no published source; the method is that of an unconditional power of a
//! conditional test. Left out on purpose: a power at the ratio that was seen, which only says p in other words.

use super::super::tail::{SIDE, binomial_at_least, bisect, poisson_at_least, poisson_at_most, poisson_exactly};

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
    let same_rate = same_rate(exposure, events_before, exposure_before)?;
    let fair_share = 1.0 / (1.0 + exposure_before / exposure);
    // The more before, the more are needed now. Where the upper tail is under 0.025 it is the smaller one.
    let is_shown = |before, now| 2.0 * binomial_at_least(now, before, fair_share) < 2.0 * SIDE;
    let outcomes = outcomes_before(events_before as f64, 1, is_shown);
    let power = |ratio: f64| -> f64 {
        outcomes.iter().map(|outcome| outcome.chance * poisson_at_least(outcome.turns_at, ratio * same_rate)).sum()
    };
    let is_short = |ratio| power(ratio) < POWER;
    (!is_short(LARGEST_RATIO)).then(|| bisect(1.0, LARGEST_RATIO, is_short))
}

/// The largest ratio below 1 that would have been shown with 80 % power; null where no fall could have been, not even one
/// to nothing. *Shown* is an exact two-sided p under 0.05 with fewer events for the exposure now than before; all else is
/// as for [`smallest_detectable`].
pub fn detectable_fall(exposure: f64, events_before: u64, exposure_before: f64) -> Option<f64> {
    let same_rate = same_rate(exposure, events_before, exposure_before)?;
    let share_before = 1.0 / (1.0 + exposure / exposure_before);
    // The lower tail of the events now is the upper one of those before; from the first count on where it is not small
    // enough nothing is shown.
    let is_not_shown = |before, now| 2.0 * binomial_at_least(before, now, share_before) >= 2.0 * SIDE;
    let outcomes = outcomes_before(events_before as f64, 0, is_not_shown);
    let power = |ratio: f64| -> f64 {
        let fewer = outcomes.iter().filter(|outcome| outcome.turns_at > 0);
        fewer.map(|outcome| outcome.chance * poisson_at_most(outcome.turns_at - 1, ratio * same_rate)).sum()
    };
    let is_enough = |ratio| power(ratio) >= POWER;
    is_enough(0.0).then(|| bisect(0.0, 1.0, is_enough))
}

/// The events that are expected now at the rate before; None where a ratio is not looked for.
fn same_rate(exposure: f64, events_before: u64, exposure_before: f64) -> Option<f64> {
    let is_told = |mean: f64| mean > 0.0 && mean <= MOST_EXPECTED;
    let same_rate = events_before as f64 * (exposure / exposure_before);
    (is_told(events_before as f64) && is_told(same_rate)).then_some(same_rate)
}

/// A count before, and the first count now at which a difference begins, or ceases, to be shown.
struct DetectableCounts {
    chance: f64,
    turns_at: u64,
}

/// The counts before that have a chance worth counting; `turns` is a claim of a count before and one now, which holds for
/// all larger counts now once it holds, and turns later the more there were before.
fn outcomes_before(mean: f64, first: u64, turns: impl Fn(u64, u64) -> bool) -> Vec<DetectableCounts> {
    let reach = 8.0 * mean.sqrt() + 20.0;
    let mut turns_at = first;
    let mut outcomes = Vec::new();
    for before in (mean - reach).max(0.0) as u64..=(mean + reach) as u64 {
        turns_at = first_from(turns_at, |now| turns(before, now));
        let chance = poisson_exactly(before, mean);
        if chance > NEGLIGIBLE {
            outcomes.push(DetectableCounts { chance, turns_at });
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
