//! Import of a log or a spreadsheet as records: atomic and idempotent.
//!
//! ```text
//! patient,date,time,kind,by,found.dressing,site.drainage,note,same
//! P-014,2026-11-03,18:40,change,p014-spouse,intact,none,,
//! ```
//!
//! Bytes become cells ([`Cells`]), columns become fields by the records' own names or by a map ([`Map`]), rows become
//! entries, entries are compared with the records on file, and the result is a [`Plan`]: faults, questions, files to
//! write. Only a plan without faults and open questions is carried out.
//!
//! Left out on purpose: guessing. An ambiguous row is decided in a column of the file itself, `same`, so that the
//! decision is kept with the log and a second run gives the same result.

mod cells;
mod columns;
mod facts;
mod filled;
mod form;
mod likeness;
mod log;
mod map;
mod meant;
mod plan;
mod quiet;
mod rows;
mod sameness;
mod split;
mod target;
mod who;
mod writing;

use std::collections::BTreeMap;

pub use crate::folder::WriteOutcome;
pub use cells::{Cells, SheetRow};
pub use form::{Forms, TimeForm};
pub use log::LogPlan;
pub use map::Map;
pub use plan::{Addition, OwnerPlan, Plan, Remark, Sides};
pub use sameness::PossibleDuplicate;
pub use writing::{WrittenFiles, carry_out};

use crate::day::{Instant, Period};
use crate::event::{Kind, Source};
use crate::privacy;
use crate::problem::{Problem, Rule};
use crate::text::{cut, in_sentences, visible};

/// The flags of an import.
#[derive(Debug, Clone)]
pub struct ImportFlags {
    /// The file's name, without its folder.
    pub file: String,
    /// The patient of rows without one; no row may name another.
    pub patient: Option<String>,
    /// The kind of rows without one.
    pub kind: Option<Kind>,
    /// The author's code, for rows without one.
    pub by: Option<String>,
    /// The source of rows without one.
    pub source: Source,
    /// The code of the writer.
    pub writer: String,
    /// The time of writing.
    pub now: Instant,
    /// The days that the log covers, if the file is imported as a log.
    pub log: Option<Period>,
    /// True if the log has everything that happened on these days.
    pub is_complete: bool,
}

/// A fault that prevents the import of the file.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct CellError {
    /// The first line of the row; `None` if the fault concerns the file.
    pub line: Option<usize>,
    /// The column's header, if the fault concerns a column.
    pub column: Option<String>,
    /// The text of the cell, made visible and truncated; `None` if it is not shown.
    pub value: Option<String>,
    /// The fault, with a valid value.
    pub message: String,
}

/// The maximum number of characters of a value shown in a message.
const SHOWN: usize = 60;

impl CellError {
    fn of_line(line: usize, message: impl Into<String>) -> CellError {
        CellError { line: Some(line), column: None, value: None, message: message.into() }
    }

    fn of_file(message: impl Into<String>) -> CellError {
        CellError { line: None, column: None, value: None, message: message.into() }
    }

    /// A fault in a cell. Text that looks private is not repeated, because messages go into logs.
    fn of_cell(line: usize, column: &str, value: &str, message: &str) -> CellError {
        let whole = visible(value);
        // A mistyped date can look like a person's number; a date or time is not private.
        let is_of_a_day = value.chars().all(|c| c.is_ascii_digit() || matches!(c, '-' | '/' | '.' | ':' | ' ' | 'T'))
            && value.chars().filter(char::is_ascii_digit).count() <= 8;
        let is_private = privacy::find(value).is_some() && !is_of_a_day;
        let shown = if is_private { "…".to_owned() } else { cut(&whole, SHOWN) };
        let message = if whole.is_empty() { message.to_owned() } else { message.replace(&whole, &shown) };
        let is_said = is_private || whole.is_empty() || message.contains(&format!("\"{shown}\""));
        CellError {
            line: Some(line),
            column: Some(cut(&visible(column), SHOWN)),
            value: (!is_said).then_some(shown),
            message,
        }
    }

    /// A problem of a record, at the cell of its key.
    fn of_problem(problem: &Problem, line: usize, cells: &BTreeMap<String, (String, String)>) -> CellError {
        let message = in_sentences(&[&problem.message, &problem.help]);
        let cell = problem.key.as_ref().and_then(|key| cells.get(key));
        match cell.filter(|_| problem.rule != Rule::MissingKey) {
            Some((column, value)) => CellError::of_cell(line, column, value, &message),
            None => CellError::of_line(line, message),
        }
    }
}
