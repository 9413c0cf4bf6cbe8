//! A committee's questions: observed ÷ expected, likely totals, delays and concentration by independent libraries, and
//! the coverage of likely totals over simulated delays.

use std::sync::LazyLock;

use exitsite::surveillance::concentration::{fewest, ranked};
use exitsite::surveillance::delay::{LikelyTotal, Quantiles, Reported, known_by};
use exitsite::surveillance::matched::MatchedRatio;
use exitsite::surveillance::share::ClusterCount;
use exitsite::surveillance::standardized::{ObservedExpected, Stratum};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use serde_json::Value;

use crate::counts::{count, number, number_or_null, same, same_or_null};

static FIGURES: LazyLock<Value> =
    LazyLock::new(|| serde_json::from_str(include_str!("reference/questions.json")).expect("questions.json is JSON"));

fn rows(name: &str) -> &'static [Value] {
    let rows = FIGURES[name].as_array().unwrap();
    assert!(rows.len() > 5, "{name}");
    rows
}

fn numbers(row: &Value) -> Vec<i64> {
    row.as_array().unwrap().iter().map(|number| number.as_i64().unwrap()).collect()
}

/// Source: statsmodels, `confint_poisson` by method `exact-c` over the expected number, and SciPy's quantiles of chi-square;
/// within strata, SciPy's binomials convolved by NumPy.
#[test]
fn observed_over_expected_and_its_limits_are_those_of_independent_libraries() {
    for row in rows("standardized") {
        let stratum = |stratum: &Value| {
            let [events, exposure, earlier_events, earlier_exposure] = numbers(stratum)[..] else { panic!("{row}") };
            Stratum {
                events: events as u64,
                exposure: exposure as f64,
                earlier_events: earlier_events as u64,
                earlier_exposure: earlier_exposure as f64,
            }
        };
        let strata: Vec<Stratum> = row["strata"].as_array().unwrap().iter().map(stratum).collect();
        let found = ObservedExpected::of(&strata);
        assert_eq!(found.observed, count(row, "observed"), "{row}");
        same_or_null(Some(found.expected), number_or_null(row, "expected"), 1e-12, &row);
        for (name, figure) in [("ratio", found.ratio), ("low", found.low), ("high", found.high)] {
            same_or_null(figure, number_or_null(row, name), 1e-9, &format!("{name} of {row}"));
        }
        let factor = (found.standard_error_factor, number_or_null(row, "standard_error_factor"));
        same_or_null(factor.0, factor.1, 1e-12, &row);
        let within = MatchedRatio::of(&strata.iter().map(Stratum::matched).collect::<Vec<_>>());
        for (name, figure) in [("ratio", within.ratio), ("low", within.low), ("high", within.high)] {
            same_or_null(figure, number_or_null(&row["within"], name), 1e-8, &format!("{name} within strata of {row}"));
        }
    }
}

/// In one stratum it is the ratio of crude rates; a stratum split into two with the same rate changes nothing.
#[test]
fn strata_of_one_rate_are_one_stratum() {
    let whole = Stratum { events: 6, exposure: 9_000.0, earlier_events: 8, earlier_exposure: 20_000.0 };
    let half = Stratum { events: 3, exposure: 4_500.0, earlier_events: 4, earlier_exposure: 10_000.0 };
    let (one, two) = (ObservedExpected::of(&[whole]), ObservedExpected::of(&[half, half]));
    same(one.ratio.unwrap(), (6.0 / 9_000.0) / (8.0 / 20_000.0), 1e-12, &"crude");
    assert_eq!((one.ratio, one.low, one.high), (two.ratio, two.low, two.high));
}

/// Source: SciPy, `hypergeom`, trying every total, with half of the probability of the observed count.
#[test]
fn likely_totals_are_those_of_the_hypergeometric_distribution() {
    for row in rows("likely") {
        let earlier = ClusterCount { part: count(row, "part"), whole: count(row, "whole") };
        let found = LikelyTotal::of(count(row, "so_far"), earlier);
        assert_eq!((found.low, found.high), (row["low"].as_u64(), row["high"].as_u64()), "{row}");
    }
}

/// Source: NumPy, `quantile` by method `inverted_cdf`.
#[test]
fn quantiles_of_delays_are_those_of_an_independent_library() {
    for row in rows("quantiles") {
        let found = Quantiles::of(numbers(&row["delays"]));
        let figures = [found.median, found.upper_quartile, found.ninetieth, found.longest];
        let expected = ["median", "upper_quartile", "ninetieth", "longest"].map(|name| row[name].as_i64());
        assert_eq!(figures, expected, "{row}");
    }
}

/// Source: NumPy, the parts sorted and added up.
#[test]
fn the_fewest_that_hold_a_share_are_those_of_an_independent_library() {
    for row in rows("concentration") {
        let parts: Vec<ClusterCount> =
            numbers(&row["parts"]).into_iter().map(|part| ClusterCount { part: part as u64, whole: 365 }).collect();
        let found = fewest(&parts, number(row, "at_least")).unwrap();
        assert_eq!(found.holders, count(row, "holders"), "{row}");
        same(found.share, number(row, "share"), 1e-12, row);
        same(found.share_of_whole, found.holders as f64 / parts.len() as f64, 1e-12, row);
        assert!(ranked(&parts).windows(2).all(|pair| parts[pair[0]].part >= parts[pair[1]].part));
    }
}

/// A program's infections by month of 30 days, as onsets and delays. One delay in three is of a longer kind.
struct Simulated {
    random: ChaCha8Rng,
}

impl Simulated {
    fn poisson(&mut self, mean: f64) -> u64 {
        let (mut n, mut product) = (0, self.random.random::<f64>());
        while product > (-mean).exp() {
            product *= self.random.random::<f64>();
            n += 1;
        }
        n
    }

    fn reported(&mut self) -> Reported {
        let mean = if self.random.random::<f64>() < 1.0 / 3.0 { 30.0 } else { 8.0 };
        let delay = (-self.random.random::<f64>().ln() * mean) as i64;
        Reported { offset: (self.random.random::<f64>() * 30.0) as i64, length: 30, delay: delay.min(180) }
    }

    fn month(&mut self, mean: f64) -> Vec<Reported> {
        (0..self.poisson(mean)).map(|_| self.reported()).collect()
    }
}

/// Simulated truth: a number of earlier infections, and a last month whose infections become known one by one. The 95 %
/// limits cover the true number in 95 % or more; the count so far alone does not. Printed with --nocapture.
#[test]
#[allow(clippy::print_stdout, reason = "the coverage is to be read with --nocapture")]
fn likely_totals_cover_the_truth_over_simulated_delays() {
    let mut simulated = Simulated { random: ChaCha8Rng::seed_from_u64(20261129) };
    let (mut least, mut so_far_alone) = (1.0_f64, 0.0);
    for (earlier, mean, lag) in [
        (6, 0.5, 5),
        (6, 8.0, 0),
        (15, 1.0, 10),
        (15, 4.0, 25),
        (40, 3.0, 5),
        (40, 8.0, 45),
        (40, 20.0, 0),
        (100, 8.0, 5),
    ] {
        let runs = 1_000;
        let (mut covered, mut as_counted, mut open, mut width) = (0, 0, 0, 0);
        for _ in 0..runs {
            let earlier: Vec<Reported> = (0..earlier).map(|_| simulated.reported()).collect();
            let month = simulated.month(mean);
            let truth = month.len() as u64;
            let so_far = known_by(&month, None, lag).part;
            let likely = LikelyTotal::of(so_far, known_by(&earlier, None, lag));
            covered +=
                u32::from(likely.low.is_some_and(|low| low <= truth) && likely.high.is_none_or(|high| truth <= high));
            as_counted += u32::from(so_far == truth);
            match likely.high {
                Some(high) => width += high - so_far,
                None => open += 1,
            }
        }
        let coverage = f64::from(covered) / f64::from(runs);
        let width = width as f64 / f64::from(runs - open);
        println!(
            "{earlier} earlier, {mean} a month, {lag} days after its end: {:.1} % covered, {:.1} % without limits; up to {width:.1} more; {open} open",
            100.0 * coverage,
            100.0 * f64::from(as_counted) / f64::from(runs)
        );
        assert!(coverage >= 0.94, "{coverage}");
        least = least.min(coverage);
        so_far_alone += f64::from(as_counted) / f64::from(runs) / 8.0;
    }
    // Limits of a count are wide, but not so wide that they are useless.
    assert!(least < 0.97, "{least}");
    assert!(so_far_alone < 0.75, "{so_far_alone}");
}
