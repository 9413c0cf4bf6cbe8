//! Ratios within matched sets: R's conditional estimates, exact limits, and the coverage over simulated sets.

use std::sync::LazyLock;

use exitsite::surveillance::matched::{MatchedRatio, MatchedSet};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use serde_json::Value;

use crate::counts::{count, number, number_or_null, same_or_null};

static FIGURES: LazyLock<Value> =
    LazyLock::new(|| serde_json::from_str(include_str!("reference/matched.json")).expect("matched.json is JSON"));

fn sets(row: &Value) -> Vec<MatchedSet> {
    let set = |set: &Value| MatchedSet {
        inside: count(set, "inside"),
        all: count(set, "all"),
        window: number(set, "window"),
        others: number(set, "others"),
    };
    row["sets"].as_array().unwrap().iter().map(set).collect()
}

/// Reads one figure of a ratio.
type Figure = fn(&MatchedRatio) -> Option<f64>;

fn check(name: &str, figures: &[(&str, Figure)]) {
    let rows = FIGURES[name].as_array().unwrap();
    assert!(rows.len() > 2, "{name}");
    for row in rows {
        let found = MatchedRatio::of(&sets(row));
        for (key, figure) in figures {
            same_or_null(figure(&found), number_or_null(row, key), 1e-7, &format!("{key} of {name}"));
        }
        if let (Some(ratio), Some(low), Some(high)) = (found.ratio, found.low, found.high) {
            assert!(low <= ratio && ratio <= high, "{found:?}");
        }
    }
}

/// Source: R, a Poisson fit with an effect for each set.
#[test]
fn rate_ratios_are_those_of_a_conditional_poisson_fit() {
    check("rates", &[("ratio", |found| found.ratio)]);
}

/// Source: R `survival::clogit`, exact.
#[test]
fn odds_ratios_are_those_of_a_conditional_logistic_fit() {
    check("odds", &[("ratio", |found| found.ratio)]);
}

/// Source: R `binom.test`: if all sets have the same exposures, the total is a single binomial.
#[test]
fn limits_of_a_single_binomial_are_those_of_clopper_and_pearson() {
    check(
        "single",
        &[
            ("ratio", |found| found.ratio),
            ("low", |found| found.low),
            ("high", |found| found.high),
            ("p", |found| found.p),
        ],
    );
}

/// Splitting sets changes nothing: the distribution is that of the sum.
#[test]
fn a_set_in_pieces_of_the_same_exposures_is_the_same() {
    let set = |inside, all| MatchedSet { inside, all, window: 30.0, others: 200.0 };
    let whole = MatchedRatio::of(&[set(5, 14)]);
    let pieces = MatchedRatio::of(&[set(2, 3), set(0, 6), set(3, 5)]);
    let figures = |one: &MatchedRatio| [one.ratio, one.low, one.high, one.p];
    for (whole, pieces) in figures(&whole).into_iter().zip(figures(&pieces)) {
        same_or_null(whole, pieces, 1e-9, &"pieces");
    }
}

/// Simulated truth: 1,000 programs of 25 infections, a lapse three times as frequent in the 30 days before as in the
/// others. Exact limits cover it in 95 % or more, but not in nearly all.
#[test]
fn limits_cover_a_planted_ratio_of_three() {
    let mut random = ChaCha8Rng::seed_from_u64(20261129);
    let mut poisson = |mean: f64| {
        let (mut n, mut product) = (0_u64, random.random::<f64>());
        while product > (-mean).exp() {
            product *= random.random::<f64>();
            n += 1;
        }
        n
    };
    let mut covered = 0;
    for _ in 0..1000 {
        let sets: Vec<MatchedSet> = (0..25)
            .map(|n| {
                let rate = 0.002 + 0.0005 * f64::from(n);
                let (inside, others) = (poisson(3.0 * rate * 30.0), poisson(rate * 330.0));
                MatchedSet { inside, all: inside + others, window: 30.0, others: 330.0 }
            })
            .collect();
        let found = MatchedRatio::of(&sets);
        covered += u32::from(found.low.is_some_and(|low| low <= 3.0) && found.high.is_none_or(|high| high >= 3.0));
    }
    assert!((940..=975).contains(&covered), "{covered} of 1000");
}
