//! Doubts about a promise for a distant day, and about findings that only the note of a record mentions.

use chrono::Duration;

use crate::day::{Instant, WallTime};
use crate::entry::Book;
use crate::event::{Contact, ContactOutcome, Event, Fact, NotedFinding, NotedSign, noted, only_in_note};
use crate::schedule::{Because, Due, Schedule, State};
use crate::timeline::Timeline;
use crate::view::doubt::{Doubt, doubt};

/// The number of days ahead beyond which a promise is doubted. Common practice, no source.
const FAR_OFF_DAYS: i64 = 3;

/// The number of hours after a deadline beyond which a promise is doubted. Common practice, no source.
const LATE_HOURS: i64 = 24;

/// Returns true if a note mentions a temperature or a fever without denying it.
pub(in crate::command) fn notes_temperature(note: &str) -> bool {
    noted(note).iter().any(|(_, said)| said.finding() == NotedFinding::Temperature)
}

/// The doubts about a record that is a call; none for other records. In a round, `is_clock_asked`, the question about the time of
/// a promise has already asked about the clock of a shower or damage.
pub(in crate::command) fn of_call(event: &Event, book: &Book, now: Instant, is_clock_asked: bool) -> Vec<String> {
    let Fact::Contact(contact) = &event.fact else { return Vec::new() };
    let date = book.calendar.date(now);
    let is_far = |until| until - event.when.instant > Duration::days(FAR_OFF_DAYS);
    let far_off = contact.expect_by.filter(|_| contact.expect_by_instant.is_some_and(is_far));
    let far_off = far_off.map(|until| Doubt::FarOff { until: until.wall, days: FAR_OFF_DAYS });
    let late = far_off.is_none().then(|| late_promise(event, contact, (book, now), is_clock_asked)).flatten();
    far_off.into_iter().chain(late).map(|one| doubt(&one, date)).collect()
}

/// The doubts about findings that the note of a patient's record mentions, and that neither it nor a record written with it
/// says: one for each record that would hold them.
pub(in crate::command) fn of_note(event: &Event, book: &Book, written: &[&Event]) -> Vec<String> {
    if book.patient.is_none() {
        return Vec::new();
    }
    let is_said = |said: NotedSign| written.iter().any(|other| said.is_answered_by(other));
    let noted = only_in_note(event).into_iter().filter(|(_, said)| !is_said(*said));
    let mut doubts: Vec<Doubt> = Vec::new();
    for one in noted {
        let of_this = one.1.finding();
        let known = doubts.iter_mut().find_map(|doubt| match doubt {
            Doubt::FindingInNote { words, finding, .. } if *finding == of_this => Some(words),
            _ => None,
        });
        match known {
            Some(words) => words.push(one),
            None => {
                doubts.push(Doubt::FindingInNote { words: vec![one], finding: of_this, of: event.name.kind });
            }
        }
    }
    let date = book.calendar.date(event.when.instant);
    doubts.iter().map(|one| doubt(one, date)).collect()
}

/// The doubt about a promise for more than a day after the deadline of a change, or after the call where that had passed.
fn late_promise<'d>(
    event: &Event,
    contact: &Contact,
    (book, now): (&Book, Instant),
    is_clock_asked: bool,
) -> Option<Doubt<'d>> {
    let (plan, patient) = (book.program.plan()?, book.patient.as_ref()?);
    let until = contact.expect_by_instant?;
    let is_promise = matches!(contact.outcome, ContactOutcome::WillChange | ContactOutcome::ComingIn);
    let timeline = Timeline::of(patient, book.events.clone(), now);
    let due = |exit| Due::of(&Schedule { plan, patient, exit }, &timeline);
    let exits = patient.exits_followed(timeline.today).into_iter();
    let dues = exits.map(due).filter(|due| due.because != Some(Because::LogLate) && due.state != State::AwaitingLog);
    let dues: Vec<Due> = dues.collect();
    if is_clock_asked && dues.iter().any(|due| due.reported_deadline().is_some()) {
        return None;
    }
    let deadlines = dues.iter().flat_map(|due| due.deadline.into_iter().chain(due.also.iter().map(|one| one.deadline)));
    let deadline: WallTime = deadlines.min().filter(|_| is_promise)?;
    let limit = deadline.instant().max(event.when.instant) + Duration::hours(LATE_HOURS);
    (until > limit).then(|| Doubt::LatePromise {
        deadline: deadline.into(),
        is_past: deadline.instant() <= now,
        hours: (until - deadline.instant()).num_hours(),
    })
}
