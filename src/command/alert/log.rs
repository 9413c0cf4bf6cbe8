//! The message log: one line per message with its time, recipient, alerts (by key) and the server's reply, as evidence
//! that the message was sent, and when.
//!
//! ```text
//! {"exitsite_alert_log":1,"at":"2026-11-24T13:15:00Z","to":"vad@example.org","accepted":true,"answer":"250 queued as 7F",
//!  "alerts":[{"patient":"P-014","exit":"a","what":"overdue","since":"2026-11-24T02:40:00Z","why":"new"}]}
//! ```

use std::path::Path;

use serde_json::json;

use crate::alert::Message;
use crate::day::Instant;
use crate::folder::LogFile;
use crate::problem::Failure;
use crate::report::alert::MessageRow;
use crate::view;
use crate::word::Word;

/// The recipient of printed alerts.
pub(super) const PRINTED: &str = "printed";

/// The beginning of each line, which identifies a log.
const MARK: &str = "{\"exitsite_alert_log\":1,";

/// The log of a run.
#[derive(Debug, Default)]
pub(super) struct AlertLog {
    file: Option<LogFile>,
    /// The first failure; messages are sent anyway.
    pub(super) failed: Option<Failure>,
}

impl AlertLog {
    /// Opens the log, if requested. Keeps a failure instead of returning it: an alert without a log is better than
    /// none.
    pub(super) fn open(path: Option<&Path>, records: Option<&Path>) -> AlertLog {
        match path.map(|path| LogFile::open(path, records, MARK)) {
            None => AlertLog::default(),
            Some(Ok(file)) => AlertLog { file: Some(file), failed: None },
            Some(Err(failure)) => AlertLog { file: None, failed: Some(failure) },
        }
    }

    /// Adds the line of a message that was sent, refused or printed.
    pub(super) fn add(&mut self, message: &Message, row: &MessageRow, now: Instant) {
        let Some(file) = &mut self.file else { return };
        let alert = |(alert, why): &(&crate::alert::Alert, crate::alert::Why)| {
            let since = alert.since.map(|since| since.to_rfc3339());
            json!({
                "patient": alert.patient, "exit": alert.exit, "what": alert.what(), "since": since, "why": why.word(),
            })
        };
        let line = json!({
            "exitsite_alert_log": 1,
            "at": now.to_rfc3339_opts(chrono::SecondsFormat::Secs, true),
            "to": row.to.as_deref().unwrap_or(PRINTED),
            "accepted": row.to.is_none() || row.sent == Some(true),
            "answer": row.answer.as_ref().or(row.problem.as_ref()),
            "alerts": message.alerts.iter().map(alert).collect::<Vec<_>>(),
        });
        if let Err(failure) = file.append(&view::json_line(&line)) {
            self.failed.get_or_insert(failure);
        }
    }

    /// A line for standard error if the log is incomplete.
    pub(super) fn said(&self) -> Option<String> {
        self.failed.as_ref().map(|failure| format!("messages were sent without a line in the log: {failure}"))
    }
}
