//! The log of an import: its record, and logs on file with overlapping days.

use chrono::Timelike;

use super::{CellError, ImportFlags};
use crate::day::Period;
use crate::entry::{Book, Draft, Said};
use crate::event::{Event, Fact, Kind};
use crate::folder::NewRecord;
use crate::record::{Moment, Value};

/// The log of an import.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct LogPlan {
    /// Its days.
    pub days: Period,
    /// True if it is already on file.
    pub is_on_file: bool,
}

/// Returns true if an event is the log of these days.
pub(super) fn is_the_log(event: &Event, days: Period, is_complete: bool) -> bool {
    match &event.fact {
        Fact::Log(log) => (log.from, log.through, log.complete) == (days.from, days.to, is_complete),
        _ => false,
    }
}

/// Logs on file of other days that overlap these: the same log may have been imported twice.
pub(super) fn overlapping<'b>(book: &'b Book, days: Period) -> impl Iterator<Item = String> + 'b {
    book.events.iter().filter(|event| event.void.is_none()).filter_map(move |event| match &event.fact {
        Fact::Log(log) if log.from <= days.to && days.from <= log.through => Some(format!(
            "A log of {} to {} is already on file: {}. Void it if this log replaces it.",
            log.from,
            log.through,
            event.file()
        )),
        _ => None,
    })
}

/// The record that a log of these days was imported.
pub(super) fn log(book: &Book, days: Period, given: &ImportFlags) -> Result<(NewRecord, Event), CellError> {
    let clock = book.clock(given.now);
    let mut draft = Draft::new(Kind::Log);
    // To the minute, like its name, so that the second of two simultaneous imports finds the log of the first.
    let read_in = clock.moment();
    let wall = read_in.wall.with_second(0).unwrap_or(read_in.wall);
    draft.happened(Said::At(Moment { wall, ..read_in }));
    draft.entered(&given.writer, clock);
    draft.values.set("by", Value::Text(given.writer.clone()));
    draft.values.set("from", Value::Date(days.from));
    draft.values.set("through", Value::Date(days.to));
    draft.values.set("complete", Value::Flag(given.is_complete));
    let n = draft.name().map_or(1, |name| book.free_number(name));
    let mut problems = Vec::new();
    let event = draft.event(&book.owner, n, &book.calendar, &mut problems).ok_or_else(|| {
        let why = problems.first().map(|problem| format!("{}; {}", problem.message, problem.help));
        CellError::of_file(format!("--log: {}", why.unwrap_or_default()))
    })?;
    let record = NewRecord { owner: book.owner.folder(), name: event.name, text: event.record.text.clone() };
    Ok((record, event))
}
