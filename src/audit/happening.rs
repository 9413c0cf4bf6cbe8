//! Events that may lead to an infection: pulls, unsecured anchors, wet dressings, missed changes, showers too early or
//! without a timely change.
//!
//! Counts only, never conclusions: each count comes with those of the program and of the same patient earlier.

use chrono::NaiveDate;

use super::{AuditSpan, ExitCare};
use crate::event::{Anchor, Dressing, Event, Fact};
use crate::schedule::ChangeOutcome;
use crate::timeline::Timeline;

/// The kind of a precursor event.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Precursor {
    /// The line was pulled.
    Trauma,
    /// The anchor was loose or absent.
    AnchorOff,
    /// The dressing was wet.
    WetDressing,
    /// An expected change was missed.
    MissedChange,
    /// A shower before the first allowed day, or against an order.
    ShowerTooEarly,
    /// A shower without a change in time.
    ShowerNotFollowed,
}

/// A precursor event on a day.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Happening {
    /// The care day.
    pub day: NaiveDate,
    /// The kind of event.
    pub what: Precursor,
}

/// Returns the precursor events over the days of the charts.
pub(super) fn all(timeline: &Timeline, care: &ExitCare, span: &AuditSpan) -> Vec<Happening> {
    let is_charted = |event: &&Event| span.charts.contains(event.when.care_day) && counts(timeline, event);
    let events = timeline.events().iter().filter(is_charted).flat_map(|event| {
        let said = [
            (matches!(event.fact, Fact::Trauma(_)), Precursor::Trauma),
            (says_anchor_off(event), Precursor::AnchorOff),
            (says_wet(event), Precursor::WetDressing),
        ];
        let day = event.when.care_day;
        said.into_iter().filter(|(is_so, _)| *is_so).map(move |(_, what)| Happening { day, what })
    });
    let missed = care.expected.iter().filter(|one| one.outcome == ChangeOutcome::Missed);
    let missed = missed.map(|one| Happening { day: one.due_on, what: Precursor::MissedChange });
    let early = care.showers.iter().filter(|shower| shower.is_too_early);
    let early = early.map(|shower| Happening { day: shower.day, what: Precursor::ShowerTooEarly });
    let late = care.showers.iter().filter(|shower| shower.in_time == Some(false));
    let late = late.map(|shower| Happening { day: shower.day, what: Precursor::ShowerNotFollowed });
    events.chain(missed).chain(early).chain(late).collect()
}

/// Returns true if an event counts for an exit site on its care day.
pub(super) fn counts(timeline: &Timeline, event: &Event) -> bool {
    let (patient, day) = (timeline.patient, event.when.care_day);
    patient.exits.iter().any(|exit| patient.concerns(event, exit) && patient.counts(exit, day))
}

/// The days of the charts with a look at the anchor, once per look.
pub(super) fn anchor_looks(timeline: &Timeline, span: &AuditSpan) -> Vec<NaiveDate> {
    let is_look = |event: &&Event| {
        span.charts.contains(event.when.care_day) && counts(timeline, event) && event.anchor().is_some()
    };
    timeline.events().iter().filter(is_look).map(|event| event.when.care_day).collect()
}

fn says_anchor_off(event: &Event) -> bool {
    event.found_and_left().iter().filter_map(|moment| moment.anchor).any(|anchor| anchor != Anchor::InPlace)
}

fn says_wet(event: &Event) -> bool {
    event.found_and_left().iter().any(|moment| moment.dressing == Some(Dressing::Wet))
}
