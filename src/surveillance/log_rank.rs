//! The log-rank test of freedom from a first infection between groups.
//!
//! Left out on purpose: the size of a difference and its cause. Every other end is treated as censoring, so the test
//! compares cause-specific hazards.
//!
//! Sources, *from memory*: Mantel, Cancer Chemother Rep 1966;50:163; more than two groups: Peto & Peto, J R Stat Soc A
//! 1972;135:185, with the hypergeometric variance on each day.

use schemars::JsonSchema;
use serde::Serialize;
use statrs::function::gamma::checked_gamma_ur;

use super::follow_up::{FollowUp, FollowUpEnd, RiskSet};

/// The minimum expected number of infections per group for the chi-square approximation of p.
const EXPECTED_AT_LEAST: f64 = 5.0;

/// The rounding tolerance of an integer expected number of infections.
const ROUNDING: f64 = 1e-9;

/// The relative size of a pivot below which the variance is singular.
const SINGULAR: f64 = 1e-12;

/// A log-rank test of the cause-specific hazard.
#[derive(Debug, Clone, Default, PartialEq, Serialize, JsonSchema)]
pub struct LogRank {
    /// Chi-square with hypergeometric variance; null if there is nothing to compare.
    pub chi_square: Option<f64>,
    /// Degrees of freedom.
    pub df: Option<u64>,
    /// p-value; null if a group expects under 5 infections.
    pub p: Option<f64>,
}

/// Compares groups; the second value is the expected infections by group.
///
/// On each day, the infected patients are compared with all patients at risk in any group; entry may be delayed. A group
/// that is never at risk when an infection occurs expects none: it is left out of the chi-square, and like any group that
/// expects under 5 infections it makes p null. The result is null if fewer than two groups are compared, or if the
/// variance is singular: some groups were never at risk together with the others on a day with both infected and
/// uninfected patients.
///
/// ```
/// # use exitsite::surveillance::log_rank::log_rank;
/// # use exitsite::surveillance::follow_up::{FollowUpEnd, FollowUp};
/// let infected = |days: &[i64]| days.iter().map(|to| FollowUp { from: 0, to: *to, end: FollowUpEnd::Infection }).collect::<Vec<_>>();
/// // on day 1 one of two, on day 2 the only one left: expected 1/2 and 3/2, variance 1/4
/// let (test, expected) = log_rank(&[infected(&[1]), infected(&[2])]);
/// assert_eq!(expected, [0.5, 1.5]);
/// assert_eq!((test.chi_square, test.df), (Some(1.0), Some(1)));
/// // too few for p
/// assert_eq!(test.p, None);
/// // a single group cannot be compared
/// assert_eq!(log_rank(&[infected(&[1, 2, 3])]).0.chi_square, None);
/// ```
pub fn log_rank(groups: &[Vec<FollowUp>]) -> (LogRank, Vec<f64>) {
    let LogRankSums { expected, excess, variance } = LogRankSums::of(groups);
    let mut taking_part: Vec<usize> = (0..groups.len()).filter(|group| expected[*group] > 0.0).collect();
    // The excesses add up to 0, so one group is redundant: the one that expects the most is dropped.
    taking_part.sort_by(|one, other| expected[*other].total_cmp(&expected[*one]));
    let others = taking_part.get(1..).unwrap_or_default();
    let chi_square = quadratic(&excess, &variance, others);
    let df = chi_square.map(|_| others.len() as u64);
    let is_enough = expected.iter().all(|expected| *expected >= EXPECTED_AT_LEAST - ROUNDING);
    let p = chi_square.zip(df).filter(|_| is_enough).and_then(|(chi_square, df)| tail(chi_square, df));
    (LogRank { chi_square, df, p }, expected)
}

/// Observed less expected infections by group, with their covariance.
struct LogRankSums {
    expected: Vec<f64>,
    excess: Vec<f64>,
    variance: Vec<Vec<f64>>,
}

impl LogRankSums {
    fn of(groups: &[Vec<FollowUp>]) -> LogRankSums {
        let cohorts: Vec<RiskSet> = groups.iter().map(|follow_ups| RiskSet::of(follow_ups)).collect();
        let all = RiskSet::of(&groups.concat());
        let mut tally = LogRankSums {
            expected: vec![0.0; groups.len()],
            excess: vec![0.0; groups.len()],
            variance: vec![vec![0.0; groups.len()]; groups.len()],
        };
        for day in all.days() {
            let (at_risk, infected) = (all.at_risk(day) as f64, all.ended(day, FollowUpEnd::Infection) as f64);
            if infected == 0.0 {
                continue;
            }
            let shares: Vec<f64> = cohorts.iter().map(|cohort| cohort.at_risk(day) as f64 / at_risk).collect();
            // 0 if one patient is at risk, rather than 0 ÷ 0
            let spread = infected * (at_risk - infected) / f64::max(1.0, at_risk - 1.0);
            for (group, share) in shares.iter().enumerate().filter(|(_, share)| **share > 0.0) {
                tally.expected[group] += infected * share;
                tally.excess[group] += cohorts[group].ended(day, FollowUpEnd::Infection) as f64 - infected * share;
                for (other, other_share) in shares.iter().enumerate() {
                    tally.variance[group][other] += spread * share * (f64::from(group == other) - other_share);
                }
            }
        }
        tally
    }
}

/// The quadratic form of the excesses with the inverse of their covariance, over some of the groups; `None` without
/// groups or with a singular covariance. Uses a Cholesky decomposition whose last row is solved along with it.
fn quadratic(excess: &[f64], variance: &[Vec<f64>], groups: &[usize]) -> Option<f64> {
    let mut rows: Vec<Vec<f64>> = Vec::new();
    let mut solved: Vec<f64> = Vec::new();
    for group in groups {
        let mut row: Vec<f64> = Vec::new();
        for (above, other) in rows.iter().zip(groups) {
            row.push((variance[*group][*other] - product(&row, above)) / above[row.len()]);
        }
        let pivot = variance[*group][*group] - product(&row, &row);
        if pivot <= SINGULAR * variance[*group][*group] {
            return None;
        }
        let pivot = pivot.sqrt();
        solved.push((excess[*group] - product(&row, &solved)) / pivot);
        row.push(pivot);
        rows.push(row);
    }
    (!groups.is_empty()).then(|| product(&solved, &solved))
}

/// The dot product, up to the length of the shorter.
fn product(one: &[f64], other: &[f64]) -> f64 {
    one.iter().zip(other).map(|(one, other)| one * other).sum()
}

/// The probability of a chi-square at least this large.
pub(super) fn tail(chi_square: f64, df: u64) -> Option<f64> {
    if chi_square == 0.0 { Some(1.0) } else { checked_gamma_ur(df as f64 / 2.0, chi_square / 2.0).ok() }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::super::follow_up::invented::follow_ups;
    use super::*;

    fn near(one: Option<f64>, other: Option<f64>) -> bool {
        match (one, other) {
            (Some(one), Some(other)) => (one - other).abs() <= 1e-9 * (1.0 + one.abs()),
            (one, other) => one.is_none() && other.is_none(),
        }
    }

    fn groups() -> impl Strategy<Value = Vec<Vec<FollowUp>>> {
        prop::collection::vec(follow_ups(), 0..5)
    }

    proptest! {
        #[test]
        fn every_figure_is_a_number_or_null(groups in groups()) {
            let (test, expected) = log_rank(&groups);
            prop_assert!(test.chi_square.is_none_or(|chi_square| chi_square.is_finite() && chi_square >= 0.0));
            prop_assert!(test.p.is_none_or(|p| (0.0..=1.0).contains(&p)));
            prop_assert_eq!(test.df.is_some(), test.chi_square.is_some());
            prop_assert!(test.df.is_none_or(|df| df >= 1 && df < groups.len() as u64));
            prop_assert_eq!(expected.len(), groups.len());
            let is_enough = expected.iter().all(|expected| *expected >= 5.0 - 1e-9);
            prop_assert_eq!(test.p.is_some(), is_enough && test.chi_square.is_some());
        }

        /// Expected and observed infections have the same total: an identity, not a matter of chance.
        #[test]
        fn all_groups_together_expect_what_was_seen(groups in groups()) {
            let is_seen = |follow_up: &&FollowUp| follow_up.end == FollowUpEnd::Infection && follow_up.from <= follow_up.to;
            let seen = groups.iter().flatten().filter(is_seen).count() as f64;
            prop_assert!((log_rank(&groups).1.iter().sum::<f64>() - seen).abs() < 1e-9);
        }

        #[test]
        fn the_order_of_groups_and_follow_ups_changes_nothing(
            (groups, shuffled) in groups().prop_flat_map(|groups| (Just(groups.clone()), Just(groups).prop_shuffle()))
        ) {
            let reversed: Vec<Vec<FollowUp>> =
                shuffled.into_iter().map(|follow_ups| follow_ups.into_iter().rev().collect()).collect();
            let (test, other) = (log_rank(&groups).0, log_rank(&reversed).0);
            prop_assert!(near(test.chi_square, other.chi_square) && near(test.p, other.p), "{:?} {:?}", test, other);
            prop_assert_eq!(test.df, other.df);
        }

        #[test]
        fn a_group_without_patients_changes_no_chi_square_and_takes_away_p(groups in groups()) {
            let (test, with) = (log_rank(&groups).0, log_rank(&[groups, vec![vec![]]].concat()).0);
            prop_assert_eq!((with.chi_square, with.df, with.p), (test.chi_square, test.df, None));
        }

        #[test]
        fn groups_that_are_alike_do_not_differ(follow_ups in follow_ups()) {
            let (test, _) = log_rank(&[follow_ups.clone(), follow_ups]);
            prop_assert!(test.chi_square.is_none_or(|chi_square| chi_square < 1e-20), "{:?}", test);
        }
    }

    fn follow_ups_of(from: i64, days: &[i64]) -> Vec<FollowUp> {
        days.iter().map(|to| FollowUp { from, to: *to, end: FollowUpEnd::Infection }).collect()
    }

    #[test]
    fn groups_that_are_never_at_risk_together_are_not_compared() {
        let early = follow_ups_of(0, &[1, 2, 3, 4, 5, 6]);
        let late = follow_ups_of(10, &[11, 12, 13, 14, 15, 16]);
        let (apart, _) = log_rank(&[early.clone(), late.clone()]);
        assert_eq!((apart.chi_square, apart.df, apart.p), (None, None, None));
        // two pairs, each comparable in itself, are not four comparable groups
        let slow = |days: &[FollowUp]| {
            days.iter().map(|follow_up| FollowUp { to: follow_up.to + 2, ..*follow_up }).collect::<Vec<_>>()
        };
        let pairs = [early.clone(), slow(&early), late.clone(), slow(&late)];
        assert_eq!(log_rank(&pairs).0.chi_square, None);
        assert!(log_rank(&pairs[..2]).0.chi_square.is_some() && log_rank(&pairs[2..]).0.chi_square.is_some());
    }

    #[test]
    fn everybody_infected_on_one_day_shows_no_difference_and_no_chance_either() {
        let (test, expected) = log_rank(&[follow_ups_of(0, &[3; 8]), follow_ups_of(0, &[3; 9])]);
        assert_eq!(test, LogRank::default());
        assert!((expected[0] - 8.0).abs() < 1e-12);
    }

    #[test]
    fn exactly_five_expected_are_enough_for_p() {
        // fifteen infections, each among equal numbers of three groups; fifteen times the fraction 1/3 is less than 5 in
        // floating point
        let infected_in_turn = |turn: i64| -> Vec<FollowUp> {
            let end = |day: i64| if day % 3 == turn { FollowUpEnd::Infection } else { FollowUpEnd::Death };
            (1..=15).map(|day| FollowUp { from: 0, to: day, end: end(day) }).collect()
        };
        let groups = [0, 1, 2].map(infected_in_turn);
        let (test, expected) = log_rank(&groups);
        assert!(expected.iter().all(|expected| (expected - 5.0).abs() < 1e-9 && *expected < 5.0), "{test:?}");
        assert_eq!(test.chi_square.map(|chi_square| chi_square < 1e-20), Some(true));
        assert!(test.p.is_some_and(|p| (p - 1.0).abs() < 1e-9));
        let (fewer, expected) = log_rank(&[groups[0][1..].to_vec(), groups[1].clone(), groups[2].clone()]);
        assert!(expected[0] < 5.0 && fewer.chi_square.is_some() && fewer.p.is_none(), "{fewer:?}");
    }
}
