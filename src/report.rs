//! Answers as values: the results of a command, independent of how they are displayed.
//!
//! The JSON of a report is a promise to scripts: within a major version keys are added, never changed; an unknown value
//! is null, never 0 and never omitted.

pub mod alert;
pub mod audit;
pub mod check;
pub mod consequence;
pub mod contacts;
pub mod due;
pub mod export;
pub mod grade;
pub mod handoff;
pub mod history;
pub mod import;
pub mod infection;
mod judged;
pub mod missed;
pub mod policy;
pub mod pool;
pub mod sheet;
pub mod show;
pub mod signals;
pub mod supplies;
pub mod teaching;

use schemars::JsonSchema;
use serde::Serialize;

pub use crate::event::{At, rfc3339};
pub use judged::Judged;

use crate::day::{AsOf, Calendar};
use crate::problem::Problem;
use crate::score::CAUTION;

/// A report as printed for a script.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Report<T> {
    /// Command.
    pub command: String,
    /// Instant of the question, RFC 3339.
    pub as_of: At,
    /// Version of exitsite.
    pub version: String,
    /// Limitations of a figure or a grade.
    pub caution: String,
    /// Unreadable files.
    pub unusable: Vec<Unusable>,
    /// Answer.
    #[serde(flatten)]
    pub body: T,
}

/// An unreadable file.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Unusable {
    /// Path relative to the records folder.
    pub file: String,
    /// Line, if known.
    pub line: Option<usize>,
    /// Fault, in one sentence.
    pub message: String,
}

impl<T> Report<T> {
    /// A report of a command as of an instant, in the policy's time zone.
    pub fn of(command: &str, as_of: AsOf, calendar: &Calendar, mut unusable: Vec<Unusable>, body: T) -> Self {
        unusable.sort_by(|a, b| (&a.file, a.line).cmp(&(&b.file, b.line)));
        unusable.dedup();
        let as_of = as_of.instant.with_timezone(&calendar.policy_zone()).fixed_offset();
        Report {
            command: command.into(),
            as_of: At::Time(as_of),
            version: env!("CARGO_PKG_VERSION").into(),
            caution: CAUTION.into(),
            unusable,
            body,
        }
    }
}

impl From<&Problem> for Unusable {
    fn from(problem: &Problem) -> Self {
        Unusable { file: problem.place.file.clone(), line: problem.place.line, message: problem.message.clone() }
    }
}
