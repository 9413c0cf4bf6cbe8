//! The place of a row on the list: nine groups, worst first; and what the census says of those of whom nothing is due.

use chrono::{Datelike, NaiveDate};

use crate::patient::Patient;
use crate::schedule::{Due, State};

/// A group of the list, worst first. The list shows those up to `ThisWeek` by default.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Group {
    /// A record cannot be read.
    Unusable,
    /// A signal of today is open.
    SignalOfToday,
    /// A shower or damage is unanswered, overdue or not, whatever else is due.
    Reported,
    /// Anything else is overdue.
    Overdue,
    /// Due today.
    Due,
    /// Due later, with a broken promise or a signal of this week that nobody has acted on.
    ThisWeek,
    /// Due later.
    Upcoming,
    /// A log is awaited.
    AwaitingLog,
    /// Nothing is due.
    Nothing,
}

impl Group {
    /// The group by what is due, without the signals.
    pub(super) fn of(due: &Due) -> Group {
        let group = match due.state {
            State::Unusable => Group::Unusable,
            _ if due.reported_deadline().is_some() => Group::Reported,
            State::Overdue => Group::Overdue,
            State::Due => Group::Due,
            State::Upcoming => Group::Upcoming,
            State::AwaitingLog => Group::AwaitingLog,
            State::None => Group::Nothing,
        };
        match due.promise {
            Some(promise) if promise.broken => group.with_a_matter_of_this_week(),
            _ => group,
        }
    }

    /// The group of the same row with something that should be looked at this week.
    pub(super) fn with_a_matter_of_this_week(self) -> Group {
        if matches!(self, Group::Upcoming | Group::AwaitingLog) { Group::ThisWeek } else { self }
    }
}

/// What the census says of a patient of whom nothing is due.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub(super) enum Standing {
    #[default]
    Followed,
    ElsewhereFor(i64),
    EndedThisMonth,
    EndedBefore,
}

impl Standing {
    pub(super) fn of(patient: &Patient, today: NaiveDate) -> Standing {
        match (&patient.ended, patient.days_elsewhere(today)) {
            (Some(ended), _)
                if ended.on <= today && (ended.on.year(), ended.on.month()) == (today.year(), today.month()) =>
            {
                Standing::EndedThisMonth
            }
            (Some(ended), _) if ended.on <= today => Standing::EndedBefore,
            (_, Some(days)) => Standing::ElsewhereFor(days),
            _ => Standing::Followed,
        }
    }
}
