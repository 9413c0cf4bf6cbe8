//! Whether groups differ in their freedom from a first infection.

use schemars::JsonSchema;
use serde::Serialize;

use super::spell::Spell;

/// A log-rank test of the cause-specific hazard.
#[derive(Debug, Clone, Default, PartialEq, Serialize, JsonSchema)]
pub struct LogRank {
    /// Chi-square with hypergeometric variance; null where there is nothing to compare.
    pub chi_square: Option<f64>,
    /// Degrees of freedom.
    pub df: Option<u64>,
    /// p; null where a group expects under 5 infections.
    pub p: Option<f64>,
    /// The infections that each group expects.
    #[serde(skip)]
    pub expected: Vec<f64>,
}

/// Groups compared.
pub fn log_rank(groups: &[Vec<Spell>]) -> LogRank {
    let _ = groups;
    LogRank::default()
}
