//! Records, amendments and voids by person, with the delay of each.

use schemars::JsonSchema;
use serde::Serialize;

use super::At;
use crate::day::Period;
use crate::word::words;

words! {
    /// An action on a record.
    pub enum Action {
        /// Entered.
        Recorded = "recorded",
        /// Corrected with an amendment.
        Amended = "amended",
        /// Voided.
        Voided = "voided",
        /// Completed later: a result, a resolution or an end was added.
        Filled = "filled",
        /// An unreadable file was repaired.
        Mended = "mended",
        /// The file was renamed.
        Renamed = "renamed",
        /// Edited without an amendment.
        Edited = "edited",
        /// Deleted instead of voided.
        Deleted = "deleted",
    }
}

/// The history of records.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct HistoryReport {
    /// True if the records are in git; otherwise only the facts stated in the records are known.
    pub kept_by_git: bool,
    /// The period; null for all records.
    pub period: Option<Period>,
    /// The actions, newest first.
    pub rows: Vec<HistoryRow>,
}

/// One action on a record.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct HistoryRow {
    /// The time stated in the record, or else that of the commit; null if neither is known.
    pub at: Option<At>,
    /// The action.
    pub action: Action,
    /// The path relative to the records folder.
    pub file: String,
    /// The kind of the record.
    pub kind: Option<String>,
    /// The code of the person; null if the record does not state it.
    pub by: Option<String>,
    /// The time of the event, as in the record.
    pub event_at: Option<String>,
    /// Minutes from an event with a time to its entry.
    pub late_minutes: Option<i64>,
    /// Care days from an event without a time to its entry.
    pub late_days: Option<i64>,
    /// The keys completed or edited.
    pub keys: Vec<String>,
    /// The new path of a renamed file.
    pub renamed_to: Option<String>,
    /// The reason of the amendment or void.
    pub why: Option<String>,
    /// The commit; null if not committed.
    pub commit: Option<String>,
    /// The commit's author in git; null if not committed.
    pub author: Option<String>,
}
