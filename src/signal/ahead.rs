//! Signals of records dated slightly ahead of the clock. Clocks differ, and times are typed by hand: such a record raises
//! a signal immediately, but never ends or acts on one.

use super::{Episode, Evidence, SignalInputs};
use crate::event::Event;

/// Merges the current episodes with those raised by future-dated records. An open episode takes their evidence as news;
/// one raised by them alone is open, and known as of now.
pub(super) fn join(episodes: &mut Vec<Episode>, watch: &SignalInputs, ahead: &SignalInputs) {
    let now = watch.calendar().wall(watch.timeline.as_of);
    let known = watch.timeline.events();
    // Evidence from the patient's course, or from a record that is already known, is not news.
    let is_ahead = |said: &&Evidence| {
        let holds = |events: &[Event]| events.iter().any(|event| event.file() == said.file);
        holds(ahead.timeline.events()) && !holds(known)
    };
    for later in ahead.risen() {
        let new: Vec<Evidence> = later.evidence.iter().filter(is_ahead).cloned().collect();
        let is_same = |open: &&mut Episode| open.is_open() && open.signal == later.signal && open.exit == later.exit;
        if new.is_empty() {
            continue;
        }
        match episodes.iter_mut().find(is_same) {
            Some(open) => {
                open.evidence.extend(new);
                open.later_score = None;
                open.news.push(now);
                open.news_answered = false;
            }
            None => episodes.push(Episode {
                known_since: now,
                called: None,
                answered: None,
                answered_by: None,
                acted: None,
                latest_action: None,
                news_answered: false,
                treatment_ended: None,
                told: None,
                hours_to_answer: None,
                ended: None,
                news: vec![now],
                worse: Vec::new(),
                ..later
            }),
        }
    }
}
