//! A household that reports by log: the last day its records are complete, and the day its next log is expected.

use chrono::{Days, NaiveDate};

use super::{Because, Requirement, Schedule};
use crate::day::{Instant, before};
use crate::timeline::Timeline;

/// The reporting status of a household.
#[derive(Debug, Clone, Copy)]
pub(super) struct LogHousehold {
    /// The last covered day before today.
    pub heard_through: Option<NaiveDate>,
    /// The day on which the next log is expected.
    pub expected: NaiveDate,
    end_of_expected: Instant,
}

/// The status of a regular requirement.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum RequirementStatus {
    /// It counts as it is.
    InTime,
    /// Logs show that it was missed.
    Missed,
    /// The log that covers it is not on file yet.
    NotYet,
}

impl LogHousehold {
    pub(super) fn of(schedule: &Schedule, timeline: &Timeline) -> LogHousehold {
        let expected = timeline.log_expected(schedule.start(), schedule.plan);
        let end_of_expected = schedule.patient.calendar.end(expected);
        LogHousehold { heard_through: timeline.last_covered_day(), expected, end_of_expected }
    }

    /// Returns the status of a regular requirement. If today is not covered, it was missed if its due day and all days
    /// until the next due day are past and covered; otherwise it is unknown. A return counts as it is for its first
    /// `judged_days`.
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

    /// Returns the requirement to use while the status is unknown: it waits for the log, and after that the log is
    /// overdue.
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
