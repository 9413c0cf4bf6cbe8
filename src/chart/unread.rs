//! The files of a patient that cannot be used, and the answers that they block.

use super::history::perhaps_later;
use crate::day::{AsOf, Calendar, Instant};
use crate::event::{Event, EventName, Kind};
use crate::patient::Patient;
use crate::problem::Problem;

/// The files of a patient that were opened and cannot be used.
#[derive(Debug)]
pub struct UnreadableFiles {
    /// Those without which the state cannot be judged.
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

    /// Returns true if every file could be used.
    pub fn is_empty(&self) -> bool {
        self.state.is_empty() && self.others.is_empty()
    }

    /// Each problem, those that block the state first.
    pub fn problems(&self) -> impl Iterator<Item = &Problem> {
        self.state.iter().chain(&self.others)
    }

    /// The first problem without which the state could be judged.
    pub fn state(&self) -> Option<&Problem> {
        self.state.first()
    }

    /// Returns true if a file may be a record of one of these kinds: it is named so, or named as no record at all.
    pub fn blocks(&self, kinds: &[Kind]) -> bool {
        self.problems().any(|problem| name(problem).is_none_or(|name| kinds.contains(&name.kind)))
    }

    /// The files of some kinds that may be later than the event from which an answer was taken, or, where there is none,
    /// may be the one from which it should have been taken; not those of after the moment.
    pub fn later_than(&self, used: Option<&Event>, kinds: &[Kind]) -> Vec<String> {
        perhaps_later(self.problems(), kinds, used, &self.calendar, self.as_of)
    }
}

fn name(problem: &Problem) -> Option<EventName> {
    problem.place.file.rsplit('/').next().and_then(EventName::read)
}
