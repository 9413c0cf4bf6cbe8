//! The action on the latest news of a signal, and the clinician who was told of it. A culture, an infection or a treatment acts
//! on a signal although no clinician may have been told.

use super::answer::{actions, is_about, is_later, reached_clinician};
use super::{Acted, Episode, LatestAction, SignalInputs, ToldClinician};
use crate::day::{Instant, WallTime};
use crate::event::{ActedBy, ContactOutcome, Event, Fact};

/// Finds the action on the latest news of an episode, after its worsenings are known: the first one after that news, or else
/// the last one; without an action, the clinician told.
pub(super) fn find(watch: &SignalInputs, episode: &mut Episode) {
    if episode.is_open() && !episode.news_answered {
        let told = told(watch, episode, latest_news(episode));
        episode.told = told.into_iter().rfind(|told| told.clinician.is_some());
    }
    let Some((answered, acted)) = episode.answered.zip(episode.acted.clone()) else { return };
    let is_by_its_end = |event: &&Event| episode.ended.is_none_or(|ended| event.when.instant <= ended.instant());
    let news = latest_news(episode);
    let actions: Vec<&Event> = actions(watch, episode, episode.since.instant()).filter(is_by_its_end).collect();
    let after = actions.iter().find(|event| is_later(watch, episode.signal, event, news));
    let event = after.or(actions.last());
    let file = event.map(|event| event.file().to_owned()).or(episode.answered_by.clone()).unwrap_or_default();
    let at = event.map_or(answered, |event| watch.calendar().wall(event.when.instant));
    let acted = event.map_or(acted, |event| Acted::of(event, event.name.kind.traits().acts.unwrap_or(ActedBy::Look)));
    let by_clinician = watch.is_clinician(&acted.by);
    let expect_by = event.and_then(|event| match &event.fact {
        Fact::Contact(contact) => contact.expect_by_instant,
        _ => None,
    });
    let expect_by = expect_by.map(|expect_by| watch.calendar().wall(expect_by));
    let told = told(watch, episode, news).pop();
    episode.latest_action = Some(LatestAction { at, acted, file, by_clinician, expect_by, told });
}

/// The time of the latest news, apart from records that show a signal unchanged: its start, or its latest worsening.
fn latest_news(episode: &Episode) -> Instant {
    let is_known_at = |news: &WallTime| episode.worse.iter().any(|worse| worse.known_at == *news);
    let news = episode.news.iter().filter(|news| !episode.again.contains(news) && !is_known_at(news)).copied();
    let worse = episode.worse.iter().map(|worse| worse.at);
    news.chain(worse).chain([episode.since]).max().unwrap_or(episode.since).instant()
}

/// The contacts after an instant, not after the end of the episode, in which a clinician was reached about it, or to
/// whom it was escalated.
fn told(watch: &SignalInputs, episode: &Episode, since: Instant) -> Vec<ToldClinician> {
    let is_by_its_end = |event: &&Event| episode.ended.is_none_or(|ended| event.when.instant <= ended.instant());
    let told = |event: &Event| match &event.fact {
        Fact::Contact(contact) if is_about(contact, episode.signal) => {
            let at = watch.calendar().wall(event.when.instant);
            let is_escalated = contact.outcome == ContactOutcome::Escalated;
            match reached_clinician(watch, contact) {
                true => Some(ToldClinician { at, clinician: Some(contact.with.clone()) }),
                false => is_escalated.then(|| ToldClinician { at, clinician: contact.escalated_to.clone() }),
            }
        }
        _ => None,
    };
    let events = watch.timeline.events().iter().filter(is_by_its_end);
    events.filter(|event| is_later(watch, episode.signal, event, since)).filter_map(told).collect()
}
