//! Rows that a round skips: the patient was reached today and needs nothing now, or someone at another computer called
//! while the row was on the screen.

use super::Walk;
use crate::day::WallTime;
use crate::entry::Book;
use crate::event::{ContactOutcome as Ended, Event, Fact, Kind};
use crate::problem::Failure;
use crate::report::due::Row;
use crate::view;

impl Walk<'_> {
    /// The message about a call recorded at another computer while the patient was on the screen. `None` if there was
    /// none; an unanswered call does not count.
    pub(super) fn called_meanwhile(&self, shown: &Book) -> Result<Option<String>, Failure> {
        let now = self.terminal.now();
        let newer = Book::open(self.program, shown.owner.code(), Kind::Contact)?;
        let is_known = |event: &Event| shown.events.iter().any(|other| other.name == event.name);
        let is_call = |event: &&Event| match &event.fact {
            Fact::Contact(contact) => contact.outcome != Ended::NoAnswer && event.when.instant <= now,
            _ => false,
        };
        let call = newer.events.iter().rfind(|event| is_call(event) && !is_known(event));
        let rows = self.rows(shown.owner.code());
        Ok(call.map(|call| view::round::called_meanwhile(&newer, call, &rows, newer.calendar.today(now))))
    }

    /// The last call of today that lets a patient be skipped: someone was reached, nothing needs to be done now, and
    /// nothing is new since (no record, no deadline that has passed).
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
        let has_passed = |deadline: WallTime| call.when.instant < deadline.instant() && deadline.instant() <= now;
        let dues = rows.iter().filter_map(Row::site).map(|site| &site.due);
        let mut deadlines =
            dues.flat_map(|due| due.deadline.into_iter().chain(due.also.iter().map(|one| one.deadline)));
        let is_new = book.events.iter().any(is_newer) || deadlines.any(has_passed);
        (!is_new).then_some(call)
    }
}
