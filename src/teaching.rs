//! Who is taught what: when somebody is signed off, until when, and what is still missing.
//!
//! A checkoff *qualifies* if it is a return demonstration, the observer may sign that day and is not the learner, every
//! critical step was done unaided, and none was missed. So many of them, on different days and of one version, sign off
//! from the last of them; one that somebody who may sign attests does so alone.
//!
//! Left out on purpose: permission. Who may do what is the program's to say.

use std::collections::BTreeSet;

use chrono::NaiveDate;
use schemars::JsonSchema;
use serde::Serialize;

use crate::day::plus;
use crate::event::{Event, Fact, Mode, Teaching};
use crate::people::People;
use crate::policy::{Curriculum, CurriculumRole, Policy, Teaching as Settings};
use crate::word::words;

words! {
    /// How far somebody is.
    pub enum Progress {
        /// No checkoff on file.
        NotStarted = "not-started",
        /// Some, not enough.
        InTraining = "in-training",
        /// Signed off.
        SignedOff = "signed-off",
        /// Was signed off; the time is over.
        Lapsed = "lapsed",
    }
}

/// What a program teaches, and when somebody is signed off.
#[derive(Debug, Clone, Copy)]
pub struct School<'a> {
    /// After how many checkoffs, for how long.
    pub settings: Settings,
    /// What is taught.
    pub curricula: &'a [Curriculum],
    /// Who may sign.
    pub people: &'a People,
}

/// What one person has learnt of one curriculum.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Standing {
    /// The curriculum.
    pub curriculum: String,
    /// Its newest version.
    pub version: i64,
    /// How far.
    pub state: Progress,
    /// The last day of the sign-off, included; where it has lapsed, the day it was.
    pub until: Option<NaiveDate>,
    /// Whether the sign-off is of an older version.
    pub older_version: bool,
    /// Qualifying checkoffs of the newest version, on different days.
    pub qualifying: i64,
    /// How many are needed.
    pub needed: i64,
    /// The last checkoff of any kind.
    pub last: Option<NaiveDate>,
    /// Steps not yet done unaided in a checkoff of the newest version, by id.
    pub missing: Vec<String>,
}

/// The days on which somebody is signed off: from and until, both included.
type SignOffs = Vec<(NaiveDate, NaiveDate)>;

impl<'a> School<'a> {
    /// What the policy and the staff list say of teaching; none where one of them cannot be used.
    pub fn of(policy: &'a Policy, people: Option<&'a People>) -> Option<School<'a>> {
        Some(School { settings: policy.teaching?, curricula: policy.curricula.as_ref()?, people: people? })
    }

    /// Whether a checkoff qualifies towards a sign-off.
    pub fn qualifies(&self, event: &Event, teaching: &Teaching) -> bool {
        let curriculum = self.curriculum(teaching);
        let critical = curriculum.iter().flat_map(|curriculum| &curriculum.steps).filter(|step| step.critical);
        teaching.mode == Mode::ReturnDemonstration
            && curriculum.is_some()
            && self.is_signed(event, teaching)
            && teaching.missed.is_empty()
            && critical.into_iter().all(|step| teaching.unaided.contains(&step.id))
    }

    /// Whether the observer may sign that day, and is somebody else.
    fn is_signed(&self, event: &Event, teaching: &Teaching) -> bool {
        let observer = self.people.get(&teaching.observer);
        let may_sign = observer.is_some_and(|person| person.may_sign && person.is_active(event.when.care_day));
        may_sign && teaching.observer != teaching.learner
    }

    fn curriculum(&self, teaching: &Teaching) -> Option<&'a Curriculum> {
        let is_meant = |curriculum: &&Curriculum| {
            curriculum.name == teaching.curriculum
                && curriculum.version == teaching.version
                && curriculum.role == self.role(&teaching.learner)
        };
        self.curricula.iter().find(is_meant)
    }

    /// What somebody is taught as: one of the staff as a nurse, a household as caregivers.
    pub fn role(&self, learner: &str) -> CurriculumRole {
        if self.people.get(learner).is_some() { CurriculumRole::Nurse } else { CurriculumRole::Caregiver }
    }

    /// The newest version of each curriculum that a role is taught.
    pub fn taught(&self, role: CurriculumRole) -> Vec<&'a Curriculum> {
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

    /// Whether somebody is signed off on a day, in everything that is taught.
    ///
    /// `events` are the records that hold the learner's checkoffs, in order.
    pub fn is_signed_off(&self, learner: &str, events: &[Event], day: NaiveDate) -> bool {
        let taught = self.taught(self.role(learner));
        let is_in = |curriculum: &&Curriculum| {
            let sign_offs = self.sign_offs(learner, &curriculum.name, events);
            sign_offs.iter().any(|(from, until)| *from <= day && day <= *until)
        };
        !taught.is_empty() && taught.iter().all(is_in)
    }

    /// When somebody is signed off in a curriculum, each sign-off by the checkoff that completed it.
    pub fn sign_offs(&self, learner: &str, curriculum: &str, events: &[Event]) -> SignOffs {
        let mut days: Vec<(i64, BTreeSet<NaiveDate>)> = Vec::new();
        let mut sign_offs = Vec::new();
        for (event, teaching) in checkoffs(learner, curriculum, events) {
            let day = event.when.care_day;
            let is_attested = teaching.mode == Mode::Attested
                && self.curriculum(teaching).is_some()
                && self.is_signed(event, teaching);
            let is_complete = is_attested
                || self.qualifies(event, teaching) && {
                    if !days.iter().any(|(version, _)| *version == teaching.version) {
                        days.push((teaching.version, BTreeSet::new()));
                    }
                    let of_version = days.iter_mut().find(|(version, _)| *version == teaching.version);
                    of_version.is_some_and(|(_, days)| {
                        days.insert(day);
                        days.len() as i64 >= self.settings.sign_off_after
                    })
                };
            if is_complete {
                sign_offs.push((day, plus(day, self.settings.valid_days)));
            }
        }
        sign_offs
    }

    /// How far somebody is in each thing that is taught, on a day.
    pub fn standing(&self, learner: &str, events: &[Event], today: NaiveDate) -> Vec<Standing> {
        let of_curriculum = |curriculum: &&Curriculum| self.standing_in(curriculum, learner, events, today);
        self.taught(self.role(learner)).iter().map(of_curriculum).collect()
    }

    fn standing_in(&self, curriculum: &Curriculum, learner: &str, events: &[Event], today: NaiveDate) -> Standing {
        let all: Vec<(&Event, &Teaching)> = checkoffs(learner, &curriculum.name, events).collect();
        let newest = || all.iter().filter(|(_, teaching)| teaching.version == curriculum.version);
        let until = self.sign_offs(learner, &curriculum.name, events).iter().map(|(_, until)| *until).max();
        let state = match until {
            Some(until) if today <= until => Progress::SignedOff,
            Some(_) => Progress::Lapsed,
            None if all.is_empty() => Progress::NotStarted,
            None => Progress::InTraining,
        };
        let days: BTreeSet<NaiveDate> = newest()
            .filter(|(event, teaching)| self.qualifies(event, teaching))
            .map(|(event, _)| event.when.care_day)
            .collect();
        let is_done = |id: &String| newest().any(|(_, teaching)| teaching.unaided.contains(id));
        let has_newest = newest().next().is_some();
        Standing {
            curriculum: curriculum.name.clone(),
            version: curriculum.version,
            state,
            until,
            older_version: state == Progress::SignedOff && !has_newest,
            qualifying: days.len() as i64,
            needed: self.settings.sign_off_after,
            last: all.last().map(|(event, _)| event.when.care_day),
            missing: curriculum.steps.iter().map(|step| step.id.clone()).filter(|id| !is_done(id)).collect(),
        }
    }
}

/// The checkoffs of somebody in a curriculum, in order.
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
