//! Checks the people in a record: unknown codes, and records in another person's folder.

use chrono::NaiveDate;

use super::owner;
use crate::event::{Event, Fact};
use crate::patient::Patient;
use crate::problem::{Problem, Rule};
use crate::program::Program;
use crate::text;

/// The maximum number of codes listed in a message.
const MOST_CODES: usize = 12;

/// The problems of the codes in a patient's record.
pub(super) fn problems(program: &Program, patient: &Patient, event: &Event) -> Vec<Problem> {
    let mut codes = vec![("by", event.by.as_str())];
    match &event.fact {
        Fact::Teaching(teaching) => {
            codes.extend([("learner", teaching.learner.as_str()), ("observer", teaching.observer.as_str())]);
        }
        Fact::Contact(contact) => {
            codes.push(("with", contact.with.as_str()));
            codes.extend(contact.escalated_to.as_deref().map(|code| ("escalated_to", code)));
        }
        _ => {}
    }
    let problem = |(key, code): (&str, &str)| {
        let day = event.when.care_day;
        let (rule, message, help) = person_problem(program, Some(patient), code, day, words(key))?;
        Some(event.problem(rule, key, message, help))
    };
    codes.into_iter().filter_map(problem).chain(misplaced_in_household(program, patient, event)).collect()
}

/// The values other than codes that a key accepts.
pub(super) fn words(key: &str) -> &'static [&'static str] {
    match key {
        "by" | "learner" => &["patient"],
        "with" => &["patient", "other"],
        _ => &[],
    }
}

/// The problems of the codes in a staff checkoff.
pub(super) fn staff_problems(program: &Program, event: &Event) -> Vec<Problem> {
    let mut codes = vec![("by", event.by.as_str())];
    if let Fact::Teaching(teaching) = &event.fact {
        codes.extend([("learner", teaching.learner.as_str()), ("observer", teaching.observer.as_str())]);
    }
    let problem = |(key, code): (&str, &str)| {
        let (rule, message, help) = person_problem(program, None, code, event.when.care_day, &[])?;
        Some(event.problem(rule, key, message, help))
    };
    codes.into_iter().filter_map(problem).collect()
}

/// The fault of a code that is unknown, or of a staff member not active that day; `None` for any other code, or without
/// a staff list.
pub(super) fn person_problem(
    program: &Program,
    patient: Option<&Patient>,
    code: &str,
    day: NaiveDate,
    words: &[&str],
) -> Option<(Rule, String, String)> {
    let people = program.people.as_ref()?;
    let caregivers = patient.map(|patient| patient.caregivers.as_slice()).unwrap_or_default();
    if words.contains(&code) || caregivers.iter().any(|caregiver| caregiver.code == code) {
        return None;
    }
    let person = people.get(code);
    if person.is_some_and(|person| person.is_active(day)) {
        return None;
    }
    let shown = text::visible(code);
    match person {
        Some(_) => Some((
            Rule::PersonNotActive,
            format!("{shown} was not active on {day}"),
            "check `from` and `until` in people.toml, or the code".to_owned(),
        )),
        // A code from another household is the best sign of a record filed under the wrong patient.
        None => Some(match program.household_of(code) {
            Some(patient) => (
                Rule::AnotherHousehold,
                format!("{shown} is a caregiver of {patient}"),
                format!(
                    "is this a record of {patient}? If so, record it there, and void it here if it is on file; otherwise correct the code"
                ),
            ),
            None => {
                let staff = people.people.iter().map(|person| person.code.as_str());
                let known: Vec<&str> =
                    staff.chain(caregivers.iter().map(|caregiver| caregiver.code.as_str())).collect();
                let help = match text::same_code(code, known.iter().copied()) {
                    Some(same) => {
                        format!("did you mean {same}? Otherwise add it to people.toml or to the patient's caregivers")
                    }
                    None => {
                        format!("{}. Add a new code to people.toml or to the patient's caregivers", on_file(&known))
                    }
                };
                (Rule::UnknownPerson, format!("unknown code {shown}"), help)
            }
        }),
    }
}

/// The codes on file, up to a maximum.
fn on_file(known: &[&str]) -> String {
    let shown: Vec<String> = known.iter().take(MOST_CODES).map(|code| text::visible(code)).collect();
    let more = known.len().saturating_sub(MOST_CODES);
    let more = if more > 0 { format!(" and {more} more") } else { String::new() };
    format!("codes on file: {}{more}", shown.join(", "))
}

/// The problem of a record in a staff folder that is not that person's checkoff and so does not count.
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
            format!("a {} record does not belong in a staff folder", event.name.kind),
            "move it to the folder of its patient",
        )),
    }
}

/// The problem of a staff checkoff in a patient's folder, where it does not count.
fn misplaced_in_household(program: &Program, patient: &Patient, event: &Event) -> Option<Problem> {
    let Fact::Teaching(teaching) = &event.fact else { return None };
    let is_caregiver = patient.caregivers.iter().any(|caregiver| caregiver.code == teaching.learner);
    let person = program.people.as_ref()?.get(&teaching.learner).filter(|_| !is_caregiver)?;
    Some(event.problem(
        Rule::CodeDisagrees,
        "learner",
        format!("the learner {} is on the staff, but the folder is {}", person.code, patient.code),
        format!("move the file to staff/{}, or write the household member who was the learner", person.code),
    ))
}
