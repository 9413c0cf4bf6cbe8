//! Hazard ratios of a first infection between groups: Cox's proportional hazards with a reference group.
//!
//! Source, *from memory*: Cox DR, J R Stat Soc B 1972;34:187; ties by Efron, J Am Stat Assoc 1977;72:557, as R's
//! `survival` has them; Wald limits of the logarithm. Left out on purpose: covariates other than the group, and a test of
//! proportionality. Every other end is censored, as in the log-rank test beside it.

use schemars::JsonSchema;
use serde::Serialize;

use super::follow_up::{FollowUp, FollowUpEnd, RiskSet};

/// The standard normal deviate of 95 % limits.
const DEVIATE: f64 = 1.959_963_984_540_054;
/// The maximum number of Newton steps, and the step of a coefficient at which they end.
const STEPS: usize = 100;
const CONVERGED: f64 = 1e-12;
/// The largest step of a coefficient; a longer one is shortened.
const LONGEST: f64 = 2.0;
/// The largest coefficient: a hazard ratio beyond it is an infinite one that has not been reached yet.
const MOST: f64 = 15.0;
/// The relative size of a pivot below which the information is singular.
const SINGULAR: f64 = 1e-10;

/// A hazard ratio to the reference group; null if it has no finite estimate.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, JsonSchema)]
pub struct HazardRatio {
    /// The ratio.
    pub ratio: Option<f64>,
    /// Lower 95 % limit.
    pub low: Option<f64>,
    /// Upper 95 % limit.
    pub high: Option<f64>,
}

/// The infections and the patients at risk of each group on one day with an infection.
struct RiskDay {
    at_risk: Vec<f64>,
    infected: Vec<f64>,
}

/// Estimates the hazard ratio of each group to the group at `reference`, whose own ratio is null.
///
/// A group without an infection, or without a patient at risk on a day with an infection, has no finite estimate and is
/// left out; all are null if that group is the reference, or if the groups were not at risk together.
///
/// ```
/// # use exitsite::surveillance::follow_up::{FollowUp, FollowUpEnd};
/// # use exitsite::surveillance::hazard::hazard_ratios;
/// let infected = |days: &[i64]| days.iter().map(|to| FollowUp { from: 0, to: *to, end: FollowUpEnd::Infection }).collect::<Vec<_>>();
/// // days 1 and 4 against days 2 and 3: r ÷ (r + 1) + r ÷ (r + 2) + r ÷ (r + 1) + 1 = 2, so r = 0.6180
/// let ratios = hazard_ratios(&[infected(&[2, 3]), infected(&[1, 4])], 0);
/// assert_eq!(ratios[0].ratio, None);
/// assert_eq!(format!("{:.4}", ratios[1].ratio.unwrap()), "0.6180");
/// // no infection in a group: no finite ratio
/// assert_eq!(hazard_ratios(&[infected(&[2, 3]), vec![]], 0)[1].ratio, None);
/// ```
pub fn hazard_ratios(groups: &[Vec<FollowUp>], reference: usize) -> Vec<HazardRatio> {
    let mut ratios = vec![HazardRatio::default(); groups.len()];
    let cohorts: Vec<RiskSet> = groups.iter().map(|follow_ups| RiskSet::of(follow_ups)).collect();
    let infections =
        |cohort: &RiskSet| -> u64 { cohort.days().iter().map(|day| cohort.ended(*day, FollowUpEnd::Infection)).sum() };
    let taking_part: Vec<usize> = (0..groups.len()).filter(|group| infections(&cohorts[*group]) > 0).collect();
    if !taking_part.contains(&reference) {
        return ratios;
    }
    let order = || taking_part.iter().filter(|group| **group != reference).chain([&reference]);
    let cohorts: Vec<&RiskSet> = order().map(|group| &cohorts[*group]).collect();
    let Some(estimates) = fit(&days(&cohorts), cohorts.len() - 1) else { return ratios };
    for (group, (log, standard_error)) in order().zip(estimates) {
        let limit = |side: f64| Some((log + side * DEVIATE * standard_error).exp());
        ratios[*group] = HazardRatio { ratio: Some(log.exp()), low: limit(-1.0), high: limit(1.0) };
    }
    ratios
}

/// The days with an infection in any of the groups, the reference group last.
fn days(cohorts: &[&RiskSet]) -> Vec<RiskDay> {
    let mut days: Vec<i64> = cohorts.iter().flat_map(|cohort| cohort.days()).collect();
    days.sort_unstable();
    days.dedup();
    let of = |day: i64| RiskDay {
        at_risk: cohorts.iter().map(|cohort| cohort.at_risk(day) as f64).collect(),
        infected: cohorts.iter().map(|cohort| cohort.ended(day, FollowUpEnd::Infection) as f64).collect(),
    };
    days.into_iter().map(of).filter(|day| day.infected.iter().any(|infected| *infected > 0.0)).collect()
}

/// The first and second derivatives of the partial likelihood at some logarithms of the ratios.
struct Slope {
    score: Vec<f64>,
    information: Vec<Vec<f64>>,
}

impl Slope {
    fn at(days: &[RiskDay], logs: &[f64]) -> Slope {
        let n = logs.len();
        let mut slope = Slope { score: vec![0.0; n], information: vec![vec![0.0; n]; n] };
        // The reference is last and has a ratio of 1.
        let weights: Vec<f64> = logs.iter().map(|log| log.exp()).chain([1.0]).collect();
        for day in days {
            let tied: f64 = day.infected.iter().sum();
            for group in 0..n {
                slope.score[group] += day.infected[group];
            }
            // Efron: of those infected on one day, each finds the part that is still left of the others.
            for before in 0..tied as u64 {
                let gone = before as f64 / tied;
                let left = |group: usize| weights[group] * (day.at_risk[group] - gone * day.infected[group]);
                let all: f64 = (0..=n).map(left).sum();
                let share = |group: usize| left(group) / all;
                for group in 0..n {
                    slope.score[group] -= share(group);
                    for other in 0..n {
                        slope.information[group][other] +=
                            share(group) * (f64::from(u8::from(group == other)) - share(other));
                    }
                }
            }
        }
        slope
    }
}

/// Maximizes the partial likelihood by Newton's method: logarithms with their standard errors; `None` if it has no maximum.
fn fit(days: &[RiskDay], n: usize) -> Option<Vec<(f64, f64)>> {
    let mut logs = vec![0.0; n];
    for _ in 0..STEPS {
        let slope = Slope::at(days, &logs);
        let inverse = inverse(&slope.information)?;
        let step: Vec<f64> =
            inverse.iter().map(|row| row.iter().zip(&slope.score).map(|(one, other)| one * other).sum()).collect();
        let longest = step.iter().fold(0.0, |most: f64, one: &f64| most.max(one.abs()));
        for (log, one) in logs.iter_mut().zip(&step) {
            *log += one * f64::min(1.0, LONGEST / longest.max(LONGEST));
        }
        if logs.iter().any(|log| log.abs() > MOST) {
            return None;
        }
        if longest <= CONVERGED {
            let standard_error = |group: usize| inverse[group][group].sqrt();
            return Some(logs.iter().enumerate().map(|(group, log)| (*log, standard_error(group))).collect());
        }
    }
    None
}

/// The inverse of a symmetric positive definite matrix by Gauss–Jordan elimination; `None` if it is singular.
fn inverse(matrix: &[Vec<f64>]) -> Option<Vec<Vec<f64>>> {
    let n = matrix.len();
    let unit = |row: usize| (0..n).map(move |column| f64::from(u8::from(row == column)));
    let mut rows: Vec<Vec<f64>> =
        matrix.iter().enumerate().map(|(row, cells)| cells.iter().copied().chain(unit(row)).collect()).collect();
    for pivot in 0..n {
        if rows[pivot][pivot] <= SINGULAR * matrix[pivot][pivot] || rows[pivot][pivot] <= 0.0 {
            return None;
        }
        let scaled: Vec<f64> = rows[pivot].iter().map(|cell| cell / rows[pivot][pivot]).collect();
        for (row, cells) in rows.iter_mut().enumerate() {
            let times = cells[pivot];
            if row == pivot {
                cells.clone_from(&scaled);
            } else {
                cells.iter_mut().zip(&scaled).for_each(|(cell, of_pivot)| *cell -= times * of_pivot);
            }
        }
    }
    Some(rows.into_iter().map(|row| row[n..].to_vec()).collect())
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::super::follow_up::invented::follow_ups;
    use super::*;

    proptest! {
        #[test]
        fn every_figure_is_a_number_or_null(groups in prop::collection::vec(follow_ups(), 1..5)) {
            for (n, one) in hazard_ratios(&groups, 0).iter().enumerate() {
                prop_assert!([one.ratio, one.low, one.high].iter().flatten().all(|figure| figure.is_finite() && *figure > 0.0), "{one:?}");
                prop_assert_eq!(one.ratio.is_some(), one.low.is_some() && one.high.is_some());
                if let (Some(low), Some(ratio), Some(high)) = (one.low, one.ratio, one.high) {
                    prop_assert!(low < ratio && ratio < high);
                }
                prop_assert!(n > 0 || one.ratio.is_none());
            }
        }

        /// With the other group as the reference the ratio is turned around.
        #[test]
        fn the_other_reference_turns_the_ratio_around(one in follow_ups(), other in follow_ups()) {
            let groups = [one, other];
            let (first, second) = (hazard_ratios(&groups, 0)[1], hazard_ratios(&groups, 1)[0]);
            prop_assert_eq!(first.ratio.is_some(), second.ratio.is_some());
            if let (Some(ratio), Some(turned), Some(low), Some(high)) = (first.ratio, second.ratio, first.low, second.high) {
                prop_assert!((ratio * turned - 1.0).abs() < 1e-8, "{} {}", ratio, turned);
                prop_assert!((low * high - 1.0).abs() < 1e-8, "{} {}", low, high);
            }
        }

        #[test]
        fn groups_that_are_alike_have_a_ratio_of_one(all in follow_ups()) {
            let one = hazard_ratios(&[all.clone(), all], 0)[1];
            prop_assert!(one.ratio.is_none_or(|ratio| (ratio - 1.0).abs() < 1e-9), "{one:?}");
        }
    }

    #[test]
    fn groups_never_at_risk_together_have_no_ratio() {
        let spell = |from: i64, to: i64| FollowUp { from, to, end: FollowUpEnd::Infection };
        let (early, late) = (vec![spell(0, 3), spell(0, 5)], vec![spell(10, 13), spell(10, 15)]);
        assert_eq!(hazard_ratios(&[early, late], 0), [HazardRatio::default(); 2]);
        assert!(hazard_ratios(&[], 0).is_empty());
    }

    /// All of one group before all of the other: the likelihood rises without end.
    #[test]
    fn a_likelihood_without_a_maximum_has_no_ratio() {
        let spell = |to: i64| FollowUp { from: 0, to, end: FollowUpEnd::Infection };
        let (early, late) = (vec![spell(1), spell(2), spell(3)], vec![spell(4), spell(5), spell(6)]);
        assert_eq!(hazard_ratios(&[early, late], 0)[1], HazardRatio::default());
    }
}
