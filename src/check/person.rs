//! The persons of a record: unknown codes, and records in the folder of another person.

use chrono::NaiveDate;

use super::owner;
use crate::event::{Event, Fact};
use crate::patient::Patient;
use crate::problem::{Problem, Rule};
use crate::program::Program;
use crate::text;

/// The problems of the codes that a patient's record names.
pub(super) fn problems(program: &Program, patient: &Patient, event: &Event) -> Vec<Problem> {
    let mut codes = vec![("by", event.by.as_str())];
    match &event.fact {
        Fact::Teaching(teaching) => {
            codes.extend([("learner", teaching.learner.as_str()), ("observer", teaching.observer.as_str())]);
        }
        Fact::Contact(contact) => codes.push(("with", contact.with.as_str())),
        _ => {}
    }
    let problem = |(key, code): (&str, &str)| {
        let (rule, message, help) = person_problem(program, patient, code, event.when.care_day, words(key))?;
        Some(event.problem(rule, key, message, help))
    };
    codes.into_iter().filter_map(problem).chain(misplaced_in_household(program, patient, event)).collect()
}

/// The values of a key besides codes.
pub(super) fn words(key: &str) -> &'static [&'static str] {
    match key {
        "by" | "learner" => &["patient"],
        "with" => &["patient", "other"],
        _ => &[],
    }
}

/// The problems of the codes that a checkoff of staff names.
pub(super) fn staff_problems(program: &Program, event: &Event) -> Vec<Problem> {
    let Some(people) = &program.people else { return Vec::new() };
    let mut codes = vec![("by", event.by.as_str())];
    if let Fact::Teaching(teaching) = &event.fact {
        codes.extend([("learner", teaching.learner.as_str()), ("observer", teaching.observer.as_str())]);
    }
    let known: Vec<&str> = people.people.iter().map(|person| person.code.as_str()).collect();
    let problem = |(key, code): (&str, &str)| {
        let (rule, message, help) = match people.get(code) {
            None => nobody(program, code, &known),
            Some(person) if !person.is_active(event.when.care_day) => not_active(code),
            Some(_) => return None,
        };
        Some(event.problem(rule, key, message, help))
    };
    codes.into_iter().filter_map(problem).collect()
}

/// The problem of a code that is unknown, or of a person who was not with the program that day.
pub(super) fn person_problem(
    program: &Program,
    patient: &Patient,
    code: &str,
    day: NaiveDate,
    words: &[&str],
) -> Option<(Rule, String, String)> {
    let people = program.people.as_ref()?;
    if words.contains(&code) || patient.caregivers.iter().any(|caregiver| caregiver.code == code) {
        return None;
    }
    match people.get(code) {
        Some(person) if person.is_active(day) => None,
        Some(_) => Some(not_active(code)),
        None => {
            let staff = people.people.iter().map(|person| person.code.as_str());
            let caregivers = patient.caregivers.iter().map(|caregiver| caregiver.code.as_str());
            Some(nobody(program, code, &staff.chain(caregivers).collect::<Vec<_>>()))
        }
    }
}

/// The code of somebody of another household is the best sign that a record stands with the wrong patient.
fn nobody(program: &Program, code: &str, known: &[&str]) -> (Rule, String, String) {
    if let Some(patient) = program.household_of(code) {
        let message = format!("{} is a caregiver of {patient}", text::visible(code));
        let help =
            format!("is this a record of {patient}? Then it belongs there and is void here; else correct the code");
        return (Rule::AnotherHousehold, message, help);
    }
    let near = text::nearest(code, known.iter().copied())
        .map(|near| format!("did you mean {near}? Otherwise "))
        .unwrap_or_default();
    let message = format!("unknown code {}", text::visible(code));
    (Rule::UnknownPerson, message, format!("{near}add it to people.toml, or to the patient's caregivers"))
}

/// The doubt about a code of somebody who was not with the program that day.
pub(crate) fn not_with_the_program(code: &str) -> String {
    let (_, message, help) = not_active(code);
    format!("{message}: {help}")
}

fn not_active(code: &str) -> (Rule, String, String) {
    let message = format!("{code} was not with the program that day");
    (Rule::PersonNotActive, message, "check `from` and `until` in people.toml, or the code".to_owned())
}

/// A record in a folder of staff that is no checkoff of theirs, and so counts for nothing.
pub(super) fn misplaced_among_staff(event: &Event) -> Option<Problem> {
    let code = owner(event.file()).trim_start_matches("staff/");
    match &event.fact {
        Fact::Teaching(teaching) if teaching.learner != code => Some(event.problem(
            Rule::CodeDisagrees,
            "learner",
            format!("the learner is {}, but the folder is {code}", text::visible(&teaching.learner)),
            "write the folder's code, or move the file",
        )),
        Fact::Teaching(_) | Fact::Voided => None,
        _ => Some(event.problem(
            Rule::NotForStaff,
            "kind",
            format!("a {} record does not belong to staff", event.name.kind),
            "move it to the folder of its patient",
        )),
    }
}

/// A checkoff of one of the staff in the folder of a patient, where it counts for nothing.
fn misplaced_in_household(program: &Program, patient: &Patient, event: &Event) -> Option<Problem> {
    let Fact::Teaching(teaching) = &event.fact else { return None };
    let is_caregiver = patient.caregivers.iter().any(|caregiver| caregiver.code == teaching.learner);
    let person = program.people.as_ref()?.get(&teaching.learner).filter(|_| !is_caregiver)?;
    Some(event.problem(
        Rule::CodeDisagrees,
        "learner",
        format!("the learner {} is one of the staff, but the folder is {}", person.code, patient.code),
        format!("move the file to staff/{}, or write the household member who learned it", person.code),
    ))
}
