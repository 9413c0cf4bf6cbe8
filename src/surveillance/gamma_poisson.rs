//! A gamma-Poisson model for the rates of several programs: the variation between programs, and empirical Bayes estimates
//! that shrink each rate toward the mean according to its number of events.
//!
//! Each program's events are Poisson, and the rates are gamma distributed; so the counts are negative binomial, and given
//! its count a program's rate is gamma again. Mean and variation maximize the marginal likelihood, found by a search over
//! the variation alone. Source: Greenwood M & Yule GU, J R Stat Soc 1920;83:255; Clayton D & Kaldor J, Biometrics
//! 1987;43:671 (*from memory*). Left out on purpose: limits that treat mean and variation as known, which are too narrow
//! with few programs; `limits` weights all of them by their likelihood instead.

mod limits;

use schemars::JsonSchema;
use serde::Serialize;

use super::tail::{bisect, gamma_at_most, told};

/// The maximum number of events of one program: each is a term of the likelihood.
pub const MOST_EVENTS: u64 = 10_000;

/// The largest coefficient of variation considered.
const MOST_SPREAD: f64 = 5.0;
/// The number of steps of the initial grid search.
const STEPS: usize = 100;
/// Half of the 95th percentile of chi-square with one degree of freedom.
const HALF_CHI_SQUARE: f64 = 1.920_729_410_347_062;

/// The events and the exposure of one program; the exposure is more than 0 and gives the unit of all rates.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Exposed {
    /// Events, at most [`MOST_EVENTS`].
    pub events: u64,
    /// Exposure.
    pub exposure: f64,
}

/// Variation between programs; all null with fewer than two programs, or without an event.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, JsonSchema)]
pub struct BetweenProgramVariation {
    /// Mean rate of programs.
    pub mean: Option<f64>,
    /// Coefficient of variation: the standard deviation between programs ÷ the mean; 0 if chance alone explains the
    /// differences.
    pub coefficient_of_variation: Option<f64>,
    /// Lower 95 % limit of the coefficient, by profile likelihood.
    pub low: Option<f64>,
    /// Upper 95 % limit; null if it is above 5.
    pub high: Option<f64>,
    /// 2.5th percentile of the rates of such programs; null in a pool of fewer than 10 programs.
    pub programs_low: Option<f64>,
    /// 97.5th percentile of the rates of such programs; null as above.
    pub programs_high: Option<f64>,
}

/// A program's shrunken rate; all null if the variation is undefined.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, JsonSchema)]
pub struct Shrunken {
    /// Shrunken rate.
    pub rate: Option<f64>,
    /// Lower 95 % credible limit, over every mean and variation weighted by likelihood.
    pub low: Option<f64>,
    /// Upper limit.
    pub high: Option<f64>,
    /// Weight of the program's own rate; the common mean has the rest.
    pub own_weight: Option<f64>,
}

/// The model fitted to some programs.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct GammaPoisson {
    /// Variation between programs.
    pub spread: BetweenProgramVariation,
    /// Programs, in the given order.
    pub shrunken: Vec<Shrunken>,
}

impl GammaPoisson {
    /// Fits the model to some programs.
    ///
    /// ```
    /// # use exitsite::surveillance::gamma_poisson::{Exposed, GammaPoisson};
    /// let digits = |figure: Option<f64>| figure.map_or("none".to_owned(), |figure| format!("{figure:.2}"));
    /// let program = |events, exposure| Exposed { events, exposure };
    /// // 2, 4 and 3 events over 10,000 days each: no more variation than by chance
    /// let alike = GammaPoisson::of(&[program(2, 10.0), program(4, 10.0), program(3, 10.0)]);
    /// assert_eq!([alike.spread.mean, alike.spread.coefficient_of_variation].map(digits), ["0.30", "0.00"]);
    /// assert_eq!(alike.shrunken.iter().map(|one| digits(one.rate)).collect::<Vec<_>>(), ["0.30", "0.30", "0.30"]);
    /// // 1, 2, 3 and 18: the mean is 0.6, and the last is shrunk toward it
    /// let apart = GammaPoisson::of(&[program(1, 10.0), program(2, 10.0), program(3, 10.0), program(18, 10.0)]);
    /// assert_eq!([apart.spread.mean, apart.spread.coefficient_of_variation].map(digits), ["0.60", "0.99"]);
    /// assert_eq!(apart.shrunken.iter().map(|one| digits(one.rate)).collect::<Vec<_>>(), ["0.17", "0.26", "0.34", "1.62"]);
    /// // no events
    /// assert_eq!(GammaPoisson::of(&[program(0, 10.0), program(0, 5.0)]).spread.mean, None);
    /// ```
    pub fn of(programs: &[Exposed]) -> GammaPoisson {
        if programs.len() < 2 || programs.iter().all(|one| one.events == 0) {
            return GammaPoisson {
                spread: BetweenProgramVariation::default(),
                shrunken: vec![Shrunken::default(); programs.len()],
            };
        }
        let spread = most_likely_spread(programs);
        let fit = Slice::of(programs, spread);
        let mean = fit.best_mean();
        let (low, high) = profile_limits(programs, spread, fit.log_likelihood(mean));
        let (programs_low, programs_high) = most_programs(mean, spread);
        let grid = limits::Grid::of(programs);
        let shrunken = |one: &Exposed| {
            let (rate, own_weight) = drawn(one, mean, spread);
            let (low, high) = grid.limits(one);
            Shrunken { rate: told(rate), low, high, own_weight: told(own_weight) }
        };
        GammaPoisson {
            spread: BetweenProgramVariation {
                mean: told(mean),
                coefficient_of_variation: told(spread),
                low,
                high,
                programs_low,
                programs_high,
            },
            shrunken: programs.iter().map(shrunken).collect(),
        }
    }
}

/// The likelihood as a function of the mean, for one variation.
struct Slice<'a> {
    programs: &'a [Exposed],
    /// The square of the coefficient of variation.
    variance: f64,
    /// The term that does not depend on the mean.
    constant: f64,
}

impl<'a> Slice<'a> {
    fn of(programs: &'a [Exposed], spread: f64) -> Slice<'a> {
        let variance = spread * spread;
        let clustered = |one: &Exposed| (0..one.events).map(|n| (n as f64 * variance).ln_1p()).sum::<f64>();
        Slice { programs, variance, constant: programs.iter().map(clustered).sum() }
    }

    /// The log likelihood, up to a constant.
    fn log_likelihood(&self, mean: f64) -> f64 {
        let of_one = |one: &Exposed| {
            let expected = one.exposure * mean;
            let own = if one.events == 0 { 0.0 } else { one.events as f64 * expected.ln() };
            let shared = (self.variance * expected).ln_1p();
            own - match self.variance {
                variance if variance * expected < 1e-9 => expected + one.events as f64 * shared,
                variance => (one.events as f64 + 1.0 / variance) * shared,
            }
        };
        self.constant + self.programs.iter().map(of_one).sum::<f64>()
    }

    /// The maximum likelihood mean: the weighted observed and expected events are equal.
    fn best_mean(&self) -> f64 {
        let highest = self.programs.iter().map(|one| one.events as f64 / one.exposure).fold(0.0, f64::max);
        let is_low = |mean: f64| {
            let of_one = |one: &Exposed| {
                let expected = one.exposure * mean;
                (one.events as f64 - expected) / (1.0 + self.variance * expected)
            };
            self.programs.iter().map(of_one).sum::<f64>() > 0.0
        };
        bisect(0.0, highest, is_low)
    }

    /// The derivative of the log likelihood with respect to the variance, at a mean.
    fn slope(&self, mean: f64) -> f64 {
        let of_one = |one: &Exposed| {
            let clustered: f64 = (0..one.events).map(|n| n as f64 / (1.0 + n as f64 * self.variance)).sum();
            let expected = one.exposure * mean;
            let u = self.variance * expected;
            // ln(1 + u) − u ÷ (1 + u), over u²; near 0 by its series
            let curve = if u < 1e-4 { 0.5 - u * (2.0 / 3.0 - 0.75 * u) } else { (u.ln_1p() - u / (1.0 + u)) / (u * u) };
            clustered + expected * expected * curve - one.events as f64 * expected / (1.0 + u)
        };
        self.programs.iter().map(of_one).sum()
    }
}

/// The likelihood at a variation, maximized over the mean.
fn profile(programs: &[Exposed], spread: f64) -> f64 {
    let slice = Slice::of(programs, spread);
    slice.log_likelihood(slice.best_mean())
}

/// The variation that maximizes the profile likelihood: the best of a grid, refined to where the derivative is 0.
fn most_likely_spread(programs: &[Exposed]) -> f64 {
    let step = |n: usize| MOST_SPREAD * (n as f64 / STEPS as f64);
    let profiles: Vec<f64> = (0..=STEPS).map(|n| profile(programs, step(n))).collect();
    let best = profiles.iter().enumerate().max_by(|a, b| a.1.total_cmp(b.1)).map_or(0, |(n, _)| n);
    let rises = |spread: f64| {
        let slice = Slice::of(programs, spread);
        slice.slope(slice.best_mean()) > 0.0
    };
    match best {
        0 if !rises(0.0) => 0.0,
        STEPS => MOST_SPREAD,
        best => bisect(step(best.saturating_sub(1)), step(best + 1), rises),
    }
}

/// The variations whose profile likelihood is not much below the maximum.
fn profile_limits(programs: &[Exposed], best: f64, highest: f64) -> (Option<f64>, Option<f64>) {
    let is_likely = |spread: f64| profile(programs, spread) >= highest - HALF_CHI_SQUARE;
    let low = if is_likely(0.0) { 0.0 } else { bisect(0.0, best, |spread| !is_likely(spread)) };
    let high = (!is_likely(MOST_SPREAD)).then(|| bisect(best, MOST_SPREAD, is_likely));
    (told(low), high)
}

/// The rates between which 95 % of programs lie.
fn most_programs(mean: f64, spread: f64) -> (Option<f64>, Option<f64>) {
    if spread * spread < 1e-12 {
        return (told(mean), told(mean));
    }
    let shape = 1.0 / (spread * spread);
    let end =
        |part: f64| bisect(0.0, mean * (2.0 + 40.0 * spread), |rate| gamma_at_most(rate, shape, shape / mean) < part);
    (told(end(0.025)), told(end(0.975)))
}

/// A program's rate given its events, and the weight of its own rate.
fn drawn(one: &Exposed, mean: f64, spread: f64) -> (f64, f64) {
    let u = spread * spread * mean * one.exposure;
    let own = u / (1.0 + u);
    (own * one.events as f64 / one.exposure + (1.0 - own) * mean, own)
}
