//! The spread of a rate between patients: its robust variance beside the one that Poisson counts would have.
//!
//! Source: Huber's variance of a Poisson rate with one cluster for each patient, as generalized estimating equations have it
//! (Liang KY & Zeger SL, Biometrika 1986;73:13, from memory), × patients ÷ (patients − 1). Left out on purpose: a model of
//! why some patients have more.

use schemars::JsonSchema;
use serde::Serialize;

use super::tail::told;

/// The 0.975 quantile of the normal distribution.
const Z: f64 = 1.959963984540054;

/// The variances of the logarithm of a rate; all null without events, without exposure, or of one patient.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, JsonSchema)]
pub struct RateVariance {
    /// 1 ÷ the events: the variance if infections came to patients by chance alone.
    pub poisson_variance: Option<f64>,
    /// The robust variance, between patients.
    pub robust_variance: Option<f64>,
    /// The robust variance ÷ the Poisson one.
    pub variance_ratio: Option<f64>,
    /// Lower 95 % limit of the rate by the robust variance, in events for each unit of exposure.
    pub robust_low: Option<f64>,
    /// Upper 95 % limit of the rate by the robust variance.
    pub robust_high: Option<f64>,
}

impl RateVariance {
    /// The spread over patients, each with events and an exposure. A patient without exposure is not among them.
    ///
    /// ```
    /// # use exitsite::surveillance::spread::RateVariance;
    /// let ratio = |patients: &[(u64, f64)]| RateVariance::of(patients).variance_ratio.map(|ratio| format!("{ratio:.3}"));
    /// // six infections, each in another of 12 patients: nearly as by chance; all in one: six times and more
    /// let of = |each: &[u64]| -> Vec<(u64, f64)> { each.iter().map(|events| (*events, 1.0)).collect() };
    /// assert_eq!(ratio(&of(&[1, 1, 1, 1, 1, 1, 0, 0, 0, 0, 0, 0])), Some("0.545".to_owned()));
    /// assert_eq!(ratio(&of(&[6, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0])), Some("6.000".to_owned()));
    /// // one patient alone, and none at all
    /// assert_eq!((ratio(&of(&[3])), ratio(&[])), (None, None));
    /// ```
    pub fn of(patients: &[(u64, f64)]) -> RateVariance {
        let observed = || patients.iter().filter(|(_, exposure)| *exposure > 0.0 && exposure.is_finite());
        let clusters = observed().count() as f64;
        let (events, exposure) = observed().fold((0.0, 0.0), |sum, one| (sum.0 + one.0 as f64, sum.1 + one.1));
        if events == 0.0 || clusters < 2.0 {
            return RateVariance::default();
        }
        let rate = events / exposure;
        let squares: f64 = observed().map(|(events, exposure)| (*events as f64 - rate * exposure).powi(2)).sum();
        let variance = clusters / (clusters - 1.0) * squares / (events * events);
        let width = (Z * variance.sqrt()).exp();
        RateVariance {
            poisson_variance: Some(1.0 / events),
            robust_variance: told(variance),
            variance_ratio: told(variance * events),
            robust_low: told(rate / width),
            robust_high: told(rate * width),
        }
    }
}
