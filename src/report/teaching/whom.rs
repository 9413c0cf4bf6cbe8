//! Whom somebody means by a code: a patient's household, one caregiver, or one of the staff.

use std::collections::BTreeSet;

use crate::problem::Failure;
use crate::program::Program;
use crate::text;

/// Whom is asked about.
pub(super) struct Asked {
    /// Patients, each with the persons of the household.
    pub(super) households: Vec<(String, Persons)>,
    /// Codes of staff.
    pub(super) staff: Vec<String>,
}

/// Which persons of a household.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Persons {
    /// All of them, where nobody was named.
    All,
    /// All of them, and the discharge checklist.
    WithDischarge,
    /// These.
    These(Vec<String>),
}

impl Persons {
    pub(super) fn has(&self, person: &str) -> bool {
        match self {
            Persons::All | Persons::WithDischarge => true,
            Persons::These(codes) => codes.iter().any(|code| code == person),
        }
    }
}

/// Whom `named` means; without names everybody.
pub(super) fn asked(program: &Program, named: &[String]) -> Result<Asked, Failure> {
    let staff = staff(program);
    if named.is_empty() {
        let households = program.patients.codes.iter().map(|code| (code.clone(), Persons::All)).collect();
        return Ok(Asked { households, staff: staff.into_iter().collect() });
    }
    let is_patient = |code: &String| program.patients.codes.contains(code);
    let others: Vec<&String> = named.iter().filter(|code| !is_patient(code) && !staff.contains(*code)).collect();
    // Which household a caregiver belongs to stands in the patients' files only.
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
            // A code that no file has may be that of a household whose file cannot be read.
            households.push((code.clone(), Persons::These(vec!["patient".to_owned()])));
        }
    }
    Ok(Asked { households, staff: staff.into_iter().filter(|code| named.contains(code)).collect() })
}

/// Everybody in people.toml, and whoever has a folder among the staff.
fn staff(program: &Program) -> BTreeSet<String> {
    let on_list = program.people.iter().flat_map(|staff| &staff.people).map(|person| person.code.clone());
    let (folders, _) = program.folder.staff();
    on_list.chain(folders.into_iter().map(|(code, _)| code)).collect()
}

/// Every caregiver, with the patient; and the patients whose caregivers cannot be read.
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
    Failure::new(format!("there is nobody with the code {} on file{near}", text::visible(code)))
}
