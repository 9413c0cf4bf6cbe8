//! The lower-sided alarm: run lengths by an independent library and by simulated runs.

use std::sync::LazyLock;

use exitsite::surveillance::chart::cusum::run_length::lower_run_length;
use exitsite::surveillance::chart::cusum::{Cusum, IN_CONTROL_MONTHS, LOWER_RATIO, Sum, lower_months_to_alarm};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use serde_json::Value;

use crate::counts::{number, same};

static FIGURES: LazyLock<Value> =
    LazyLock::new(|| serde_json::from_str(include_str!("reference/lower.json")).expect("lower.json is JSON"));

fn rows(name: &str) -> &'static [Value] {
    let rows = FIGURES[name].as_array().unwrap();
    assert!(rows.len() > 5, "{name}");
    rows
}

/// Source: Brook D & Evans DA, Biometrika 1972;59:539: a Markov chain on a grid that contains every value of the sum,
/// by NumPy.
#[test]
fn run_lengths_are_those_of_a_matrix() {
    for row in rows("run_lengths") {
        let [mean, reference, threshold] = ["mean", "reference", "threshold"].map(|name| number(row, name));
        same(lower_run_length(mean, reference, threshold - 1e-9), number(row, "months"), 1e-9, row);
    }
}

/// Source: the exact distribution of the sum followed month by month, by NumPy, with neither a grid nor a renewal
/// equation.
#[test]
fn thresholds_for_100_months_are_those_of_a_walk() {
    for row in rows("thresholds") {
        let cusum = Cusum::lower(number(row, "expected"));
        assert_eq!(cusum.threshold, number(row, "threshold"), "{row}");
        same(cusum.in_control_months, number(row, "in_control"), 1e-9, row);
        same(cusum.expected_delay_months, number(row, "delay"), 1e-9, row);
        assert!(number(row, "short") < IN_CONTROL_MONTHS && IN_CONTROL_MONTHS <= cusum.in_control_months, "{row}");
    }
}

/// Source: simulation, 40,000 runs of the sum that the report computes, at the old rate, at one half and at three
/// quarters of it, within four standard errors.
#[test]
fn run_lengths_are_those_of_simulated_runs() {
    const RUNS: u32 = 40_000;
    let mut random = ChaCha8Rng::seed_from_u64(20261129);
    for (expected, ratio) in [(1.0, 1.0), (1.0, 0.5), (1.0, 0.75), (2.6, 0.5), (2.6, 1.0), (0.85, 0.5)] {
        let cusum = Cusum::lower(expected);
        // the probabilities of each count, until they no longer matter
        let mean: f64 = expected * ratio;
        let mut chances = vec![(-mean).exp()];
        for count in 1..40 {
            chances.push(chances[count - 1] * mean / count as f64);
        }
        let mut months_to_alarm = || {
            let (mut sum, mut months) = (0.0_f64, 0_u32);
            while sum < cusum.threshold - 1e-9 {
                let mut left = random.random::<f64>();
                let count = chances.iter().position(|chance| {
                    left -= chance;
                    left < 0.0
                });
                sum = (sum + expected / 2.0 - count.unwrap_or(40) as f64 * 2.0_f64.ln()).max(0.0);
                months += 1;
            }
            f64::from(months)
        };
        let (mut total, mut squares) = (0.0, 0.0);
        for _ in 0..RUNS {
            let months = months_to_alarm();
            total += months;
            squares += months * months;
        }
        let (runs, found) = (f64::from(RUNS), total / f64::from(RUNS));
        let std_error = ((squares / runs - found * found) / runs).sqrt();
        let computed = lower_months_to_alarm(expected, ratio, cusum.threshold);
        assert!(
            (found - computed).abs() < 4.0 * std_error,
            "{expected} × {ratio}: {found} ± {std_error}, not {computed}"
        );
    }
}

#[test]
fn the_sum_rises_in_quiet_months_and_falls_with_infections() {
    let cusum = Cusum::lower(1.0);
    let sums = cusum.run(&[(0, 1.0), (0, 1.0), (1, 1.0), (0, 0.0), (3, 1.0), (0, 6.0)], |_| false);
    let ln2 = 2.0_f64.ln();
    let values = [0.5, 1.0, 1.5 - ln2, 1.5 - ln2, 0.0, 3.0];
    for (Sum { value, is_alarm }, expected) in sums.iter().zip(values) {
        assert!((value - expected).abs() < 1e-12, "{sums:?}");
        assert_eq!(*is_alarm, expected >= cusum.threshold);
    }
}

#[test]
fn a_threshold_keeps_its_promise_for_every_old_rate() {
    for tenths in 1..=150 {
        let expected = f64::from(tenths) / 10.0;
        let cusum = Cusum::lower(expected);
        assert_eq!(cusum.ratio, LOWER_RATIO);
        assert!(cusum.in_control_months >= IN_CONTROL_MONTHS, "{expected}: {cusum:?}");
        assert!(
            lower_months_to_alarm(expected, 1.0, cusum.threshold - 0.001) < IN_CONTROL_MONTHS,
            "{expected}: {cusum:?}"
        );
        assert!(
            1.0 <= cusum.expected_delay_months && cusum.expected_delay_months < IN_CONTROL_MONTHS,
            "{expected}: {cusum:?}"
        );
    }
}

#[test]
fn no_number_is_none_for_what_is_no_number() {
    for odd in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY, -1.0, 0.0, f64::MIN_POSITIVE, 1e300] {
        let cusum = Cusum::lower(odd);
        let figures = [cusum.threshold, cusum.in_control_months, cusum.expected_delay_months];
        assert!(figures.iter().all(|figure| figure.is_finite() && *figure > 0.0), "{odd}: {cusum:?}");
        let sums = cusum.run(&[(3, odd), (u64::MAX, odd), (1, 1.0)], |_| false);
        assert!(sums.iter().all(|sum| sum.value.is_finite() && sum.value >= 0.0), "{odd}: {sums:?}");
    }
}
