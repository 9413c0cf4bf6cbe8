//! A change and a shower or damage of one care day, one of them without a time: the order is unknown, and it is asked about,
//! since a change that counts as later ends what was reported.

use crate::day::Instant;
use crate::entry::Book;
use crate::event::{Event, Fact};
use crate::schedule::{Schedule, TriggerEvent};
use crate::timeline::Timeline;
use crate::view;

/// Reports whose order with a new record is unknown.
#[derive(Debug, Default)]
pub(super) struct UnknownOrder {
    /// Reports that a new change without a time and a reason would resolve: only a person may accept it.
    pub ended: Vec<String>,
    /// Reports in the new record that a change on file without a time and a reason resolves already.
    pub hidden: Vec<String>,
}

impl UnknownOrder {
    /// Compares a new record with the records on file.
    pub(super) fn of(event: &Event, book: &Book, now: Instant) -> UnknownOrder {
        let (Some(plan), Some(patient)) = (book.program.plan(), book.patient.as_ref()) else {
            return UnknownOrder::default();
        };
        let events = book.events.iter().cloned().chain([event.clone()]).collect();
        let timeline = Timeline::of(patient, events, now);
        let mut unknown = UnknownOrder::default();
        for exit in &patient.exits {
            let changes: Vec<&Event> = timeline.of_exit(exit).filter(|one| is_change(one)).collect();
            for trigger in TriggerEvent::all(&Schedule { plan, patient, exit }, &timeline) {
                let answers = |change: &&&Event| trigger.is_answered_by(change);
                let [change] = changes.iter().filter(answers).collect::<Vec<_>>()[..] else { continue };
                if !trigger.has_unknown_order(change) || has_reason(change) {
                    continue;
                }
                let what = view::round::reported(&trigger.trigger(&patient.calendar), timeline.today);
                if change.name == event.name {
                    unknown.ended.push(format!(
                        "{what}: a change that day without a time counts as after it and ends it. If the change was before, or you do not know, type its time or --reason scheduled."
                    ));
                } else if trigger.event.name == event.name {
                    unknown.hidden.push(format!(
                        "{what}: the change of that day on file has no time and counts as after it, so no change falls due for it. If the change was before, void {} and write it with its time.",
                        change.file()
                    ));
                }
            }
        }
        unknown
    }
}

fn is_change(event: &Event) -> bool {
    matches!(event.fact, Fact::Change(_))
}

fn has_reason(event: &Event) -> bool {
    matches!(&event.fact, Fact::Change(change) if change.reason.is_some())
}
