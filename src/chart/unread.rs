//! A patient's unreadable files, and the answers that they block.

use super::history::perhaps_later;
use crate::day::{AsOf, Calendar, Instant};
use crate::event::{Event, EventName, Kind};
use crate::patient::Patient;
use crate::problem::Problem;

/// The unreadable files among those opened for a patient.
#[derive(Debug)]
pub struct UnreadableFiles {
    /// Those without which the state cannot be determined.
    state: Vec<Problem>,
    /// The rest.
    others: Vec<Problem>,
    calendar: Calendar,
    as_of: Instant,
}

impl UnreadableFiles {
    pub(super) fn of(
        mut state: Vec<Problem>,
        mut others: Vec<Problem>,
        patient: &Patient,
        as_of: AsOf,
    ) -> UnreadableFiles {
        state.retain(|problem| problem.makes_unusable());
        others.retain(|problem| problem.makes_unusable());
        UnreadableFiles { state, others, calendar: patient.calendar.clone(), as_of: as_of.instant }
    }

    /// Those of a patient whose records were all opened for writing.
    pub(crate) fn of_all(problems: &[Problem], patient: &Patient, as_of: AsOf) -> UnreadableFiles {
        UnreadableFiles::of(Vec::new(), problems.to_vec(), patient, as_of)
    }

    /// Returns true if every file was readable.
    pub fn is_empty(&self) -> bool {
        self.state.is_empty() && self.others.is_empty()
    }

    /// The problems, those that block the state first.
    pub fn problems(&self) -> impl Iterator<Item = &Problem> {
        self.state.iter().chain(&self.others)
    }

    /// The first problem that blocks the state.
    pub fn state(&self) -> Option<&Problem> {
        self.state.first()
    }

    /// Returns true if an unreadable file may be a record of one of these kinds: its name gives the kind, or no kind at
    /// all.
    pub fn blocks(&self, kinds: &[Kind]) -> bool {
        self.problems().any(|problem| name(problem).is_none_or(|name| kinds.contains(&name.kind)))
    }

    /// Returns the unreadable files of some kinds that may be later than the event on which an answer is based, or,
    /// without one, may be that event; not those after the instant.
    pub(crate) fn later_than(&self, used: Option<&Event>, kinds: &[Kind]) -> Vec<String> {
        perhaps_later(self.problems(), kinds, used, &self.calendar, self.as_of)
    }

    /// Returns true if an unreadable file may be later than the event on which an answer is based, or, without one, may be
    /// that event: its name says so, or is no name of a record.
    pub(crate) fn may_follow(&self, used: Option<&Event>) -> bool {
        !self.later_than(used, Kind::ALL).is_empty() || self.problems().any(|problem| name(problem).is_none())
    }
}

fn name(problem: &Problem) -> Option<EventName> {
    problem.place.file.rsplit('/').next().and_then(EventName::read)
}
