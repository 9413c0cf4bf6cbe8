//! The log-rank test against a published trial and against R's `survival`.

use exitsite::surveillance::follow_up::FollowUp;
use exitsite::surveillance::log_rank::log_rank;

use crate::follow_ups::{REFERENCE, Set, are_same, is_printed, is_same, treated_and_placebo};

/// Source: Freireich 1963, Gehan 1965; the chi-square with hypergeometric variance as quoted by several books. The sum
/// of (O − E)² ÷ E, for which some programs use the same name, is 15.23 and would be wrong.
#[test]
fn the_trial_has_the_published_chi_square() {
    let (test, expected) = log_rank(&treated_and_placebo());
    assert!(is_printed(test.chi_square.unwrap(), 16.793, 3), "{test:?}");
    assert_eq!(test.df, Some(1));
    let simple: f64 =
        [9.0, 21.0].iter().zip(&expected).map(|(seen, expected)| (seen - expected).powi(2) / expected).sum();
    assert!(is_printed(simple, 15.23, 2), "{simple}");
}

#[test]
fn every_comparison_has_the_chi_square_and_p_that_r_finds() {
    for compared in &REFERENCE.log_rank {
        let groups: Vec<Vec<FollowUp>> = compared.sets.iter().map(|name| Set::named(name).follow_ups()).collect();
        let (test, expected) = log_rank(&groups);
        assert!(are_same(test.chi_square, Some(compared.chi_square)), "{:?}: {test:?}", compared.sets);
        assert_eq!(test.df, Some(compared.df), "{:?}", compared.sets);
        assert_eq!(expected.len(), compared.expected.len(), "{:?}", compared.sets);
        let mut expected = expected.iter().zip(&compared.expected);
        assert!(expected.all(|(ours, theirs)| is_same(*ours, *theirs)), "{:?}: {test:?}", compared.sets);
        // R always gives p; far out it is small, so the tolerance is relative, 1e-10
        let is_enough = compared.expected.iter().all(|expected| *expected >= 5.0);
        assert_eq!(test.p.is_some(), is_enough, "{:?}: {test:?}", compared.sets);
        let is_p = test.p.is_none_or(|p| (p / compared.p - 1.0).abs() <= 1e-10);
        assert!(is_p, "{:?}: {test:?}", compared.sets);
    }
    let without_p =
        REFERENCE.log_rank.iter().filter(|compared| compared.expected.iter().any(|expected| *expected < 5.0));
    assert!((1..REFERENCE.log_rank.len()).contains(&without_p.count()));
    assert!(REFERENCE.log_rank.iter().any(|compared| compared.p < 1e-20));
}
