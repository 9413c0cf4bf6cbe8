//! Proportions, their limits and their design effect: published values, an independent library, and laws.

use exitsite::surveillance::share::{ClusterCount, Share};
use proptest::prelude::*;

use crate::counts::{count, figures, number, printed, rows, same};

/// A proportion of independent observations.
fn share(part: u64, whole: u64) -> Share {
    Share::of(&[ClusterCount { part, whole }])
}

/// Source: Newcombe RG, Stat Med 1998;17:857, Table I, method 3 (Wilson score without continuity correction); *quoted*
/// by several public test suites.
#[test]
fn limits_are_those_of_newcombe() {
    for (part, whole, low, high) in [
        (81, 263, "0.2553", "0.3662"),
        (15, 148, "0.0624", "0.1605"),
        (0, 20, "0.0000", "0.1611"),
        (1, 29, "0.0061", "0.1718"),
    ] {
        let share = share(part, whole);
        assert_eq!([printed(share.low, 4), printed(share.high, 4)], [low, high], "{part}/{whole}");
    }
}

/// Source: Clin Nephrol 2014;81:100, *printed*: 7 of 11 is 63.6 %. The limits of 35 to 85 % are this project's.
#[test]
fn the_sensitivity_of_the_score_is_the_one_printed() {
    let share = share(7, 11);
    let percent = |figure: Option<f64>, decimals| printed(figure.map(|figure| 100.0 * figure), decimals);
    assert_eq!([percent(share.value, 1), percent(share.low, 0), percent(share.high, 0)], ["63.6", "35", "85"]);
}

/// Source: The VAD Journal 2016;2, doi 10.13023/VAD.2016.03; the counts and both percentages are *printed*, and a p
/// below 0.0001 by another test. Fisher's p is SciPy's: the audit compares no proportions, so this checks the
/// reference.
#[test]
fn shares_infected_in_two_groups_are_those_printed() {
    // 6.25 is printed as 6.3.
    let per_mille = |part, whole| (share(part, whole).value.unwrap() * 1000.0).round();
    assert_eq!([per_mille(4, 64), per_mille(10, 24)], [63.0, 417.0]);
    assert_eq!(printed(Some(number(figures("tables"), "infected_fisher_p")), 5), "0.00021");
}

/// Source: abstract on showering and well water, durable VADs, 2011 to 2018: p 0.254 is *printed*; chi-square without
/// correction by SciPy, as above.
#[test]
fn shares_free_of_infection_with_two_ways_of_showering_have_the_p_printed() {
    assert_eq!(printed(Some(number(figures("tables"), "showering_chi_square_p")), 3), "0.254");
    // Pearson's chi-square of 2 × 2 is the squared difference of the proportions in standard errors under a common one.
    let [one, other, both] = [share(38, 46), share(65, 88), share(38 + 65, 46 + 88)].map(|share| share.value.unwrap());
    let chi_square = (one - other).powi(2) / (both * (1.0 - both) * (1.0 / 46.0 + 1.0 / 88.0));
    let p = statrs::function::erf::erfc((chi_square / 2.0).sqrt());
    same(p, number(figures("tables"), "showering_chi_square_p"), 1e-9, &"p");
}

/// Source: statsmodels, `proportion_confint` by method `wilson`.
#[test]
fn limits_are_those_of_an_independent_library() {
    for row in rows("wilson") {
        let (part, whole) = (count(row, "part"), count(row, "whole"));
        let share = share(part, whole);
        let (low, high) = (number(row, "low"), number(row, "high"));
        assert!((share.low.unwrap() - low).abs() <= 1e-15 + 1e-10 * low, "{row}: {share:?}");
        same(share.high.unwrap(), high, 1e-12, row);
        assert_eq!(share.design_effect, Some(1.0));
    }
}

/// Source: the cluster-robust variance of a mean by statsmodels, × m ÷ (m − 1), and its Wilson limits; the definition is
/// that of Rao JNK & Scott AJ, Biometrics 1992;48:577 (from memory).
#[test]
fn design_effects_are_those_of_an_independent_library() {
    let mut widened = 0;
    for row in rows("clustered") {
        let patient = |pair: &serde_json::Value| ClusterCount {
            part: pair[0].as_u64().unwrap(),
            whole: pair[1].as_u64().unwrap(),
        };
        let patients: Vec<ClusterCount> = row["patients"].as_array().unwrap().iter().map(patient).collect();
        let share = Share::of(&patients);
        same(share.design_effect.unwrap(), number(row, "design_effect"), 1e-10, row);
        same(share.clustered_low.unwrap(), number(row, "clustered_low"), 1e-10, row);
        same(share.clustered_high.unwrap(), number(row, "clustered_high"), 1e-10, row);
        widened += usize::from(share.design_effect > Some(1.0));
    }
    assert!(widened > 3);
}

#[test]
fn none_and_all_have_limits_of_exactly_0_and_1() {
    for whole in (1..500).chain([u64::MAX]) {
        let (none, all) = (share(0, whole), share(whole, whole));
        assert_eq!((none.value, none.low, none.clustered_low), (Some(0.0), Some(0.0), Some(0.0)), "{whole}");
        assert_eq!((all.value, all.high, all.clustered_high), (Some(1.0), Some(1.0), Some(1.0)), "{whole}");
    }
}

#[test]
fn a_total_of_0_has_no_share() {
    assert_eq!(Share::of(&[]), Share::default());
    assert_eq!(Share::of(&[ClusterCount::default(); 3]), Share::default());
}

/// A patient with a total of 0 does not count as a patient of the proportion.
#[test]
fn a_patient_with_a_whole_of_0_changes_nothing() {
    let patients = [
        ClusterCount { part: 25, whole: 30 },
        ClusterCount { part: 9, whole: 31 },
        ClusterCount { part: 28, whole: 28 },
    ];
    let mut more = patients.to_vec();
    more.insert(1, ClusterCount::default());
    assert_eq!(Share::of(&patients), Share::of(&more));
}

#[test]
fn patients_who_are_all_alike_widen_nothing() {
    assert_eq!(Share::of(&[ClusterCount { part: 3, whole: 4 }; 5]).design_effect, Some(1.0));
}

/// Each patient is all or none: a patient counts as one observation, but for m ÷ (m − 1).
#[test]
fn patients_who_are_all_or_nothing_count_as_one_each() {
    let patients: Vec<ClusterCount> =
        (0..20).map(|n| ClusterCount { part: if n < 15 { 10 } else { 0 }, whole: 10 }).collect();
    same(Share::of(&patients).design_effect.unwrap(), 10.0 * 20.0 / 19.0, 1e-13, &"design effect");
}

fn counted() -> impl Strategy<Value = ClusterCount> {
    (0_u64..40, 0_u64..40).prop_map(|(part, rest)| ClusterCount { part, whole: part + rest })
}

proptest! {
    /// The overall proportion is the mean of the patients' proportions, weighted by their totals.
    #[test]
    fn weighted_shares_give_the_overall_share(patients in prop::collection::vec(counted(), 1..20)) {
        let weighed = |patient: &ClusterCount| Share::of(&[*patient]).value.map_or(0.0, |value| value * patient.whole as f64);
        let whole: u64 = patients.iter().map(|patient| patient.whole).sum();
        let all = Share::of(&patients);
        prop_assert_eq!(all.value.is_none(), whole == 0);
        if let Some(value) = all.value {
            prop_assert!((value - patients.iter().map(weighed).sum::<f64>() / whole as f64).abs() < 1e-12);
        }
    }

    /// The complement is the mirror image.
    #[test]
    fn the_rest_has_the_limits_turned_around(patients in prop::collection::vec(counted(), 1..20)) {
        let rest: Vec<ClusterCount> = patients.iter().map(|one| ClusterCount { part: one.whole - one.part, ..*one }).collect();
        let (share, rest) = (Share::of(&patients), Share::of(&rest));
        let pairs = [(share.low, rest.high), (share.high, rest.low), (share.clustered_low, rest.clustered_high)];
        for (one, other) in pairs {
            prop_assert!(one.zip(other).is_none_or(|(one, other)| (one - (1.0 - other)).abs() < 1e-12));
        }
    }

    #[test]
    fn ten_times_as_many_have_narrower_limits(patients in prop::collection::vec(counted(), 1..20)) {
        let more: Vec<ClusterCount> = patients.iter().map(|one| ClusterCount { part: 10 * one.part, whole: 10 * one.whole }).collect();
        let (few, many) = (Share::of(&patients), Share::of(&more));
        let width = |share: Share| share.high.zip(share.low).map(|(high, low)| high - low);
        prop_assert!(few.value.is_none() || width(many) < width(few));
    }

    #[test]
    fn every_share_lies_in_its_limits_and_these_in_the_wider_ones(
        patients in prop::collection::vec((any::<u64>(), any::<u64>()), 0..8), few in prop::collection::vec(counted(), 0..20)
    ) {
        let many: Vec<ClusterCount> = patients.into_iter().map(|(part, whole)| ClusterCount { part, whole }).collect();
        for patients in [many, few] {
            let share = Share::of(&patients);
            let Some(value) = share.value else { continue };
            let limits = [share.clustered_low, share.low, Some(value), share.high, share.clustered_high];
            let limits = limits.map(|limit| limit.unwrap());
            prop_assert!(limits.iter().all(|limit| (0.0..=1.0).contains(limit)), "{share:?}");
            prop_assert!(limits.windows(2).all(|pair| pair[0] <= pair[1] + 1e-12), "{share:?}");
            prop_assert!(share.design_effect.unwrap() >= 1.0 && share.design_effect.unwrap().is_finite());
        }
    }
}
