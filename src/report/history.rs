//! Records, amendments and voids by person, with the delay of each.

use schemars::JsonSchema;
use serde::Serialize;

use super::At;
use crate::day::Period;
use crate::word::words;

words! {
    /// The action on a record.
    pub enum Action {
        /// It was written.
        Recorded = "recorded",
        /// It was corrected with an amendment.
        Amended = "amended",
        /// It was voided.
        Voided = "voided",
        /// A later part was added: a result, a resolution, an end.
        Filled = "filled",
        /// A file that could not be used was corrected.
        Mended = "mended",
        /// Its file was renamed.
        Renamed = "renamed",
        /// It was changed without an amendment.
        Edited = "edited",
        /// It was deleted instead of voided.
        Deleted = "deleted",
    }
}

/// The history of records.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct HistoryReport {
    /// True if the records are in git; without it, only what they state themselves is known.
    pub kept_by_git: bool,
    /// The period; null for all records.
    pub period: Option<Period>,
    /// The actions, newest first.
    pub rows: Vec<Row>,
}

/// One action on a record.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Row {
    /// The time in the record, else that of the commit; null if neither is known.
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
    /// The minutes from an event with a time to its record.
    pub late_minutes: Option<i64>,
    /// The care days from an event without a time to its record.
    pub late_days: Option<i64>,
    /// The keys that were filled or edited.
    pub keys: Vec<String>,
    /// The new path of a file that was renamed.
    pub renamed_to: Option<String>,
    /// The reason of the amendment or void.
    pub why: Option<String>,
    /// The commit; null for what is not committed.
    pub commit: Option<String>,
    /// The commit's author as git has it; null for what is not committed.
    pub author: Option<String>,
}
