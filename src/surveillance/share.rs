//! A share of a whole, with Wilson score limits, plain and widened because what belongs to one patient is alike.
//!
//! Source of the limits: Wilson EB, J Am Stat Assoc 1927;22:209, without continuity correction (method 3 of Newcombe RG,
//! Stat Med 1998;17:857). Of the design effect: Rao JNK & Scott AJ, Biometrics 1992;48:577. Left out on purpose: the
//! normal approximation, whose limits leave 0 to 1.

use schemars::JsonSchema;
use serde::Serialize;

/// The standard normal deviate that 0.025 lie beyond.
const Z: f64 = 1.959963984540054;

/// One patient's part of a proportion.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct ClusterCount {
    /// Those that are so.
    pub part: u64,
    /// All of them.
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

/// A share, 0 to 1, with 95 % limits; all null of nothing.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, JsonSchema)]
pub struct Share {
    /// The share.
    pub value: Option<f64>,
    /// Wilson score, lower limit.
    pub low: Option<f64>,
    /// Wilson score, upper limit.
    pub high: Option<f64>,
    /// How much wider the truth is than the plain limits, since changes cluster in patients; 1 or more.
    pub design_effect: Option<f64>,
    /// Lower limit on the whole ÷ the design effect.
    pub clustered_low: Option<f64>,
    /// Upper limit on the whole ÷ the design effect.
    pub clustered_high: Option<f64>,
}

impl Share {
    /// The share over all patients.
    ///
    /// A patient with a whole of 0 is not among them; a part above its whole counts as the whole. The lower limits are
    /// exactly 0 of a part of 0, the upper exactly 1 of all.
    ///
    /// ```
    /// # use exitsite::surveillance::share::{ClusterCount, Share};
    /// let digits = |low: Option<f64>, high: Option<f64>| format!("{:.4}-{:.4}", low.unwrap(), high.unwrap());
    /// // 15 of 148, one each
    /// let alone: Vec<ClusterCount> = (0..148).map(|n| ClusterCount { part: u64::from(n < 15), whole: 1 }).collect();
    /// let share = Share::of(&alone);
    /// assert_eq!(digits(share.low, share.high), "0.0624-0.1605");
    /// // the same in two patients of whom one has them all: hardly better than three observations
    /// let two = Share::of(&[ClusterCount { part: 15, whole: 15 }, ClusterCount { part: 0, whole: 133 }]);
    /// assert_eq!(digits(two.low, two.high), "0.0624-0.1605");
    /// assert_eq!(digits(two.clustered_low, two.clustered_high), "0.0065-0.6613");
    /// // of nothing
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

/// The variance of the share between patients ÷ what it would be if every observation stood alone; 1 or more.
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

/// Wilson score limits of a share that is known as well as `observations` that stand alone would tell it.
fn wilson(part: f64, whole: f64, observations: f64) -> (f64, f64) {
    (wilson_low(part / whole, observations), 1.0 - wilson_low((whole - part) / whole, observations))
}

/// The smaller root of the score equation, in the form that subtracts nothing: exactly 0 for 0.
fn wilson_low(share: f64, observations: f64) -> f64 {
    let per = Z * Z / observations;
    let sum = 2.0 * share + per;
    2.0 * share * share / (sum + (per * per + 4.0 * per * share * (1.0 - share)).sqrt())
}
