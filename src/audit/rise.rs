//! Rises of signals by their days: from when one was up, from when it could be known, and until when.

use chrono::NaiveDate;

use crate::day::Calendar;
use crate::event::Signal;
use crate::signal::Episode;

/// One rise of a signal, in days.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Rise {
    /// Its name.
    pub signal: Signal,
    /// The day of its rise.
    pub since: NaiveDate,
    /// The day from which it could be known.
    pub known: NaiveDate,
    /// The day of its end; `None` while it is open.
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

/// The day of a rise.
pub(super) fn day(episode: &Episode, calendar: &Calendar) -> NaiveDate {
    calendar.today(episode.since.instant())
}
