//! The staff who may determine an infection or order a treatment or an interval.

use chrono::NaiveDate;

use crate::check::may_determine;
use crate::day::Instant;
use crate::entry::Book;
use crate::event::Kind;
use crate::people::Person;
use crate::program::Program;
use crate::text::{either, visible};
use crate::word::Word;

/// The current staff.
pub(super) fn staff<'b>(book: &'b Book, now: Instant) -> impl Iterator<Item = &'b Person> {
    active(book.program, book.calendar.today(now))
}

fn active(program: &Program, day: NaiveDate) -> impl Iterator<Item = &Person> {
    program.people.iter().flat_map(|people| &people.people).filter(move |person| person.is_active(day))
}

/// The act that only a clinician may record; `None` if any staff member may.
pub(super) fn reserved(kind: Kind) -> Option<&'static str> {
    match kind {
        Kind::Infection => Some("determine an infection"),
        Kind::Treatment => Some("order a treatment"),
        _ => None,
    }
}

/// The refusal of a code that may not do a clinician's act, with the codes that may; `None` without a staff list.
pub(in crate::command) fn not_a_clinician(program: &Program, code: &str, act: &str, day: NaiveDate) -> Option<String> {
    let people = program.people.as_ref().filter(|people| people.source.is_some())?;
    if people.get(code).is_some_and(|person| may_determine(program, person.role)) {
        return None;
    }
    let clinicians = active(program, day).filter(|person| may_determine(program, person.role));
    let named: Vec<String> = clinicians.map(|person| format!("{} ({})", person.code, person.role.word())).collect();
    let named: Vec<&str> = named.iter().map(String::as_str).collect();
    let instead = match named.as_slice() {
        [] => "The staff list has no clinician: add one with `exitsite staff add`".to_owned(),
        named => format!("Use {}", either(named)),
    };
    Some(format!("{} may not {act}. {instead}", visible(code)))
}
