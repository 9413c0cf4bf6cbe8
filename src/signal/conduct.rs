//! Signals of care against an order or common practice: immersion in a bath or pool, a shower against an order.

use super::rule::{Answered, EndedBy, EpisodeSearch, FullLook, RaisedBy, RestsOn, SHOWER, SignalRule, Urgency};
use super::{Episode, Fold, Observation, WatchedSite, answer, is_full_staff_look};
use crate::event::{Event, Fact, Kind, Shower, Signal, Water};

/// Immersion of the site in a bath or pool; it ends with a full look by staff on a later care day.
pub(super) const IMMERSED: SignalRule = SignalRule {
    urgency: Urgency::Today,
    ends: EndedBy::FullLook(FullLook::OnLaterDay),
    answered: Answered::Act,
    rests_on: RestsOn::Records,
    is_each_news: true,
    raised: RaisedBy::By(&[Kind::Shower]),
    read: &[Kind::Shower, Kind::Change, Kind::Assessment],
    episodes: EpisodeSearch::Exit(immersed),
};

fn immersed(site: &WatchedSite) -> Vec<Episode> {
    let mut fold = Fold::of_exit(site, Signal::Immersed);
    let mut last = fold.is_up().then_some(site.first_day);
    for event in site.events() {
        match &event.fact {
            Fact::Shower(Shower { water: Some(water @ (Water::Bath | Water::Pool)), .. }) => {
                last = Some(event.when.care_day);
                fold.shown(event, Observation::InWater { water: *water });
            }
            _ => {
                let is_full = site.look(event).graded.is_some_and(is_full_staff_look);
                if is_full && last.is_some_and(|last| event.when.care_day > last) {
                    fold.end(event.when.instant);
                }
            }
        }
    }
    fold.finish()
}

/// A shower while an order does not allow showers; it ends with a contact with a clinician about it, or a look by staff.
pub(super) const ORDER_VIOLATED: SignalRule = SignalRule {
    urgency: Urgency::Today,
    ends: EndedBy::ClinicianOrLook,
    answered: Answered::Act,
    rests_on: RestsOn::Records,
    is_each_news: true,
    raised: RaisedBy::By(&[Kind::Shower]),
    read: SHOWER,
    episodes: EpisodeSearch::Exit(order_violated),
};

fn order_violated(site: &WatchedSite) -> Vec<Episode> {
    let signal = Signal::OrderViolated;
    let mut fold = Fold::of_exit(site, signal);
    let patient = site.watch.patient();
    let is_forbidden = |event: &Event| {
        patient.orders.iter().any(|order| order.no_showers && order.runs_on(event.when.care_day, &site.exit.id))
    };
    // A contact belongs to the patient, not to the exit site.
    let first = site.watch.first_day;
    for event in site.watch.timeline.events().iter().filter(|event| event.when.care_day >= first) {
        match &event.fact {
            Fact::Shower(_) if patient.concerns(event, site.exit) && is_forbidden(event) => {
                fold.shown(event, Observation::ShowerAgainstOrder);
            }
            Fact::Contact(contact)
                if answer::is_about(contact, signal) && answer::reached_clinician(site.watch, contact) =>
            {
                fold.end_by(event);
            }
            _ if answer::is_staff_look(site.watch, Some(&site.exit.id), event) => fold.end_by(event),
            _ => {}
        }
    }
    fold.finish()
}
