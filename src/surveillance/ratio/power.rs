//! The smallest increase and decrease that a comparison would have detected: the meaning of "no difference was found".
//!
//! The definition is this project's own, without a published source; the method is the unconditional power of a
//! conditional test. Left out on purpose: the power at the observed ratio, which only restates p.

use super::super::tail::{SIDE, binomial_at_least, bisect, poisson_at_least, poisson_at_most, poisson_exactly};

/// The required power.
const POWER: f64 = 0.8;
/// The largest ratio considered.
const LARGEST_RATIO: f64 = 1000.0;
/// The maximum number of earlier events, and of events expected now at the earlier rate.
const MOST_EXPECTED: f64 = 10_000.0;
/// Probabilities that do not change any digit of the result.
const NEGLIGIBLE: f64 = 1e-14;

/// Returns the smallest ratio above 1 that would have been detected with 80 % power; `None` without earlier events.
///
/// The earlier rate is taken as true: the earlier events are Poisson with the observed mean, the events now Poisson with
/// mean ratio × observed × exposure now ÷ earlier exposure. *Detected* means an exact two-sided p under 0.05 with a
/// higher rate now than earlier. Also `None` if no ratio up to 1,000 would have been detected, and beyond 10,000 events.
/// Both exposures must be more than 0.
pub fn smallest_detectable(exposure: f64, events_before: u64, exposure_before: f64) -> Option<f64> {
    let same_rate = same_rate(exposure, events_before, exposure_before)?;
    let fair_share = 1.0 / (1.0 + exposure_before / exposure);
    // With more earlier events, more are needed now. If the upper tail is under 0.025, it is the smaller one.
    let is_shown = |before, now| 2.0 * binomial_at_least(now, before, fair_share) < 2.0 * SIDE;
    let outcomes = outcomes_before(events_before as f64, 1, is_shown);
    let power = |ratio: f64| -> f64 {
        outcomes.iter().map(|outcome| outcome.chance * poisson_at_least(outcome.turns_at, ratio * same_rate)).sum()
    };
    let is_short = |ratio| power(ratio) < POWER;
    (!is_short(LARGEST_RATIO)).then(|| bisect(1.0, LARGEST_RATIO, is_short))
}

/// Returns the largest ratio below 1 that would have been detected with 80 % power; `None` if no decrease could have
/// been, not even one to zero. *Detected* means an exact two-sided p under 0.05 with a lower rate now than earlier;
/// everything else is as for [`smallest_detectable`].
pub fn detectable_fall(exposure: f64, events_before: u64, exposure_before: f64) -> Option<f64> {
    let same_rate = same_rate(exposure, events_before, exposure_before)?;
    let share_before = 1.0 / (1.0 + exposure / exposure_before);
    // The lower tail of the events now is the upper tail of the earlier ones; above the first count at which it is not
    // small enough, no difference is detected.
    let is_not_shown = |before, now| 2.0 * binomial_at_least(before, now, share_before) >= 2.0 * SIDE;
    let outcomes = outcomes_before(events_before as f64, 0, is_not_shown);
    let power = |ratio: f64| -> f64 {
        let fewer = outcomes.iter().filter(|outcome| outcome.turns_at > 0);
        fewer.map(|outcome| outcome.chance * poisson_at_most(outcome.turns_at - 1, ratio * same_rate)).sum()
    };
    let is_enough = |ratio| power(ratio) >= POWER;
    is_enough(0.0).then(|| bisect(0.0, 1.0, is_enough))
}

/// The events expected now at the earlier rate; `None` if no ratio is considered.
fn same_rate(exposure: f64, events_before: u64, exposure_before: f64) -> Option<f64> {
    let is_told = |mean: f64| mean > 0.0 && mean <= MOST_EXPECTED;
    let same_rate = events_before as f64 * (exposure / exposure_before);
    (is_told(events_before as f64) && is_told(same_rate)).then_some(same_rate)
}

/// An earlier count, and the first count now at which a difference starts, or stops, being detected.
struct DetectableCounts {
    chance: f64,
    turns_at: u64,
}

/// Returns the earlier counts with a relevant probability. `turns` is a predicate of an earlier count and a count now; it
/// is monotonic in the count now, and its threshold does not decrease with the earlier count.
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

/// Finds the first count from `start` on at which a monotonic predicate is true.
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
