//! Sheets for a household: the monthly log, and the checkoff of a curriculum.

mod checkoff;
mod log;

pub use checkoff::{BlankCheckoff, StepRow, Wanted, checkoffs};
pub use log::{DaySpan, Exit, LogDay, MonthLog, cannot_be_judged, log, month, month_of};

use schemars::JsonSchema;
use serde::Serialize;

/// A sheet.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct SheetReport {
    /// The household's log; null if a checkoff was requested.
    pub log: Option<MonthLog>,
    /// The checkoffs, one per role of the curriculum; empty if a log was requested.
    pub checkoffs: Vec<BlankCheckoff>,
}
