//! Episodes of signals in days: from when one was open, from when it could be known, and until when.

use chrono::NaiveDate;

use crate::day::Calendar;
use crate::event::Signal;
use crate::signal::Episode;

/// One episode of a signal, in days.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Rise {
    /// Signal name.
    pub signal: Signal,
    /// Day of its start.
    pub since: NaiveDate,
    /// The day from which it could be known.
    pub known: NaiveDate,
    /// Day of its end; `None` while open.
    pub ended: Option<NaiveDate>,
}

impl Rise {
    pub(super) fn of(episode: &Episode, calendar: &Calendar) -> Rise {
        Rise {
            signal: episode.signal,
            since: day(episode, calendar),
            known: calendar.today(episode.known_since.instant()),
            ended: episode.ended.map(|ended| calendar.today(ended.instant())),
        }
    }
}

/// The day on which an episode started.
pub(super) fn day(episode: &Episode, calendar: &Calendar) -> NaiveDate {
    calendar.today(episode.since.instant())
}
