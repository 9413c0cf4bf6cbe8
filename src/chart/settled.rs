//! Files from the newest back, until every open signal is known, and no older file can have left another one open.
//!
//! Reads a week or more at a time, and each kind only as far as a signal needs it. Cultures, infections, treatments, pulls
//! and checkoffs are read for the full look-back period. The whole period and older files are read only for a signal that
//! has been open since before it, or whose start older looks determine.

use std::collections::BTreeMap;

use chrono::NaiveDate;

use super::history::History;
use super::older;
use crate::day::{AsOf, after, plus};
use crate::event::{ContactOutcome, Event, Fact, Kind, Signal};
use crate::patient::Patient;
use crate::policy::Policy;
use crate::program::Program;
use crate::signal::{NAME_LAG_DAYS, RARE, ReadWindow, SignalInputs, StillWanted};
use crate::timeline::{SortedEvents, Timeline};

/// The number of days read first.
const FIRST_DAYS: i64 = 7;

/// The number of days of contacts read at a time to determine whether the end of support was reported.
const STEP_DAYS: i64 = 14;

/// Opens the files.
pub(super) fn open(program: &Program, history: &mut History, patient: &Patient, as_of: AsOf) {
    let Some(policy) = program.policy.as_ref() else { return };
    history.open_for_signals(policy, as_of, |name| RARE.contains(&name.kind));
    if !is_settled(program, policy, history, patient, as_of) {
        history.open_for_signals(policy, as_of, |_| true);
        older::open(program, history, patient, as_of);
    }
}

/// Reads back until the open signals are known; returns false if that requires every file, and older ones.
fn is_settled(program: &Program, policy: &Policy, history: &mut History, patient: &Patient, as_of: AsOf) -> bool {
    let Some(signals) = &policy.signals else { return true };
    let today = patient.calendar.today(as_of.instant);
    let oldest = plus(today, -signals.look_back_days);
    let names = history.names_since(oldest, as_of);
    let mut read = ReadWindow::from_day(plus(after(today), -FIRST_DAYS), oldest, &names);
    let mut unsettled = Signal::ALL.to_vec();
    loop {
        history.open_for_signals(policy, as_of, |name| read.holds(name));
        let opened: Vec<_> = history.opened().cloned().collect();
        let sorted = SortedEvents::as_of(patient, opened, as_of);
        let timeline = Timeline::over(patient, &sorted, as_of.instant);
        let Some(watch) = SignalInputs::of(program.rules(), &timeline) else { return false };
        let StillWanted::From(wanted) = watch.wanted(&read, &mut unsettled) else { return false };
        let (before, is_known) = (read.clone(), wanted.is_empty());
        let wanted = wanted.into_iter().chain(wanted_for_end(program, &timeline, &read));
        wanted.for_each(|(kind, day)| read.extend(kind, day));
        if read == before {
            return is_known;
        }
    }
}

/// The records that are needed to determine whether the end of support was reported and staff have recorded nothing since:
/// contacts back to a record by staff, or to the report, and then every record since it.
fn wanted_for_end(program: &Program, timeline: &Timeline, read: &ReadWindow) -> BTreeMap<Kind, NaiveDate> {
    let is_report = |event: &&Event| matches!(&event.fact, Fact::Contact(contact) if contact.outcome == ContactOutcome::SupportEnded);
    let people = program.people.as_ref();
    let is_staffs = |event: &Event| people.is_none_or(|people| people.is_staff(&event.by, event.when.care_day));
    let report = timeline.events().iter().rfind(is_report);
    let after_unread = plus(read.first_day(Kind::Contact), NAME_LAG_DAYS);
    let is_later =
        |event: &Event| event.name.date >= after_unread && report.is_none_or(|report| event.order() > report.order());
    let is_read = !read.is_unread(Kind::Contact);
    let is_known = timeline.patient.ended.is_some()
        || report.is_none() && is_read
        || timeline.events().iter().any(|event| is_staffs(event) && is_later(event));
    match report.filter(|report| is_read || report.name.date >= after_unread) {
        _ if is_known => BTreeMap::new(),
        Some(report) => Kind::ALL.iter().map(|kind| (*kind, plus(report.name.date, -NAME_LAG_DAYS))).collect(),
        None => BTreeMap::from([(Kind::Contact, plus(read.first_day(Kind::Contact), -STEP_DAYS))]),
    }
}
