//! Signals of passing days: consecutive missed changes, an overdue log, no look by staff, a long absence.

use chrono::NaiveDate;

use super::rule::{Answered, EndedBy, EpisodeSearch, FullLook, RaisedBy, RestsOn, SITE, SignalRule, Urgency};
use super::{Episode, Evidence, Fold, Observation, SignalInputs, WatchedSite, Whole, is_full_staff_look};
use crate::day::{Instant, after, plus};
use crate::event::{Event, Fact, Kind, Signal};
use crate::patient::{CareRow, Reports};
use crate::policy::{CarePlace, Threshold};
use crate::schedule::{ChangeOutcome, Missed};

/// Days after the expected day of a log after which it is overdue in every time zone.
const LATE_AFTER_DAYS: i64 = 3;

/// A run of missed changes; it ends with the next change.
pub(super) const CHANGES_MISSED: SignalRule = SignalRule {
    urgency: Urgency::ThisWeek,
    ends: EndedBy::Change,
    answered: Answered::Contact,
    rests_on: RestsOn::Records,
    is_each_news: false,
    raised: RaisedBy::InTime,
    read: &[Kind::Change, Kind::Log],
    episodes: EpisodeSearch::Exit(changes_missed),
};

fn changes_missed(site: &WatchedSite) -> Vec<Episode> {
    let signal = Signal::ChangesMissed;
    let watch = site.watch;
    let in_a_row = watch.days(Threshold::MissedInARow);
    let schedule = site.schedule();
    let today = watch.timeline.today;
    let changes: Vec<&Event> = watch.timeline.changes(site.exit).collect();
    let is_open = watch.patient().last_day(site.exit).is_none_or(|last| last >= today);
    let mut fold = Fold::of_exit(site, signal);
    // A change resets the chain.
    let known: Vec<&Event> =
        changes.iter().copied().filter(|change| !fold.is_unknown_at(change.when.instant)).collect();
    let Some(from) = known_from(site, is_open, &known) else { return fold.finish() };
    if let Some(change) = known.iter().find(|change| change.when.care_day >= from).filter(|_| fold.is_unknown()) {
        fold.end(change.when.instant);
    }
    let expectations = Missed::since(&schedule, watch.timeline, from, in_a_row);
    let mut row: Vec<NaiveDate> = Vec::new();
    for expectation in &expectations {
        match (expectation.outcome, expectation.done_on) {
            (ChangeOutcome::Missed, _) => row.push(expectation.due_on),
            // Unreported changes are skipped; a change ends the run.
            (ChangeOutcome::Unreported | ChangeOutcome::Open, None) => continue,
            _ => row.clear(),
        }
        if row.len() as i64 != in_a_row {
            continue;
        }
        let next = schedule.next_due(expectation.due_on, today);
        let at = next.map_or_else(|| watch.calendar().end(expectation.due_on), |next| watch.calendar().start(next));
        let last = changes.iter().rev().find(|change| change.when.instant < at);
        let evidence = Evidence { file: file_of(watch, last.copied()), what: Observation::Missed(row.clone()) };
        // A change on that care day ends the run, even if another time zone makes it the earlier instant.
        let day = watch.calendar().today(at);
        let end = changes.iter().find(|change| change.when.care_day >= day || change.when.instant >= at);
        if !fold.is_up() && end.is_none_or(|change| change.when.instant >= at) {
            fold.rise(at, at, vec![evidence]);
        }
        if let Some(change) = end {
            fold.end(change.when.instant.max(at));
        }
    }
    fold.finish()
}

/// The file cited as evidence if no record states the fact: the last record before it, or patient.toml.
fn file_of(watch: &SignalInputs, last: Option<&Event>) -> String {
    last.map_or_else(|| watch.patient().source.file.clone(), |event| event.file().to_owned())
}

/// Returns the day from which the course of an exit site is known: its start, if within the days considered; otherwise
/// the first of `events` among them; without any, the last one before them, which was read, or the start. `None` if
/// nothing shows it: for a closed exit site, records before those days are not read.
fn known_from(site: &WatchedSite, is_open: bool, events: &[&Event]) -> Option<NaiveDate> {
    let (start, first_day) = (site.schedule().start(), site.watch.first_day);
    let days = || events.iter().map(|event| event.when.care_day);
    let of_those_days = days().find(|day| *day >= first_day);
    match () {
        () if start >= first_day => Some(start),
        () if of_those_days.is_some() || !is_open => of_those_days,
        () => Some(days().next_back().map_or(start, |last| last.max(start))),
    }
}

/// No full look by staff for longer than the phase of the day allows, at home or inpatient.
pub(super) const NOT_LOOKED_AT: SignalRule = SignalRule {
    urgency: Urgency::ThisWeek,
    ends: EndedBy::FullLook(FullLook::Any),
    answered: Answered::Contact,
    rests_on: RestsOn::Looks,
    is_each_news: false,
    raised: RaisedBy::InTime,
    read: SITE,
    episodes: EpisodeSearch::Exit(not_looked_at),
};

fn not_looked_at(site: &WatchedSite) -> Vec<Episode> {
    let watch = site.watch;
    let patient = watch.patient();
    let schedule = site.schedule();
    let mut fold = Fold::of_exit(site, Signal::NotLookedAt);
    let full_looks = site.graded.iter().filter(|graded| is_full_staff_look(graded)).map(|graded| graded.event);
    let mut looks: Vec<&Event> = full_looks.filter(|look| !fold.is_unknown_at(look.when.instant)).collect();
    let last_day = patient.last_day(site.exit).map_or(watch.timeline.today, |last| last.min(watch.timeline.today));
    let Some(first) = known_from(site, last_day >= watch.timeline.today, &looks) else { return fold.finish() };
    looks.retain(|look| look.when.care_day >= first);
    // After the last look, and the last change to the course, it starts within the longest allowed gap or never.
    let longest = watch.plan.phases.iter().map(|phase| phase.look_days).max().unwrap_or_default();
    let alike = looks.last().map_or(first, |look| look.when.care_day).max(schedule.settled_from());
    let last_day = last_day.min(plus(alike, longest.saturating_add(1)));
    for day in first.iter_days().take_while(|day| *day <= last_day) {
        let place = patient.place(day);
        let phase = watch.plan.phases.iter().find(|phase| phase.holds_on(day, schedule.pod(day), place));
        let before = looks.iter().rev().find(|look| look.when.care_day < day);
        let since = before.map_or(first, |look| look.when.care_day);
        let is_long = phase.is_some_and(|phase| (day - since).num_days() > phase.look_days);
        // Neither a longer interval nor a move replaces the look.
        let rises = is_long && place != CarePlace::Elsewhere && !fold.is_up();
        let start = rises.then(|| watch.calendar().start(day)).filter(|start| *start <= watch.timeline.as_of);
        if let Some(start) = start {
            let what = Observation::NoLookSince { day: since, is_look: before.is_some() };
            fold.rise(start, start, vec![Evidence { file: file_of(watch, before.copied()), what }]);
        }
        if let Some(look) = looks.iter().find(|look| look.when.care_day == day) {
            fold.end(look.when.instant);
        }
    }
    if let Some(until) = site.exit.until.filter(|until| *until < watch.timeline.today) {
        fold.end(watch.calendar().end(until));
    }
    fold.finish()
}

/// The household's log is overdue; it ends with the log.
pub(super) const LOG_LATE: SignalRule = SignalRule {
    urgency: Urgency::ThisWeek,
    ends: EndedBy::Log,
    answered: Answered::Contact,
    rests_on: RestsOn::Records,
    is_each_news: false,
    raised: RaisedBy::Rarely,
    read: &[Kind::Log],
    episodes: EpisodeSearch::Patient(log_late),
};

fn log_late(whole: &Whole) -> Vec<Episode> {
    let watch = whole.watch;
    let patient = watch.patient();
    let is_by_log = |row: &CareRow| row.place == CarePlace::Home && row.reports == Reports::Log;
    if !patient.care.iter().any(is_by_log) {
        return Vec::new();
    }
    let calendar = watch.calendar();
    let Some(exit) = patient.exits_followed(watch.timeline.today).first().copied() else { return Vec::new() };
    let start = patient.start(exit);
    let logs: Vec<&Event> = watch.timeline.events().iter().filter(|event| event.name.kind == Kind::Log).collect();
    let is_late = |now: Instant| {
        let day = calendar.today(now);
        let expected = watch.timeline.log_expected_by(now, day, start, watch.plan);
        let is_at_home = patient.care_row(day).is_some_and(is_by_log) && !patient.has_ended(day);
        (is_at_home && now >= calendar.end(expected)).then_some(expected)
    };
    let as_of = watch.timeline.as_of;
    let is_of_those_days = |log: &&&Event| log.when.care_day >= watch.first_day && is_complete(log);
    // If one is overdue, every log was read. Otherwise nothing is known before the first log in the days considered.
    let first = match logs.iter().find(is_of_those_days) {
        _ if start >= watch.first_day || is_late(as_of).is_some() => calendar.start(start),
        Some(log) => log.when.instant,
        None => return Vec::new(),
    };
    // After the last log, and the last change to the course, an overdue log stays overdue.
    let alike = watch.timeline.last_day_of_logs().into_iter().fold(patient.last_day_named(), NaiveDate::max);
    let last_day = watch.timeline.today.min(plus(alike, watch.plan.log_days + LATE_AFTER_DAYS));
    let days = calendar.today(first).iter_days().take_while(|day| *day <= last_day);
    let read = logs.iter().map(|log| log.when.instant);
    let mut moments: Vec<Instant> = days.map(|day| calendar.start(day)).chain(read).chain([as_of]).collect();
    moments.retain(|at| first <= *at && *at <= as_of);
    moments.sort();
    moments.dedup();
    let mut fold = Fold::of_patient(watch, Signal::LogLate);
    for now in moments {
        match is_late(now) {
            Some(expected) if !fold.is_up() => {
                let last = logs.iter().rev().find(|log| log.when.instant <= now);
                let what = Observation::LogExpected(expected);
                fold.rise(now, now, vec![Evidence { file: file_of(watch, last.copied()), what }]);
            }
            Some(_) => {}
            None => fold.end(now),
        }
    }
    fold.finish()
}

fn is_complete(log: &Event) -> bool {
    matches!(log.fact, Fact::Log(log) if log.complete)
}

/// The patient has been elsewhere for too many days; it ends with a move.
pub(super) const AWAY_LONG: SignalRule = SignalRule {
    urgency: Urgency::ThisWeek,
    ends: EndedBy::Move,
    answered: Answered::HearAgain,
    rests_on: RestsOn::Records,
    is_each_news: false,
    raised: RaisedBy::Rarely,
    read: &[],
    episodes: EpisodeSearch::Patient(away_long),
};

fn away_long(whole: &Whole) -> Vec<Episode> {
    let watch = whole.watch;
    let patient = watch.patient();
    let days = watch.days(Threshold::AwayDays);
    let mut fold = Fold::of_patient(watch, Signal::AwayLong);
    let mut since: Option<NaiveDate> = None;
    for (n, row) in patient.care.iter().enumerate() {
        let until = patient.care.get(n + 1).map(|next| next.from);
        if row.place != CarePlace::Elsewhere {
            since = None;
            continue;
        }
        let since = *since.get_or_insert(row.from);
        let day = after(plus(since, days));
        let at = watch.calendar().start(day);
        let is_reached = at <= watch.timeline.as_of && until.is_none_or(|until| day < until);
        if is_reached && !fold.is_up() {
            let what = Observation::ElsewhereSince(since);
            fold.rise(at, at, vec![Evidence { file: patient.source.file.clone(), what }]);
        }
        let next_is_elsewhere = patient.care.get(n + 1).is_some_and(|next| next.place == CarePlace::Elsewhere);
        let moved = until.filter(|_| !next_is_elsewhere).map(|until| watch.calendar().start(until));
        if let Some(moved) = moved.filter(|moved| *moved <= watch.timeline.as_of) {
            fold.end(moved);
        }
    }
    fold.finish()
}
