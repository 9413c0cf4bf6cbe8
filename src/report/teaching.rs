//! Sign-offs, teaching in progress, signers, and a household's discharge checklist.

mod discharge;

pub use discharge::{
    Discharge, DischargeRequirement, Line, LineState, Needed, OpenChange, Reason, household as household_with_discharge,
};

use chrono::NaiveDate;
use schemars::JsonSchema;
use serde::Serialize;

use crate::chart::Chart;
use crate::event::Event;
use crate::patient::Patient;
use crate::people::{People, Role};
use crate::policy::CurriculumRole;
use crate::rules::Rules;
use crate::teaching::{CurriculumProgress, MoveHome, SignOffRules};
use crate::word::words;

/// The teaching report.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct TeachingReport {
    /// The requested persons: households by patient, then staff.
    pub people: Vec<Learner>,
    /// Staff who may sign off others today; null if people.toml is invalid.
    pub may_sign: Option<Vec<String>>,
    /// The discharge checklist of each named patient: a checklist, not a permission.
    pub discharge: Vec<Discharge>,
    /// Planned moves home within a week for which too few persons are signed off, earliest first.
    pub moving_home: Vec<MoveHome>,
    /// Persons listed only if named, with the reason.
    pub not_listed: Vec<NotListed>,
}

/// One person.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Learner {
    /// The code, or `patient`.
    pub person: String,
    /// The household's patient; null for staff.
    pub patient: Option<String>,
    /// The role in which the person is taught, caregiver or nurse; null if people.toml is invalid.
    pub role: Option<CurriculumRole>,
    /// The standing in each curriculum; null if a file, people.toml or a part of the policy is invalid.
    pub standings: Option<Vec<CurriculumProgress>>,
}

words! {
    /// The reason why a person is not listed.
    #[derive(PartialOrd, Ord)]
    pub enum Unlisted {
        /// Staff without a role in dressing care.
        NoNurse = "staff who are no nurse, or not with the program today",
        /// A household whose support has ended.
        SupportEnded = "support ended",
    }
}

/// A person who is not listed.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize, JsonSchema)]
pub struct NotListed {
    /// The reason.
    pub why: Unlisted,
    /// The code of a patient or staff member.
    pub code: String,
}

/// Returns the staff who may sign off others today; `None` if people.toml is invalid.
pub fn may_sign(rules: Rules, today: NaiveDate) -> Option<Vec<String>> {
    let active = |staff: &People| {
        let signers = staff.people.iter().filter(|person| person.may_sign && person.is_active(today));
        signers.map(|person| person.code.clone()).collect()
    };
    rules.people.map(active)
}

/// Returns true if a staff member is listed without being named: an active nurse, or an active person with checkoffs.
pub fn is_listed(rules: Rules, learner: &Learner, today: NaiveDate) -> bool {
    let person = rules.people.and_then(|staff| staff.get(&learner.person));
    let has_checkoffs =
        learner.standings.as_ref().is_none_or(|all| all.iter().any(|standing| !standing.checkoffs.is_empty()));
    person.is_none_or(|person| person.is_active(today) && (person.role == Role::Nurse || has_checkoffs))
}

/// The learners of a household.
#[derive(Debug)]
pub struct Household {
    /// The caregivers, and the patient if taught or if there is no caregiver.
    pub people: Vec<Learner>,
    /// True if support has ended.
    pub has_ended: bool,
    /// The discharge checklist, if requested.
    pub discharge: Option<Discharge>,
    /// The move home within a week for which too few persons are signed off.
    pub move_home: Option<MoveHome>,
}

/// Returns a household's learners. Requires the window `Checkoffs`.
pub fn household(chart: &Chart) -> Household {
    let timeline = chart.timeline();
    let people = learners(chart.rules, &chart.patient, timeline.events(), timeline.today, chart.unread.is_empty());
    let move_home = SignOffRules::of(chart.rules).and_then(|school| school.move_home(&timeline));
    Household { people, has_ended: chart.patient.has_ended(timeline.today), discharge: None, move_home }
}

/// Returns the household of a patient whose patient.toml is invalid: one learner and, if requested, a discharge checklist,
/// all unknown.
pub(crate) fn unjudged(code: &str, with_discharge: bool) -> Household {
    let learner = Learner { person: "patient".to_owned(), patient: Some(code.to_owned()), role: None, standings: None };
    let discharge = with_discharge.then(|| Discharge::not_known(code));
    Household { people: vec![learner], has_ended: false, discharge, move_home: None }
}

/// Returns the caregivers of a household, and the patient if taught or if there is no caregiver.
pub fn learners(
    rules: Rules,
    patient: &Patient,
    events: &[Event],
    today: NaiveDate,
    is_complete: bool,
) -> Vec<Learner> {
    let school = SignOffRules::of(rules);
    let learner = |person: &str| Learner {
        person: person.to_owned(),
        patient: Some(patient.code.clone()),
        role: Some(CurriculumRole::Caregiver),
        standings: school.filter(|_| is_complete).map(|school| school.standing(person, events, today)),
    };
    let mut learners: Vec<Learner> = patient.caregivers.iter().map(|caregiver| learner(&caregiver.code)).collect();
    let own = learner("patient");
    let is_taught = own.standings.iter().flatten().any(|standing| !standing.checkoffs.is_empty());
    if is_taught || learners.is_empty() {
        learners.push(own);
    }
    learners
}

/// Returns a staff member with the standing in each curriculum, from checkoffs in order; without `is_complete`, the standings
/// are unknown.
pub fn staff(rules: Rules, code: &str, checkoffs: &[Event], is_complete: bool, today: NaiveDate) -> Learner {
    let school = SignOffRules::of(rules).filter(|_| is_complete);
    let standings = school.map(|school| school.standing(code, checkoffs, today));
    let role = rules.people.map(|_| CurriculumRole::Nurse);
    Learner { person: code.to_owned(), patient: None, role, standings }
}
