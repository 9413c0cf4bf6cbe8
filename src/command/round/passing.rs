//! The rows that are passed over: someone was reached today, and nothing is left that has to be done now.

use std::collections::BTreeSet;

use chrono::DateTime;

use super::Walk;
use crate::day::Instant;
use crate::entry::Book;
use crate::event::{Event, Fact, Outcome as Ended};
use crate::report::due::Row;

impl Walk<'_> {
    /// The last call of today that lets a patient be passed over: someone was reached, nothing has to be done now, and
    /// nothing is new since: no record, no deadline that has passed.
    pub(super) fn called_today<'b>(&self, book: &'b Book, rows: &[Row]) -> Option<&'b Event> {
        let now = self.terminal.now();
        let today = book.calendar.today(now);
        let outcome = |event: &Event| match &event.fact {
            Fact::Contact(contact) => Some(contact.outcome),
            _ => None,
        };
        let is_call = |event: &&Event| event.void.is_none() && event.when.care_day == today && outcome(event).is_some();
        let call = book.events.iter().rfind(is_call).filter(|call| call.when.instant <= now)?;
        if outcome(call) == Some(Ended::NoAnswer) || rows.iter().any(Row::is_to_call) {
            return None;
        }
        let known = call.known_at(&book.calendar);
        let is_newer = |event: &Event| event.void.is_none() && event.known_at(&book.calendar) > known;
        let has_passed = |deadline: &String| {
            let deadline = DateTime::parse_from_rfc3339(deadline).ok().map(|at| at.to_utc());
            deadline.is_some_and(|deadline: Instant| call.when.instant < deadline && deadline <= now)
        };
        let deadlines = |row: &Row| {
            let also = row.also.iter().flatten().map(|one| one.deadline.clone());
            row.deadline.clone().into_iter().chain(also).collect::<BTreeSet<String>>()
        };
        let is_new = book.events.iter().any(is_newer) || rows.iter().any(|row| deadlines(row).iter().any(has_passed));
        (!is_new).then_some(call)
    }
}
