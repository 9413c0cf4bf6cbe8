//! Limits of a program's rate over every mean and variation, weighted by likelihood.
//!
//! The prior is flat over variations up to 2, and over the logarithm of the mean (Gelman A, Bayesian Anal 2006;1:515, on
//! a flat standard deviation, *from memory*). So the limits are as wide as the uncertainty of mean and variation with few
//! programs.

use super::{Exposed, Slice};
use crate::surveillance::tail::{SIDE, gamma_at_most, told};

/// The largest variation, and the numbers of grid points for it and for the logarithm of the mean.
const SPREADS: (f64, usize) = (2.0, 24);
const MEANS: usize = 80;
/// A mean whose log likelihood is further below the maximum has no weight.
const DEPTH: f64 = 18.0;
/// Grid points with less total weight are dropped.
const LEFT_OUT: f64 = 1e-7;

/// Grid points of mean and variation with their weights, which add up to 1.
pub(super) struct Grid {
    points: Vec<Point>,
}

#[derive(Clone, Copy)]
struct Point {
    mean: f64,
    spread: f64,
    weight: f64,
}

impl Grid {
    /// Builds the grid for some programs, at least one with an event.
    pub(super) fn of(programs: &[Exposed]) -> Grid {
        let (most, steps) = SPREADS;
        let mut points = Vec::new();
        for n in 0..steps {
            // Midpoint rule over variations, trapezoid rule over means, which fall off on both sides.
            let spread = most * (n as f64 + 0.5) / steps as f64;
            let slice = Slice::of(programs, spread);
            let (low, high) = reach(&slice);
            let step = (high - low) / MEANS as f64;
            points.extend((0..=MEANS).map(|n| {
                let mean = (low + step * n as f64).exp();
                Point { mean, spread, weight: slice.log_likelihood(mean) + step.ln() }
            }));
        }
        Grid { points: weighted(points) }
    }

    /// The limits between which the rate of one program lies with a probability of 95 %.
    pub(super) fn limits(&self, one: &Exposed) -> (Option<f64>, Option<f64>) {
        let below = |rate: f64| self.points.iter().map(|point| point.weight * point.at_most(rate, one)).sum::<f64>();
        let means = self.points.iter().map(|point| point.mean);
        let lowest = means.clone().fold(f64::MAX, f64::min);
        let highest = means.fold(one.events as f64 / one.exposure, f64::max);
        let end = |part: f64| {
            // Digits beyond the precision of the weights are not significant.
            let by_log = bisect_to((1e-9 * lowest).ln(), (100.0 * highest).ln(), |rate| below(rate.exp()) < part);
            told(by_log.exp())
        };
        (end(SIDE), end(1.0 - SIDE))
    }
}

impl Point {
    /// The probability that the rate of a program is at most this value.
    fn at_most(&self, rate: f64, one: &Exposed) -> f64 {
        let variance = self.spread * self.spread;
        gamma_at_most(rate, 1.0 / variance + one.events as f64, 1.0 / (variance * self.mean) + one.exposure)
    }
}

/// The range of log means in which the likelihood is not negligible.
fn reach(slice: &Slice) -> (f64, f64) {
    let best = slice.best_mean().ln();
    let highest = slice.log_likelihood(best.exp());
    let is_likely = |mean: f64| slice.log_likelihood(mean.exp()) > highest - DEPTH;
    let end = |direction: f64| {
        let mut far = 0.5;
        while is_likely(best + direction * far) && far < 100.0 {
            far *= 2.0;
        }
        bisect_to(best, best + direction * far, is_likely)
    };
    (end(-1.0), end(1.0))
}

/// Finds where a predicate stops being true, to about eight digits.
fn bisect_to(from: f64, to: f64, holds: impl Fn(f64) -> bool) -> f64 {
    let (mut holding, mut ceased) = (from, to);
    while (ceased - holding).abs() > 1e-8 {
        let middle = f64::midpoint(holding, ceased);
        if holds(middle) {
            holding = middle;
        } else {
            ceased = middle;
        }
    }
    holding
}

/// Normalizes log weights so that they add up to 1, without negligible ones.
fn weighted(mut points: Vec<Point>) -> Vec<Point> {
    let highest = points.iter().map(|point| point.weight).fold(f64::MIN, f64::max);
    points.iter_mut().for_each(|point| point.weight = (point.weight - highest).exp());
    points.sort_by(|a, b| b.weight.total_cmp(&a.weight));
    let all: f64 = points.iter().map(|point| point.weight).sum();
    let mut left = all;
    points.retain(|point| {
        let is_kept = left > LEFT_OUT * all;
        left -= point.weight;
        is_kept
    });
    let kept: f64 = points.iter().map(|point| point.weight).sum();
    points.iter_mut().for_each(|point| point.weight /= kept);
    points
}
