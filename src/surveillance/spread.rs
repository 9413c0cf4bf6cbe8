//! The variation of a rate between patients: its robust variance compared with the Poisson variance.
//!
//! Source: Huber's variance of a Poisson rate with patients as clusters, as in generalized estimating equations (Liang KY
//! & Zeger SL, Biometrika 1986;73:13, from memory), × patients ÷ (patients − 1). Left out on purpose: a model of why some
//! patients have more.

use schemars::JsonSchema;
use serde::Serialize;

use super::tail::told;

/// The 0.975 quantile of the normal distribution.
const Z: f64 = 1.959963984540054;

/// Variances of the logarithm of a rate; all null without events, without exposure, or with a single patient.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, JsonSchema)]
pub struct RateVariance {
    /// Poisson variance, 1 ÷ events: the variance if infections occurred by chance alone.
    pub poisson_variance: Option<f64>,
    /// Robust variance, between patients.
    pub robust_variance: Option<f64>,
    /// Robust variance ÷ Poisson variance.
    pub variance_ratio: Option<f64>,
    /// Lower 95 % limit of the rate from the robust variance, in events per unit of exposure.
    pub robust_low: Option<f64>,
    /// Upper 95 % limit of the rate from the robust variance.
    pub robust_high: Option<f64>,
}

impl RateVariance {
    /// Computes the variances over patients, each with events and an exposure. A patient without exposure is left out.
    ///
    /// ```
    /// # use exitsite::surveillance::spread::RateVariance;
    /// let ratio = |patients: &[(u64, f64)]| RateVariance::of(patients).variance_ratio.map(|ratio| format!("{ratio:.3}"));
    /// // six infections in six of 12 patients: nearly as by chance; all six in one patient: six times the variance
    /// let of = |each: &[u64]| -> Vec<(u64, f64)> { each.iter().map(|events| (*events, 1.0)).collect() };
    /// assert_eq!(ratio(&of(&[1, 1, 1, 1, 1, 1, 0, 0, 0, 0, 0, 0])), Some("0.545".to_owned()));
    /// assert_eq!(ratio(&of(&[6, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0])), Some("6.000".to_owned()));
    /// // a single patient, and none at all
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
