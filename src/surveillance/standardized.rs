//! Observed ÷ expected events, with expected events from earlier rates within strata (indirect standardization).
//!
//! Source: Breslow NE & Day NE, Statistical Methods in Cancer Research II, IARC 1987, chapter 2 (from memory): the ratio
//! with exact Poisson limits of the observed count. These limits treat the expected number as known; a factor tells by how
//! much that understates the standard error, and [`Stratum::matched`] leads to the ratio whose limits allow for both
//! counts.

use schemars::JsonSchema;
use serde::Serialize;

use super::matched::MatchedSet;
use super::rate::Rate;

/// The events and the exposure of one stratum, now and earlier.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Stratum {
    /// Events now.
    pub events: u64,
    /// Exposure now.
    pub exposure: f64,
    /// Earlier events.
    pub earlier_events: u64,
    /// Earlier exposure, in the same unit.
    pub earlier_exposure: f64,
}

/// Observed ÷ expected, with exact 95 % limits; null without an expected event.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, JsonSchema)]
pub struct ObservedExpected {
    /// Observed events in strata with an earlier exposure.
    pub observed: u64,
    /// Expected events: the exposure of each stratum × its earlier rate.
    pub expected: f64,
    /// Earlier events on which the expected number is based.
    pub earlier_events: u64,
    /// Observed ÷ expected.
    pub ratio: Option<f64>,
    /// Exact lower limit; treats the expected number as known.
    pub low: Option<f64>,
    /// Exact upper limit.
    pub high: Option<f64>,
    /// The standard error of the ratio's logarithm, allowing for the earlier count at one common rate, over that of the
    /// limits; null without an exposure in strata with an earlier one.
    pub standard_error_factor: Option<f64>,
}

impl Stratum {
    /// The events expected at the earlier rate; `None` without an earlier exposure.
    pub fn expected(&self) -> Option<f64> {
        let rate = self.earlier_events as f64 / self.earlier_exposure;
        (self.earlier_exposure > 0.0).then_some(rate * self.exposure)
    }

    /// The stratum as a matched set: given all its events, the number now is binomial with odds of the rate ratio × both
    /// exposures.
    pub fn matched(&self) -> MatchedSet {
        MatchedSet {
            inside: self.events,
            all: self.events + self.earlier_events,
            window: self.exposure,
            others: self.earlier_exposure,
        }
    }
}

impl ObservedExpected {
    /// Computes the ratio over all strata. A stratum without an earlier exposure has no expected events and is left out.
    ///
    /// ```
    /// # use exitsite::surveillance::standardized::{ObservedExpected, Stratum};
    /// // 4 in 1,000 days with an earlier rate of 10 in 5,000, 1 in 9,000 with 2 in 20,000: 2.0 + 0.9 expected
    /// let found = ObservedExpected::of(&[
    ///     Stratum { events: 4, exposure: 1_000.0, earlier_events: 10, earlier_exposure: 5_000.0 },
    ///     Stratum { events: 1, exposure: 9_000.0, earlier_events: 2, earlier_exposure: 20_000.0 },
    /// ]);
    /// assert_eq!((found.observed, found.earlier_events), (5, 12));
    /// let figures = [Some(found.expected), found.ratio, found.low, found.high, found.standard_error_factor];
    /// assert_eq!(figures.map(|figure| format!("{:.3}", figure.unwrap())), ["2.900", "1.724", "0.560", "4.024", "1.194"]);
    /// // no earlier event: the ratio is undefined
    /// let new = ObservedExpected::of(&[Stratum { events: 2, exposure: 100.0, earlier_events: 0, earlier_exposure: 900.0 }]);
    /// assert_eq!((new.observed, new.ratio, new.high), (2, None, None));
    /// ```
    pub fn of(strata: &[Stratum]) -> ObservedExpected {
        let known = || strata.iter().filter_map(|stratum| Some((stratum, stratum.expected()?)));
        let observed = known().map(|(stratum, _)| stratum.events).sum();
        // An empty sum is 0, not -0.
        let expected = known().map(|(_, expected)| expected).sum::<f64>() + 0.0;
        // The limits of observed ÷ expected are those of a rate with the expected number as exposure.
        let rate = Rate::of(observed, expected);
        ObservedExpected {
            observed,
            expected,
            earlier_events: known().map(|(stratum, _)| stratum.earlier_events).sum(),
            ratio: rate.rate,
            low: rate.low,
            high: rate.high,
            standard_error_factor: standard_error_factor(strata),
        }
    }
}

/// With n now and m earlier in a stratum, at one common rate: observed events vary by Σ n, expected ones by Σ n² ÷ m.
fn standard_error_factor(strata: &[Stratum]) -> Option<f64> {
    let known = || strata.iter().filter(|stratum| stratum.earlier_exposure > 0.0);
    let observed: f64 = known().map(|stratum| stratum.exposure).sum();
    let expected: f64 = known().map(|stratum| stratum.exposure.powi(2) / stratum.earlier_exposure).sum();
    (observed > 0.0).then(|| (1.0 + expected / observed).sqrt())
}
