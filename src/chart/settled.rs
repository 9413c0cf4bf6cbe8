//! Files from the newest back, until no older one can have left a signal open.
//!
//! Reads two weeks at a time, and each kind only as far as a signal needs it. Cultures, infections, treatments, pulls and
//! checkoffs are read for the full look-back period. If a signal is or may be open, all files of the period are read, so
//! that its start and the actions on it are known.

use chrono::NaiveDate;

use super::history::History;
use super::older;
use crate::day::{AsOf, after, plus};
use crate::event::{Event, EventName, Kind, Signal};
use crate::patient::Patient;
use crate::policy::Policy;
use crate::program::Program;
use crate::signal::{NAME_LAG_DAYS, Open, ReadWindow, SignalInputs};
use crate::timeline::{SortedEvents, Timeline};

/// The number of days read at a time.
const STEP_DAYS: i64 = 14;

/// Opens the files.
pub(super) fn open(program: &Program, history: &mut History, patient: &Patient, as_of: AsOf) {
    let Some(policy) = program.policy.as_ref() else { return };
    history.open_for_signals(policy, as_of, |name| is_rare(name.kind));
    if !is_settled(program, policy, history, patient, as_of) {
        history.open_for_signals(policy, as_of, |_| true);
        older::open(program, history, patient, as_of);
    }
}

/// Returns true for kinds with few records.
fn is_rare(kind: Kind) -> bool {
    matches!(kind, Kind::Culture | Kind::Infection | Kind::Treatment | Kind::Trauma | Kind::Teaching)
}

/// Reads back until no signal can be open; returns false if one is, or may be throughout the look-back period.
fn is_settled(program: &Program, policy: &Policy, history: &mut History, patient: &Patient, as_of: AsOf) -> bool {
    let Some(signals) = &policy.signals else { return true };
    let today = patient.calendar.today(as_of.instant);
    let oldest = plus(today, -signals.look_back_days);
    let names = history.names_since(oldest, as_of);
    let newest = NaiveDate::MAX;
    let mut unread = ReadWindow { changes: newest, looks: newest, showers: newest, inspections: newest, names: &names };
    let mut from = after(today);
    let mut open: Option<Vec<Open>> = None;
    while from > oldest {
        let is_asked_for = |is_so: &dyn Fn(&Open) -> bool| open.as_ref().is_none_or(|open| open.iter().any(is_so));
        // Only the changes themselves show who made them, so all of them are needed.
        let looks = is_asked_for(&|open| open.signal != Signal::Untaught);
        let showers = looks && is_asked_for(&|open| open.signal.is_raised_by(Kind::Shower));
        let inspections = looks && is_asked_for(&|open| open.signal.is_raised_by(Kind::Inspection));
        from = if looks { plus(from, -STEP_DAYS).max(oldest) } else { oldest };
        unread.changes = from;
        unread.looks = if looks { from } else { unread.looks };
        unread.showers = if showers { from } else { unread.showers };
        unread.inspections = if inspections { from } else { unread.inspections };
        history.open_for_signals(policy, as_of, |name| name.date >= unread.from(name.kind));
        let read: Vec<_> = history.opened().cloned().collect();
        let sorted = SortedEvents::as_of(patient, read, as_of);
        let timeline = Timeline::over(patient, &sorted, as_of.instant);
        let Some(watch) = SignalInputs::of(program.rules(), &timeline) else { return false };
        let may_be = watch.may_be_open(&unread);
        if may_be.iter().any(|open| open.is_certain) || may_be.is_empty() && !is_known(program, &timeline, &unread) {
            return false;
        }
        if may_be.is_empty() {
            return true;
        }
        open = Some(may_be);
    }
    false
}

/// Returns true if it is known whether staff recorded anything since an unread call, which may have reported the end of
/// support.
fn is_known(program: &Program, timeline: &Timeline, unread: &ReadWindow) -> bool {
    let is_staffs = |event: &Event| {
        let people = program.people.as_ref();
        event.name.date >= plus(unread.looks, NAME_LAG_DAYS)
            && people.is_none_or(|people| people.is_staff(&event.by, event.when.care_day))
    };
    let is_unread_call = |name: &EventName| name.kind == Kind::Contact && name.date <= unread.looks;
    timeline.patient.ended.is_some()
        || !unread.names.iter().any(is_unread_call)
        || timeline.events().iter().any(is_staffs)
}
