//! The questions about a change reported in a call: the site, the dressing and the anchor, as `record` asks them.

use std::cell::RefCell;

use super::asking::Asking;
use super::interview::{InterviewStep, Last, Talk, steps};
use crate::command::question::{Leave, Questions};
use crate::entry::{Book, Clock, Draft};
use crate::event::Kind;
use crate::report::due::Row;

/// The questions about one reported change.
pub(in crate::command) struct ReportedChange<'a> {
    asking: Asking<'a>,
    steps: Vec<InterviewStep>,
}

impl<'a> ReportedChange<'a> {
    /// Creates the questions for a change at one exit site.
    pub(in crate::command) fn of(
        questions: Questions<'a>,
        book: &'a Book<'a>,
        clock: Clock<'a>,
        rows: &'a [Row],
        writer: &'a str,
    ) -> ReportedChange<'a> {
        let (typed, agreed) = (Vec::new(), RefCell::default());
        let asking =
            Asking { questions, book, clock, writer: Some(writer), rows, typed, agreed, replaced: RefCell::default() };
        ReportedChange { asking, steps: Self::steps() }
    }

    /// The number of questions, some of which may not be needed.
    pub(in crate::command) fn count() -> usize {
        Self::steps().len()
    }

    /// The questions of a change from the site to the anchor.
    fn steps() -> Vec<InterviewStep> {
        let is_before = |step: &InterviewStep| !matches!(step, InterviewStep::Site);
        let is_asked = |step: &InterviewStep| !matches!(step, InterviewStep::Last);
        steps(Kind::Change).into_iter().skip_while(is_before).take_while(is_asked).collect()
    }

    /// Starts with the change as far as it is known.
    pub(in crate::command) fn begun(change: Draft) -> Talk {
        Talk::of(change, true, true)
    }

    /// Asks one question; returns false if it was not needed.
    pub(in crate::command) fn ask(&self, at: usize, talk: &mut Talk) -> Result<bool, Leave> {
        match self.steps.get(at) {
            Some(step) => self.asking.step(step, talk, &|_: &mut Talk| Ok(Last::Nothing)),
            None => Ok(false),
        }
    }
}
