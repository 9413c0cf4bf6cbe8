//! The changes in a patient's signals between two moments, from the records entered by then.

use crate::chart::Chart;
use crate::day::{Instant, WallTime};
use crate::event::Event;
use crate::record::Moment;
use crate::signal::{Episode, SignalInputs, Urgency};
use crate::timeline::Timeline;

/// A change of a signal between two moments.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum SignalChange {
    Open,
    OpenActedOn,
    Rose,
    EarlierToday,
    Worse,
    ActedOn,
    Ended,
    Withdrawn,
}

/// Returns the changes in a patient's signals since a moment; `None` if not known.
pub(super) fn signals(chart: &Chart, since: Instant) -> Option<Vec<(SignalChange, Episode)>> {
    let now = SignalInputs::of(chart.rules, &chart.timeline())?.episodes();
    let past = Timeline::of(&chart.patient, known_by(chart, since), since);
    let then = SignalInputs::of(chart.rules, &past)?.episodes();
    let day_began = chart.patient.calendar.start(chart.timeline().today);
    let is_of_this_day = |at: Instant| day_began <= at && at <= since;
    let mut changes = Vec::new();
    for episode in &now {
        let before = then.iter().find(|one| is_same(one, episode));
        let is_news = |at: &WallTime| at.instant() > since && *at > episode.since;
        let found = [
            (SignalChange::Open, episode.is_open() && episode.urgency == Urgency::Today && !episode.news_answered),
            (
                SignalChange::OpenActedOn,
                episode.is_open() && episode.urgency == Urgency::Today && episode.news_answered,
            ),
            (SignalChange::Rose, before.is_none()),
            (
                SignalChange::EarlierToday,
                before.is_some() && episode.urgency == Urgency::Today && is_of_this_day(episode.known_since.instant()),
            ),
            (SignalChange::Worse, before.is_some() && episode.is_open() && episode.news.iter().any(is_news)),
            (SignalChange::ActedOn, episode.news_answered && !before.is_some_and(|one| one.news_answered)),
            (SignalChange::Ended, !episode.is_open() && before.is_none_or(Episode::is_open)),
        ];
        // A later record that only adds to a signal that ended before this shift is not news.
        let is_of_now = before.is_some() || episode.known_since.instant() > since || episode.is_open();
        let found = found.into_iter().filter(|(_, is_so)| *is_so && is_of_now);
        changes.extend(found.map(|(change, _)| (change, episode.clone())));
    }
    let is_gone = |one: &&Episode| one.is_open() && !now.iter().any(|episode| is_same(episode, one));
    changes.extend(then.iter().filter(is_gone).map(|one| (SignalChange::Withdrawn, one.clone())));
    Some(changes)
}

/// Returns the events whose records were entered by a moment, including any voided later.
fn known_by(chart: &Chart, moment: Instant) -> Vec<Event> {
    let calendar = &chart.patient.calendar;
    let is_voided_later = |at: Moment| at.instant(calendar).is_some_and(|at| at > moment);
    let known = chart.all_events().filter(|event| event.known_at(calendar) <= moment);
    let as_then = |event: &Event| {
        let is_later = event.void.as_ref().is_some_and(|void| is_voided_later(void.at));
        event.before_void(calendar).filter(|_| is_later).unwrap_or_else(|| event.clone())
    };
    known.map(as_then).collect()
}

/// Returns true if two episodes of one patient are the same: they open at the same time, or share a record.
fn is_same(one: &Episode, other: &Episode) -> bool {
    let is_shared = || one.evidence.iter().any(|said| other.evidence.iter().any(|more| more.file == said.file));
    one.signal == other.signal && one.exit == other.exit && (one.since == other.since || is_shared())
}
