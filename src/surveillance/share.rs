//! A proportion with Wilson score limits, plain and widened for clustering within patients.
//!
//! Source of the limits: Wilson EB, J Am Stat Assoc 1927;22:209, without continuity correction (method 3 of Newcombe RG,
//! Stat Med 1998;17:857). Of the design effect: Rao JNK & Scott AJ, Biometrics 1992;48:577. Left out on purpose: the
//! normal approximation, whose limits can fall outside 0 to 1.

use schemars::JsonSchema;
use serde::Serialize;

/// The 0.975 quantile of the standard normal distribution.
const Z: f64 = 1.959963984540054;

/// One patient's numerator and denominator.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct ClusterCount {
    /// Numerator.
    pub part: u64,
    /// Denominator.
    pub whole: u64,
}

impl std::iter::Sum for ClusterCount {
    fn sum<I: Iterator<Item = ClusterCount>>(all: I) -> ClusterCount {
        all.fold(ClusterCount::default(), |sum, one| ClusterCount {
            part: sum.part + one.part,
            whole: sum.whole + one.whole,
        })
    }
}

/// A proportion, 0 to 1, with 95 % limits; all null with a denominator of 0.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, JsonSchema)]
pub struct Share {
    /// Proportion.
    pub value: Option<f64>,
    /// Lower limit, Wilson score.
    pub low: Option<f64>,
    /// Upper limit, Wilson score.
    pub high: Option<f64>,
    /// Design effect: the variance relative to independent observations, since changes cluster within patients; 1 or
    /// more.
    pub design_effect: Option<f64>,
    /// Lower limit with the denominator divided by the design effect.
    pub clustered_low: Option<f64>,
    /// Upper limit with the denominator divided by the design effect.
    pub clustered_high: Option<f64>,
}

impl Share {
    /// Computes the proportion over all patients.
    ///
    /// A patient with a denominator of 0 is left out; a numerator above its denominator is capped. The lower limits are
    /// exactly 0 if the numerator is 0, the upper limits exactly 1 if it equals the denominator.
    ///
    /// ```
    /// # use exitsite::surveillance::share::{ClusterCount, Share};
    /// let digits = |low: Option<f64>, high: Option<f64>| format!("{:.4}-{:.4}", low.unwrap(), high.unwrap());
    /// // 15 of 148, one each
    /// let alone: Vec<ClusterCount> = (0..148).map(|n| ClusterCount { part: u64::from(n < 15), whole: 1 }).collect();
    /// let share = Share::of(&alone);
    /// assert_eq!(digits(share.low, share.high), "0.0624-0.1605");
    /// // the same in two patients, one with all 15: little better than three observations
    /// let two = Share::of(&[ClusterCount { part: 15, whole: 15 }, ClusterCount { part: 0, whole: 133 }]);
    /// assert_eq!(digits(two.low, two.high), "0.0624-0.1605");
    /// assert_eq!(digits(two.clustered_low, two.clustered_high), "0.0065-0.6613");
    /// // denominator 0
    /// assert_eq!(Share::of(&[]), Share::default());
    /// ```
    pub fn of(patients: &[ClusterCount]) -> Share {
        let counted = |patient: &ClusterCount| (patient.part.min(patient.whole) as f64, patient.whole as f64);
        let patients: Vec<(f64, f64)> = patients.iter().filter(|patient| patient.whole > 0).map(counted).collect();
        let part: f64 = patients.iter().map(|(part, _)| part).sum();
        let whole: f64 = patients.iter().map(|(_, whole)| whole).sum();
        if patients.is_empty() {
            return Share::default();
        }
        let effect = design_effect(&patients, part, whole);
        let (low, high) = wilson(part, whole, whole);
        let (clustered_low, clustered_high) = wilson(part, whole, whole / effect);
        Share {
            value: Some(part / whole),
            low: Some(low),
            high: Some(high),
            design_effect: Some(effect),
            clustered_low: Some(clustered_low),
            clustered_high: Some(clustered_high),
        }
    }
}

/// The variance of the proportion between patients ÷ that of independent observations; at least 1.
fn design_effect(patients: &[(f64, f64)], part: f64, whole: f64) -> f64 {
    let clusters = patients.len() as f64;
    if clusters < 2.0 || part == 0.0 || part == whole {
        return 1.0;
    }
    let share = part / whole;
    let squares: f64 = patients.iter().map(|(part, whole)| (part - share * whole).powi(2)).sum();
    let alone = whole * share * ((whole - part) / whole);
    (clusters / (clusters - 1.0) * squares / alone).max(1.0)
}

/// The Wilson score limits of a proportion with an effective sample size of `observations`.
fn wilson(part: f64, whole: f64, observations: f64) -> (f64, f64) {
    (wilson_low(part / whole, observations), 1.0 - wilson_low((whole - part) / whole, observations))
}

/// The smaller root of the score equation, in a form without subtraction: exactly 0 for 0.
fn wilson_low(share: f64, observations: f64) -> f64 {
    let per = Z * Z / observations;
    let sum = 2.0 * share + per;
    2.0 * share * share / (sum + (per * per + 4.0 * per * share * (1.0 - share)).sqrt())
}
