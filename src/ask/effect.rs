//! Effects of a new record: the patient's current state, and the score of the recorded site.
//! The state is computed from the records on disk, exactly as for the due list, so the answer after a record matches the next
//! morning's list.

use super::{due, teaching};
use crate::day::{AsOf, Instant};
use crate::entry::Book;
use crate::event::{Event, Fact};
use crate::program::Program;
use crate::report::due::Row;
use crate::report::grade::graded;
use crate::report::teaching::Learner;
use crate::schedule::State;
use crate::score::ScoredSite;
use crate::teaching::CurriculumProgress;
use crate::timeline::Timeline;

/// Returns the current due-list rows of a patient, one per exit site.
pub fn standing(program: &Program, code: &str, now: Instant) -> Vec<Row> {
    due(program, &[code], AsOf { instant: now, is_given: false }, false).0.rows
}

/// Scores an event's site record against the earlier ones; `None` if the event has no site record or the policy no rubric.
pub fn score(book: &Book, event: &Event) -> Option<ScoredSite> {
    let scoring = book.program.policy.as_ref()?.scoring.as_ref()?;
    let patient = book.patient.as_ref()?;
    let others = book.events.iter().filter(|other| other.name != event.name).cloned();
    let events: Vec<Event> = others.chain([event.clone()]).collect();
    let timeline = Timeline::of(patient, events, event.when.instant);
    let exit = patient.exits.iter().find(|exit| patient.concerns(event, exit))?;
    let graded = graded(book.program.rules(), scoring, &timeline, exit);
    graded
        .iter()
        .find(|graded| graded.event.name == event.name)
        .map(|graded| graded.assessment(scoring, &patient.calendar))
}

/// Returns the learner of a checkoff and the learner's standing in its curriculum; `None` if either is not known, or the
/// curriculum is not taught to the learner.
pub fn taught(book: &Book, event: &Event, now: Instant) -> Option<(Learner, CurriculumProgress)> {
    let Fact::Teaching(checkoff) = &event.fact else { return None };
    let named = [book.owner.code().to_owned()];
    let (report, _) = teaching(book.program, &named, AsOf { instant: now, is_given: false }).ok()?;
    let learner = report.people.into_iter().find(|learner| learner.person == checkoff.learner)?;
    let standings = learner.standings.iter().flatten();
    let standing = standings.into_iter().find(|standing| standing.curriculum == checkoff.curriculum)?.clone();
    Some((learner, standing))
}

/// Returns true if a code that differs only by two transposed characters belongs to a patient with something due while
/// nothing is due for this one: the most common typing error.
pub(crate) fn is_perhaps_swapped(program: &Program, code: &str, own: &[Row], now: Instant) -> bool {
    let is_due = |row: &Row| matches!(row.state(), State::Overdue | State::Due);
    if own.iter().any(|row| is_due(row) || row.state() == State::Unusable) {
        return false;
    }
    let mut twins = program.patients.codes.iter().filter(|other| is_swapped(code, other));
    twins.any(|twin| standing(program, twin, now).iter().any(is_due))
}

/// Returns true if two codes differ only by two transposed characters.
fn is_swapped(one: &str, other: &str) -> bool {
    let differing: Vec<(u8, u8)> = one.bytes().zip(other.bytes()).filter(|(a, b)| a != b).collect();
    one.len() == other.len() && matches!(differing.as_slice(), [(a, b), (c, d)] if a == d && b == c)
}

#[cfg(test)]
mod tests {
    use super::is_swapped;

    #[test]
    fn two_characters_changed_places() {
        for (one, other, swapped) in [
            ("P-014", "P-041", true),
            ("P-014", "P-104", true),
            ("P-014", "P-410", true),
            ("P-014", "P-014", false),
            ("P-014", "P-015", false),
            ("P-014", "P-0141", false),
            ("P-012", "P-120", false),
        ] {
            assert_eq!(is_swapped(one, other), swapped, "{one} {other}");
        }
    }
}
