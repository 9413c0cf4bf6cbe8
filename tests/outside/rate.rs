//! Rates and their Poisson limits: published values, an independent library, and laws.

use exitsite::surveillance::rate::{Rate, Weight, lower_limit, upper_limit};
use exitsite::surveillance::tail::MOST_EVENTS;
use proptest::prelude::*;
use rayon::prelude::*;
use statrs::distribution::{DiscreteCDF, Poisson};

use crate::counts::{count, number, printed, rows, same};

/// Source: Garwood F, Biometrika 1936;28:437. 0 is *printed* (0 to 3.689), 10 *printed* to two decimals, 1 *from memory*.
#[test]
fn exact_limits_are_those_of_garwood() {
    let limits = |events, decimals| {
        let rate = Rate::of(events, 1.0);
        (printed(rate.low, decimals), printed(rate.high, decimals))
    };
    assert_eq!(limits(0, 3), ("0.000".to_owned(), "3.689".to_owned()));
    assert_eq!(limits(10, 2), ("4.80".to_owned(), "18.39".to_owned()));
    assert_eq!(limits(10, 3), ("4.795".to_owned(), "18.390".to_owned()));
    assert_eq!((limits(1, 4).0, limits(1, 3).1), ("0.0253".to_owned(), "5.572".to_owned()));
    // A root finder with a loose tolerance gives 0.02529.
    assert_eq!(limits(1, 7).0, "0.0253178");
}

/// Source: a statistics vendor's page on the confidence interval of a count, *printed*.
#[test]
fn limits_of_25_events_at_90_and_at_99_percent_are_those_printed() {
    let limits = |side| [lower_limit, upper_limit].map(|limit| format!("{:.2}", limit(25, Weight::Whole, side)));
    assert_eq!(limits(0.05), ["17.38", "34.92"]);
    assert_eq!(limits(0.005), ["14.00", "41.00"]);
}

/// Source: arithmetic. Without events the tails are e to the −λ, and half of it: λ = ln 40 and ln 20.
#[test]
fn without_events_the_upper_limits_are_logarithms() {
    let rate = Rate::of(0, 1.0);
    assert_eq!((rate.rate, rate.low, rate.mid_p_low), (Some(0.0), Some(0.0), Some(0.0)));
    same(rate.high.unwrap(), 40_f64.ln(), 1e-13, &"exact");
    same(rate.mid_p_high.unwrap(), 20_f64.ln(), 1e-13, &"mid-P");
    assert_eq!((printed(rate.high, 6), printed(rate.mid_p_high, 6)), ("3.688879".to_owned(), "2.995732".to_owned()));
}

/// Source: Goldstein DJ et al., J Heart Lung Transplant 2012;31:1151; the counts are *printed*, 1.47 follows from them.
#[test]
fn infections_per_100_patient_months_are_those_of_a_registry() {
    let hundreds_of_patient_months = 2006.0 * 8.1 / 100.0;
    assert_eq!(printed(Rate::of(239, hundreds_of_patient_months).rate, 2), "1.47");
}

/// Source: SciPy, chi-square quantiles for the exact limits and a root of the tails for mid-P; eight of them checked to
/// 40 digits with mpmath.
#[test]
fn limits_are_those_of_an_independent_library() {
    for row in rows("rates") {
        let events = count(row, "events");
        let rate = Rate::of(events, 1.0);
        same(rate.low.unwrap(), number(row, "low"), 1e-11, &format!("lower limit of {events}"));
        same(rate.high.unwrap(), number(row, "high"), 1e-11, &format!("upper limit of {events}"));
        same(rate.mid_p_low.unwrap(), number(row, "mid_p_low"), 1e-11, &format!("lower mid-P limit of {events}"));
        same(rate.mid_p_high.unwrap(), number(row, "mid_p_high"), 1e-11, &format!("upper mid-P limit of {events}"));
    }
}

#[test]
fn the_tails_at_the_limits_of_every_count_up_to_5000_are_0025() {
    let at_most = |count: u64, mean| Poisson::new(mean).unwrap().cdf(count);
    let fewer = |count: u64, mean| if count == 0 { 0.0 } else { at_most(count - 1, mean) };
    let above = |count: u64, mean| Poisson::new(mean).unwrap().sf(count);
    let limits_of = |events: u64| {
        let rate = Rate::of(events, 1.0);
        let limits = [rate.low, rate.mid_p_low, rate.rate, rate.mid_p_high, rate.high].map(Option::unwrap);
        let [low, mid_low, _, mid_high, high] = limits;
        same(at_most(events, high), 0.025, 1e-10, &format!("upper tail of {events}"));
        let mid = (at_most(events, mid_high) + fewer(events, mid_high)) / 2.0;
        same(mid, 0.025, 1e-10, &format!("upper mid-P tail of {events}"));
        if events > 0 {
            same(above(events - 1, low), 0.025, 1e-10, &format!("lower tail of {events}"));
            let mid = (above(events - 1, mid_low) + above(events, mid_low)) / 2.0;
            same(mid, 0.025, 1e-10, &format!("lower mid-P tail of {events}"));
            // Mid-P is inside exact, and the estimate inside both.
            assert!(limits.windows(2).all(|pair| pair[0] < pair[1]), "{events}: {limits:?}");
        }
        limits
    };
    let limits: Vec<[f64; 5]> = (0..=5000_u64).into_par_iter().map(limits_of).collect();
    let grows = |pair: &[[f64; 5]]| (0..5).all(|limit| pair[0][limit] < pair[1][limit]);
    assert!(limits.windows(2).all(grows));
}

#[test]
fn without_exposure_there_are_no_figures() {
    for exposure in [0.0, -0.0, -1.0, f64::NAN, f64::INFINITY, f64::NEG_INFINITY] {
        assert_eq!(Rate::of(3, exposure), Rate::default(), "{exposure}");
    }
}

#[test]
fn above_the_most_events_only_the_rate_is_given() {
    let rate = Rate::of(MOST_EVENTS, 10.0);
    assert!(rate.low.is_some() && rate.high.is_some() && rate.mid_p_low.is_some() && rate.mid_p_high.is_some());
    let more = Rate::of(MOST_EVENTS + 1, 10.0);
    assert_eq!(more, Rate { rate: Some(10_000.1), ..Rate::default() });
}

fn figures(rate: Rate) -> [Option<f64>; 5] {
    [rate.rate, rate.low, rate.high, rate.mid_p_low, rate.mid_p_high]
}

proptest! {
    /// Multiplying the exposure by a factor divides every figure by that factor.
    #[test]
    fn limits_shrink_as_exposure_grows(events in 0_u64..300, exposure in 0.01_f64..1e6, times in 1.001_f64..1e3) {
        let (short, long) = (Rate::of(events, exposure), Rate::of(events, exposure * times));
        for (short, long) in figures(short).into_iter().zip(figures(long)) {
            same(short.unwrap(), long.unwrap() * times, 1e-14, &events);
        }
        let width = |rate: Rate| rate.high.unwrap() - rate.low.unwrap();
        prop_assert!(width(long) < width(short));
    }

    #[test]
    fn every_rate_is_a_number_between_its_limits(events: u64, few in 0_u64..2000, exposure: f64, usual in 1e-3_f64..1e7) {
        for (events, exposure) in [(events, exposure), (events, usual), (few, exposure), (few, usual)] {
            let rate = Rate::of(events, exposure);
            prop_assert!(figures(rate).into_iter().flatten().all(f64::is_finite), "{rate:?}");
            for (low, high) in [(rate.low, rate.high), (rate.mid_p_low, rate.mid_p_high)] {
                prop_assert!(low.zip(rate.rate).is_none_or(|(low, rate)| low <= rate), "{rate:?}");
                prop_assert!(high.zip(rate.rate).is_none_or(|(high, rate)| rate <= high), "{rate:?}");
            }
        }
    }
}
