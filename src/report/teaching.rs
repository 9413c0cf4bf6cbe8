//! Who is signed off, who is being taught and what is missing, who may sign; and a household's discharge checklist.

mod discharge;
mod whom;

pub use discharge::{Discharge, Line, LineState, Requirement};

use chrono::NaiveDate;
use rayon::prelude::*;
use schemars::JsonSchema;
use serde::Serialize;

use super::{Unusable, unusable_of, unusable_of_patient};
use crate::chart::Window;
use crate::day::AsOf;
use crate::event::Event;
use crate::history::staff_checkoffs;
use crate::patient::Patient;
use crate::policy::CurriculumRole;
use crate::problem::{Failure, Problem};
use crate::program::Program;
use crate::teaching::{School, Standing};

/// Teaching.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct TeachingReport {
    /// Everybody who was asked for: households by patient, then staff.
    pub people: Vec<Learner>,
    /// Staff who may sign today; null where people.toml cannot be used.
    pub may_sign: Option<Vec<String>>,
    /// The discharge checklist of each patient who was named: a checklist, not a permission.
    pub discharge: Vec<Discharge>,
    /// Who is not listed unless named, and why.
    pub not_listed: Vec<NotListed>,
}

/// One person.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Learner {
    /// The code, or `patient`.
    pub person: String,
    /// The patient whose household it is; null of staff.
    pub patient: Option<String>,
    /// Taught as a caregiver or as a nurse; null where people.toml cannot be used.
    pub role: Option<CurriculumRole>,
    /// Each curriculum; null where a file, people.toml or a part of the policy cannot be used.
    pub standings: Option<Vec<Standing>>,
}

/// Somebody who is not listed.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize, JsonSchema)]
pub struct NotListed {
    /// Why.
    pub why: String,
    /// A patient's code, or that of one of the staff.
    pub code: String,
}

/// The teaching of `named`, or of everybody.
///
/// # Errors
/// A name is neither a patient's, nor a caregiver's, nor that of one of the staff.
pub fn report(program: &Program, named: &[String], as_of: AsOf) -> Result<(TeachingReport, Vec<Unusable>), Failure> {
    let whom = whom::asked(program, named)?;
    let mut unusable = unusable_of(program, named.is_empty());
    let (mut people, mut not_listed, mut discharge) = (Vec::new(), Vec::new(), Vec::new());
    let read = |(code, persons): &(String, whom::Persons)| match persons {
        whom::Persons::WithDischarge => discharge::household(program, code, as_of),
        _ => Household { discharge: None, ..household(program, code, as_of) },
    };
    let households: Vec<Household> = whom.households.par_iter().map(read).collect();
    for ((code, persons), household) in whom.households.iter().zip(households) {
        unusable.extend(household.unusable);
        // Whoever asks about a patient by name hears that the due list has no answer.
        if *persons != whom::Persons::All {
            for file in unusable_of_patient(program, code, as_of) {
                if !unusable.contains(&file) {
                    unusable.push(file);
                }
            }
        }
        discharge.extend(household.discharge);
        if household.has_ended && *persons == whom::Persons::All {
            not_listed.push(NotListed { why: "support ended".to_owned(), code: code.clone() });
            continue;
        }
        people.extend(household.people.into_iter().filter(|learner| persons.has(&learner.person)));
    }
    let calendar = program.calendar();
    let today = calendar.today(as_of.instant);
    for code in &whom.staff {
        let (learner, files) = staff(program, code, as_of, today);
        if named.is_empty() && !is_listed(program, code, learner.standings.as_deref(), today) {
            not_listed.push(NotListed {
                why: "staff who are no nurse, or not with the program today".to_owned(),
                code: code.clone(),
            });
            continue;
        }
        people.push(learner);
        unusable.extend(files);
    }
    not_listed.sort();
    let may_sign = program.people.as_ref().map(|staff| {
        let active = staff.people.iter().filter(|person| person.may_sign && person.is_active(today));
        active.map(|person| person.code.clone()).collect()
    });
    Ok((TeachingReport { people, may_sign, discharge, not_listed }, unusable))
}

/// Whether one of the staff is listed without being named: a nurse who is with the program, or somebody with checkoffs.
fn is_listed(program: &Program, code: &str, standings: Option<&[Standing]>, today: NaiveDate) -> bool {
    let person = program.people.as_ref().and_then(|staff| staff.get(code));
    let has_checkoffs = standings.is_none_or(|all| all.iter().any(|standing| !standing.checkoffs.is_empty()));
    person.is_none_or(|person| person.is_active(today) && (person.role == crate::people::Role::Nurse || has_checkoffs))
}

/// One household as it was read.
pub(super) struct Household {
    pub(super) people: Vec<Learner>,
    pub(super) has_ended: bool,
    pub(super) discharge: Option<Discharge>,
    pub(super) unusable: Vec<Unusable>,
}

fn household(program: &Program, code: &str, as_of: AsOf) -> Household {
    let chart = match program.chart(code, &[Window::Checkoffs], as_of) {
        Ok(chart) => chart,
        Err(unjudged) => return broken(code, &unjudged.problems),
    };
    let timeline = chart.timeline();
    let people = learners(program, &chart.patient, timeline.events(), timeline.today, chart.unread.is_empty());
    let unusable = chart.unread.problems().map(Unusable::from).collect();
    Household { people, has_ended: chart.patient.has_ended(timeline.today), discharge: None, unusable }
}

/// A household whose patient.toml cannot be used: somebody is there, and nothing is known.
fn broken(code: &str, problems: &[Problem]) -> Household {
    let learner = Learner { person: "patient".to_owned(), patient: Some(code.to_owned()), role: None, standings: None };
    Household { people: vec![learner], has_ended: false, discharge: None, unusable: files(problems) }
}

fn files(problems: &[Problem]) -> Vec<Unusable> {
    problems.iter().filter(|problem| problem.makes_unusable()).map(Unusable::from).collect()
}

/// The caregivers of a household, and the patient where one is taught or there is nobody else.
pub fn learners(
    program: &Program,
    patient: &Patient,
    events: &[Event],
    today: NaiveDate,
    is_complete: bool,
) -> Vec<Learner> {
    let policy = program.policy.as_ref();
    let school = policy.and_then(|policy| School::of(policy, program.people.as_ref()));
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

fn staff(program: &Program, code: &str, as_of: AsOf, today: NaiveDate) -> (Learner, Vec<Unusable>) {
    let own = program.folder.staff_member(code);
    let (events, problems) = staff_checkoffs(&program.folder, &own, &program.calendar(), as_of);
    let unusable = files(&problems);
    let school = program.policy.as_ref().and_then(|policy| School::of(policy, program.people.as_ref()));
    let standings = school.filter(|_| unusable.is_empty()).map(|school| school.standing(code, &events, today));
    let role = program.people.as_ref().map(|_| CurriculumRole::Nurse);
    (Learner { person: code.to_owned(), patient: None, role, standings }, unusable)
}
