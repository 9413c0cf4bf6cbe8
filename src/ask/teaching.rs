//! Teaching by person. A code names a patient's household, one caregiver, or one staff member.

use std::collections::BTreeSet;

use rayon::prelude::*;

use super::{Answer, files, one, unusable_of, unusable_of_patient};
use crate::chart::Window;
use crate::day::AsOf;
use crate::patient::Patient;
use crate::problem::Failure;
use crate::program::Program;
use crate::report::Unusable;
use crate::report::supplies;
use crate::report::teaching::{self, Discharge, Household, Learner, NotListed, TeachingReport, Unlisted};
use crate::text;

/// The windows of a household with its discharge checklist; without it, the first.
const WITH_DISCHARGE: [Window; 4] = [Window::Checkoffs, Window::Signals, supplies::WINDOWS[0], supplies::WINDOWS[1]];

/// Returns the teaching of the persons with these codes, or of everyone if there are none.
///
/// # Errors
/// A code is not on file.
pub fn teaching(program: &Program, named: &[String], as_of: AsOf) -> Result<Answer<TeachingReport>, Failure> {
    let asked = asked(program, named)?;
    let (rules, today) = (program.rules(), program.calendar().today(as_of.instant));
    let mut unusable = unusable_of(program, named.is_empty());
    let (mut people, mut not_listed, mut discharge) = (Vec::new(), Vec::new(), Vec::new());
    let mut moving_home = Vec::new();
    let read = |(code, persons): &(String, Persons)| household(program, code, persons, as_of);
    let households: Vec<Answer<Household>> = program.folder.waiting(|| asked.households.par_iter().map(read).collect());
    for ((code, persons), (household, files)) in asked.households.iter().zip(households) {
        unusable.extend(files);
        discharge.extend(household.discharge);
        moving_home.extend(household.move_home);
        if household.has_ended && *persons == Persons::All {
            not_listed.push(NotListed { why: Unlisted::SupportEnded, code: code.clone() });
            continue;
        }
        people.extend(household.people.into_iter().filter(|learner| persons.has(&learner.person)));
    }
    for code in &asked.staff {
        let (learner, files) = staff_member(program, code, as_of);
        if named.is_empty() && !teaching::is_listed(rules, &learner, today) {
            not_listed.push(NotListed { why: Unlisted::NoNurse, code: code.clone() });
            continue;
        }
        people.push(learner);
        unusable.extend(files);
    }
    not_listed.sort();
    moving_home.sort_by_key(|home| home.on);
    let may_sign = teaching::may_sign(rules, today);
    Ok((TeachingReport { people, may_sign, discharge, moving_home, not_listed }, unusable))
}

/// Returns the discharge checklist of a patient with another course than the one on file, such as one without a planned
/// move; `None` without a policy.
pub(crate) fn discharge(program: &Program, patient: &Patient, as_of: AsOf) -> Option<Discharge> {
    let mut chart = program.chart(&patient.code, &WITH_DISCHARGE, as_of).ok()?;
    chart.patient = patient.clone();
    program.policy.as_ref()?;
    teaching::household_with_discharge(&chart).discharge
}

fn household(program: &Program, code: &str, persons: &Persons, as_of: AsOf) -> Answer<Household> {
    let with_discharge = *persons == Persons::WithDischarge && program.policy.is_some();
    let windows = if with_discharge { WITH_DISCHARGE.as_slice() } else { &WITH_DISCHARGE[..1] };
    let question = if with_discharge { teaching::household_with_discharge } else { teaching::household };
    let unjudged = |code: &str, _: &_| teaching::unjudged(code, *persons == Persons::WithDischarge);
    let (household, mut unusable) = one(program, code, windows, as_of, question, unjudged);
    // A patient named on the command line whose records cannot be read is listed, as on the due list.
    if *persons != Persons::All {
        let state: Vec<Unusable> = unusable_of_patient(program, code, as_of);
        let more = state.into_iter().filter(|file| !unusable.contains(file)).collect::<Vec<_>>();
        unusable.extend(more);
    }
    (household, unusable)
}

fn staff_member(program: &Program, code: &str, as_of: AsOf) -> Answer<Learner> {
    let (checkoffs, problems) = program.staff_checkoffs(code, as_of);
    let unusable = files(&problems);
    let today = program.calendar().today(as_of.instant);
    (teaching::staff(program.rules(), code, &checkoffs, unusable.is_empty(), today), unusable)
}

/// The persons asked about.
struct AskedPersons {
    /// Patients, each with the persons of the household.
    households: Vec<(String, Persons)>,
    /// Codes of staff.
    staff: Vec<String>,
}

/// Persons of a household.
#[derive(Debug, Clone, PartialEq, Eq)]
enum Persons {
    /// All, if no code was given.
    All,
    /// All, with the discharge checklist.
    WithDischarge,
    /// These.
    These(Vec<String>),
}

impl Persons {
    fn has(&self, person: &str) -> bool {
        match self {
            Persons::All | Persons::WithDischarge => true,
            Persons::These(codes) => codes.iter().any(|code| code == person),
        }
    }
}

/// Resolves the codes in `named`; all persons if there are none.
fn asked(program: &Program, named: &[String]) -> Result<AskedPersons, Failure> {
    let staff = staff(program);
    if named.is_empty() {
        let households = program.patients.codes.iter().map(|code| (code.clone(), Persons::All)).collect();
        return Ok(AskedPersons { households, staff: staff.into_iter().collect() });
    }
    let is_patient = |code: &String| program.patients.codes.contains(code);
    let others: Vec<&String> = named.iter().filter(|code| !is_patient(code) && !staff.contains(*code)).collect();
    // Only the patients' files link a caregiver to a household.
    let (caregivers, unread) = if others.is_empty() { (Vec::new(), Vec::new()) } else { caregivers(program) };
    let unknown = others.iter().find(|code| caregivers.iter().all(|(_, known)| known != **code));
    if let Some(unknown) = unknown.filter(|_| unread.is_empty()) {
        return Err(nobody(program, unknown, &staff, &caregivers));
    }
    let mut households: Vec<(String, Persons)> = Vec::new();
    for code in &program.patients.codes {
        let of_household = caregivers.iter().filter(|(patient, known)| patient == code && named.contains(known));
        let these: Vec<String> = of_household.map(|(_, known)| known.clone()).collect();
        if named.contains(code) {
            households.push((code.clone(), Persons::WithDischarge));
        } else if !these.is_empty() {
            households.push((code.clone(), Persons::These(these)));
        } else if unknown.is_some() && unread.contains(code) {
            // A code found in no file may belong to a household whose file cannot be read.
            households.push((code.clone(), Persons::These(vec!["patient".to_owned()])));
        }
    }
    Ok(AskedPersons { households, staff: staff.into_iter().filter(|code| named.contains(code)).collect() })
}

/// Returns the codes of everyone in people.toml and of everyone with a staff folder.
fn staff(program: &Program) -> BTreeSet<String> {
    let on_list = program.people.iter().flat_map(|staff| &staff.people).map(|person| person.code.clone());
    let (folders, _) = program.folder.staff();
    on_list.chain(folders.into_iter().map(|(code, _)| code)).collect()
}

/// Returns every caregiver with the patient, and the patients whose caregivers cannot be read.
fn caregivers(program: &Program) -> (Vec<(String, String)>, Vec<String>) {
    let (mut caregivers, mut unread) = (Vec::new(), Vec::new());
    for code in &program.patients.codes {
        match program.patient(code, &mut Vec::new()) {
            Some(patient) => {
                caregivers.extend(patient.caregivers.into_iter().map(|caregiver| (code.clone(), caregiver.code)));
            }
            None => unread.push(code.clone()),
        }
    }
    (caregivers, unread)
}

fn nobody(program: &Program, code: &str, staff: &BTreeSet<String>, caregivers: &[(String, String)]) -> Failure {
    let caregivers = caregivers.iter().map(|(_, code)| code);
    let known = program.patients.codes.iter().chain(staff).chain(caregivers).map(String::as_str);
    let near = text::same_code(code, known).map(|near| format!("; did you mean {near}?")).unwrap_or_default();
    Failure::new(format!("unknown code {}{near}", text::visible(code)))
}
