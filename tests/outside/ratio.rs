//! Rate ratios, their limits, p and power: published values, an independent library, and laws.

use std::collections::HashMap;

use exitsite::surveillance::ratio::Ratio;
use exitsite::surveillance::tail::MOST_EVENTS;
use proptest::prelude::*;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

use crate::counts::{count, number, number_or_null, printed, rows, same, same_or_null};

/// Source: an open epidemiology calculator's documentation (Sullivan & Soe), *printed*.
#[test]
fn limits_and_p_of_17_events_against_3_are_those_printed() {
    let ratio = Ratio::of(17, 100_025.0, 3, 122_268.0);
    let exact = [printed(ratio.low, 3), printed(ratio.high, 2), printed(ratio.p, 7)];
    assert_eq!(exact, ["2.004", "36.89", "0.0005538"]);
    let mid_p = [printed(ratio.mid_p_low, 3), printed(ratio.mid_p_high, 2), printed(ratio.mid_p, 7)];
    assert_eq!(mid_p, ["2.210", "29.63", "0.0003127"]);
    same(ratio.rate_ratio.unwrap(), (17.0 / 100_025.0) / (3.0 / 122_268.0), 1e-14, &"ratio");
}

/// Source: SciPy: beta quantiles for the exact limits, a root of the binomial tails for mid-P, binomial tails for both p,
/// and for the power the sum over all pairs of counts.
#[test]
fn ratios_are_those_of_an_independent_library() {
    let (mut powers, mut falls) = (0, 0);
    for row in rows("ratios") {
        let ratio = Ratio::of(
            count(row, "events"),
            number(row, "exposure"),
            count(row, "events_before"),
            number(row, "exposure_before"),
        );
        let figures = [
            ("rate_ratio", ratio.rate_ratio, 1e-14),
            ("low", ratio.low, 1e-10),
            ("high", ratio.high, 1e-10),
            ("mid_p_low", ratio.mid_p_low, 1e-10),
            ("mid_p_high", ratio.mid_p_high, 1e-10),
            ("p", ratio.p, 1e-10),
            ("mid_p", ratio.mid_p, 1e-10),
        ];
        for (name, found, part) in figures {
            same_or_null(found, number_or_null(row, name), part, &format!("{name} of {row}"));
        }
        if row.get("smallest_detectable").is_some() {
            powers += 1;
            let expected = number_or_null(row, "smallest_detectable");
            same_or_null(ratio.smallest_detectable, expected, 1e-9, &format!("smallest_detectable of {row}"));
            let expected = number_or_null(row, "detectable_fall");
            same_or_null(ratio.detectable_fall, expected, 1e-9, &format!("detectable_fall of {row}"));
            falls += u64::from(expected.is_some());
        }
    }
    assert!(powers > 10 && falls > 3, "{powers} {falls}");
}

/// Source: arithmetic. All n events in the second period, at equal exposure: 0.5 to the n in each tail, and limits by
/// roots of 0.025.
#[test]
fn without_events_before_the_lower_limit_is_a_root() {
    for events in [1, 2, 4, 10, 100] {
        let ratio = Ratio::of(events, 500.0, 0, 500.0);
        let nothing = (ratio.rate_ratio, ratio.high, ratio.mid_p_high, ratio.smallest_detectable);
        assert_eq!(nothing, (None, None, None, None));
        let odds = |tail: f64| {
            let share = tail.powf(1.0 / events as f64);
            share / (1.0 - share)
        };
        same(ratio.low.unwrap(), odds(0.025), 1e-12, &events);
        same(ratio.mid_p_low.unwrap(), odds(0.05), 1e-12, &events);
        same(ratio.p.unwrap(), (2.0 * 0.5_f64.powi(events as i32)).min(1.0), 1e-12, &events);
        same(ratio.mid_p.unwrap(), 0.5_f64.powi(events as i32), 1e-12, &events);
    }
}

#[test]
fn without_events_now_the_ratio_is_0_and_has_an_upper_limit() {
    let ratio = Ratio::of(0, 500.0, 4, 500.0);
    assert_eq!((ratio.rate_ratio, ratio.low, ratio.mid_p_low), (Some(0.0), Some(0.0), Some(0.0)));
    let new = Ratio::of(4, 500.0, 0, 500.0);
    same(ratio.high.unwrap(), 1.0 / new.low.unwrap(), 1e-13, &"exact");
    same(ratio.mid_p_high.unwrap(), 1.0 / new.mid_p_low.unwrap(), 1e-13, &"mid-P");
}

#[test]
fn without_events_only_p_is_given() {
    assert_eq!(Ratio::of(0, 10.0, 0, 20.0), Ratio { p: Some(1.0), mid_p: Some(1.0), ..Ratio::default() });
}

#[test]
fn without_exposure_in_one_period_there_are_no_figures() {
    for exposure in [0.0, -1.0, f64::NAN, f64::INFINITY] {
        assert_eq!(Ratio::of(3, exposure, 4, 20.0), Ratio::default(), "{exposure}");
        assert_eq!(Ratio::of(3, 20.0, 4, exposure), Ratio::default(), "{exposure}");
    }
}

#[test]
fn above_the_most_events_only_the_ratio_is_given() {
    assert!(Ratio::of(MOST_EVENTS - 1, 5.0, 1, 5.0).p.is_some());
    let more = Ratio::of(MOST_EVENTS, 5.0, 1, 5.0);
    assert_eq!(more, Ratio { rate_ratio: Some(MOST_EVENTS as f64), ..Ratio::default() });
    assert_eq!(Ratio::of(u64::MAX, 5.0, u64::MAX, 5.0).rate_ratio, Some(1.0));
}

/// The chance of p under 0.05 at least once in 12 monthly reports, each comparing 12 months with the 12 before, at one
/// constant rate. The audit states it; NumPy and SciPy find 0.159, 0.181 and 0.197 in 20,000 runs.
#[test]
fn a_comparison_repeated_each_month_finds_a_difference_in_16_to_20_of_100_years() {
    const RUNS: u32 = 3_000;
    let mut random = ChaCha8Rng::seed_from_u64(20261129);
    let mut known: HashMap<(u64, u64), bool> = HashMap::new();
    for (mean, expected) in [(10.0, 0.159), (20.0, 0.181), (40.0, 0.197)] {
        let mut year = || -> bool {
            let months: Vec<u64> = (0..35).map(|_| poisson(&mut random, mean / 12.0)).collect();
            let of = |from: usize| months[from..from + 12].iter().sum::<u64>();
            let is_small = |counts: (u64, u64)| {
                *known
                    .entry(counts)
                    .or_insert_with(|| Ratio::of(counts.0, 12.0, counts.1, 12.0).p.is_some_and(|p| p < 0.05))
            };
            (0..12).map(|first| (of(first + 12), of(first))).any(is_small)
        };
        let found = f64::from((0..RUNS).filter(|_| year()).count() as u32) / f64::from(RUNS);
        // three standard errors of 3,000 runs
        assert!((found - expected).abs() < 0.022, "{mean}: {found}");
    }
}

/// Knuth's product of uniform numbers.
fn poisson(random: &mut ChaCha8Rng, mean: f64) -> u64 {
    let (mut count, mut product) = (0, random.random::<f64>());
    while product > (-mean).exp() {
        count += 1;
        product *= random.random::<f64>();
    }
    count
}

/// The more events before, the smaller the detectable change.
#[test]
fn more_events_before_show_a_smaller_ratio() {
    let mut last = f64::INFINITY;
    for events_before in [1, 2, 3, 5, 10, 20, 50, 100, 300, 1000] {
        let ratio = Ratio::of(0, 1000.0, events_before, 1000.0).smallest_detectable.unwrap();
        assert!(1.0 < ratio && ratio < last, "{events_before}: {ratio}");
        last = ratio;
    }
    assert!(last < 1.14, "{last}");
    // A week against a year: no ratio up to 1,000 is detectable, since even a thousandfold rate seldom gives an event.
    assert_eq!(Ratio::of(0, 0.001, 1, 1000.0).smallest_detectable, None);
}

fn figures(ratio: Ratio) -> [Option<f64>; 9] {
    let Ratio { rate_ratio, low, high, mid_p_low, mid_p_high, p, mid_p, smallest_detectable, detectable_fall } = ratio;
    [rate_ratio, low, high, mid_p_low, mid_p_high, p, mid_p, smallest_detectable, detectable_fall]
}

proptest! {
    #[test]
    fn the_groups_swapped_turn_the_ratio_around(
        (now, before) in (0_u64..100, 0_u64..100), (exposure, exposure_before) in (1e-2_f64..1e6, 1e-2_f64..1e6)
    ) {
        let one = Ratio::of(now, exposure, before, exposure_before);
        let other = Ratio::of(before, exposure_before, now, exposure);
        let turned = |figure: Option<f64>| figure.map(|figure| 1.0 / figure).filter(|figure| figure.is_finite());
        let limits = [(one.high, other.low), (one.mid_p_high, other.mid_p_low), (other.high, one.low)];
        for (high, low) in limits.into_iter().chain([(other.mid_p_high, one.mid_p_low)]) {
            same_or_null(high, turned(low), 1e-9, &"limit");
        }
        if now > 0 && before > 0 {
            same_or_null(one.rate_ratio, turned(other.rate_ratio), 1e-12, &"ratio");
        }
        same_or_null(one.p, other.p, 1e-9, &"p");
        same_or_null(one.mid_p, other.mid_p, 1e-9, &"mid-P");
    }

    /// Limits and p have one definition: 1 is outside the limits exactly if p is under 0.05.
    #[test]
    fn limits_leave_out_1_where_p_is_small(
        (now, before) in (0_u64..100, 0_u64..100), (exposure, exposure_before) in (1.0_f64..100.0, 1.0_f64..100.0)
    ) {
        let ratio = Ratio::of(now, exposure, before, exposure_before);
        let pairs = [(ratio.low, ratio.high, ratio.p), (ratio.mid_p_low, ratio.mid_p_high, ratio.mid_p)];
        for (low, high, p) in pairs {
            let p = p.unwrap();
            let is_outside = low.is_some_and(|low| low > 1.0) || high.is_some_and(|high| high < 1.0);
            prop_assert!((p - 0.05).abs() < 1e-9 || is_outside == (p < 0.05), "{ratio:?}");
        }
        prop_assert!(ratio.mid_p <= ratio.p);
    }

    #[test]
    fn every_ratio_is_a_number_between_its_limits(
        (now, before) in any::<(u64, u64)>(), (few, fewer) in (0_u64..300, 0_u64..30),
        (exposure, exposure_before) in (any::<f64>(), any::<f64>()),
        usual in 1e-3_f64..1e6
    ) {
        let inputs = [(now, exposure, before, exposure_before), (few, exposure, fewer, exposure_before)];
        for (now, exposure, before, exposure_before) in inputs.into_iter().chain([(few, usual, fewer, exposure)]) {
            let ratio = Ratio::of(now, exposure.abs(), before, exposure_before.abs());
            prop_assert!(figures(ratio).into_iter().flatten().all(f64::is_finite), "{ratio:?}");
            for (low, high) in [(ratio.low, ratio.high), (ratio.mid_p_low, ratio.mid_p_high)] {
                prop_assert!(low.zip(ratio.rate_ratio).is_none_or(|(low, rate)| low <= rate), "{ratio:?}");
                prop_assert!(high.zip(ratio.rate_ratio).is_none_or(|(high, rate)| rate <= high), "{ratio:?}");
            }
            prop_assert!([ratio.p, ratio.mid_p].into_iter().flatten().all(|p| (0.0..=1.0).contains(&p)), "{ratio:?}");
        }
    }
}
