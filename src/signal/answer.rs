//! What answers a signal: the first later contact about it that reached somebody, or a later look by staff, culture,
//! infection or treatment. Answered is not ended. What may have come before it answers nothing, unless it names it.

use super::{Answer, Episode, Watch};
use crate::day::Instant;
use crate::event::{About, Contact, Event, Fact, Outcome, Telling};

/// Finds what answered an episode first, not after its end, and whether the last of its news is answered.
pub(super) fn find(watch: &Watch, episode: &mut Episode) {
    if episode.answer.is_none() {
        episode.answer = first(watch, episode);
    }
    let ended = episode.ended;
    episode.answer = episode.answer.take().filter(|answer| ended.is_none_or(|ended| answer.at <= ended));
    episode.is_news_answered = episode.news.iter().max().is_some_and(|last| after(watch, episode, *last).is_some());
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
    let names_it =
        |event: &Event| matches!(&event.fact, Fact::Contact(contact) if contact.about.contains(&episode.signal));
    let is_later = |event: &&Event| {
        let is_known = event.earliest(watch.calendar()) >= since || names_it(event);
        event.when.instant > since && is_known
    };
    let later = watch.timeline.events().iter().filter(is_later);
    let answer = |event: &Event| Answer { at: event.when.instant, file: event.file().to_owned() };
    later.into_iter().find(|event| answers(watch, episode, event)).map(answer)
}

fn answers(watch: &Watch, episode: &Episode, event: &Event) -> bool {
    if let Fact::Contact(contact) = &event.fact {
        return is_about(contact, episode.signal);
    }
    if episode.signal == About::AwayLong {
        return false;
    }
    match &event.fact {
        Fact::Culture(_) | Fact::Infection(_) | Fact::Treatment(_) => true,
        _ => is_staff_look(watch, episode, event),
    }
}

/// Whether a contact was about the signal and reached somebody; of a patient who is away it says until when to hear.
fn is_about(contact: &Contact, signal: About) -> bool {
    let names_it = contact.about.iter().any(|about| [signal, About::Signals].contains(about));
    let is_enough = signal != About::AwayLong || contact.expect_by.is_some();
    names_it && is_enough && contact.outcome != Outcome::NoAnswer
}

/// A look at the exit site by staff; of a signal of the whole patient, at any exit site.
fn is_staff_look(watch: &Watch, episode: &Episode, event: &Event) -> bool {
    let is_seen = event.telling == Telling::Seen || watch.signals.image_counts && event.telling == Telling::Image;
    let is_staff = watch.people.is_some_and(|people| people.is_staff(&event.by, event.when.care_day));
    let has_item = event
        .site()
        .is_some_and(|site| watch.scoring.rubric.items.iter().any(|item| site.finding(item.field).is_some()));
    let is_of_exit = || {
        let patient = watch.patient();
        let exit = patient.exits.iter().find(|exit| episode.exit.as_ref() == Some(&exit.id));
        exit.is_none_or(|exit| patient.concerns(event, exit))
    };
    is_seen && is_staff && has_item && is_of_exit()
}
