//! The run of a reading command: a question about a program, and its answer as JSON or in words.

use serde::Serialize;

use super::{Context, Outcome, ReadingFlags};
use crate::ask::Answer;
use crate::day::AsOf;
use crate::problem::Failure;
use crate::program::Program;
use crate::report::Report;
use crate::view;

/// A reading command's question: the opened program and the moment.
pub(super) struct Query<'a> {
    pub(super) program: Program,
    pub(super) as_of: AsOf,
    asking: &'a ReadingFlags,
}

impl Query<'_> {
    /// The named patients, or all.
    pub(super) fn codes<'a>(&'a self, named: &'a [String]) -> Result<Vec<&'a str>, Failure> {
        self.program.codes(named)
    }

    /// The care day of the moment, in the policy's zone.
    pub(super) fn today(&self) -> chrono::NaiveDate {
        self.program.calendar().today(self.as_of.instant)
    }

    pub(super) fn report<T>(&self, command: &str, (body, unusable): Answer<T>) -> Report<T> {
        Report::of(command, self.as_of, &self.program.calendar(), unusable, body)
    }

    /// The answer as JSON, or in words.
    pub(super) fn answer<T: Serialize>(
        &self,
        command: &str,
        answer: Answer<T>,
        words: impl FnOnce(&Report<T>) -> String,
    ) -> Outcome {
        let report = self.report(command, answer);
        let text = if self.asking.json { view::json(&report) } else { words(&report) };
        Outcome::report(text, &report.unusable)
    }
}

impl Context<'_> {
    /// Opens the records for a reading command, and reads the moment asked about.
    pub(super) fn query<'a>(&self, asking: &'a ReadingFlags) -> Result<Query<'a>, Failure> {
        let program = self.program(asking)?;
        let as_of = self.as_of(&program, asking)?;
        Ok(Query { program, as_of, asking })
    }
}
