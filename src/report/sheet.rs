//! Sheets for a household: the log of a month, and the checkoff of a curriculum.

mod checkoff;
mod log;

pub use checkoff::{Checkoff, StepRow, Wanted, checkoffs};
pub use log::{Exit, Log, LogDay, Span, cannot_be_judged, log, month, month_of};

use schemars::JsonSchema;
use serde::Serialize;

/// A sheet.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct SheetReport {
    /// The household's log; null where a checkoff was asked for.
    pub log: Option<Log>,
    /// The checkoffs, one for each role that the curriculum is for; empty where a log was asked for.
    pub checkoffs: Vec<Checkoff>,
}
