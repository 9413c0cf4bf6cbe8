//! A program's records as opened for a question: policy, staff, and the patients on file.
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

/// A program's records, with the inputs that all questions need.
#[derive(Debug)]
pub struct Program {
    /// The records folder.
    pub folder: Folder,
    /// The text of policy.toml; `None` if it cannot be read.
    pub policy_source: Option<Arc<RecordText>>,
    /// The policy; `None` if invalid.
    pub policy: Option<Policy>,
    /// The staff; `None` if people.toml exists but is unreadable.
    pub people: Option<People>,
    /// The patients on file.
    pub patients: Patients,
    /// The problems of policy.toml and people.toml.
    pub problems: Vec<Problem>,
    /// The caregivers of every household, with the patient; read on first use.
    households: OnceLock<BTreeMap<String, String>>,
}

impl Program {
    /// Opens a records folder.
    ///
    /// # Errors
    /// The policy was written for a newer version, or the patients cannot be listed.
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

    /// Replaces the policy of these records.
    ///
    /// # Errors
    /// The policy was written for a newer version, or the part for the schedule is invalid.
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

    /// The policy and the staff list.
    pub fn rules(&self) -> Rules<'_> {
        Rules { policy: self.policy.as_ref(), people: self.people.as_ref(), problems: &self.problems }
    }

    /// The part of the policy for the schedule.
    ///
    /// # Errors
    /// The part is invalid.
    pub(crate) fn usable_plan(&self) -> Result<&CarePlan, Failure> {
        self.plan().ok_or_else(unusable_policy)
    }

    /// The part of the policy for scoring exit sites.
    ///
    /// # Errors
    /// The part, or the one for the schedule, is invalid.
    pub(crate) fn usable_scoring(&self) -> Result<&Scoring, Failure> {
        self.rules().scoring().filter(|_| self.plan().is_some()).ok_or_else(unusable_policy)
    }

    /// The part of the policy for the schedule; `None` if invalid.
    pub fn plan(&self) -> Option<&CarePlan> {
        self.policy.as_ref().and_then(|policy| policy.plan.as_ref())
    }

    /// The program's calendar; without a valid policy, care days in UTC, used only for sorting.
    pub fn calendar(&self) -> Calendar {
        let fallback = || Calendar::new(chrono::NaiveTime::MIN, chrono_tz::Tz::UTC);
        self.plan().map_or_else(fallback, |plan| plan.calendar.clone())
    }

    /// Reads a patient's patient.toml. `None` if unreadable; `problems` receives the reasons.
    pub fn patient(&self, code: &str, problems: &mut Vec<Problem>) -> Option<Patient> {
        let file = format!("patients/{code}/{}", patient::FILE);
        let source = self.folder.read(&file, problems)?;
        Patient::read(&source, code, &self.calendar(), problems)
    }

    /// The patient whose caregiver has a code; `None` if there is none.
    ///
    /// It reads every patient.toml, so it is meant for a code that is unknown where it appears.
    pub(crate) fn household_of(&self, code: &str) -> Option<&str> {
        let caregivers = |patient: &String| {
            let read = self.patient(patient, &mut Vec::new());
            let codes = read.into_iter().flat_map(|read| read.caregivers).map(|caregiver| caregiver.code);
            codes.map(|code| (code, patient.clone())).collect::<Vec<_>>()
        };
        // Sequentially: the caller may be one of several parallel readers, none of which may wait for itself.
        let read = || self.patients.codes.iter().flat_map(caregivers).collect();
        self.households.get_or_init(read).get(code).map(String::as_str)
    }

    /// The instant of a question: `--as-of`, or now.
    ///
    /// # Errors
    /// The text is not a date or time, or the policy with the time zone is invalid.
    pub fn as_of(&self, given: Option<&str>, now: Instant) -> Result<AsOf, Failure> {
        match given {
            None => Ok(AsOf { instant: now, is_given: false }),
            Some(text) => {
                AsOf::read(text, &self.calendar()).map_err(|sentence| Failure::new(format!("--as-of {sentence}")))
            }
        }
    }

    /// The named patients, or all.
    ///
    /// # Errors
    /// One of `named` is not on file; the error suggests the same code in another spelling.
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

    /// The failure for an unknown patient; it suggests the same code in another spelling, never another patient.
    pub fn no_such_patient(&self, code: &str) -> Failure {
        let known = || self.patients.codes.iter().map(String::as_str);
        let near = text::same_code(code, known()).or_else(|| text::same_number(code, known()));
        let suggestion = near.map(|near| format!(" Did you mean {near}?")).unwrap_or_default();
        Failure::new(format!("No patient {} on file.{suggestion}", text::visible(code)))
    }
}

fn unusable_policy() -> Failure {
    Failure::new("policy.toml cannot be used; `exitsite check` lists its problems")
}
