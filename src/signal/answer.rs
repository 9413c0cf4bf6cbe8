//! What answers a signal, and what is only a call about it. Answered is not ended. A signal of today is answered by
//! somebody who acts on it: a look by staff, a culture, an infection, a treatment, a contact with a clinician, or a contact
//! that ends with a visit or a hand-over. A household that was called and advised has only been called.

use super::rule::Answered;
use super::{Answer, Called, Episode, Watch};
use crate::day::Instant;
use crate::event::{Contact, Event, Fact, Outcome, Signal, Subject};
use crate::score;

/// Finds what answered an episode first, not after its end, whether the last of its news is answered, and who was called.
pub(super) fn find(watch: &Watch, episode: &mut Episode) {
    let put_right = episode.answer.take();
    episode.answer = put_right.into_iter().chain(first(watch, episode)).min_by_key(|answer| answer.at);
    let ended = episode.ended;
    let is_by_its_end = |at: Instant| ended.is_none_or(|ended| at <= ended);
    episode.answer = episode.answer.take().filter(|answer| is_by_its_end(answer.at));
    episode.called = called(watch, episode);
    episode.is_news_answered = match episode.signal.answered() {
        Answered::Remedy => ended.is_some(),
        _ => episode.news.iter().max().is_some_and(|last| after(watch, episode, *last).is_some()),
    };
    // That the answer did not make it go away is news once, and asks for no other answer; every further look that shows the
    // same is none.
    let answered = episode.answer.as_ref().map(|answer| answer.at);
    let again = answered.and_then(|answered| episode.again.iter().find(|at| **at > answered));
    episode.news.extend(again);
}

/// What answered an episode first.
pub(super) fn first(watch: &Watch, episode: &Episode) -> Option<Answer> {
    after(watch, episode, episode.since)
}

/// What answered first what was known of an episode from a moment on.
fn after(watch: &Watch, episode: &Episode, since: Instant) -> Option<Answer> {
    let answer = later(watch, episode.signal, since).find(|event| answers(watch, episode, event))?;
    Some(Answer { at: answer.when.instant, file: answer.file().to_owned() })
}

/// The events after a moment. What may have come before it, since only its day is known, counts where it names the signal.
fn later<'a>(watch: &Watch<'a>, signal: Signal, since: Instant) -> impl Iterator<Item = &'a Event> {
    let (events, calendar) = (watch.timeline.events().iter(), watch.calendar());
    events.filter(move |event| {
        let names_it =
            || matches!(&event.fact, Fact::Contact(contact) if contact.about.contains(&Subject::Signal(signal)));
        event.when.instant > since && (event.earliest(calendar) >= since || names_it())
    })
}

/// The last contact about an episode, not after its end, that is no answer. The staff are not called: they are handed it.
fn called(watch: &Watch, episode: &Episode) -> Option<Called> {
    let call = |event: &Event| match &event.fact {
        Fact::Contact(contact)
            if is_about(contact, episode.signal) && !contact_answers(watch, episode.signal, contact) =>
        {
            let is_staff = watch.people.is_some_and(|people| people.get(&contact.with).is_some());
            let called = Called { at: event.when.instant, with: contact.with.clone(), outcome: contact.outcome };
            (!is_staff).then_some(called)
        }
        _ => None,
    };
    let is_by_its_end = |called: &Called| episode.ended.is_none_or(|ended| called.at <= ended);
    later(watch, episode.signal, episode.since).filter_map(call).filter(is_by_its_end).last()
}

fn answers(watch: &Watch, episode: &Episode, event: &Event) -> bool {
    let signal = episode.signal;
    if let Fact::Contact(contact) = &event.fact {
        return contact_answers(watch, signal, contact);
    }
    // No look, culture or treatment teaches anybody, brings a result or brings a patient home.
    if !matches!(signal.answered(), Answered::Act | Answered::Contact) {
        return false;
    }
    match &event.fact {
        Fact::Culture(_) | Fact::Infection(_) | Fact::Treatment(_) => true,
        _ => is_staff_look(watch, episode.exit.as_deref(), event),
    }
}

/// Whether a contact is about a signal.
pub(super) fn is_about(contact: &Contact, signal: Signal) -> bool {
    contact.about.iter().any(|about| [Subject::Signal(signal), Subject::Signals].contains(about))
}

/// Whether a contact reached a clinician.
pub(super) fn reached_clinician(watch: &Watch, contact: &Contact) -> bool {
    let person = watch.people.and_then(|people| people.get(&contact.with));
    let is_clinician = person.is_some_and(|person| watch.signals.clinician_roles.contains(&person.role));
    is_clinician && contact.outcome != Outcome::NoAnswer
}

fn contact_answers(watch: &Watch, signal: Signal, contact: &Contact) -> bool {
    let is_handed_on = || matches!(contact.outcome, Outcome::ComingIn | Outcome::Escalated);
    let is_enough = match signal.answered() {
        Answered::Remedy => false,
        Answered::Clinician => reached_clinician(watch, contact),
        Answered::HearAgain => contact.expect_by.is_some() && contact.outcome != Outcome::NoAnswer,
        Answered::Act | Answered::HandOver => reached_clinician(watch, contact) || is_handed_on(),
        Answered::Contact => contact.outcome != Outcome::NoAnswer,
    };
    is_about(contact, signal) && is_enough
}

/// A look at the exit site by staff; of a signal of the whole patient, at any exit site.
pub(super) fn is_staff_look(watch: &Watch, exit: Option<&str>, event: &Event) -> bool {
    let has_item = event
        .site()
        .zip(watch.scoring)
        .is_some_and(|(site, scoring)| scoring.rubric.items.iter().any(|item| site.finding(item.field).is_some()));
    let is_of_exit = || {
        let patient = watch.patient();
        let exit = patient.exits.iter().find(|known| exit == Some(known.id.as_str()));
        exit.is_none_or(|exit| patient.concerns(event, exit))
    };
    score::is_staff_look(event, watch.people, watch.signals.image_counts) && has_item && is_of_exit()
}
