//! Finds all problems of the records in one run: those of each file, and those between a patient's events.
//!
//! Patients are read, checked and dropped one by one, so that memory does not grow with the program; in parallel on
//! several cores.

mod against;
mod clinical;
mod course;
mod event;
mod fresh;
mod person;
mod photo;
mod since;

pub use against::against;
pub(crate) use clinical::may_determine;
pub(crate) use event::{PERHAPS_THE_SAME_MINUTES, exit_named};
pub use fresh::{Fresh, fresh};
pub use photo::{Pictured, pictured, unmatched};
pub use since::{calendar, is_usable, owner, renames, since};

use std::collections::BTreeMap;

use chrono::NaiveDate;
use rayon::prelude::*;

use crate::day::{GRACE_MINUTES, Instant, plus};
use crate::event::Event;
use crate::patient::Patient;
use crate::place::{Place, RecordText};
use crate::policy;
use crate::problem::{MOST_OF_ONE_RULE, Problem, Rule};
use crate::program::Program;
use crate::text;

/// Finds all problems, sorted by file and line. `now` is the later of the current time and the requested moment.
///
/// With `codes`, reads only these patients and no staff records.
pub fn check(program: &Program, now: Instant, codes: Option<&[String]>) -> Vec<Problem> {
    check_with(program, now, codes, Vec::new())
}

/// Finds all problems, and merges in those that [`since`] found in the history.
pub(crate) fn check_with(
    program: &Program,
    now: Instant,
    codes: Option<&[String]>,
    history: Vec<Problem>,
) -> Vec<Problem> {
    let mut problems = program.problems.clone();
    problems.extend(history);
    let latest = now + chrono::Duration::minutes(GRACE_MINUTES);
    problems.extend(program.folder.problems_at_top());
    problems.extend(program.patients.strays.iter().map(|(_, problem)| problem.clone()));
    problems.extend(start_in_clock_change(program));
    let chosen: Vec<&String> =
        program.patients.codes.iter().filter(|code| codes.is_none_or(|codes| codes.contains(code))).collect();
    let read: Vec<CheckedPatient> =
        program.folder.waiting(|| chosen.par_iter().map(|code| check_patient(program, code, latest)).collect());
    let mut caregivers = Vec::new();
    for checked in read {
        problems.extend(checked.problems);
        caregivers.extend(checked.caregivers);
    }
    problems.extend(codes_twice(program, &caregivers));
    problems.extend(check_staff(program, latest));
    if program.plan().is_none() {
        // Without the policy's time zone, the usual offsets are unknown.
        problems.retain(|problem| problem.rule != Rule::UnusualOffset);
    }
    arrange(problems)
}

/// One patient's problems and caregiver codes.
struct CheckedPatient {
    problems: Vec<Problem>,
    caregivers: Vec<(String, Place)>,
}

fn check_patient(program: &Program, code: &str, latest: Instant) -> CheckedPatient {
    let own = program.folder.patient(code);
    let mut problems = Vec::new();
    let patient = program.patient(code, &mut problems);
    let calendar = patient.as_ref().map_or_else(|| program.calendar(), |patient| patient.calendar.clone());
    let events = program.all_events(&own, &calendar, &mut problems);
    let mut caregivers = Vec::new();
    if let Some(patient) = &patient {
        caregivers = patient
            .caregivers
            .iter()
            .map(|caregiver| (caregiver.code.clone(), patient.source.place(&caregiver.span)))
            .collect();
        problems.extend(course::problems(program, patient));
        problems.extend(course::begins_early(patient, &events, latest));
        problems.extend(event::problems(program, patient, &events, latest));
    }
    program.folder.has_read_patient();
    CheckedPatient { problems, caregivers }
}

fn check_staff(program: &Program, latest: Instant) -> Vec<Problem> {
    let (folders, mut problems) = program.folder.staff();
    for (_, own) in folders {
        let calendar = program.calendar();
        for event in program.all_events(&own, &calendar, &mut problems) {
            problems.extend(event::staff_problems(program, &event, latest));
        }
    }
    problems
}

/// The problems of a patient's course and events under a new text of patient.toml.
pub(crate) fn problems_of_course(program: &Program, code: &str, text: &str, now: Instant) -> Vec<Problem> {
    let mut problems = Vec::new();
    let file = format!("patients/{code}/{}", crate::patient::FILE);
    let source = std::sync::Arc::new(RecordText { file, text: text.to_owned() });
    if let Some(patient) = Patient::read(&source, code, &program.calendar(), &mut problems) {
        let own = program.folder.patient(code);
        let events = program.all_events(&own, &patient.calendar, &mut problems);
        problems.extend(course::problems(program, &patient));
        problems.extend(course::begins_early(&patient, &events, now));
        problems.extend(problems_beside(program, Some(&patient), &events, |_| true, now));
    }
    problems
}

/// The problems of new events, checked against the course, the staff, the policy and each other. `events` are all
/// events in order; `is_new` returns true for a new file.
pub(crate) fn problems_beside(
    program: &Program,
    patient: Option<&Patient>,
    events: &[Event],
    is_new: impl Fn(&str) -> bool,
    now: Instant,
) -> Vec<Problem> {
    let latest = now + chrono::Duration::minutes(GRACE_MINUTES);
    let is_about_one =
        |problem: &Problem| is_new(&problem.place.file) || problem.related.iter().any(|place| is_new(&place.file));
    let problems: Vec<Problem> = match patient {
        Some(patient) => event::problems(program, patient, events, latest),
        None => events.iter().flat_map(|event| event::staff_problems(program, event, latest)).collect(),
    };
    problems.into_iter().filter(is_about_one).collect()
}

/// The message about an unknown code in a key of a record; `None` for a known code.
pub(crate) fn unknown_code(program: &Program, patient: Option<&Patient>, key: &str, code: &str) -> Option<String> {
    let day = NaiveDate::MIN;
    let (rule, message, help) = person::person_problem(program, patient, code, day, person::words(key))?;
    (rule != Rule::PersonNotActive).then(|| text::in_sentences(&[&message, &help]))
}

/// The message about the code of a staff member who was not active on a day; `None` for any other code.
pub(crate) fn inactive_code(
    program: &Program,
    patient: Option<&Patient>,
    code: &str,
    day: NaiveDate,
) -> Option<String> {
    let (rule, message, help) = person::person_problem(program, patient, code, day, &[])?;
    (rule == Rule::PersonNotActive).then(|| text::in_sentences(&[&message, &help]))
}

/// The problem of a care-day start that the policy's time zone skips or repeats on some day.
fn start_in_clock_change(program: &Program) -> Option<Problem> {
    let plan = program.plan()?;
    let span = &program.policy.as_ref()?.care_day_starts;
    let (zone, day) = plan.calendar.start_in_clock_change()?;
    let source = program.policy_source.as_ref()?;
    Some(source.problem(
        Rule::CareDayInClockChange,
        span,
        format!("the care day starts at {}, which {zone} skips or repeats on {day}", plan.calendar.starts()),
        format!("choose another care_day_starts in {}, such as 03:00:00 or 04:00:00", policy::FILE),
    ))
}

/// The problems of codes that two people have.
fn codes_twice(program: &Program, caregivers: &[(String, Place)]) -> Vec<Problem> {
    let mut known: BTreeMap<&str, Place> = BTreeMap::new();
    if let Some(people) = &program.people
        && let Some(source) = &people.source
    {
        known.extend(people.people.iter().map(|person| (person.code.as_str(), source.place(&person.span))));
    }
    let mut problems = Vec::new();
    for (code, place) in caregivers {
        if let Some(other) = known.get(code.as_str()).filter(|other| other.file != place.file) {
            let problem = Problem::at(
                Rule::CodeTwice,
                place.clone(),
                format!("the code {} is used by another person too", text::visible(code)),
                "codes must be unique in the program; choose another code",
            );
            problems.push(problem.beside(other.clone()));
        }
        known.entry(code).or_insert_with(|| place.clone());
    }
    problems
}

/// Sorts by file and line, and limits repeated problems of a file.
fn arrange(mut problems: Vec<Problem>) -> Vec<Problem> {
    problems.sort_by(|a, b| {
        (&a.place.file, a.place.line, a.place.column, a.rule).cmp(&(
            &b.place.file,
            b.place.line,
            b.place.column,
            b.rule,
        ))
    });
    let mut counts: BTreeMap<(String, Rule), usize> = BTreeMap::new();
    let mut kept = Vec::new();
    for problem in problems {
        let count = counts.entry((problem.place.file.clone(), problem.rule)).or_default();
        if *count < MOST_OF_ONE_RULE {
            *count += 1 + problem.more;
            kept.push(problem);
        } else {
            *count += 1 + problem.more;
        }
    }
    for ((file, rule), count) in counts.into_iter().filter(|(_, count)| *count > MOST_OF_ONE_RULE) {
        let rest = Problem::of_file(
            rule,
            &file,
            format!("{} more of this kind in this file", count - MOST_OF_ONE_RULE),
            "correct the ones above first",
        );
        let behind = kept.iter().rposition(|problem| problem.place.file == file).map_or(kept.len(), |at| at + 1);
        kept.insert(behind, rest);
    }
    kept
}

/// The day after the last day that a log can cover.
fn day_after(day: chrono::NaiveDate) -> chrono::NaiveDate {
    plus(day, 1)
}
