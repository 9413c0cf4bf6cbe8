//! Actions on a signal, and calls about it. Acted on does not mean ended. These act on a signal of today: a look by
//! staff, a culture, an infection, a treatment, a contact with a clinician, or a contact that ends with a visit or a
//! hand-off. Calling the household and giving advice does not.

use chrono::{Duration, NaiveDate};

use super::rule::Answered;
use super::{Acted, Called, EndedTreatment, Episode, SignalInputs};
use crate::day::{Instant, WallTime};
use crate::event::{ActedBy, Contact, ContactOutcome, Event, Fact, Kind, Signal, Subject};
use crate::schedule::{Schedule, default_until};
use crate::score;

/// Finds the first action on an episode, not after its end; whether its latest news was acted on; and the last call.
pub(super) fn find(watch: &SignalInputs, episode: &mut Episode) {
    let first = first(watch, episode).map(|event| (watch.calendar().wall(event.when.instant), event));
    if let Some((at, event)) = first.filter(|(at, _)| episode.answered.is_none_or(|put_right| *at < put_right)) {
        episode.answer(at, event, event.name.kind.traits().acts.unwrap_or(ActedBy::Look));
    }
    if episode.ended.zip(episode.answered).is_some_and(|(ended, answered)| answered > ended) {
        (episode.answered, episode.answered_by, episode.acted) = (None, None, None);
    }
    let hours = |answered: WallTime| (answered.0 - episode.known_since.0).max(Duration::zero()).num_hours();
    episode.hours_to_answer = episode.answered.map(hours);
    episode.called = called(watch, episode);
    episode.news_answered = match episode.signal.answered() {
        Answered::Remedy => episode.ended.is_some(),
        _ => episode.news.iter().max().is_some_and(|last| after(watch, episode, last.instant()).is_some()),
    };
    episode.treatment_ended = treatment_ended(watch, episode);
    // A persisting finding after the action is news once and needs no further action; later looks that show the same are
    // not news.
    let again = episode.answered.and_then(|answered| episode.again.iter().find(|at| **at > answered));
    episode.news.extend(again.copied());
    episode.news.sort();
}

impl Episode {
    /// Records the action.
    pub(super) fn answer(&mut self, at: WallTime, record: &Event, how: ActedBy) {
        self.acted = Some(Acted::of(record, how));
        (self.answered, self.answered_by) = (Some(at), Some(record.file().to_owned()));
    }
}

impl Acted {
    /// Describes the record that acted.
    pub(super) fn of(record: &Event, how: ActedBy) -> Acted {
        let contact = match &record.fact {
            Fact::Contact(contact) => Some(contact),
            _ => None,
        };
        Acted {
            how,
            kind: record.name.kind,
            by: record.by.clone(),
            with: contact.map(|contact| contact.with.clone()),
            outcome: contact.map(|contact| contact.outcome),
        }
    }
}

/// The first record that acted on the episode.
pub(super) fn first<'a>(watch: &SignalInputs<'a>, episode: &Episode) -> Option<&'a Event> {
    after(watch, episode, episode.since.instant())
}

/// The first record that acted on the news of an episode after an instant.
fn after<'a>(watch: &SignalInputs<'a>, episode: &Episode, since: Instant) -> Option<&'a Event> {
    actions(watch, episode, since).next()
}

/// The records that acted on an episode after an instant.
pub(super) fn actions<'a>(
    watch: &SignalInputs<'a>,
    episode: &Episode,
    since: Instant,
) -> impl Iterator<Item = &'a Event> {
    later(watch, episode.signal, since).filter(|event| answers(watch, episode, event))
}

/// The events after an instant. An event that may have come before it, because only the day of either is known, counts only
/// if it names the signal.
fn later<'a>(watch: &SignalInputs<'a>, signal: Signal, since: Instant) -> impl Iterator<Item = &'a Event> {
    watch.timeline.events().iter().filter(move |event| is_later(watch, signal, event, since))
}

/// Returns true for a contact that names a signal: it came after its start, although in the same minute, as a call in which a
/// fever is told and passed on.
fn names_it(event: &Event, signal: Signal) -> bool {
    matches!(&event.fact, Fact::Contact(contact) if contact.about.contains(&Subject::Signal(signal)))
}

/// Returns true if an event counts as one after an instant.
pub(super) fn is_later(watch: &SignalInputs, signal: Signal, event: &Event, since: Instant) -> bool {
    if event.when.instant < since || event.when.instant == since && !names_it(event, signal) {
        return false;
    }
    let calendar = watch.calendar();
    let day = || calendar.today(since);
    // Of a result, only the day is known: it counts from the start of that day, and may have come at its end.
    let is_of_a_result = match signal {
        Signal::CultureGrowth => true,
        Signal::ScoreWithGrowth => since == calendar.start(day()),
        _ => false,
    };
    let latest = if is_of_a_result { calendar.end(day()) } else { since };
    event.earliest(calendar) >= latest || names(watch, signal, event, day)
}

/// Returns true if a record can only be about this signal, and so came after its start: a contact that names it, or an
/// infection by an organism that grew in a culture with a result of that day.
pub(super) fn names(watch: &SignalInputs, signal: Signal, event: &Event, day: impl Fn() -> NaiveDate) -> bool {
    match &event.fact {
        Fact::Contact(_) => names_it(event, signal),
        Fact::Infection(infection) if signal == Signal::CultureGrowth => {
            let day = day();
            let is_named = |grown: &String| infection.organisms.iter().any(|named| named.eq_ignore_ascii_case(grown));
            let results = watch.timeline.events().iter().filter_map(|event| match &event.fact {
                Fact::Culture(culture) => culture.result.as_ref().filter(|result| result.growth && result.on == day),
                _ => None,
            });
            results.flat_map(|result| &result.organisms).any(is_named)
        }
        _ => false,
    }
}

/// The last contact about an episode, not after its end, that did not act on it. Contacts with staff are hand-offs, not
/// calls.
fn called<'a>(watch: &SignalInputs<'a>, episode: &Episode) -> Option<Called> {
    let call = |event: &'a Event| match &event.fact {
        Fact::Contact(contact)
            if is_about(contact, episode.signal) && !contact_answers(watch, episode.signal, contact) =>
        {
            let is_staff = watch.people.is_some_and(|people| people.get(&contact.with).is_some());
            let called = Called {
                at: watch.calendar().wall(event.when.instant),
                with: contact.with.clone(),
                outcome: contact.outcome,
                expect_by: None,
                broken: false,
            };
            (!is_staff).then_some((called, event, contact))
        }
        _ => None,
    };
    let later = later(watch, episode.signal, episode.since.instant()).filter_map(call);
    let is_by_its_end = |(called, ..): &(Called, _, _)| episode.ended.is_none_or(|ended| called.at <= ended);
    let (mut called, event, contact) = later.filter(is_by_its_end).last()?;
    if matches!(contact.outcome, ContactOutcome::WillChange | ContactOutcome::ComingIn) {
        (called.expect_by, called.broken) = promised(watch, episode, event, contact);
    }
    Some(called)
}

/// The time of a promise made in a contact about an episode, and whether it passed without a change. Without an agreed
/// time it is the policy's, which the records since the last change determine as long as no change has followed.
fn promised(watch: &SignalInputs, episode: &Episode, event: &Event, contact: &Contact) -> (Option<WallTime>, bool) {
    let (patient, timeline) = (watch.patient(), watch.timeline);
    let followed = patient.exits_followed(timeline.today).into_iter();
    let is_meant = |id: &str| episode.exit.as_deref().is_none_or(|exit| exit == id);
    let unkept = followed
        .filter(|exit| is_meant(&exit.id))
        .filter(|exit| !timeline.changes(exit).any(|change| change.order() > event.order()));
    let by_policy = |exit| default_until(&Schedule { plan: watch.plan, patient, exit }, timeline, event.when.instant);
    let unkept: Vec<Instant> =
        unkept.map(|exit| contact.expect_by_instant.unwrap_or_else(|| by_policy(exit))).collect();
    let is_broken = episode.is_open() && unkept.iter().any(|until| timeline.as_of > *until);
    let until = contact.expect_by_instant.or(unkept.into_iter().min());
    (until.map(|until| watch.calendar().wall(until)), is_broken)
}

/// The last treatment that ran during an open episode that was acted on, if it has ended and no other one is ongoing. Other
/// signals than clinical findings name it only if it was the action.
fn treatment_ended(watch: &SignalInputs, episode: &Episode) -> Option<EndedTreatment> {
    let is_treated = episode.signal.is_clinical_finding_of_today()
        || episode.acted.as_ref().is_some_and(|acted| acted.kind == Kind::Treatment);
    if !(episode.is_open() && episode.news_answered && is_treated) {
        return None;
    }
    let (today, from) = (watch.timeline.today, watch.calendar().today(episode.since.instant()));
    let treatments = watch.timeline.events().iter().filter(|event| event.when.care_day >= watch.first_day);
    let during = treatments.filter_map(|event| match &event.fact {
        Fact::Treatment(treatment) if treatment.what.lasts() => Some((treatment.what, treatment.until)),
        _ => None,
    });
    let during = during.filter(|(_, until)| until.is_none_or(|until| until >= from));
    let ended: Option<Vec<EndedTreatment>> = during
        .map(|(what, until)| Some(EndedTreatment { what, until: until.filter(|until| *until < today)? }))
        .collect();
    ended?.into_iter().max_by_key(|ended| ended.until)
}

fn answers(watch: &SignalInputs, episode: &Episode, event: &Event) -> bool {
    let signal = episode.signal;
    if let Fact::Contact(contact) = &event.fact {
        return contact_answers(watch, signal, contact);
    }
    // A look, culture or treatment does not sign off a caregiver, produce a culture result, or end an absence.
    if !matches!(signal.answered(), Answered::Act | Answered::Contact) {
        return false;
    }
    event.name.kind.traits().acts == Some(ActedBy::Clinical) || is_staff_look(watch, episode.exit.as_deref(), event)
}

/// Returns true if a contact is about a signal.
pub(super) fn is_about(contact: &Contact, signal: Signal) -> bool {
    contact.about.iter().any(|about| [Subject::Signal(signal), Subject::Signals].contains(about))
}

impl SignalInputs<'_> {
    /// Returns true if a person on the staff list is a clinician.
    pub(super) fn is_clinician(&self, code: &str) -> bool {
        let person = self.people.and_then(|people| people.get(code));
        person.is_some_and(|person| self.signals.clinician_roles.contains(&person.role))
    }

    /// Returns true if a clinician was reached by a contact, or it was escalated.
    pub(crate) fn tells_a_clinician(&self, contact: &Contact) -> bool {
        reached_clinician(self, contact) || contact.outcome == ContactOutcome::Escalated
    }

    /// Returns true if a contact with a clinician about a signal is on file since it opened.
    pub(crate) fn reached_a_clinician(&self, episode: &Episode) -> bool {
        self.timeline.events().iter().any(|event| match &event.fact {
            Fact::Contact(contact) => {
                event.when.instant >= episode.since.instant()
                    && is_about(contact, episode.signal)
                    && reached_clinician(self, contact)
            }
            _ => false,
        })
    }
}

/// Returns true if a contact reached a clinician.
pub(super) fn reached_clinician(watch: &SignalInputs, contact: &Contact) -> bool {
    watch.is_clinician(&contact.with) && contact.outcome != ContactOutcome::NoAnswer
}

fn contact_answers(watch: &SignalInputs, signal: Signal, contact: &Contact) -> bool {
    let is_handed_on = || matches!(contact.outcome, ContactOutcome::ComingIn | ContactOutcome::Escalated);
    let is_enough = match signal.answered() {
        Answered::Remedy => false,
        Answered::Clinician => reached_clinician(watch, contact),
        Answered::HearAgain => contact.expect_by.is_some() && contact.outcome != ContactOutcome::NoAnswer,
        Answered::Act | Answered::HandOver => reached_clinician(watch, contact) || is_handed_on(),
        Answered::Contact => contact.outcome != ContactOutcome::NoAnswer,
    };
    is_about(contact, signal) && is_enough
}

/// Returns the looks by staff at the exit site; for a signal of the patient, at any exit site.
pub(super) fn is_staff_look(watch: &SignalInputs, exit: Option<&str>, event: &Event) -> bool {
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
