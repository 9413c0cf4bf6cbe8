//! Comparison of two rates: their ratio, its limits conditional on the total, both p-values, and the detectable
//! differences.
//!
//! Given the total number of events, those of one sample are binomial, whatever the rates; so the limits are those of
//! Clopper CJ & Pearson ES, Biometrika 1934;26:404, transformed to a rate ratio. Left out on purpose: the log
//! approximation, which fails if one sample has no events.

use schemars::JsonSchema;
use serde::Serialize;

use super::tail::{MOST_EVENTS, SIDE, binomial_at_least, bisect, told};

pub mod power;

/// A rate ratio, with 95 % limits.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, JsonSchema)]
pub struct Ratio {
    /// Rate ÷ earlier rate.
    pub rate_ratio: Option<f64>,
    /// Exact lower limit.
    pub low: Option<f64>,
    /// Exact upper limit.
    pub high: Option<f64>,
    /// Mid-P lower limit.
    pub mid_p_low: Option<f64>,
    /// Mid-P upper limit.
    pub mid_p_high: Option<f64>,
    /// Two-sided p: twice the smaller exact tail, at most 1.
    pub p: Option<f64>,
    /// Two-sided mid-P: with half of the probability of the observed count.
    pub mid_p: Option<f64>,
    /// Smallest ratio above 1 that would have been detected with 80 % power.
    pub smallest_detectable: Option<f64>,
    /// Largest ratio below 1 that would have been detected with 80 % power; null if no decrease could have been.
    pub detectable_fall: Option<f64>,
}

impl Ratio {
    /// Compares the rate of `events` over an `exposure` with that of the earlier events and exposure.
    ///
    /// No events now: the ratio and its lower limits are 0. No earlier events: the ratio and its upper limits are null,
    /// and the lower limits show how much higher the rate must be. In neither: both p-values are 1, the rest is null.
    /// With an exposure of 0 or less, everything is null. Above [`MOST_EVENTS`] in total only the ratio is computed.
    ///
    /// ```
    /// # use exitsite::surveillance::ratio::Ratio;
    /// let digits = |figure: Option<f64>| figure.map_or("none".to_owned(), |figure| format!("{figure:.3}"));
    /// // 8 infections in 10,000 device-days, 4 in 10,000 earlier
    /// let doubled = Ratio::of(8, 10_000.0, 4, 10_000.0);
    /// assert_eq!([doubled.rate_ratio, doubled.low, doubled.high, doubled.p].map(digits), ["2.000", "0.536", "9.076", "0.388"]);
    /// assert_eq!([doubled.mid_p_low, doubled.mid_p_high, doubled.mid_p].map(digits), ["0.605", "7.614", "0.267"]);
    /// // from a rate that low, less than a fourfold increase could not have been detected
    /// assert_eq!(digits(doubled.smallest_detectable), "4.317");
    /// // no earlier events
    /// let new = Ratio::of(4, 10_000.0, 0, 10_000.0);
    /// assert_eq!([new.rate_ratio, new.low, new.high, new.p].map(digits), ["none", "0.660", "none", "0.125"]);
    /// ```
    pub fn of(events: u64, exposure: f64, events_before: u64, exposure_before: f64) -> Ratio {
        let is_exposure = |exposure: f64| exposure > 0.0 && exposure.is_finite();
        if !(is_exposure(exposure) && is_exposure(exposure_before)) {
            return Ratio::default();
        }
        let (now, before) = (Sample { events, exposure }, Sample { events: events_before, exposure: exposure_before });
        let rate_ratio = (events_before > 0).then(|| told(now.over(&before))).flatten();
        if events.saturating_add(events_before) > MOST_EVENTS {
            return Ratio { rate_ratio, ..Ratio::default() };
        }
        let limits = |half| if events + events_before == 0 { (None, None) } else { limits(&now, &before, half) };
        let ((low, high), (mid_p_low, mid_p_high)) = (limits(false), limits(true));
        Ratio {
            rate_ratio,
            low,
            high,
            mid_p_low,
            mid_p_high,
            p: Some(p(&now, &before, false)),
            mid_p: Some(p(&now, &before, true)),
            smallest_detectable: power::smallest_detectable(exposure, events_before, exposure_before),
            detectable_fall: power::detectable_fall(exposure, events_before, exposure_before),
        }
    }
}

/// One of the two samples.
struct Sample {
    events: u64,
    exposure: f64,
}

impl Sample {
    /// The rate ratio of this sample to the other; infinite or NaN if the other has no event.
    fn over(&self, other: &Sample) -> f64 {
        self.events as f64 / other.events as f64 * (other.exposure / self.exposure)
    }

    /// The expected proportion of all events in this sample if both rates were equal.
    fn fair_share(&self, other: &Sample) -> f64 {
        1.0 / (1.0 + other.exposure / self.exposure)
    }

    /// The probability that this sample has its number of events or more, given the total, if each event falls in it with
    /// probability `share`.
    ///
    /// `half`: count half of the probability of the observed number.
    fn tail(&self, other: &Sample, share: f64, half: bool) -> f64 {
        let whole = binomial_at_least(self.events, other.events, share);
        let more = if other.events == 0 { 0.0 } else { binomial_at_least(self.events + 1, other.events - 1, share) };
        if half { (whole + more) / 2.0 } else { whole }
    }

    /// The odds at which this number of events, or more, has probability 0.025; 0 without events.
    fn odds(&self, other: &Sample, half: bool) -> f64 {
        if self.events == 0 {
            return 0.0;
        }
        let share = bisect(0.0, 1.0, |share| self.tail(other, share, half) <= SIDE);
        share / (1.0 - share)
    }
}

/// Both limits; the upper one is the reciprocal of the lower one with the samples swapped.
fn limits(now: &Sample, before: &Sample, half: bool) -> (Option<f64>, Option<f64>) {
    let scale = before.exposure / now.exposure;
    (told(now.odds(before, half) * scale), told(scale / before.odds(now, half)))
}

/// The two-sided p if both rates were equal: twice the smaller tail, at most 1.
fn p(now: &Sample, before: &Sample, half: bool) -> f64 {
    let tail = |group: &Sample, other: &Sample| group.tail(other, group.fair_share(other), half);
    (2.0 * tail(now, before).min(tail(before, now))).min(1.0)
}
