//! Teaching: sign-offs, their last day, and the checkoffs still required.
//!
//! A checkoff is *passed* if it is a return demonstration, the observer may sign that day and is not the learner, every
//! critical step was done unaided, and no step was missed. The required number of passed checkoffs, on different days and
//! of one version, gives a sign-off from the last of them; an attestation by a person who may sign gives one by itself.
//!
//! Left out on purpose: permission. The program decides who may do what.

mod held;
mod objection;

use chrono::NaiveDate;
use schemars::JsonSchema;
use serde::Serialize;

use crate::day::{after, plus};
use crate::event::{Event, Fact, Mode, Teaching};
use crate::patient::{CareRow, Patient};
use crate::people::People;
use crate::policy::{CarePlace, Curriculum, CurriculumRole, CurriculumStep, TeachingPolicy};
use crate::rules::Rules;
use crate::timeline::Timeline;
use crate::word::words;
pub(crate) use held::{Failed, SignedDays};
pub(crate) use objection::Objection;

words! {
    /// Progress of a learner.
    pub enum Progress {
        /// No checkoff on file.
        NotStarted = "not-started",
        /// Some checkoffs, not enough passed.
        InTraining = "in-training",
        /// Signed off.
        SignedOff = "signed-off",
        /// Signed off, but a later return demonstration failed.
        Suspended = "suspended",
        /// Was signed off, but the sign-off expired.
        Lapsed = "lapsed",
    }
}

/// A program's curricula and its sign-off rules.
#[derive(Debug, Clone, Copy)]
pub(crate) struct SignOffRules<'a> {
    /// The settings: the number of checkoffs and the days of validity.
    pub settings: TeachingPolicy,
    /// The curricula.
    pub curricula: &'a [Curriculum],
    /// The people who may sign.
    pub people: &'a People,
}

words! {
    /// The last result of a step that was not done unaided.
    pub enum Lack {
        /// After a prompt.
        Prompted = "prompted",
        /// Missed.
        Missed = "missed",
        /// In no checkoff yet.
        NotDone = "not-done",
    }
}

/// A step that was not done unaided the last time.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct MissingStep {
    /// Its id.
    pub step: String,
    /// Text of the step.
    pub text: String,
    /// True if missing the step can cause an infection.
    pub critical: bool,
    /// Its last result.
    pub last: Lack,
}

/// A checkoff, and whether it was passed.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Checkoff {
    /// Its care day.
    pub on: NaiveDate,
    /// The file.
    pub file: String,
    /// The version of the curriculum.
    pub version: i64,
    /// Mode of the checkoff.
    pub mode: Mode,
    /// The observer.
    pub observer: String,
    /// True if it counts toward a sign-off, or is itself one.
    pub counts: bool,
    /// Reasons why it does not count; empty if it does.
    pub why_not: Vec<Objection>,
}

/// One person's progress in one curriculum.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct CurriculumProgress {
    /// The curriculum.
    pub curriculum: String,
    /// Newest version.
    pub version: i64,
    /// Progress.
    pub state: Progress,
    /// Last day of the sign-off, included; if it lapsed, the former last day.
    pub until: Option<NaiveDate>,
    /// First day without a sign-off, if it lapsed.
    pub lapsed_since: Option<NaiveDate>,
    /// True if the sign-off is for an older version than the newest one.
    pub older_version: bool,
    /// Passed checkoffs of the newest version, on different days of the last `valid_days`.
    pub qualifying: i64,
    /// Number of checkoffs required.
    pub needed: i64,
    /// Number of steps of the newest version.
    pub steps: i64,
    /// Last failed return demonstration, if none has been passed since.
    pub failed: Option<Failed>,
    /// Steps not done unaided in the last checkoff of the newest version that lists them.
    pub missing: Vec<MissingStep>,
    /// All checkoffs, in order.
    pub checkoffs: Vec<Checkoff>,
}

/// A planned move home with too few people signed off.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct MoveHome {
    /// The patient's code.
    pub patient: String,
    /// The day of the move.
    pub on: NaiveDate,
    /// People signed off on that day.
    pub signed_off: Vec<String>,
    /// Number of caregivers required, unless the patient is signed off.
    pub needed: i64,
}

/// The number of days before a planned move home in which it is checked.
const MOVE_HOME_DAYS: i64 = 7;

/// Returns the day of a move home that is planned within a week.
pub(crate) fn planned_move_home(patient: &Patient, today: NaiveDate) -> Option<NaiveDate> {
    let is_soon = |day| today < day && day <= plus(today, MOVE_HOME_DAYS);
    let is_move = |rows: &[CareRow]| match rows {
        [before, row] => before.place != CarePlace::Home && row.place == CarePlace::Home && is_soon(row.from),
        _ => false,
    };
    let moved = patient.care.windows(2).find(|rows| is_move(rows) && !patient.has_ended(today))?;
    Some(moved[1].from)
}

impl<'a> SignOffRules<'a> {
    /// Returns a planned move home within a week if too few people are signed off on that day.
    pub(crate) fn move_home(&self, timeline: &Timeline) -> Option<MoveHome> {
        let patient = timeline.patient;
        let on = planned_move_home(patient, timeline.today)?;
        let signed = self.signed_off(patient, timeline.events(), on);
        (!self.are_enough(&signed)).then(|| MoveHome {
            patient: patient.code.clone(),
            on,
            signed_off: signed.into_iter().map(str::to_owned).collect(),
            needed: self.settings.caregivers_required,
        })
    }

    /// Returns the sign-off rules from the policy and the staff list; `None` if either is unreadable.
    pub(crate) fn of(rules: Rules<'a>) -> Option<SignOffRules<'a>> {
        let policy = rules.policy?;
        Some(SignOffRules { settings: policy.teaching?, curricula: policy.curricula.as_ref()?, people: rules.people? })
    }

    /// Returns the reason, if any, why the observer of a checkoff makes it not count.
    pub(crate) fn objection_to_observer(&self, event: &Event, teaching: &Teaching) -> Option<Objection> {
        if teaching.observer == teaching.learner {
            return Some(Objection::ObserverIsLearner);
        }
        let observer = self.people.get(&teaching.observer);
        let may_sign = observer.is_some_and(|person| person.may_sign && person.is_active(event.when.care_day));
        (!may_sign).then(|| Objection::MayNotSign(teaching.observer.clone()))
    }

    /// Returns the reason, if any, why the curriculum of a checkoff makes it not count.
    pub(crate) fn objection_to_curriculum(&self, teaching: &Teaching) -> Option<Objection> {
        if self.curriculum(teaching).is_some() {
            return None;
        }
        let (curriculum, version) = (teaching.curriculum.clone(), teaching.version);
        let of_others = self.curricula.iter().find(|known| known.name == curriculum && known.version == version);
        Some(match of_others {
            Some(known) => Objection::TaughtToOthers { curriculum, version, role: known.role },
            None => Objection::NotInPolicy { curriculum, version },
        })
    }

    /// Returns the reasons a checkoff does not count; empty if it counts toward a sign-off or is itself one (attested).
    fn why_not(&self, event: &Event, teaching: &Teaching) -> Vec<Objection> {
        let observer = self.objection_to_observer(event, teaching);
        let mut why: Vec<Objection> = observer.into_iter().chain(self.objection_to_curriculum(teaching)).collect();
        let Some(curriculum) = self.curriculum(teaching) else { return why };
        match teaching.mode {
            Mode::Attested => return why,
            Mode::ReturnDemonstration => {}
            Mode::Shown | Mode::Assisted => {
                why.push(Objection::NoDemonstration(teaching.mode));
                return why;
            }
        }
        why.extend(teaching.missed.iter().map(|step| Objection::Missed(step.clone())));
        for step in curriculum.steps.iter().filter(|step| step.critical) {
            if !teaching.unaided.contains(&step.id) && !teaching.missed.contains(&step.id) {
                let how = if teaching.prompted.contains(&step.id) { Lack::Prompted } else { Lack::NotDone };
                why.push(Objection::Critical { step: step.id.clone(), how });
            }
        }
        why
    }

    /// Returns true if a checkoff counts toward a sign-off, or is itself one.
    fn counts(&self, event: &Event, teaching: &Teaching) -> bool {
        self.why_not(event, teaching).is_empty()
    }

    fn curriculum(&self, teaching: &Teaching) -> Option<&'a Curriculum> {
        let is_meant = |curriculum: &&Curriculum| {
            curriculum.name == teaching.curriculum
                && curriculum.version == teaching.version
                && curriculum.role == self.role(&teaching.learner)
        };
        self.curricula.iter().find(is_meant)
    }

    /// Returns the role of a learner: nurse for staff, caregiver for a household.
    pub(crate) fn role(&self, learner: &str) -> CurriculumRole {
        if self.people.get(learner).is_some() { CurriculumRole::Nurse } else { CurriculumRole::Caregiver }
    }

    /// Returns the newest version of each curriculum for a role.
    pub(crate) fn taught(&self, role: CurriculumRole) -> Vec<&'a Curriculum> {
        let mut newest: Vec<&Curriculum> = Vec::new();
        for curriculum in self.curricula.iter().filter(|curriculum| curriculum.role == role) {
            match newest.iter_mut().find(|known| known.name == curriculum.name) {
                Some(known) if known.version < curriculum.version => *known = curriculum,
                Some(_) => {}
                None => newest.push(curriculum),
            }
        }
        newest
    }

    /// Returns true if a learner is signed off on a day in every curriculum of their role.
    ///
    /// `events` are the records that hold the learner's checkoffs, in order.
    pub(crate) fn is_signed_off(&self, learner: &str, events: &[Event], day: NaiveDate) -> bool {
        self.signed_days(learner, events).hold(day)
    }

    /// Returns the people of a household who are signed off in every curriculum on a day.
    pub(crate) fn signed_off<'p>(&self, patient: &'p Patient, events: &[Event], day: NaiveDate) -> Vec<&'p str> {
        patient.household().filter(|code| self.is_signed_off(code, events, day)).collect()
    }

    /// Returns true if these sign-offs are enough at home: the required number of caregivers, or the patient.
    pub(crate) fn are_enough(&self, signed_off: &[&str]) -> bool {
        signed_off.contains(&"patient") || signed_off.len() as i64 >= self.settings.caregivers_required
    }

    /// Returns true if enough people of a household were signed off on a day, or have been since a checkoff after it.
    pub(crate) fn were_enough_since(&self, patient: &Patient, events: &[Event], first: NaiveDate) -> bool {
        let are_enough = |events: &[Event], day| self.are_enough(&self.signed_off(patient, events, day));
        let of_before = events.partition_point(|event| event.when.care_day < first);
        let later = events.iter().enumerate().skip(of_before);
        let mut checkoffs = later.filter(|(_, event)| matches!(event.fact, Fact::Teaching(_)));
        are_enough(&events[..of_before], first)
            || checkoffs.any(|(n, event)| are_enough(&events[..=n], event.when.care_day))
    }

    /// Returns a learner's progress in each curriculum on a day.
    pub(crate) fn standing(&self, learner: &str, events: &[Event], today: NaiveDate) -> Vec<CurriculumProgress> {
        let of_curriculum = |curriculum: &&Curriculum| self.standing_in(curriculum, learner, events, today);
        self.taught(self.role(learner)).iter().map(of_curriculum).collect()
    }

    fn standing_in(
        &self,
        curriculum: &Curriculum,
        learner: &str,
        events: &[Event],
        today: NaiveDate,
    ) -> CurriculumProgress {
        let all: Vec<(&Event, &Teaching)> = checkoffs(learner, &curriculum.name, events).collect();
        let sign_off = self.sign_offs(learner, &curriculum.name, events).into_iter().max_by_key(|one| one.until);
        let failed = self.failed(learner, &curriculum.name, events).into_iter().rfind(|one| one.holds(today));
        let failed = failed.map(|one| one.failed);
        let state = match sign_off {
            Some(sign_off) if today <= sign_off.until && failed.is_some() && self.settings.failed_suspends => {
                Progress::Suspended
            }
            Some(sign_off) if today <= sign_off.until => Progress::SignedOff,
            Some(_) => Progress::Lapsed,
            None if all.is_empty() => Progress::NotStarted,
            None => Progress::InTraining,
        };
        let until = sign_off.map(|sign_off| sign_off.until);
        let of_newest = || all.iter().filter(|(_, teaching)| teaching.version == curriculum.version);
        let is_qualifying =
            |(event, teaching): &&(&Event, &Teaching)| teaching.mode != Mode::Attested && self.counts(event, teaching);
        let qualified: Vec<(i64, NaiveDate)> = of_newest()
            .filter(is_qualifying)
            .map(|(event, teaching)| (teaching.version, event.when.care_day))
            .collect();
        let missing = |step: &CurriculumStep| {
            let said = |(event, teaching): &&(&Event, &Teaching)| {
                teaching.mode != Mode::Attested || self.counts(event, teaching)
            };
            let last = of_newest()
                .rev()
                .filter(said)
                .find_map(|(_, teaching)| how(teaching, &step.id))
                .unwrap_or(Some(Lack::NotDone));
            let missing =
                |last| MissingStep { step: step.id.clone(), text: step.text.clone(), critical: step.critical, last };
            last.map(missing)
        };
        let checkoff = |(event, teaching): &(&Event, &Teaching)| {
            let why_not = self.why_not(event, teaching);
            Checkoff {
                on: event.when.care_day,
                file: event.file().to_owned(),
                version: teaching.version,
                mode: teaching.mode,
                observer: teaching.observer.clone(),
                counts: why_not.is_empty(),
                why_not,
            }
        };
        CurriculumProgress {
            curriculum: curriculum.name.clone(),
            version: curriculum.version,
            state,
            until,
            lapsed_since: until.filter(|_| state == Progress::Lapsed).map(after),
            older_version: state == Progress::SignedOff
                && sign_off.is_some_and(|sign_off| sign_off.version < curriculum.version),
            qualifying: self.days_that_count(&qualified, curriculum.version, today),
            needed: self.settings.sign_off_after,
            steps: curriculum.steps.len() as i64,
            failed,
            missing: curriculum.steps.iter().filter_map(missing).collect(),
            checkoffs: all.iter().map(checkoff).collect(),
        }
    }
}

/// The entry of a step in a checkoff: `None` if it is not listed, `Some(None)` if it was done unaided.
fn how(teaching: &Teaching, step: &str) -> Option<Option<Lack>> {
    let is_in = |steps: &[String]| steps.iter().any(|id| id == step);
    match () {
        () if teaching.mode == Mode::Attested || is_in(&teaching.unaided) => Some(None),
        () if is_in(&teaching.prompted) => Some(Some(Lack::Prompted)),
        () if is_in(&teaching.missed) => Some(Some(Lack::Missed)),
        () => None,
    }
}

/// A learner's checkoffs in a curriculum, in order.
fn checkoffs<'e>(
    learner: &'e str,
    curriculum: &'e str,
    events: &'e [Event],
) -> impl Iterator<Item = (&'e Event, &'e Teaching)> {
    events.iter().filter_map(move |event| match &event.fact {
        Fact::Teaching(teaching) if teaching.learner == learner && teaching.curriculum == curriculum => {
            Some((event, teaching))
        }
        _ => None,
    })
}
