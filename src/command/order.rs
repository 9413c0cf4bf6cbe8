//! A change and a shower or damage in the minute of each other: the records do not say which came first, so the writer does.
//!
//! After a yes both have the same second, which the rules read as the change last.

use chrono::Timelike;

use super::question::{Choice, Enter, Leave, Questions};
use crate::day::Instant;
use crate::entry::{Book, Draft};
use crate::event::{Event, EventName, Kind};
use crate::problem::Failure;
use crate::record::Value;
use crate::schedule::{ChangeTrigger, Schedule, TriggerEvent};
use crate::timeline::Timeline;
use crate::view::doubt::{after_which, minute, order_needed, other_time};
use crate::view::words::question::record;
use crate::word::Word;

/// A record on file in the minute of a new one.
#[derive(Debug, Clone)]
pub(super) struct SameMinute {
    /// The shower or damage.
    report: ChangeTrigger,
    /// True if the change is the new record.
    is_of_change: bool,
    /// The instant of the record on file.
    on_file: Instant,
    /// True if the reason of the change says that it came after the report.
    is_said: bool,
}

impl SameMinute {
    /// The records on file of the minute of a new one, as far as it is known.
    pub(super) fn of(draft: &Draft, book: &Book, now: Instant) -> Vec<SameMinute> {
        let event = draft.event(&book.owner, u16::MAX, &book.calendar, &mut Vec::new());
        let Some(event) = event.filter(Event::is_timed) else { return Vec::new() };
        let (Some(plan), Some(patient)) = (book.program.plan(), book.patient.as_ref()) else { return Vec::new() };
        let events = book.events.iter().cloned().chain([event.clone()]).collect();
        let timeline = Timeline::of(patient, events, now.max(event.when.instant));
        let mut found: Vec<(EventName, SameMinute)> = Vec::new();
        for exit in &patient.exits {
            for (trigger, change) in TriggerEvent::in_one_minute(&Schedule { plan, patient, exit }, &timeline) {
                let is_of_change = change.name == event.name;
                if !is_of_change && trigger.event.name != event.name {
                    continue;
                }
                let report = trigger.trigger(&patient.calendar);
                let is_said = trigger.is_named_by(change);
                let on_file = if is_of_change { trigger.event } else { change }.when.instant;
                let other = SameMinute { report, is_of_change, on_file, is_said };
                // A shower that wet the dressing is one record.
                match found.iter_mut().find(|(name, known)| *name == change.name && known.is_like(&other)) {
                    Some((_, known)) => known.is_said |= is_said,
                    None => found.push((change.name, other)),
                }
            }
        }
        // The changes of several exit sites are asked about once, unless each says the order.
        let mut once: Vec<SameMinute> = Vec::new();
        for (_, other) in found {
            match once.iter_mut().find(|known| known.is_like(&other)) {
                Some(known) => known.is_said &= other.is_said,
                None => once.push(other),
            }
        }
        once
    }

    fn is_like(&self, other: &SameMinute) -> bool {
        self.on_file == other.on_file && self.report.kind == other.report.kind
    }

    /// Returns the sentence that asks a script for the order, unless the reason of the change says the order.
    pub(super) fn needed(&self) -> Option<String> {
        (!self.is_said).then(|| order_needed(&self.report, self.is_of_change))
    }

    /// Asks whether the dressing was changed after the report, unless the reason says so; there is no default. After a no,
    /// asks for another time.
    ///
    /// # Errors
    /// Back to the previous question, or the end of input.
    pub(super) fn is_after(&self, questions: &Questions) -> Result<bool, Leave> {
        if self.is_said {
            return Ok(true);
        }
        let question = record::SAME_MINUTE.with(&[&minute(&self.report), &after_which(&self.report)]);
        let questions = Questions { kept: None, ..*questions };
        let is_after = questions.choose(question, &Choice::words(&["yes", "no"]), Enter::Asks)? == Some(0);
        if !is_after {
            questions.say(&other_time(&self.report, self.is_of_change));
        }
        Ok(is_after)
    }

    /// Puts the change after the report, at the same second, with its reason if it has none.
    pub(super) fn settle(&self, draft: &mut Draft) {
        if let Some(Value::Moment(mut moment)) = draft.values.get("at").cloned()
            && let Some(wall) = moment.wall.with_second(self.on_file.second())
            && (wall > moment.wall) == self.is_of_change
        {
            moment.wall = wall;
            draft.values.set("at", Value::Moment(moment));
        }
        if draft.kind == Kind::Change && draft.values.get("reason").is_none() {
            draft.values.set("reason", Value::Text(self.report.own_reason().word().to_owned()));
        }
    }
}

/// The record with its time where the reason of the change says the order.
pub(super) fn settled(mut draft: Draft, book: &Book, now: Instant) -> Draft {
    for other in SameMinute::of(&draft, book, now).iter().filter(|other| other.is_said) {
        other.settle(&mut draft);
    }
    draft
}

/// The sentences that ask a script for the order of a record and those of its minute.
pub(super) fn needed(draft: &Draft, book: &Book, now: Instant) -> Vec<String> {
    SameMinute::of(draft, book, now).iter().filter_map(SameMinute::needed).collect()
}

/// Returns true if the user confirms that the change came after every shower and damage of its minute.
///
/// # Errors
/// The questions cannot continue.
pub(super) fn is_confirmed(draft: &Draft, book: &Book, now: Instant, questions: &Questions) -> Result<bool, Failure> {
    for other in SameMinute::of(draft, book, now) {
        match other.is_after(questions) {
            Ok(true) => {}
            Err(Leave::Fails(failure)) => return Err(failure),
            Ok(false) | Err(_) => return Ok(false),
        }
    }
    Ok(true)
}
