//! The groups of the due list: nine, worst first.

use super::open_signal::OpenSignal;
use crate::schedule::{Due, State};
use crate::signal::Urgency;

/// A group of the list, worst first. By default the list shows groups up to `ThisWeek`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Group {
    /// A record cannot be read.
    Unusable,
    /// A signal of today is open.
    SignalOfToday,
    /// A shower or damage has no change yet, overdue or not, regardless of anything else due.
    Reported,
    /// Anything else is overdue.
    Overdue,
    /// Due today.
    Due,
    /// Due later, with a broken promise or a signal of this week not acted on.
    ThisWeek,
    /// Due later.
    Upcoming,
    /// A log is awaited.
    AwaitingLog,
    /// No change is due.
    Nothing,
}

impl Group {
    /// Returns the group of a row, from its due state and its open signals; `None` if they are not known.
    pub(super) fn of(due: &Due, signals: Option<&[OpenSignal]>) -> Group {
        let signals = || signals.into_iter().flatten();
        if signals().any(|signal| signal.urgency == Urgency::Today) {
            return Group::SignalOfToday;
        }
        let waits = due.has_broken_promise()
            || signals().any(|signal| signal.urgency == Urgency::ThisWeek && !signal.is_acted_on());
        match due.state {
            State::Unusable => Group::Unusable,
            _ if due.reported_deadline().is_some() => Group::Reported,
            State::Overdue => Group::Overdue,
            State::Due => Group::Due,
            State::Upcoming | State::AwaitingLog if waits => Group::ThisWeek,
            State::Upcoming => Group::Upcoming,
            State::AwaitingLog => Group::AwaitingLog,
            State::None => Group::Nothing,
        }
    }
}
