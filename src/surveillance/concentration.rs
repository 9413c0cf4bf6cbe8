//! Concentration: the smallest group with a given proportion of a total.
//!
//! Two points of the Lorenz curve (Lorenz MO, Publ Am Stat Assoc 1905;9:209), from the largest down. Left out on purpose:
//! a single index for the entire curve.

use schemars::JsonSchema;
use serde::Serialize;

use super::share::ClusterCount;
use super::tail::poisson_at_least;

/// The smallest group with a given proportion of the total.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, JsonSchema)]
pub struct Holders {
    /// Minimum proportion of the total.
    pub at_least: f64,
    /// Size of the group.
    pub holders: u64,
    /// Actual proportion of the total.
    pub share: f64,
    /// Proportion of the denominator; with an even distribution the two are equal.
    pub share_of_whole: f64,
}

/// Ranks the members with a nonzero count, largest first; of equal counts, the smaller denominator first.
///
/// ```
/// # use exitsite::surveillance::concentration::{fewest, ranked};
/// # use exitsite::surveillance::share::ClusterCount;
/// // 12, 5, 2 and 1 of 30 days each, and two with none
/// let days = [2, 0, 12, 5, 0, 1].map(|part| ClusterCount { part, whole: 30 });
/// assert_eq!(ranked(&days), [2, 3, 0, 5]);
/// let half = fewest(&days, 0.5).unwrap();
/// assert_eq!((half.holders, half.share), (1, 0.6));
/// assert_eq!(fewest(&days, 0.8).unwrap().holders, 2);
/// assert_eq!(fewest(&days[..0], 0.5), None);
/// ```
pub fn ranked(all: &[ClusterCount]) -> Vec<usize> {
    let mut places: Vec<usize> = (0..all.len()).filter(|n| all[*n].part > 0).collect();
    places.sort_by_key(|n| (std::cmp::Reverse(all[*n].part), all[*n].whole));
    places
}

/// Returns the smallest group with at least a proportion, 0 to 1, of the total; `None` if the total is 0.
pub fn fewest(all: &[ClusterCount], at_least: f64) -> Option<Holders> {
    let sum: ClusterCount = all.iter().copied().sum();
    let (mut held, mut holders) = (ClusterCount::default(), 0);
    for n in ranked(all) {
        held = [held, all[n]].into_iter().sum();
        holders += 1;
        // Compared as counts: exactly the proportion is enough.
        if held.part as f64 >= at_least * sum.part as f64 {
            let share = held.part as f64 / sum.part as f64;
            return Some(Holders {
                at_least,
                holders,
                share,
                share_of_whole: held.whole as f64 / sum.whole.max(1) as f64,
            });
        }
    }
    None
}

/// The expected number of those who hold at least a share, 0 to 1, of all parts, if each unit of every whole were a part
/// with the same chance, independently (Poisson counts); `None` if there is no part.
///
/// From the largest count down: those with a count of `k` or more hold Σ mean · P(count ≥ k − 1), and are Σ P(count ≥ k).
/// Between two counts it is linear.
///
/// ```
/// # use exitsite::surveillance::concentration::by_chance;
/// # use exitsite::surveillance::share::ClusterCount;
/// // 400 of 1,200 days in ten patients alike: half of them are in nearly five, whoever they are
/// let even: Vec<ClusterCount> = (0..10).map(|_| ClusterCount { part: 40, whole: 120 }).collect();
/// assert_eq!(by_chance(&even, 0.5).map(|n| format!("{n:.1}")), Some("4.4".to_owned()));
/// assert_eq!(by_chance(&[ClusterCount { part: 0, whole: 9 }], 0.5), None);
/// ```
pub fn by_chance(all: &[ClusterCount], at_least: f64) -> Option<f64> {
    let sum: ClusterCount = all.iter().copied().sum();
    if sum.part == 0 {
        return None;
    }
    let means: Vec<f64> = all.iter().map(|one| sum.part as f64 * (one.whole as f64 / sum.whole as f64)).collect();
    let held = |k: u64| -> f64 { means.iter().map(|mean| mean * poisson_at_least(k.saturating_sub(1), *mean)).sum() };
    let holders = |k: u64| -> f64 { means.iter().map(|mean| poisson_at_least(k, *mean)).sum() };
    let wanted = at_least * sum.part as f64;
    // The largest count that those who have it or more hold enough with.
    let (mut enough, mut short) = (1, sum.part + 1);
    while short - enough > 1 {
        let middle = enough + (short - enough) / 2;
        if held(middle) >= wanted { enough = middle } else { short = middle }
    }
    Some(holders(short) + (wanted - held(short)).max(0.0) / enough as f64)
}
