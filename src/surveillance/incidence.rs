//! The cumulative incidence of one end among others that compete with it.

use schemars::JsonSchema;
use serde::Serialize;

use super::spell::{End, Spell};

/// The curve at a day on which something happened.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, JsonSchema)]
pub struct IncidenceStep {
    /// Days since the implant.
    pub day: i64,
    /// At risk on that day.
    pub at_risk: u64,
    /// The share that has met this end by then.
    pub value: f64,
    /// Standard error by the infinitesimal jackknife.
    pub std_error: f64,
    /// Lower 95 % limit; null at 0 and 1.
    pub low: Option<f64>,
    /// Upper 95 % limit; null at 0 and 1.
    pub high: Option<f64>,
}

/// The cumulative incidence of `end`, a step for each day on which any end (not a censoring) happened.
pub fn cumulative_incidence(spells: &[Spell], end: End) -> Vec<IncidenceStep> {
    let _ = (spells, end);
    Vec::new()
}
