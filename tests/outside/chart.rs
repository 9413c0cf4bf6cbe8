//! Control charts: published values, an independent library, and laws.

use exitsite::surveillance::chart::between::Between;
use exitsite::surveillance::chart::counts::CountLimits;
use exitsite::surveillance::chart::cusum::run_length::run_length;
use exitsite::surveillance::chart::cusum::{Cusum, IN_CONTROL_MONTHS, RATIO, Sum};
use exitsite::surveillance::chart::shares::Shares;
use proptest::prelude::*;

use crate::counts::{count, figures, number, rows, same};

/// Source: NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.3.2: 30 samples of 50. The data are *printed*; the center,
/// 0.2313, the limits, 0.0524 and 0.4102, and the samples outside, 15 and 23, are *from memory* and recomputed by NumPy.
#[test]
fn a_p_chart_is_that_of_the_handbook() {
    let figures = figures("p_chart");
    let defects: Vec<f64> = figures["defects"].as_array().unwrap().iter().map(|n| n.as_f64().unwrap()).collect();
    assert_eq!(defects.len(), 30);
    let center = defects.iter().sum::<f64>() / (30.0 * 50.0);
    let limits = Shares::of(center, 50.0, 1.0);
    let printed = [center, limits.low, limits.high].map(|figure| format!("{figure:.4}"));
    assert_eq!(printed, ["0.2313", "0.0524", "0.4102"]);
    let is_outside = |defects: f64| defects / 50.0 < limits.low || defects / 50.0 > limits.high;
    let outside: Vec<usize> = (1..=30).filter(|sample| is_outside(defects[sample - 1])).collect();
    assert_eq!(outside, [15, 23]);
    same(center, number(figures, "center"), 1e-13, &"center");
    same(limits.low, number(figures, "low"), 1e-12, &"lower limit");
    same(limits.high, number(figures, "high"), 1e-12, &"upper limit");
}

/// Source: SciPy, `poisson.ppf` and `poisson.isf` of 0.00135.
#[test]
fn probability_limits_of_a_count_are_those_of_an_independent_library() {
    for row in rows("quantiles") {
        let limits = CountLimits::of(number(row, "mean"));
        assert_eq!(limits, CountLimits { least: count(row, "least"), most: count(row, "most") }, "{row}");
    }
}

/// Source: SciPy, quantiles of `expon`.
#[test]
fn probability_limits_of_a_gap_are_those_of_an_independent_library() {
    let gaps = figures("gaps");
    let limits = Between::of(number(gaps, "mean"));
    same(limits.center, number(gaps, "center"), 1e-13, &"center");
    same(limits.low, number(gaps, "low"), 1e-13, &"lower limit");
    same(limits.high, number(gaps, "high"), 1e-13, &"upper limit");
}

/// Source: Lucas JM, Technometrics 1985;27:129, *printed* in a statistics package's manual: 438 without a head start, 333
/// with one of half the threshold.
#[test]
fn run_lengths_are_those_of_lucas() {
    assert_eq!(run_length(0.25, 0.25, 10.0, 0.0).round(), 438.0);
    assert_eq!(run_length(0.25, 0.25, 10.0, 5.0).round(), 333.0);
}

/// Source: a Markov chain of this project's own, written before this one; *no published source*. The threshold is the first
/// of a grid of 0.02 with a run of 200 or more; where the sum can be exactly the threshold, the grid is met from below.
#[test]
fn thresholds_for_200_periods_are_those_of_the_first_markov_chain() {
    for (mean, reference, threshold) in [(0.5, 0.72, 422), (1.0, 1.44, 470), (2.0, 2.88, 526)] {
        let months = |hundredths: i32| run_length(mean, reference, f64::from(hundredths) / 100.0 - 1e-9, 0.0);
        assert!(months(threshold) >= 200.0, "{mean}: {}", months(threshold));
        assert!(months(threshold - 2) < 200.0, "{mean}: {}", months(threshold - 2));
    }
}

/// Source: Brook D & Evans DA, Biometrika 1972;59:539, a Markov chain on a grid that contains every value of the sum, by NumPy.
#[test]
fn run_lengths_are_those_of_a_matrix() {
    for row in rows("run_lengths") {
        let [mean, reference, threshold, start] =
            ["mean", "reference", "threshold", "start"].map(|name| number(row, name));
        same(run_length(mean, reference, threshold - 1e-9, start), number(row, "months"), 1e-9, row);
    }
}

/// Source: the exact distribution of the sum followed month by month, by NumPy, with neither a grid nor a renewal equation.
#[test]
fn thresholds_for_100_months_are_those_of_a_walk() {
    for row in rows("thresholds") {
        let cusum = Cusum::of(number(row, "expected"));
        assert_eq!(cusum.threshold, number(row, "threshold"), "{row}");
        same(cusum.in_control_months, number(row, "in_control"), 1e-9, row);
        same(cusum.expected_delay_months, number(row, "delay"), 1e-9, row);
        assert!(number(row, "short") < IN_CONTROL_MONTHS && IN_CONTROL_MONTHS <= cusum.in_control_months, "{row}");
    }
}

/// Source: arithmetic. If every month with an event alarms, the run length is geometric.
#[test]
fn a_threshold_that_one_event_reaches_runs_until_the_first_event() {
    for mean in [1e-3, 0.01, 0.5, 3.0_f64] {
        same(run_length(mean, 0.25, 0.5, 0.0), 1.0 / -(-mean).exp_m1(), 1e-12, &mean);
    }
}

#[test]
fn a_threshold_keeps_its_promise_for_every_baseline() {
    for tenths in 1..=200 {
        let expected = f64::from(tenths) / 10.0;
        let cusum = Cusum::of(expected);
        let months = |threshold: f64, ratio: f64| {
            run_length(ratio * expected, expected / RATIO.ln(), threshold / RATIO.ln(), 0.0)
        };
        assert_eq!(months(cusum.threshold, 1.0), cusum.in_control_months);
        assert!(cusum.in_control_months >= IN_CONTROL_MONTHS, "{expected}: {cusum:?}");
        assert!(months(cusum.threshold - 0.001, 1.0) < IN_CONTROL_MONTHS, "{expected}: {cusum:?}");
        assert!(1.0 < cusum.expected_delay_months && cusum.expected_delay_months < 26.0, "{expected}: {cusum:?}");
    }
}

#[test]
fn a_sum_of_exactly_the_threshold_is_an_alarm() {
    let cusum = Cusum { ratio: RATIO, threshold: RATIO.ln(), in_control_months: 100.0, expected_delay_months: 10.0 };
    let nobody = |_| false;
    assert_eq!(cusum.run(&[(1, 0.0)], nobody), [Sum { value: RATIO.ln(), is_alarm: true }]);
    // The chain gives the same: each month has an event, or the sum does not change.
    same(run_length(1.0, 0.5, 0.5, 0.0), 1.0 / -(-1.0_f64).exp_m1(), 1e-12, &"months");
}

/// An acknowledgment resets S, but only after an alarm.
#[test]
fn the_sum_begins_anew_after_an_alarm_that_was_acknowledged() {
    let cusum = Cusum::of(1.0);
    let months = [(3, 1.0), (4, 1.0), (3, 1.0), (0, 1.0), (2, 1.0)];
    let goes_on = cusum.run(&months, |_| false);
    assert_eq!(goes_on.iter().map(|sum| sum.is_alarm).collect::<Vec<_>>(), [false, true, true, true, true]);
    let anew = cusum.run(&months, |month| month == 1);
    assert_eq!(anew[..2], goes_on[..2]);
    assert_eq!(anew[2..], cusum.run(&months[2..], |_| false)[..]);
    assert_eq!(cusum.run(&months, |month| month == 0), goes_on);
}

#[test]
fn no_chart_is_moved_by_what_is_no_number() {
    let odd = [f64::NAN, f64::INFINITY, f64::NEG_INFINITY, -1.0, -0.0, 0.0, f64::MIN_POSITIVE, 1e300, f64::MAX];
    for number in odd {
        let gap = Between::of(number);
        assert!([gap.low, gap.center, gap.high].iter().all(|limit| limit.is_finite() && *limit >= 0.0), "{gap:?}");
        assert!(CountLimits::of(number).least <= CountLimits::of(number).most);
        let cusum = Cusum::of(number);
        let figures = [cusum.threshold, cusum.in_control_months, cusum.expected_delay_months];
        assert!(figures.iter().all(|figure| figure.is_finite() && *figure > 0.0), "{number}: {cusum:?}");
        let sums = cusum.run(&[(3, number), (u64::MAX, number), (1, 1.0)], |month| month == 1);
        assert!(sums.iter().all(|sum| sum.value.is_finite() && sum.value >= 0.0), "{number}: {sums:?}");
        for other in odd {
            let limits = Shares::of(number, other, 1.0);
            assert!(
                (0.0..=1.0).contains(&limits.low) && (0.0..=1.0).contains(&limits.high),
                "{number} {other}: {limits:?}"
            );
        }
    }
}

proptest! {
    #[test]
    fn a_run_is_longer_with_a_higher_threshold_and_shorter_with_a_head_start(
        mean in 0.05_f64..15.0, per_mean in 1.05_f64..2.0, threshold in 0.5_f64..8.0, start in 0.0_f64..1.0, more in 0.0_f64..1.0
    ) {
        let (reference, part) = (mean * per_mean, 1.0 - 1e-10);
        let months = run_length(mean, reference, threshold, 0.0);
        prop_assert!(months.is_finite() && months >= 1.0);
        prop_assert!(run_length(mean, reference, threshold + more, 0.0) >= months * part);
        let head_start = run_length(mean, reference, threshold, start * threshold);
        prop_assert!(1.0 - 1e-10 <= head_start && head_start <= months / part);
        prop_assert!(run_length(2.0 * mean, reference, threshold, 0.0) <= months / part);
    }

    /// Chance alone passes each limit in at most 0.00135 of months; a limit closer by one count would be passed in more.
    #[test]
    fn counts_beyond_a_limit_are_as_rare_as_promised(expected in 0.0_f64..300.0) {
        let CountLimits { least, most } = CountLimits::of(expected);
        let mut chance = (-expected).exp();
        let (mut fewer, mut up_to_least, mut more, mut from_most) = (0.0, 0.0, 0.0, 0.0);
        for count in 0..1000_u64 {
            fewer += if count < least { chance } else { 0.0 };
            up_to_least += if count <= least { chance } else { 0.0 };
            more += if count > most { chance } else { 0.0 };
            from_most += if count >= most { chance } else { 0.0 };
            chance *= expected / (count + 1) as f64;
        }
        prop_assert!(fewer <= 0.00135 && 0.00135 < up_to_least, "{least}");
        prop_assert!(more <= 0.00135 && (0.00135 < from_most || most == 0), "{most}");
    }

    #[test]
    fn limits_of_a_share_hold_the_center_and_widen_with_the_design_effect(
        center in 0.0_f64..=1.0, whole in 1.0_f64..1e5, effect in 1.0_f64..50.0
    ) {
        let (plain, wide) = (Shares::of(center, whole, 1.0), Shares::of(center, whole, effect));
        prop_assert!(0.0 <= wide.low && wide.low <= plain.low && plain.low <= center);
        prop_assert!(center <= plain.high && plain.high <= wide.high && wide.high <= 1.0);
        let fewer = Shares::of(center, whole / effect, 1.0);
        prop_assert!((fewer.low - wide.low).abs() < 1e-12 && (fewer.high - wide.high).abs() < 1e-12);
    }
}
