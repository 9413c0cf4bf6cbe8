//! A program's records as they are opened for a question: policy, staff, and who is on file.
//!
//! Patients are read by [`crate::chart`], as far as a question needs.

use std::collections::BTreeMap;
use std::sync::{Arc, OnceLock};

use crate::day::{AsOf, Calendar, Instant};
use crate::folder::{Folder, Patients};
use crate::patient::{self, Patient};
use crate::people::{self, People};
use crate::place::RecordText;
use crate::policy::{self, Addresses, CarePlan, Policy, Scoring};
use crate::problem::{Failure, Problem, Rule};
use crate::rules::Rules;
use crate::text;

/// A program's records, with what all questions need.
#[derive(Debug)]
pub struct Program {
    /// The records folder.
    pub folder: Folder,
    /// The text of policy.toml, where it could be read at all.
    pub policy_source: Option<Arc<RecordText>>,
    /// The policy; None where it cannot be used at all.
    pub policy: Option<Policy>,
    /// The staff; None where people.toml is there and cannot be used.
    pub people: Option<People>,
    /// The patients on file.
    pub patients: Patients,
    /// The problems of policy.toml and people.toml.
    pub problems: Vec<Problem>,
    /// The caregivers of every household, with the patient; read when it is first asked for.
    households: OnceLock<BTreeMap<String, String>>,
}

impl Program {
    /// Opens a records folder.
    ///
    /// # Errors
    /// The policy was written for a newer version, or the folder of the patients cannot be listed.
    pub fn open(folder: Folder) -> Result<Program, Failure> {
        let mut problems = Vec::new();
        let policy_source = folder.read(policy::FILE, &mut problems);
        let policy = match &policy_source {
            Some(source) => Policy::read(source, &mut problems)?,
            None => None,
        };
        let mut people_problems = Vec::new();
        let people = match folder.read(people::FILE, &mut people_problems) {
            Some(source) => People::read(&source, &mut people_problems),
            None if people_problems.iter().all(|problem| problem.rule == Rule::MissingFile) => {
                people_problems.clear();
                Some(People::default())
            }
            None => None,
        };
        problems.extend(people_problems);
        let patients = folder.patients()?;
        Ok(Program { folder, policy_source, policy, people, patients, problems, households: OnceLock::new() })
    }

    /// These records under another policy.
    ///
    /// # Errors
    /// The policy was written for a newer version, or the part that the schedule needs cannot be used.
    pub fn under(mut self, source: Arc<RecordText>) -> Result<Program, Failure> {
        self.problems.retain(|problem| problem.place.file != policy::FILE);
        self.policy = Policy::read(&source, &mut self.problems)?;
        self.policy_source = Some(source);
        self.usable_plan()?;
        Ok(self)
    }

    /// The addresses in the policy of a records folder, for a program that cannot be opened.
    pub fn addresses(folder: &Folder) -> Addresses {
        let mut unused = Vec::new();
        let source = folder.read(policy::FILE, &mut unused);
        let policy = source.and_then(|source| Policy::read(&source, &mut unused).ok().flatten());
        policy.map(|policy| policy.addresses).unwrap_or_default()
    }

    /// The policy and the staff list, as every question needs them.
    pub fn rules(&self) -> Rules<'_> {
        Rules { policy: self.policy.as_ref(), people: self.people.as_ref(), problems: &self.problems }
    }

    /// The part of the policy that the schedule needs.
    ///
    /// # Errors
    /// The part cannot be used.
    pub fn usable_plan(&self) -> Result<&CarePlan, Failure> {
        self.plan().ok_or_else(unusable_policy)
    }

    /// The part of the policy that scores exit sites.
    ///
    /// # Errors
    /// The part, or the one that the schedule needs, cannot be used.
    pub fn usable_scoring(&self) -> Result<&Scoring, Failure> {
        self.rules().scoring().filter(|_| self.plan().is_some()).ok_or_else(unusable_policy)
    }

    /// The part of the policy that the schedule needs; `None` if it cannot be used.
    pub fn plan(&self) -> Option<&CarePlan> {
        self.policy.as_ref().and_then(|policy| policy.plan.as_ref())
    }

    /// The program's calendar; where the policy gives none, care days in UTC, with which nothing is computed but order.
    pub fn calendar(&self) -> Calendar {
        let fallback = || Calendar::new(chrono::NaiveTime::MIN, chrono_tz::Tz::UTC);
        self.plan().map_or_else(fallback, |plan| plan.calendar.clone())
    }

    /// Reads a patient's patient.toml. None if the patient cannot be judged; `problems` says why.
    pub fn patient(&self, code: &str, problems: &mut Vec<Problem>) -> Option<Patient> {
        let file = format!("patients/{code}/{}", patient::FILE);
        let source = self.folder.read(&file, problems)?;
        Patient::read(&source, code, &self.calendar(), problems)
    }

    /// The patient whose caregiver has a code; none where nobody's has.
    ///
    /// It reads every patient.toml, so it is for a code that is nobody's where it stands.
    pub fn household_of(&self, code: &str) -> Option<&str> {
        let caregivers = |patient: &String| {
            let read = self.patient(patient, &mut Vec::new());
            let codes = read.into_iter().flat_map(|read| read.caregivers).map(|caregiver| caregiver.code);
            codes.map(|code| (code, patient.clone())).collect::<Vec<_>>()
        };
        // One after the other: whoever asks may be one of several that are read at once, and none may wait for itself.
        let read = || self.patients.codes.iter().flat_map(caregivers).collect();
        self.households.get_or_init(read).get(code).map(String::as_str)
    }

    /// The moment a question is asked about: `--as-of`, or now.
    ///
    /// # Errors
    /// The text is no date or time, or the policy that would say in which zone cannot be used.
    pub fn as_of(&self, given: Option<&str>, now: Instant) -> Result<AsOf, Failure> {
        match given {
            None => Ok(AsOf { instant: now, is_given: false }),
            Some(text) => {
                AsOf::read(text, &self.calendar()).map_err(|sentence| Failure::new(format!("--as-of {sentence}")))
            }
        }
    }

    /// The patients named, or all; a name that is no patient's stops the run.
    ///
    /// # Errors
    /// One of `named` is not on file; the same code written otherwise is suggested.
    pub fn codes<'a>(&'a self, named: &'a [String]) -> Result<Vec<&'a str>, Failure> {
        let known = || self.patients.codes.iter().map(String::as_str);
        if named.is_empty() {
            return Ok(known().collect());
        }
        for code in named {
            if !self.patients.codes.contains(code) {
                return Err(self.no_such_patient(code));
            }
        }
        Ok(known().filter(|code| named.iter().any(|name| name == code)).collect())
    }

    /// No patient on file has a code; the same code written otherwise is suggested, never another patient.
    pub fn no_such_patient(&self, code: &str) -> Failure {
        let near = text::same_code(code, self.patients.codes.iter().map(String::as_str));
        let suggestion = near.map(|near| format!("; did you mean {near}?")).unwrap_or_default();
        Failure::new(format!("there is no patient {} on file{suggestion}", text::visible(code)))
    }
}

fn unusable_policy() -> Failure {
    Failure::new("policy.toml cannot be used; `exitsite check` lists its problems")
}
