//! Rates of several programs: funnel limits and the gamma–Poisson fit by SciPy, and coverage over simulated programs.

use std::sync::LazyLock;

use exitsite::surveillance::funnel::{Beyond, Funnel};
use exitsite::surveillance::gamma_poisson::{Exposed, GammaPoisson};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use serde_json::Value;

use crate::counts::{count, number, number_or_null, same, same_or_null};

static FIGURES: LazyLock<Value> =
    LazyLock::new(|| serde_json::from_str(include_str!("reference/pool.json")).expect("pool.json is JSON"));

fn rows(name: &str) -> &'static [Value] {
    let rows = FIGURES[name].as_array().unwrap();
    assert!(rows.len() > 5, "{name}");
    rows
}

fn programs(row: &Value) -> Vec<Exposed> {
    let exposures = row["exposure"].as_array().unwrap().iter().map(|one| one.as_f64().unwrap());
    let events = row["events"].as_array().unwrap().iter().map(|one| one.as_u64().unwrap());
    events.zip(exposures).map(|(events, exposure)| Exposed { events, exposure }).collect()
}

/// Source: SciPy, the incomplete gamma functions.
#[test]
fn funnel_limits_are_those_of_the_exact_tails() {
    for row in rows("funnel") {
        let found = Funnel::of(number(row, "rate"), number(row, "exposure"));
        let figures = [
            ("low_95", found.inner.low),
            ("high_95", found.inner.high),
            ("low_998", found.outer.low),
            ("high_998", found.outer.high),
        ];
        for (key, figure) in figures {
            same_or_null(figure, number_or_null(row, key), 1e-9, &format!("{key} of {row}"));
        }
    }
}

/// Source: SciPy, the quantiles of the discrete distribution: the smallest and the largest count within 99.8 %.
#[test]
fn counts_are_beyond_where_their_own_tail_is_as_small() {
    for row in rows("funnel") {
        let (rate, exposure) = (number(row, "rate"), number(row, "exposure"));
        let outer = Funnel::of(rate, exposure).outer;
        let (fewest, most) = (count(row, "fewest"), count(row, "most"));
        for events in fewest.saturating_sub(2)..=most + 3 {
            let beyond = Beyond::of(events, rate * exposure);
            assert_eq!(beyond == Some(Beyond::Above), events > most, "{events} of {row}");
            assert_eq!(beyond == Some(Beyond::Below), events < fewest, "{events} of {row}");
            // and the mark of such a program is outside the line
            let at = events as f64 / exposure;
            assert_eq!(beyond == Some(Beyond::Above), outer.high.is_some_and(|high| at >= high), "{events} of {row}");
            assert_eq!(beyond == Some(Beyond::Below), outer.low.is_some_and(|low| at <= low), "{events} of {row}");
        }
    }
}

/// Source: SciPy: mean and spread by maximizing the negative binomial likelihood over both, limits from its profile,
/// rates from the closed form of the gamma.
#[test]
fn mean_spread_and_rates_are_those_of_the_largest_likelihood() {
    for row in rows("gamma_poisson") {
        let found = GammaPoisson::of(&programs(row));
        let spread = found.spread;
        same_or_null(spread.mean, Some(number(row, "mean")), 2e-5, &"mean");
        same_or_null(spread.coefficient_of_variation, Some(number(row, "spread")), 2e-5, &"spread");
        same_or_null(spread.low, Some(number(row, "low")), 2e-5, &"low");
        same_or_null(spread.high, number_or_null(row, "high"), 2e-5, &"high");
        let ends: Vec<f64> = row["programs"].as_array().unwrap().iter().map(|end| end.as_f64().unwrap()).collect();
        same_or_null(spread.programs_low, Some(ends[0]), 1e-4, &"programs, low");
        same_or_null(spread.programs_high, Some(ends[1]), 1e-4, &"programs, high");
        for (one, expected) in found.shrunken.iter().zip(row["shrunken"].as_array().unwrap()) {
            same(one.rate.unwrap(), expected.as_f64().unwrap(), 2e-5, &"rate");
        }
    }
}

/// Source: SciPy: the same weights by Gauss–Legendre and the trapezoid rule, quantiles by Brent's method.
#[test]
fn limits_of_rates_are_those_of_all_likely_means_and_spreads() {
    let mut checked = 0;
    for row in rows("gamma_poisson").iter().filter(|row| !row["limits"].is_null()) {
        let found = GammaPoisson::of(&programs(row));
        for (one, expected) in found.shrunken.iter().zip(row["limits"].as_array().unwrap()) {
            same(one.low.unwrap(), expected[0].as_f64().unwrap(), 0.01, &"low");
            same(one.high.unwrap(), expected[1].as_f64().unwrap(), 0.003, &"high");
            checked += 1;
        }
    }
    assert!(checked > 10, "{checked}");
}

#[test]
fn where_no_program_differs_all_rates_are_the_pooled_one() {
    let alike =
        GammaPoisson::of(&[(4, 20.0), (2, 10.0), (6, 30.0)].map(|(events, exposure)| Exposed { events, exposure }));
    assert_eq!((alike.spread.coefficient_of_variation, alike.spread.low), (Some(0.0), Some(0.0)));
    for one in &alike.shrunken {
        same(one.rate.unwrap(), 0.2, 1e-12, &"rate");
        assert!(one.low.unwrap() < 0.2 && one.high.unwrap() > 0.2, "{one:?}");
        assert_eq!(one.own_weight, Some(0.0));
    }
}

/// Simulated truth: 30 groups of eight programs whose rates are gamma distributed around 0.3 with a coefficient of
/// variation of 0.5, some 30,000 device-days each. The limits cover each program's own rate in 95 %, and the shrunken
/// rates are nearer to the truth than the programs' own.
#[test]
fn limits_cover_true_rates_and_drawn_rates_are_nearer_to_them() {
    let mut random = ChaCha8Rng::seed_from_u64(20261129);
    let (mut covered, mut all, mut own_miss, mut drawn_miss) = (0, 0, 0.0, 0.0);
    for _ in 0..30 {
        let rates: Vec<f64> =
            (0..8).map(|_| 0.3 * (0..4).map(|_| -random.random::<f64>().ln()).sum::<f64>() / 4.0).collect();
        let programs: Vec<Exposed> = rates
            .iter()
            .enumerate()
            .map(|(n, rate)| {
                let exposure = 10.0 + 6.0 * n as f64;
                let (mut events, mut product) = (0, random.random::<f64>());
                while product > (-rate * exposure).exp() {
                    product *= random.random::<f64>();
                    events += 1;
                }
                Exposed { events, exposure }
            })
            .collect();
        for ((rate, one), program) in rates.iter().zip(GammaPoisson::of(&programs).shrunken).zip(&programs) {
            all += 1;
            covered += u32::from(one.low.unwrap() <= *rate && *rate <= one.high.unwrap());
            own_miss += (program.events as f64 / program.exposure - rate).powi(2);
            drawn_miss += (one.rate.unwrap() - rate).powi(2);
        }
    }
    assert!((218..=237).contains(&covered), "{covered} of {all}");
    assert!(drawn_miss < 0.9 * own_miss, "{drawn_miss} and {own_miss}");
}
