//! Freedom from a first infection, where every other end is a censoring.

use schemars::JsonSchema;
use serde::Serialize;

use super::spell::Spell;

/// The curve at a day on which somebody was infected or left.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, JsonSchema)]
pub struct FreedomStep {
    /// Days since the implant.
    pub day: i64,
    /// At risk on that day.
    pub at_risk: u64,
    /// Infected on that day.
    pub events: u64,
    /// Left on that day without an infection.
    pub censored: u64,
    /// The share still free.
    pub survival: f64,
    /// Greenwood's standard error.
    pub std_error: f64,
    /// Lower 95 % limit, log–log; null at 0 and 1.
    pub low: Option<f64>,
    /// Upper 95 % limit, log–log; null at 0 and 1.
    pub high: Option<f64>,
}

/// A median in days with its limits; null where the curve, or its limit, never falls that far.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, JsonSchema)]
pub struct Median {
    /// The first day on which half or fewer are free.
    pub value: Option<f64>,
    /// Its lower limit.
    pub low: Option<f64>,
    /// Its upper limit.
    pub high: Option<f64>,
}

/// The curve and its median.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Freedom {
    /// A step for each day on which somebody was infected or left.
    pub steps: Vec<FreedomStep>,
    /// The median.
    pub median: Median,
}

/// Freedom from a first infection.
pub fn freedom(spells: &[Spell]) -> Freedom {
    let _ = spells;
    Freedom::default()
}
