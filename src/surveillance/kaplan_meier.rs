//! Freedom from a first infection, with every other end treated as censoring.
//!
//! It estimates the proportion that would still be free if no patient died, was transplanted or recovered. Left out on
//! purpose: the actual course with those ends; see [`super::incidence`].
//!
//! Sources, *from memory*: Kaplan & Meier, J Am Stat Assoc 1958;53:457; Greenwood, Reports on Public Health and Medical
//! Subjects 1926;33; log–log limits: Kalbfleisch & Prentice, The Statistical Analysis of Failure Time Data, 1980; delayed
//! entry: Tsai, Jewell & Wang, Biometrika 1987;74:883. With delayed entry the few at risk early have a large weight: if
//! all of them are infected, the curve is 0 from then on, whoever enters later.

use schemars::JsonSchema;
use serde::Serialize;

use super::follow_up::{FollowUp, FollowUpEnd, RiskSet};

/// The 0.975 quantile of the normal distribution.
const Z: f64 = 1.959963984540054;

/// The tolerance for a curve value of one half, as in R: the square root of machine epsilon. The rounding error of a
/// product of fractions is far smaller.
const HALF_TOLERANCE: f64 = 1.4901161193847656e-8;

/// The curve on a day with an infection or another end.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, JsonSchema)]
pub struct KaplanMeierStep {
    /// Day since the implant.
    pub day: i64,
    /// Number at risk on that day.
    pub at_risk: u64,
    /// Number infected on that day.
    pub events: u64,
    /// Number who left on that day without an infection.
    pub censored: u64,
    /// Proportion still free.
    pub survival: f64,
    /// Greenwood's standard error of that proportion; null at 0, where it is undefined.
    pub std_error: Option<f64>,
    /// Lower 95 % limit, log–log; null at 0 and 1.
    pub low: Option<f64>,
    /// Upper 95 % limit, log–log; null at 0 and 1.
    pub high: Option<f64>,
}

/// A median in days with its limits; null if the curve, or its limit, never falls that far.
///
/// If the curve equals one half over an interval, within 1.5e-8, the value is the midpoint between the day on which it
/// reached one half and the day on which it fell below, or the first day if it never did, as in R's `survival`. Each
/// limit is where the limit of the curve reaches one half, by the same rule (Brookmeyer & Crowley, Biometrics
/// 1982;38:29). An undefined limit, as where the curve is 0, never reaches it.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, JsonSchema)]
pub struct Median {
    /// First day on which the proportion free is one half or less.
    pub value: Option<f64>,
    /// Lower 95 % limit.
    pub low: Option<f64>,
    /// Upper 95 % limit.
    pub high: Option<f64>,
}

/// The curve and its median.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct KaplanMeier {
    /// One step per day with an infection or another end.
    pub steps: Vec<KaplanMeierStep>,
    /// Median.
    pub median: Median,
}

/// Estimates the freedom from a first infection.
///
/// ```
/// # use exitsite::surveillance::kaplan_meier::kaplan_meier;
/// # use exitsite::surveillance::follow_up::{FollowUpEnd, FollowUp};
/// let follow_up = |from, to, end| FollowUp { from, to, end };
/// // a patient who leaves on the day of an infection was still at risk; one who enters on it already is
/// let curve = kaplan_meier(&[
///     follow_up(0, 30, FollowUpEnd::Infection), follow_up(0, 30, FollowUpEnd::Censored), follow_up(30, 90, FollowUpEnd::Infection), follow_up(0, 60, FollowUpEnd::Death),
/// ]);
/// let survival: Vec<(i64, u64, f64)> = curve.steps.iter().map(|step| (step.day, step.at_risk, step.survival)).collect();
/// assert_eq!(survival, [(30, 4, 0.75), (60, 2, 0.75), (90, 1, 0.0)]);
/// assert_eq!(curve.median.value, Some(90.0));
/// // at 0 the standard error is undefined
/// assert_eq!(curve.steps[2].std_error, None);
/// // half are free from day 30 to day 40: the median is the midpoint
/// let stretch = kaplan_meier(&[follow_up(0, 30, FollowUpEnd::Infection), follow_up(0, 40, FollowUpEnd::Infection)]);
/// assert_eq!(stretch.median.value, Some(35.0));
/// // no follow-up: no steps, no median
/// assert_eq!(kaplan_meier(&[]).median.value, None);
/// ```
pub fn kaplan_meier(follow_ups: &[FollowUp]) -> KaplanMeier {
    let cohort = RiskSet::of(follow_ups);
    let mut survival = 1.0;
    let mut greenwood = 0.0;
    let steps: Vec<KaplanMeierStep> = cohort
        .days()
        .into_iter()
        .map(|day| {
            let (at_risk, events) = (cohort.at_risk(day), cohort.ended(day, FollowUpEnd::Infection));
            let (of, still_free) = (at_risk as f64, (at_risk - events) as f64);
            survival *= still_free / of;
            if still_free > 0.0 {
                greenwood += events as f64 / (of * still_free);
            }
            let std_error = (survival > 0.0).then(|| survival * f64::sqrt(greenwood));
            let limits = std_error.and_then(|std_error| log_log(survival, std_error));
            let (low, high) = limits.unzip();
            KaplanMeierStep {
                day,
                at_risk,
                events,
                censored: cohort.left(day) - events,
                survival,
                std_error,
                low,
                high,
            }
        })
        .collect();
    let median = Median::of(&steps);
    KaplanMeier { steps, median }
}

impl Median {
    fn of(steps: &[KaplanMeierStep]) -> Median {
        let at_half = |curve: fn(&KaplanMeierStep) -> Option<f64>| {
            let low_enough: Vec<(f64, f64)> = steps
                .iter()
                .filter_map(|step| Some((step.day as f64, curve(step)?)))
                .filter(|(_, share)| *share < 0.5 + HALF_TOLERANCE)
                .collect();
            let (day, share) = low_enough.first().copied()?;
            let lower = low_enough.iter().find(|(_, later)| *later < share);
            Some(match lower {
                Some((until, _)) if (share - 0.5).abs() < HALF_TOLERANCE => day.midpoint(*until),
                _ => day,
            })
        };
        Median {
            value: at_half(|step| Some(step.survival)),
            low: at_half(|step| step.low),
            high: at_half(|step| step.high),
        }
    }
}

/// Returns the 95 % limits of a proportion on the log–log scale, p^exp(±z·se ÷ (p ln p)); `None` at 0 and 1.
pub(super) fn log_log(share: f64, std_error: f64) -> Option<(f64, f64)> {
    (share > 0.0 && share < 1.0).then(|| {
        let width = Z * std_error / (share * share.ln()).abs();
        (share.powf(width.exp()), share.powf((-width).exp()))
    })
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::super::follow_up::invented::follow_ups;
    use super::*;

    fn is_share(value: f64) -> bool {
        (0.0..=1.0).contains(&value)
    }

    proptest! {
        #[test]
        fn freedom_never_rises_and_its_limits_hold_it(follow_ups in follow_ups()) {
            let mut before = 1.0;
            for step in kaplan_meier(&follow_ups).steps {
                prop_assert!(step.survival <= before && is_share(step.survival), "{:?}", step);
                before = step.survival;
                let is_inside = step.survival > 0.0 && step.survival < 1.0;
                prop_assert_eq!(step.std_error.is_some(), step.survival > 0.0);
                prop_assert!(step.std_error.is_none_or(is_share), "{:?}", step);
                prop_assert_eq!((step.low.is_some(), step.high.is_some()), (is_inside, is_inside));
                if let (Some(low), Some(high)) = (step.low, step.high) {
                    prop_assert!(is_share(low) && is_share(high), "{:?}", step);
                    prop_assert!(low < step.survival && step.survival < high, "{:?}", step);
                }
                prop_assert!(step.events + step.censored > 0 && step.events + step.censored <= step.at_risk);
            }
        }

        #[test]
        fn the_median_lies_between_its_limits_and_where_the_curve_is_half(follow_ups in follow_ups()) {
            let curve = kaplan_meier(&follow_ups);
            let fallen = curve.steps.iter().find(|step| step.survival < 0.5 + HALF_TOLERANCE);
            prop_assert_eq!(curve.median.value.is_some(), fallen.is_some());
            if let (Some(value), Some(fallen)) = (curve.median.value, fallen) {
                prop_assert!(value >= fallen.day as f64);
                prop_assert!(curve.median.low.is_none_or(|low| low <= value), "{:?}", curve.median);
                prop_assert!(curve.median.high.is_none_or(|high| value <= high), "{:?}", curve.median);
            }
        }

        #[test]
        fn the_order_of_the_follow_ups_changes_nothing(
            (follow_ups, shuffled) in follow_ups().prop_flat_map(|follow_ups| (Just(follow_ups.clone()), Just(follow_ups).prop_shuffle()))
        ) {
            prop_assert_eq!(kaplan_meier(&follow_ups), kaplan_meier(&shuffled));
        }

        #[test]
        fn a_follow_up_that_ends_before_it_begins_changes_nothing(follow_ups in follow_ups()) {
            let observed: Vec<FollowUp> = follow_ups.iter().copied().filter(|follow_up| follow_up.from <= follow_up.to).collect();
            prop_assert_eq!(kaplan_meier(&follow_ups), kaplan_meier(&observed));
        }

        #[test]
        fn every_patient_twice_halves_the_variance(follow_ups in follow_ups()) {
            for (once, twice) in kaplan_meier(&follow_ups).steps.iter().zip(kaplan_meier(&follow_ups.repeat(2)).steps) {
                prop_assert!((once.survival - twice.survival).abs() < 1e-14);
                let variances = once.std_error.zip(twice.std_error).map(|(once, twice)| (once * once, twice * twice));
                if let Some((once, twice)) = variances {
                    prop_assert!((once / 2.0 - twice).abs() <= 1e-12 * twice, "{} {}", once, twice);
                }
            }
        }

        /// Without delayed entry and censoring the curve is the proportion not yet infected, and Greenwood's variance is
        /// binomial.
        #[test]
        fn without_censoring_the_curve_is_a_share(days in prop::collection::vec(0..20i64, 1..40)) {
            let follow_ups: Vec<FollowUp> = days.iter().map(|to| FollowUp { from: 0, to: *to, end: FollowUpEnd::Infection }).collect();
            for step in kaplan_meier(&follow_ups).steps {
                let share = days.iter().filter(|day| **day > step.day).count() as f64 / days.len() as f64;
                prop_assert!((step.survival - share).abs() < 1e-14);
                let binomial = f64::sqrt(share * (1.0 - share) / days.len() as f64);
                prop_assert!((step.std_error.unwrap_or(0.0) - binomial).abs() < 1e-14, "{:?} {}", step, binomial);
            }
        }
    }
}
