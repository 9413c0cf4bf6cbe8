//! Calls, promises, and the treatment that has ended, in words.

use chrono::NaiveDate;

use super::{outcome, outcome_to, remedy};
use crate::event::ContactOutcome;
use crate::signal::{Called, EndedBy, EndedTreatment, Episode};
use crate::text::visible;
use crate::view::day::{ReaderClock, short_day};

/// Describes a call: `called wife Mon 21:40: advised`, `no answer Mon 21:40`, `called wife Mon 21:40, escalated to md-3`.
/// The outcome `other` says nothing.
pub(crate) fn call(with: &str, when: &str, outcome: ContactOutcome, to: Option<&str>) -> String {
    let with = if with == "other" { "another person" } else { with };
    match outcome {
        ContactOutcome::NoAnswer => format!("no answer {when}"),
        ContactOutcome::Other => format!("called {with} {when}"),
        ContactOutcome::Escalated => format!("called {with} {when}, {}", outcome_to(outcome, to)),
        outcome => format!("called {with} {when}: {}", self::outcome(outcome)),
    }
}

/// Formats the time of a promise: ` by Mon 20:00`, `, no time given: by Wed 03:00` if the policy sets it.
pub(crate) fn until(by: &str, is_agreed: bool) -> String {
    if is_agreed { format!(" by {by}") } else { format!(", no time given: by {by}") }
}

/// Describes a call about a signal that did not act on it, with its promise: `called p022-aunt Mon 21:40: will change the
/// dressing by Mon 23:40, not done`.
fn called(called: &Called, clock: ReaderClock) -> String {
    let by = called.expect_by.map(|by| format!(" by {}", clock.wall(by))).unwrap_or_default();
    let broken = if called.broken { ", not done" } else { "" };
    let words = call(&visible(&called.with), &clock.wall(called.at), called.outcome, None);
    format!("{words}{by}{broken}")
}

/// Describes the contacts about a signal that did not act on it, in order: the last call to the household, and the clinician told:
/// `called p022-aunt today 07:26: advised; told md-3 today 07:28, dressing not changed yet`; `None` without one.
pub(crate) fn contacts(signal: &Episode, clock: ReaderClock) -> Option<String> {
    let not_yet = match signal.signal.ends() {
        EndedBy::Change => ", dressing not changed yet",
        EndedBy::Anchor => ", anchor not recorded in place yet",
        _ => "",
    };
    let told = signal.told.as_ref().and_then(|told| told.clinician.as_ref().map(|clinician| (told.at, clinician)));
    // One call with the household that was passed on names the clinician.
    let is_of_one = |called: &&Called| told.is_some_and(|(at, _)| at == called.at);
    let call = signal.called.as_ref().filter(|called| !is_of_one(called)).map(|call| (call.at, called(call, clock)));
    let told = told.map(|(at, who)| (at, format!("told {} {}{not_yet}", visible(who), clock.wall(at))));
    let mut all: Vec<_> = call.into_iter().chain(told).collect();
    all.sort();
    let words: Vec<String> = all.into_iter().map(|(_, words)| words).collect();
    (!words.is_empty()).then(|| words.join("; "))
}

/// Names the treatment that has ended while its signal is still open: `oral antibiotic ended Nov 20`.
fn treatment_ended(ended: Option<&EndedTreatment>, today: NaiveDate) -> Option<String> {
    ended.map(|ended| format!("{} ended {}", remedy(ended.what), short_day(ended.until, today)))
}

/// Names the ended treatment after another fact: `; oral antibiotic ended Nov 20`, or nothing.
pub(crate) fn and_treatment_ended(ended: Option<&EndedTreatment>, today: NaiveDate) -> String {
    treatment_ended(ended, today).map(|ended| format!("; {ended}")).unwrap_or_default()
}
