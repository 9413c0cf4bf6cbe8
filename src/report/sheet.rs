//! Sheets for a household: the monthly log, and the checkoff of a curriculum.

mod checkoff;
mod log;

pub use checkoff::{Checkoff, StepRow, Wanted, checkoffs};
pub use log::{Exit, Log, LogDay, Span, cannot_be_judged, log, month, month_of};

use schemars::JsonSchema;
use serde::Serialize;

/// A sheet.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct SheetReport {
    /// The household's log; null if a checkoff was requested.
    pub log: Option<Log>,
    /// The checkoffs, one per role of the curriculum; empty if a log was requested.
    pub checkoffs: Vec<Checkoff>,
}
