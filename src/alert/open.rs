//! The open alerts, patient by patient, with the counts of the heartbeat message.

use std::cmp::Reverse;
use std::collections::BTreeSet;

use chrono::{Datelike, Duration};
use rayon::prelude::*;

use super::{ActedOn, Alert, Matter, Repeat};
use crate::chart::{Chart, Window};
use crate::day::{AsOf, Instant};
use crate::event::{At, Event, Signal};
use crate::patient::{ExitSite, Patient};
use crate::policy::{self, Alerts, CarePlan, Policy};
use crate::problem::Problem;
use crate::program::Program;
use crate::schedule::{Because, ChangeTrigger, Due, Promise, Schedule, State};
use crate::signal::{Episode, SignalInputs, Urgency, not_known};
use crate::supply::{OWN_USE_DAYS, Stock, stocks};
use crate::teaching::{self, SignOffRules};
use crate::timeline::Timeline;

/// The windows of the alerts. Supplies are known even if `[signals]` has an error.
const WINDOWS: [Window; 3] = [Window::Signals, Window::Recent, Window::Supplies { own_use_days: OWN_USE_DAYS }];

/// The windows of the alerts about a patient with a planned move home, which needs every checkoff.
const WINDOWS_OF_MOVE: [Window; 4] = [WINDOWS[0], WINDOWS[1], WINDOWS[2], Window::Checkoffs];

/// The maximum number of hours for which a pending promise delays an alert; for a shower or damage, the hours of its own
/// window instead.
const PROMISE_HOURS: i64 = 24;

/// The number of days for which the end of support is reported to recipients who were not informed.
const ENDED_DAYS: i64 = 31;

/// The open alerts, and the records read for them.
#[derive(Debug, Clone, Default)]
pub struct OpenAlerts {
    /// The alerts.
    pub alerts: Vec<Alert>,
    /// Patients on file.
    pub on_file: usize,
    /// Patients with an overdue change.
    pub overdue: usize,
    /// Overdue patients of whom no overdue alert is sent before a promise is broken.
    pub held_by_promise: Vec<String>,
    /// Patients with a change overdue for too few hours to alert about.
    pub not_yet: Vec<String>,
    /// The hours after which an overdue change is alerted.
    pub after_hours: i64,
    /// Patients whose state is unknown, and names that are not patient codes.
    pub unreadable: usize,
    /// Time at which the newest record was written, otherwise at which it happened.
    pub newest: Option<Instant>,
    /// Patients whose support ended according to a call, with no record by staff since.
    pub reported_ended: Vec<String>,
    /// Patients whose alerts are unknown.
    pub not_known: BTreeSet<String>,
    /// The problems of the unreadable files.
    pub problems: Vec<Problem>,
}

/// The alerts of one patient.
#[derive(Default)]
struct PatientAlerts {
    alerts: Vec<Alert>,
    is_overdue: bool,
    is_held: bool,
    is_not_yet: bool,
    is_unusable: bool,
    is_reported_ended: bool,
    /// True if all signals are known.
    is_watched: bool,
    newest: Option<Instant>,
    problems: Vec<Problem>,
}

/// The parts of the program that alerts need.
#[derive(Clone, Copy)]
struct AlertRules<'a> {
    program: &'a Program,
    policy: &'a Policy,
    plan: &'a CarePlan,
    alerts: &'a Alerts,
    as_of: AsOf,
}

/// An overdue change.
struct Overdue {
    deadline: Instant,
    because: Because,
    known_since: Option<Instant>,
}

impl OpenAlerts {
    /// Reads all records; `None` if the policy cannot determine when a change is due, so that nothing can be checked. An
    /// error in another part of the policy is itself an alert, and the rest is checked.
    pub fn read(program: &Program, as_of: AsOf) -> Option<OpenAlerts> {
        let policy = program.policy.as_ref()?;
        let alerts = policy.alerts_or_default()?;
        let rules = AlertRules { program, policy, plan: program.plan()?, alerts: &alerts, as_of };
        let codes = &program.patients.codes;
        let charts: Vec<PatientAlerts> =
            program.folder.waiting(|| codes.par_iter().map(|code| rules.chart(code)).collect());
        let mut open =
            OpenAlerts { on_file: codes.len(), after_hours: alerts.coordinator_after_hours, ..OpenAlerts::default() };
        let common = program.problems.iter().filter(|problem| problem.makes_unusable());
        open.problems = common.cloned().collect();
        let (of_policy, others): (Vec<Problem>, Vec<Problem>) =
            open.problems.iter().cloned().partition(|problem| problem.place.file == policy::FILE);
        open.alerts.extend(of_the_policy(&of_policy));
        open.alerts.extend(unusable(None, &others));
        for (name, problem) in &program.patients.strays {
            open.problems.push(problem.clone());
            open.alerts.extend(unusable(Some(name), std::slice::from_ref(problem)));
            open.unreadable += 1;
        }
        for (code, chart) in codes.iter().zip(charts) {
            open.overdue += usize::from(chart.is_overdue);
            open.held_by_promise.extend(chart.is_held.then(|| code.clone()));
            open.not_yet.extend(chart.is_not_yet.then(|| code.clone()));
            open.unreadable += usize::from(chart.is_unusable);
            open.newest = open.newest.max(chart.newest);
            if chart.is_reported_ended {
                open.reported_ended.push(code.clone());
            }
            if !chart.problems.is_empty() || !chart.is_watched {
                open.not_known.insert(code.clone());
            }
            open.alerts.extend(unusable(Some(code), &chart.problems));
            open.alerts.extend(chart.alerts);
            open.problems.extend(chart.problems);
        }
        // An old event may have been recorded today, but is not opened for anything else.
        if quiet(open.newest, rules.alerts, as_of).is_some() {
            let newest = |code: &String| rules.newest(code);
            open.newest = program.folder.waiting(|| codes.par_iter().filter_map(newest).max()).max(open.newest);
        }
        open.alerts.extend(quiet(open.newest, rules.alerts, as_of));
        Some(open)
    }

    /// The alert that nothing could be checked.
    pub(crate) fn not_judged(why: &str) -> OpenAlerts {
        let alert = Alert::of_program(Matter::NotJudged { why: why.to_owned() }, None);
        OpenAlerts { alerts: vec![alert], ..OpenAlerts::default() }
    }
}

impl AlertRules<'_> {
    fn chart(&self, code: &str) -> PatientAlerts {
        let chart = |windows: &[Window]| self.program.chart(code, windows, self.as_of);
        let is_move = |read: &Chart| teaching::planned_move_home(&read.patient, read.timeline().today).is_some();
        let read = match chart(&WINDOWS) {
            Ok(read) if is_move(&read) => chart(&WINDOWS_OF_MOVE),
            read => read,
        };
        let read = match read {
            Ok(read) => read,
            Err(unjudged) => {
                return PatientAlerts { is_unusable: true, problems: unjudged.problems, ..PatientAlerts::default() };
            }
        };
        let patient = &read.patient;
        let newest = read.all_events().filter_map(|event| self.written(event, patient)).max();
        let is_unusable = read.unread.state().is_some();
        let problems = read.unread.problems().cloned().collect();
        let mut chart = PatientAlerts { is_unusable, newest, problems, ..PatientAlerts::default() };
        if is_unusable {
            return chart;
        }
        let timeline = read.timeline();
        for exit in patient.exits_followed(timeline.today) {
            let due = Due::of(&Schedule { plan: self.plan, patient, exit }, &timeline);
            let overdue = self.overdue(patient, exit, &due);
            chart.is_overdue |= due.state == State::Overdue;
            let is_held = overdue.is_empty() && self.is_held(&due);
            chart.is_held |= is_held;
            chart.is_not_yet |= overdue.is_empty() && !is_held && due.state == State::Overdue;
            chart.alerts.extend(overdue);
        }
        let watch = SignalInputs::of(self.program.rules(), &timeline);
        chart.is_watched = not_known(self.program.rules()).is_empty();
        let episodes = watch.iter().flat_map(SignalInputs::episodes).filter(Episode::is_open);
        // An overdue log is reported as overdue, which does not depend on any signal.
        let episodes = episodes.filter(|episode| episode.signal != Signal::LogLate);
        chart.alerts.extend(episodes.map(|episode| signal(patient, episode, &read.ahead)));
        chart.alerts.extend(self.sign_off(&timeline));
        chart.alerts.extend(supplies(self.policy, self.plan, &timeline));
        chart.alerts.extend(support_ended(&timeline));
        if timeline.is_end_reported(self.program.people.as_ref()) {
            chart.is_reported_ended = true;
            chart.is_not_yet = false;
            chart.alerts.clear();
        }
        chart
    }

    /// The time at which the newest record of the look-back period was written.
    fn newest(&self, code: &str) -> Option<Instant> {
        let read = self.program.chart(code, &[Window::LookBack], self.as_of).ok()?;
        read.all_events().filter_map(|event| self.written(event, &read.patient)).max()
    }

    /// The time at which a record was written, otherwise at which it happened; `None` if both are in the future.
    fn written(&self, event: &Event, patient: &Patient) -> Option<Instant> {
        let begins = patient.calendar.start(event.when.care_day);
        let times = [event.known_at(&patient.calendar), event.when.instant, begins];
        times.into_iter().find(|time| *time <= self.as_of.instant)
    }

    /// Returns the overdue changes that are due for an alert.
    fn overdue(&self, patient: &Patient, exit: &ExitSite, due: &Due) -> Vec<Alert> {
        let known = |report: Option<ChangeTrigger>| report.map(|report| report.known_at.instant());
        let row = due.deadline.zip(due.because).filter(|_| due.state == State::Overdue);
        let row = row.map(|(deadline, because)| Overdue {
            deadline: deadline.instant(),
            because,
            known_since: known(due.report),
        });
        let also = due.also.iter().filter(|one| one.is_overdue(self.as_of.instant));
        let also = also.map(|one| Overdue {
            deadline: one.deadline.instant(),
            because: one.because,
            known_since: known(one.report),
        });
        let all = row.into_iter().chain(also).filter_map(|one| self.overdue_change(patient, exit, due, &one));
        let mut alerts: Vec<Alert> = all.collect();
        // A shower that left the dressing wet requires one change by one deadline, so it is one alert.
        alerts.sort_by_key(|alert| (alert.since, Reverse(alert.level)));
        alerts.dedup_by_key(|alert| alert.since);
        alerts
    }

    /// Returns an overdue change if it is due for an alert. A pending promise delays it until the promise is broken, or
    /// for at most the hours of `held_until`.
    fn overdue_change(&self, patient: &Patient, exit: &ExitSite, due: &Due, overdue: &Overdue) -> Option<Alert> {
        let (now, since) = (self.as_of.instant, overdue.deadline);
        let held_until = due.promise.as_ref().and_then(|promise| self.held_until(promise, overdue.because));
        let told_from = |after_hours: i64| {
            let from = since + Duration::hours(after_hours);
            held_until.map_or(from, |held| from.max(held))
        };
        let is_at_once = matches!(overdue.because, Because::AfterShower | Because::Damage);
        let coordinator_from = told_from(if is_at_once { 0 } else { self.alerts.coordinator_after_hours });
        let physician_from = Some(told_from(self.alerts.physician_after_hours));
        // An overdue log is not urgent within hours.
        let is_late_log = overdue.because == Because::LogLate;
        let physician_from = physician_from.filter(|from| now > *from && !is_late_log);
        // The end of a care day has passed when it is reached.
        let is_just_past = is_at_once && now == since && coordinator_from == since;
        (now > coordinator_from || is_just_past || physician_from.is_some()).then(|| Alert {
            patient: Some(patient.code.clone()),
            exit: Some(exit.id.clone()),
            matter: Matter::Overdue { hours: (now - since).num_hours(), because: Some(overdue.because) },
            since: Some(since),
            known_since: overdue.known_since,
            level: 1 + i64::from(physician_from.is_some()),
            told_from: Some(coordinator_from.max(overdue.known_since.unwrap_or(since))),
            physician_from,
            repeat: if is_late_log { Repeat::Weekly } else { Repeat::Policy },
        })
    }

    /// Returns true if a change is overdue and a promise delays its alert.
    fn is_held(&self, due: &Due) -> bool {
        let promise = due.promise.as_ref().zip(due.because).filter(|_| due.state == State::Overdue);
        let held_until = promise.and_then(|(promise, because)| self.held_until(promise, because));
        held_until.is_some_and(|until| until > self.as_of.instant)
    }

    /// The instant until which a promise delays an overdue change. If only the day of the call is known, the hours count
    /// from the start of that day, and only an agreed time delays it at all.
    fn held_until(&self, promise: &Promise, because: Because) -> Option<Instant> {
        if !promise.is_agreed && matches!(promise.at, At::Day(_)) {
            return None;
        }
        let hours = match because {
            Because::AfterShower => self.plan.windows.after_shower_hours,
            Because::Damage => self.plan.windows.after_damage_hours,
            _ => PROMISE_HOURS,
        };
        Some(promise.expect_by.instant().min(promise.earliest.instant() + Duration::hours(hours)))
    }

    /// A planned move home with too few people signed off.
    fn sign_off(&self, timeline: &Timeline) -> Option<Alert> {
        let home_on = SignOffRules::of(self.program.rules())?.move_home(timeline)?.on;
        let since = timeline.patient.calendar.start(home_on);
        Some(of_patient(timeline.patient, Matter::SignOff { home_on }, Some(since), Repeat::Policy))
    }
}

fn of_patient(patient: &Patient, matter: Matter, since: Option<Instant>, repeat: Repeat) -> Alert {
    Alert { patient: Some(patient.code.clone()), repeat, ..Alert::of_program(matter, since) }
}

/// Errors of the policy that leave the rest checkable; more errors are worse.
fn of_the_policy(problems: &[Problem]) -> Option<Alert> {
    let first = problems.first()?;
    let matter = Matter::Policy { first: Box::new(first.clone()), errors: problems.len() };
    let alert = Alert::of_program(matter, None);
    Some(Alert { level: problems.len() as i64, ..alert })
}

/// Unreadable files; more of them are worse.
fn unusable(patient: Option<&str>, problems: &[Problem]) -> Option<Alert> {
    let files: BTreeSet<String> = problems.iter().map(|problem| problem.place.file.clone()).collect();
    let level = files.len() as i64;
    let matter = Matter::Unusable { files: files.into_iter().collect() };
    (level > 0).then(|| Alert { patient: patient.map(str::to_owned), level, ..Alert::of_program(matter, None) })
}

/// A signal of today is sent until its news is acted on, and as worse with each further news; a signal of this week once.
/// `ahead` are the files of future-dated events.
fn signal(patient: &Patient, episode: Episode, ahead: &[String]) -> Alert {
    let urgency = episode.urgency;
    let is_today = urgency == Urgency::Today;
    let is_ahead = episode.evidence.iter().any(|said| ahead.contains(&said.file));
    let evidence = episode.evidence.into_iter().map(|said| said.what).collect();
    let level = if is_today { episode.news.len() as i64 } else { 1 };
    let repeat = if is_today && !episode.news_answered { Repeat::Policy } else { Repeat::Never };
    let news = episode.news.last().unwrap_or(&episode.since).max(&episode.known_since).instant();
    // News from a future-dated record would be as old as each run: without a state it is new once, at its own time.
    let told_from = if is_ahead { Instant::MIN_UTC } else { news };
    let acted_on = episode.answered.zip(episode.answered_by).map(|(at, by)| ActedOn {
        at: at.instant(),
        by,
        is_of_all: episode.news_answered,
        action: episode.latest_action.map(Box::new),
    });
    let matter = Matter::Signal { signal: episode.signal, urgency, evidence, acted_on };
    Alert {
        exit: episode.exit,
        known_since: Some(episode.known_since.instant()),
        level,
        told_from: Some(told_from),
        physician_from: is_today.then_some(told_from),
        ..of_patient(patient, matter, Some(episode.since.instant()), repeat)
    }
}

/// Supplies that must be ordered by now. The order date moves with use, so it is not part of the alert.
fn supplies(policy: &Policy, plan: &CarePlan, timeline: &Timeline) -> Vec<Alert> {
    let items = policy.supplies.as_deref().unwrap_or_default();
    let short = stocks(items, plan, timeline).into_iter().filter(|stock| stock.short == Some(true));
    short
        .map(|stock: Stock| of_patient(timeline.patient, Matter::Supply { item: stock.item }, None, Repeat::Policy))
        .collect()
}

/// The end of support, reported once; not if support ended long ago.
fn support_ended(timeline: &Timeline) -> Option<Alert> {
    let ended = timeline.patient.ended.as_ref()?;
    let days = timeline.today.num_days_from_ce() - ended.on.num_days_from_ce();
    let is_recent = (0..=ENDED_DAYS).contains(&i64::from(days));
    let since = timeline.patient.calendar.start(ended.on);
    is_recent.then(|| of_patient(timeline.patient, Matter::SupportEnded { on: ended.on }, Some(since), Repeat::Never))
}

/// The alert that no record was entered for any patient for `quiet_hours`, or ever.
fn quiet(newest: Option<Instant>, alerts: &Alerts, as_of: AsOf) -> Option<Alert> {
    let quiet_for = newest.map(|newest| as_of.instant - newest);
    let is_quiet = quiet_for.is_none_or(|quiet_for| quiet_for > Duration::hours(alerts.quiet_hours));
    let matter = Matter::Quiet { hours: quiet_for.map(|quiet_for| quiet_for.num_hours()) };
    is_quiet.then(|| Alert::of_program(matter, newest))
}
