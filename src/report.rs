//! Answers as values: what a command found, before anyone knows how it is shown.
//!
//! The JSON of a report is a promise to scripts: keys are added, never changed, within a major version; what is not
//! known is null, never 0 and never left out.

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

/// A report as a script gets it.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Report<T> {
    /// The command that made it.
    pub command: String,
    /// The moment asked about, RFC 3339.
    pub as_of: At,
    /// The version of exitsite.
    pub version: String,
    /// The limits of a figure or a grade.
    pub caution: String,
    /// The files that were met and could not be used.
    pub unusable: Vec<Unusable>,
    /// The answer.
    #[serde(flatten)]
    pub body: T,
}

/// A file that could not be used.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Unusable {
    /// The path relative to the records folder.
    pub file: String,
    /// The line, where it is known.
    pub line: Option<usize>,
    /// The fault, in one sentence.
    pub message: String,
}

impl<T> Report<T> {
    /// A report of a command, as of a moment in the policy's zone.
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
