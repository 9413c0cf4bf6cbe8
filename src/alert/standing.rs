//! What stands in the records now that somebody must hear of, patient by patient, with the counts of the heartbeat.

use std::collections::BTreeSet;

use chrono::{Datelike, Duration};
use rayon::prelude::*;

use super::{Alert, Matter};
use crate::chart::Window;
use crate::day::{AsOf, Instant, plus};
use crate::event::Event;
use crate::patient::{Exit, Patient};
use crate::policy::{Alerts, CarePlace, Plan, Policy};
use crate::problem::Problem;
use crate::program::Program;
use crate::schedule::{Because, Due, Schedule, State};
use crate::signal::{Episode, Urgency, Watch};
use crate::supply::{Stock, stocks};
use crate::timeline::Timeline;

/// A promise that still holds keeps an alert back for so long at most.
const PROMISE_HOURS: i64 = 24;

/// A planned move home is looked at from so many days before it.
const MOVE_HOME_DAYS: i64 = 7;

/// The end of support is told for so many days, to those who were not told.
const ENDED_DAYS: i64 = 31;

/// What stands, and what was read to say so.
#[derive(Debug, Clone, Default)]
pub struct Standing {
    /// Everything that somebody must hear of.
    pub alerts: Vec<Alert>,
    /// Patients on file.
    pub on_file: usize,
    /// Patients with an overdue change.
    pub overdue: usize,
    /// Patients who cannot be judged, and names that are no patient's.
    pub unusable: usize,
    /// When the newest record was written, or happened where it does not say.
    pub newest: Option<Instant>,
    /// Patients of whom not everything is known.
    pub not_known: BTreeSet<String>,
    /// What is wrong in the files that cannot be used.
    pub problems: Vec<Problem>,
}

/// What one patient's records say.
#[derive(Default)]
struct Told {
    alerts: Vec<Alert>,
    is_overdue: bool,
    is_unusable: bool,
    newest: Option<Instant>,
    problems: Vec<Problem>,
}

/// What the policy says, all of which is needed.
#[derive(Clone, Copy)]
struct Rules<'a> {
    program: &'a Program,
    policy: &'a Policy,
    plan: &'a Plan,
    alerts: &'a Alerts,
    as_of: AsOf,
}

impl Standing {
    /// Reads everybody's records; none where the policy cannot be used, so that nothing can be judged.
    pub fn of(program: &Program, as_of: AsOf) -> Option<Standing> {
        let policy = program.policy.as_ref()?;
        policy.signals.as_ref()?;
        policy.scoring.as_ref()?;
        let rules = Rules { program, policy, plan: program.plan()?, alerts: policy.alerts.as_ref()?, as_of };
        let codes = &program.patients.codes;
        let charts: Vec<Told> = codes.par_iter().map(|code| rules.chart(code)).collect();
        let mut standing = Standing { on_file: codes.len(), ..Standing::default() };
        let common = program.problems.iter().filter(|problem| problem.makes_unusable());
        standing.problems = common.cloned().collect();
        standing.alerts.extend(unusable(None, &standing.problems));
        for (name, problem) in &program.patients.strays {
            standing.problems.push(problem.clone());
            standing.alerts.extend(unusable(Some(name), std::slice::from_ref(problem)));
            standing.unusable += 1;
        }
        for (code, chart) in codes.iter().zip(charts) {
            standing.overdue += usize::from(chart.is_overdue);
            standing.unusable += usize::from(chart.is_unusable);
            standing.newest = standing.newest.max(chart.newest);
            if !chart.problems.is_empty() {
                standing.not_known.insert(code.clone());
            }
            standing.alerts.extend(unusable(Some(code), &chart.problems));
            standing.alerts.extend(chart.alerts);
            standing.problems.extend(chart.problems);
        }
        standing.alerts.extend(quiet(standing.newest, rules.alerts, as_of));
        Some(standing)
    }

    /// What stands where nothing could be judged.
    pub fn not_judged(why: &str) -> Standing {
        let alert = Alert::of_program(Matter::NotJudged { why: why.to_owned() }, None);
        Standing { alerts: vec![alert], ..Standing::default() }
    }
}

impl Rules<'_> {
    fn chart(&self, code: &str) -> Told {
        let read = match self.program.chart(code, &[Window::Signals, Window::Recent], self.as_of) {
            Ok(read) => read,
            Err(unjudged) => return Told { is_unusable: true, problems: unjudged.problems, ..Told::default() },
        };
        let patient = &read.patient;
        let newest = read.all_events().filter_map(|event| self.written(event, patient)).max();
        let is_unusable = read.unread.state().is_some();
        let problems = read.unread.problems().cloned().collect();
        let mut chart = Told { is_unusable, newest, problems, ..Told::default() };
        if is_unusable {
            return chart;
        }
        let timeline = read.timeline();
        for exit in patient.exits_followed(timeline.today) {
            let due = Due::of(&Schedule { plan: self.plan, patient, exit }, &timeline);
            chart.is_overdue |= due.state == State::Overdue;
            chart.alerts.extend(self.overdue(patient, exit, &due));
        }
        let watch = Watch::of(self.policy, self.program.people.as_ref(), &timeline);
        let episodes = watch.iter().flat_map(Watch::episodes).filter(Episode::is_open);
        chart.alerts.extend(episodes.map(|episode| signal(patient, episode)));
        chart.alerts.extend(watch.and_then(|watch| sign_off(&watch)));
        chart.alerts.extend(supplies(self.policy, self.plan, &timeline));
        chart.alerts.extend(support_ended(&timeline));
        chart
    }

    /// When a record was written, or happened where it does not say; none where all of that lies ahead.
    fn written(&self, event: &Event, patient: &Patient) -> Option<Instant> {
        let begins = patient.calendar.start(event.when.care_day);
        let times = [event.known_at(&patient.calendar), event.when.instant, begins];
        times.into_iter().find(|time| *time <= self.as_of.instant)
    }

    /// An overdue change that somebody must hear of by now. A promise that holds keeps back the word to each for
    /// `PROMISE_HOURS` at most.
    fn overdue(&self, patient: &Patient, exit: &Exit, due: &Due) -> Option<Alert> {
        let since = due.deadline.filter(|_| due.state == State::Overdue)?;
        let now = self.as_of.instant;
        let holds = due.promise.is_some_and(|promise| !promise.broken);
        let is_told = |after_hours: i64| {
            let held_until = since + Duration::hours(after_hours + PROMISE_HOURS);
            now > since + Duration::hours(after_hours) && !(holds && now <= held_until)
        };
        let is_at_once = matches!(due.because, Some(Because::AfterShower | Because::Damage));
        let after_hours = if is_at_once { 0 } else { self.alerts.coordinator_after_hours };
        // The end of a care day is past when it has come.
        let is_just_past = is_at_once && now == since && !holds;
        let to_physician = is_told(self.alerts.physician_after_hours);
        let known_since = due.report.map(|report| report.event.known_at(&patient.calendar));
        (is_told(after_hours) || is_just_past || to_physician).then(|| Alert {
            patient: Some(patient.code.clone()),
            exit: Some(exit.id.clone()),
            matter: Matter::Overdue { hours: due.hours_overdue.unwrap_or_default(), because: due.because },
            since: Some(since),
            known_since,
            level: 1 + i64::from(to_physician),
            to_physician,
            repeats: true,
        })
    }
}

fn of_patient(patient: &Patient, matter: Matter, since: Option<Instant>, repeats: bool) -> Alert {
    Alert { patient: Some(patient.code.clone()), repeats, ..Alert::of_program(matter, since) }
}

/// Files that cannot be used; more of them are worse.
fn unusable(patient: Option<&str>, problems: &[Problem]) -> Option<Alert> {
    let files: BTreeSet<String> = problems.iter().map(|problem| problem.place.file.clone()).collect();
    let level = files.len() as i64;
    let matter = Matter::Unusable { files: files.into_iter().collect() };
    (level > 0).then(|| Alert { patient: patient.map(str::to_owned), level, ..Alert::of_program(matter, None) })
}

/// A signal of today is told until its news is answered, and as worse with each further news; one of this week once.
fn signal(patient: &Patient, episode: Episode) -> Alert {
    let urgency = episode.urgency();
    let is_today = urgency == Urgency::Today;
    let evidence: Vec<String> = episode.evidence.iter().map(|said| said.what.clone()).collect();
    let level = if is_today { episode.news.len() as i64 } else { 1 };
    let repeats = is_today && !episode.is_news_answered;
    let matter = Matter::Signal { signal: episode.signal, urgency, evidence };
    Alert {
        exit: episode.exit,
        known_since: Some(episode.known_since),
        level,
        to_physician: is_today,
        ..of_patient(patient, matter, Some(episode.since), repeats)
    }
}

/// A planned move home, within a week, to a household in which too few are signed off on that day.
fn sign_off(watch: &Watch) -> Option<Alert> {
    let (timeline, school) = (watch.timeline, watch.school?);
    let (patient, today) = (timeline.patient, timeline.today);
    if patient.place(today) == CarePlace::Home || patient.has_ended(today) {
        return None;
    }
    let is_soon = |day| today < day && day <= plus(today, MOVE_HOME_DAYS);
    let home_on = patient.care.iter().find(|row| row.place == CarePlace::Home && is_soon(row.from))?.from;
    let is_ready = school.are_enough(&school.signed_off(patient, timeline.events(), home_on));
    let since = patient.calendar.start(home_on);
    (!is_ready).then(|| of_patient(patient, Matter::SignOff { home_on }, Some(since), true))
}

/// Supplies that have to be ordered by now. The day by which they had to moves with use, so it is no part of the alert.
fn supplies(policy: &Policy, plan: &Plan, timeline: &Timeline) -> Vec<Alert> {
    let items = policy.supplies.as_deref().unwrap_or_default();
    let short = stocks(items, plan, timeline).into_iter().filter(|stock| stock.is_short == Some(true));
    short.map(|stock: Stock| of_patient(timeline.patient, Matter::Supply { item: stock.item }, None, true)).collect()
}

/// The end of support, told once; not of those whose support ended long ago.
fn support_ended(timeline: &Timeline) -> Option<Alert> {
    let ended = timeline.patient.ended.as_ref()?;
    let days = timeline.today.num_days_from_ce() - ended.on.num_days_from_ce();
    let is_recent = (0..=ENDED_DAYS).contains(&i64::from(days));
    let since = timeline.patient.calendar.start(ended.on);
    is_recent.then(|| of_patient(timeline.patient, Matter::SupportEnded { on: ended.on }, Some(since), false))
}

/// Nothing was entered in the whole program for `quiet_hours`, or ever.
fn quiet(newest: Option<Instant>, alerts: &Alerts, as_of: AsOf) -> Option<Alert> {
    let quiet_for = newest.map(|newest| as_of.instant - newest);
    let is_quiet = quiet_for.is_none_or(|quiet_for| quiet_for > Duration::hours(alerts.quiet_hours));
    let matter = Matter::Quiet { hours: quiet_for.map(|quiet_for| quiet_for.num_hours()) };
    is_quiet.then(|| Alert::of_program(matter, newest))
}
