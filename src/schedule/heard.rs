//! A household that reports by log: until when its records are complete, and when its next log is expected.

use chrono::{Days, NaiveDate};

use super::due::Because;
use super::{Requirement, Schedule};
use crate::day::{Instant, before};
use crate::timeline::Timeline;

/// The records of a household as far as they were told.
#[derive(Debug, Clone, Copy)]
pub(super) struct LogHousehold {
    /// The last covered day before today.
    pub heard_through: Option<NaiveDate>,
    /// The day on which the next log is expected.
    pub expected: NaiveDate,
    end_of_expected: Instant,
}

/// The knowledge of a regular requirement.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum RequirementStatus {
    /// It can be judged as it is.
    InTime,
    /// Logs tell that it was missed.
    Missed,
    /// The log that tells of it is not there yet.
    NotYet,
}

impl LogHousehold {
    pub(super) fn of(schedule: &Schedule, timeline: &Timeline) -> LogHousehold {
        let expected = timeline.log_expected(schedule.start(), schedule.plan);
        let end_of_expected = schedule.patient.calendar.end(expected);
        LogHousehold { heard_through: timeline.last_covered_day(), expected, end_of_expected }
    }

    /// The known state of a regular requirement. One that is due on a day of a household that is not covered today was
    /// missed if that day and all until the next would be due are over and covered; else it is not known yet. A return is
    /// judged in its first `judged_days`.
    pub(super) fn knows_of(
        &self,
        schedule: &Schedule,
        timeline: &Timeline,
        regular: &Requirement,
    ) -> RequirementStatus {
        let (today, due_on) = (timeline.today, regular.due_on);
        if due_on > today || timeline.is_told_between(today, today) {
            return RequirementStatus::InTime;
        }
        let last = schedule.next_due(due_on, today).map_or(due_on, before);
        if last < today && timeline.is_told_between(due_on, last) {
            return RequirementStatus::Missed;
        }
        let judged_days = u64::try_from(schedule.plan.returns.judged_days).unwrap_or_default();
        let judged_until = due_on.checked_add_days(Days::new(judged_days)).unwrap_or(due_on);
        match regular.because {
            Because::Return if today < judged_until => RequirementStatus::InTime,
            _ => RequirementStatus::NotYet,
        }
    }

    /// The requirement in place of one that is not known yet: it waits for the log, and after that the log is late.
    pub(super) fn awaited(&self, timeline: &Timeline, regular: Requirement) -> Requirement {
        let deadline = |day| timeline.patient.calendar.local(self.end_of_expected, day);
        match timeline.as_of < self.end_of_expected {
            true => Requirement { deadline: deadline(regular.due_on), ..regular },
            false => Requirement {
                due_on: self.expected,
                deadline: deadline(self.expected),
                because: Because::LogLate,
                ..regular
            },
        }
    }
}
