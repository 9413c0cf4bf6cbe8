//! A rate ratio within matched sets: each set is its own control, so differences between patients cannot explain it.
//!
//! Given the total of a set, the number in its window is binomial, with odds of the ratio × window : others; the sum over
//! the sets then has an exact distribution, without an approximation for small numbers. With exposures of time this is
//! the self-controlled rate ratio (Farrington CP, Biometrics 1995;51:228); with one case per set and counts of exposed
//! windows it is the case-crossover odds ratio (Maclure M, Am J Epidemiol 1991;133:144, *from memory*). Left out on
//! purpose: trends within a patient's time.

use schemars::JsonSchema;
use serde::Serialize;

use super::tail::{SIDE, bisect, told};

/// The maximum total of all sets for which limits are computed.
const MOST: u64 = 3_000;
/// The smallest and the largest ratio considered.
const RATIOS: (f64, f64) = (1e-6, 1e6);

/// One matched set.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MatchedSet {
    /// Events in the window.
    pub inside: u64,
    /// Events in total.
    pub all: u64,
    /// Exposure in the window.
    pub window: f64,
    /// Exposure outside the window.
    pub others: f64,
}

/// A ratio over matched sets, with exact 95 % limits; null if no set is informative.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, JsonSchema)]
pub struct MatchedRatio {
    /// Maximum likelihood ratio; null if all events were in the window.
    pub ratio: Option<f64>,
    /// Exact lower limit, conditional on the total of each set.
    pub low: Option<f64>,
    /// Exact upper limit.
    pub high: Option<f64>,
    /// Two-sided p: twice the smaller exact tail at a ratio of 1, at most 1.
    pub p: Option<f64>,
}

impl MatchedRatio {
    /// Estimates the common ratio of some sets. A set with exposure on one side only, or without events, is not
    /// informative.
    ///
    /// ```
    /// # use exitsite::surveillance::matched::{MatchedRatio, MatchedSet};
    /// // 4 wet dressings in the 30 days before an infection, 6 in 330 other days: a single binomial
    /// let one = MatchedRatio::of(&[MatchedSet { inside: 4, all: 10, window: 30.0, others: 330.0 }]);
    /// let digits = [one.ratio, one.low, one.high, one.p].map(|figure| format!("{:.3}", figure.unwrap()));
    /// assert_eq!(digits, ["7.333", "1.522", "30.924", "0.013"]);
    /// // no event in any window
    /// let none = MatchedRatio::of(&[MatchedSet { inside: 0, all: 3, window: 30.0, others: 330.0 }]);
    /// assert_eq!((none.ratio, none.low, none.high.is_some()), (Some(0.0), Some(0.0), true));
    /// assert_eq!(MatchedRatio::of(&[]), MatchedRatio::default());
    /// ```
    pub fn of(sets: &[MatchedSet]) -> MatchedRatio {
        let says = |set: &&MatchedSet| set.all > 0 && set.window > 0.0 && set.others > 0.0;
        let sets: Vec<MatchedSet> = sets.iter().filter(says).copied().collect();
        let (inside, all) = sets.iter().fold((0, 0), |sum, set| (sum.0 + set.inside.min(set.all), sum.1 + set.all));
        if all == 0 || all > MOST {
            return MatchedRatio::default();
        }
        let by_log =
            |is_low: &dyn Fn(f64) -> bool| bisect(RATIOS.0.ln(), RATIOS.1.ln(), |ratio: f64| is_low(ratio.exp())).exp();
        let expected = |ratio: f64| sets.iter().map(|set| set.all as f64 * set.share(ratio)).sum::<f64>();
        let ratio = match inside {
            0 => Some(0.0),
            inside if inside == all => None,
            inside => told(by_log(&|ratio| expected(ratio) < inside as f64)),
        };
        let at_least = |ratio: f64| distribution(&sets, ratio)[inside as usize..].iter().sum::<f64>();
        let at_most = |ratio: f64| distribution(&sets, ratio)[..=inside as usize].iter().sum::<f64>();
        MatchedRatio {
            ratio,
            low: Some(if inside == 0 { 0.0 } else { by_log(&|ratio| at_least(ratio) <= SIDE) }),
            high: (inside < all).then(|| by_log(&|ratio| at_most(ratio) >= SIDE)),
            p: Some((2.0 * at_least(1.0).min(at_most(1.0))).min(1.0)),
        }
    }
}

impl MatchedSet {
    /// The probability that an event of the set is in its window.
    fn share(&self, ratio: f64) -> f64 {
        1.0 / (1.0 + self.others / (ratio * self.window))
    }
}

/// The distribution of the sum over the sets, built one binomial trial at a time.
fn distribution(sets: &[MatchedSet], ratio: f64) -> Vec<f64> {
    let mut chances = vec![1.0];
    for set in sets {
        let share = set.share(ratio);
        for _ in 0..set.all {
            chances.push(0.0);
            for n in (1..chances.len()).rev() {
                chances[n] = chances[n] * (1.0 - share) + chances[n - 1] * share;
            }
            chances[0] *= 1.0 - share;
        }
    }
    chances
}
