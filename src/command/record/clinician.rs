//! The staff who may determine an infection.

use crate::check::may_determine;
use crate::day::Instant;
use crate::entry::Book;
use crate::people::Person;
use crate::text::{either, visible};
use crate::word::Word;

/// The staff of today.
pub(super) fn staff<'b>(book: &'b Book, now: Instant) -> impl Iterator<Item = &'b Person> {
    let today = book.calendar.today(now);
    book.program.people.iter().flat_map(|people| &people.people).filter(move |person| person.is_active(today))
}

/// The refusal of a code that may not determine an infection, with those that may; `None` without a staff list.
pub(super) fn not_a_clinician(book: &Book, code: &str, now: Instant) -> Option<String> {
    let people = book.program.people.as_ref().filter(|people| people.source.is_some())?;
    if people.get(code).is_some_and(|person| may_determine(book.program, person.role)) {
        return None;
    }
    let clinicians = staff(book, now).filter(|person| may_determine(book.program, person.role));
    let named: Vec<String> = clinicians.map(|person| format!("{} ({})", person.code, person.role.word())).collect();
    let named: Vec<&str> = named.iter().map(String::as_str).collect();
    let instead = match named.as_slice() {
        [] => "No clinician is on the staff list: add one with `exitsite staff add`".to_owned(),
        named => format!("Use {}", either(named)),
    };
    Some(format!("{} may not determine an infection. {instead}", visible(code)))
}
