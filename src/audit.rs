//! One patient's contribution to an audit; an audit is a sum over patients.
//!
//! [`Contribution::read`] opens the files for the period, its charts and the rare kinds, and computes from the timeline
//! the counts of the audit: patient-days, infections, expected changes, showers, findings, signals, record quality. The
//! report computes the figures from the sums.
//!
//! Left out on purpose: statistics, and words for people.

mod care;
mod happening;
mod household;
mod infection;
mod quality;
mod rise;
mod span;
mod stay;

pub use care::{ChangeFindings, CountsByPhase, DayInDate, ExitCare, Expected, SiteShower};
pub use happening::{Happening, Precursor};
pub use household::HouseholdStatus;
pub use infection::Determination;
pub use quality::Quality;
pub use rise::Rise;
pub use span::{AuditSpan, BEFORE_DAYS, Month, OWN_DAYS, month_of, months, next_month};
pub use stay::Stay;

use std::collections::BTreeSet;

use chrono::NaiveDate;
use rayon::prelude::*;

use crate::chart::Window;
use crate::day::{AsOf, Period};
use crate::event::{Event, EventName, Fact, Kind};
use crate::patient::{Patient, Reports, Where};
use crate::policy::CarePlace;
use crate::problem::Problem;
use crate::program::Program;
use crate::rules::Rules;
use crate::signal::{Episode, SignalInputs, not_known};
use crate::supply::OWN_USE_DAYS;
use crate::surveillance::follow_up::FollowUp;
use crate::timeline::Timeline;

/// The patients of a program, as counted in an audit.
#[derive(Debug, Clone, Default)]
pub struct Cohort {
    /// One contribution per patient.
    pub all: Vec<Contribution>,
    /// The patients who are not counted, with the reason.
    pub not_counted: Vec<(String, Vec<Problem>)>,
}

impl Cohort {
    /// Reads all patients of a program in parallel.
    pub fn read(program: &Program, as_of: AsOf, span: &AuditSpan) -> Cohort {
        let codes = &program.patients.codes;
        let contribution = |code: &String| {
            let read = Contribution::read(program, code, as_of, span);
            program.folder.has_read_patient();
            read
        };
        let read: Vec<_> = program.folder.waiting(|| codes.par_iter().map(contribution).collect());
        let mut cohort = Cohort::default();
        for (code, read) in codes.iter().zip(read) {
            match read {
                Ok(contribution) => cohort.all.push(contribution),
                Err(problems) => cohort.not_counted.push((code.clone(), problems)),
            }
        }
        cohort
    }

    /// The unreadable files of all patients.
    pub fn problems(&self) -> impl Iterator<Item = &Problem> {
        let of_counted = self.all.iter().flat_map(|one| &one.problems);
        of_counted.chain(self.not_counted.iter().flat_map(|(_, problems)| problems))
    }

    /// Returns true if no patient has an unreadable file.
    pub fn is_complete(&self) -> bool {
        self.problems().next().is_none() && self.not_counted.is_empty()
    }
}

/// One patient's contribution to an audit.
#[derive(Debug, Clone)]
pub struct Contribution {
    /// Patient code.
    pub patient: String,
    /// The days under support.
    pub stay: Stay,
    /// Characteristics by which patients are compared.
    pub traits: Covariates,
    /// Every determination on file, by onset, one per onset.
    pub infections: Vec<Determination>,
    /// Further determinations of an onset, not counted.
    pub infections_twice: Vec<Determination>,
    /// Days on an antibiotic for an infection, in periods that do not overlap.
    pub treated: Vec<Period>,
    /// Changes, showers and findings; `None` if a file of those days, or of the next change, is unreadable.
    pub care: Option<ExitCare>,
    /// Events that may lead to an infection, from the first day of the charts on; `None` as above.
    pub happenings: Option<Vec<Happening>>,
    /// Days from the first day of the charts on with a look at the anchor, once per look.
    pub anchor_looks: Vec<NaiveDate>,
    /// Signals that started in the period; `None` as above.
    pub episodes: Option<Vec<Episode>>,
    /// Every episode of a signal since the start of the look-back period; `None` as above.
    pub rises: Option<Vec<Rise>>,
    /// Pulls in the period.
    pub traumas: u64,
    /// Days from the first day of the charts on that the records do not cover.
    pub days_not_told: BTreeSet<NaiveDate>,
    /// Sign-offs and supplies on the last day of the period.
    pub household: HouseholdStatus,
    /// Quality of the records of the period.
    pub quality: Quality,
    /// Unreadable files.
    pub problems: Vec<Problem>,
}

/// Characteristics by which patients are compared.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Covariates {
    /// Location of the first exit site.
    pub at: Where,
    /// Reporting of the household when the patient was first at home; `None` if never at home.
    pub reports: Option<Reports>,
    /// Number of caregivers on file.
    pub caregivers: usize,
    /// Implant date.
    pub implanted: NaiveDate,
}

impl Contribution {
    /// Computes one patient's contribution.
    ///
    /// # Errors
    /// The policy or patient.toml is unreadable: the patient is not counted, and the problems give the reason.
    pub fn read(program: &Program, code: &str, as_of: AsOf, span: &AuditSpan) -> Result<Contribution, Vec<Problem>> {
        let Some(policy) = program.policy.as_ref() else { return Err(Vec::new()) };
        let window = Window::Audit { first: span.files_from, charts: span.charts, own_use_days: OWN_USE_DAYS };
        let chart = program.chart(code, &[window], as_of).map_err(|unjudged| unjudged.problems)?;
        let patient = &chart.patient;
        let problems: Vec<Problem> = chart.unread.problems().cloned().collect();
        let is_whole = !problems.iter().any(|problem| may_hide(problem, chart.all_events(), span.period.to));
        let quality = Quality::of(policy, patient, chart.all_events(), as_of.instant, span.period);
        let timeline = chart.timeline();
        let care = policy.plan.as_ref().filter(|_| is_whole).map(|plan| ExitCare::of(plan, &timeline, span));
        let determinations = infection::all(&timeline);
        let happenings = care.as_ref().map(|care| happening::all(&timeline, care, span));
        let mut episodes = episodes(chart.rules, &timeline, span).filter(|_| is_whole);
        let rises = episodes.as_ref().map(|all| all.iter().map(|one| Rise::of(one, &patient.calendar)).collect());
        episodes.iter_mut().for_each(|all| all.retain(|one| span.period.contains(rise::day(one, &patient.calendar))));
        Ok(Contribution {
            patient: code.to_owned(),
            stay: Stay::of(patient),
            traits: Covariates::of(patient),
            infections: determinations.counted,
            infections_twice: determinations.twice,
            treated: infection::treated(&timeline),
            anchor_looks: happening::anchor_looks(&timeline, span),
            episodes,
            rises,
            traumas: traumas(&timeline, span),
            household: HouseholdStatus::of(program, &timeline, span),
            quality: Quality { days_not_covered: days_not_covered(&timeline, span), ..quality },
            days_not_told: days_not_told(&timeline, span),
            care,
            happenings,
            problems,
        })
    }

    /// The follow-up to a first infection up to a day; `None` if it is not observed from its start, including an onset on
    /// file before that start.
    /// is on file from before that beginning.
    pub fn follow_up(&self, last: NaiveDate) -> Option<FollowUp> {
        let is_before = |one: &Determination| one.is_certain() && one.onset < self.stay.from;
        self.stay.follow_up(self.first_onset(), last).filter(|_| !self.infections.iter().any(is_before))
    }

    /// Patient-days among some days of the charts that the records cover.
    pub(crate) fn days_told(&self, days: Period) -> i64 {
        let is_told = |day: &NaiveDate| self.stay.is_patient_day(*day) && !self.days_not_told.contains(day);
        days.days().filter(is_told).count() as i64
    }

    /// The onset of the first infection that counts, within the patient's time on file.
    pub(crate) fn first_onset(&self) -> Option<NaiveDate> {
        self.infections.iter().filter(|one| one.is_certain() && self.stay.holds(one.onset)).map(|one| one.onset).min()
    }
}

impl Covariates {
    fn of(patient: &Patient) -> Covariates {
        let first_exit = patient.exits.iter().min_by_key(|exit| exit.from);
        Covariates {
            at: first_exit.map_or(Where::Other, |exit| exit.at),
            reports: patient.care.iter().find(|row| row.place == CarePlace::Home).map(|row| row.reports),
            caregivers: patient.caregivers.len(),
            implanted: patient.implanted,
        }
    }
}

/// The signals that started in the patient's time on file, looking back from the first day of the period; `None` if one
/// of them is unknown.
/// not known.
fn episodes(rules: Rules, timeline: &Timeline, span: &AuditSpan) -> Option<Vec<Episode>> {
    let watch = SignalInputs::of(rules, timeline).filter(|_| not_known(rules).is_empty())?;
    let (calendar, stay) = (&timeline.patient.calendar, Stay::of(timeline.patient));
    let mut episodes = watch.looking_back_from(span.period.from).episodes();
    episodes.retain(|episode| {
        let day = rise::day(episode, calendar);
        day <= span.period.to && stay.holds(day)
    });
    Some(episodes)
}

fn traumas(timeline: &Timeline, span: &AuditSpan) -> u64 {
    let is_counted = |event: &&Event| {
        matches!(event.fact, Fact::Trauma(_))
            && span.period.contains(event.when.care_day)
            && happening::counts(timeline, event)
    };
    timeline.events().iter().filter(is_counted).count() as u64
}

/// The days that the records do not cover, including those elsewhere.
fn days_not_told(timeline: &Timeline, span: &AuditSpan) -> BTreeSet<NaiveDate> {
    span.charts.days().filter(|day| !timeline.is_covered(*day)).collect()
}

/// Patient-days of the period before today that are not covered.
fn days_not_covered(timeline: &Timeline, span: &AuditSpan) -> u64 {
    let stay = Stay::of(timeline.patient);
    let days = span.period.days().filter(|day| stay.is_patient_day(*day) && *day < timeline.today);
    days.filter(|day| timeline.patient.place(*day) != CarePlace::Elsewhere && !timeline.is_covered(*day)).count() as u64
}

/// Returns true if an unreadable file may affect the days up to `last`. Its name rules it out if a change after `last`, which
/// ends the chain of the period, is known before it.
fn may_hide<'e>(problem: &Problem, events: impl Iterator<Item = &'e Event>, last: NaiveDate) -> bool {
    let name = problem.place.file.rsplit('/').next().and_then(EventName::read);
    let is_behind =
        |event: &&Event| event.name.kind == Kind::Change && event.void.is_none() && event.when.care_day > last;
    let first_behind = events.filter(is_behind).map(|event| event.when.care_day).min();
    name.is_none_or(|name| first_behind.is_none_or(|behind| name.date <= behind))
}
