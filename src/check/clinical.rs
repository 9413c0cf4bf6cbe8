//! Problems of clinical records: a determination and its onset, an intolerance that was ignored.

use std::collections::BTreeMap;

use chrono::NaiveDate;

use crate::event::{Event, Fact, Infection, Kind};
use crate::patient::Patient;
use crate::people::Role;
use crate::problem::{Problem, Rule};
use crate::program::Program;
use crate::word::Word;

/// The problems of one event as a clinical record.
pub(super) fn problems(program: &Program, patient: &Patient, event: &Event, events: &[Event]) -> Vec<Problem> {
    let mut problems: Vec<Problem> = onset_outside(patient, event).into_iter().collect();
    match &event.fact {
        Fact::Change(change) => {
            let used = change.materials.cleanser.map(Word::word);
            if let Some(used) = used.filter(|used| patient.intolerances.iter().any(|intolerance| intolerance == used)) {
                problems.push(event.problem(
                    Rule::IntoleranceIgnored,
                    "materials.cleanser",
                    format!("the patient does not tolerate {used}"),
                    "check the skin, and ask what to use instead",
                ));
            }
        }
        Fact::Infection(Infection { recurrence_of: Some(other), .. }) => {
            let is_there =
                events.iter().any(|event| event.name.kind == Kind::Infection && event.name.to_string() == *other);
            if !is_there || event.name.to_string() == *other {
                problems.push(event.problem(
                    Rule::RecurrenceOfNothing,
                    "recurrence_of",
                    "there is no other infection record of that name",
                    "write the file name of the earlier one, such as 2026-03-02-infection.toml",
                ));
            }
        }
        _ => {}
    }
    if let (Fact::Infection(_), Some(people)) = (&event.fact, &program.people)
        && people.source.is_some()
        && people.get(&event.by).is_none_or(|person| !may_determine(program, person.role))
    {
        problems.push(event.problem(
            Rule::NotAPhysician,
            "by",
            format!("{} may not determine an infection", event.by),
            "write the code of the clinician: a role of [signals] clinician_roles in policy.toml",
        ));
    }
    problems
}

/// Returns true if a role may determine an infection; only a physician, where the policy does not say.
pub(crate) fn may_determine(program: &Program, role: Role) -> bool {
    let signals = program.policy.as_ref().and_then(|policy| policy.signals.as_ref());
    signals.map_or(role == Role::Physician, |signals| signals.clinician_roles.contains(&role))
}

/// An infection that no audit counts: its onset is no day of the patient's time on file.
fn onset_outside(patient: &Patient, event: &Event) -> Option<Problem> {
    let Fact::Infection(Infection { onset, .. }) = &event.fact else { return None };
    let ended = patient.ended.as_ref().map(|ended| ended.on).filter(|ended| ended < onset);
    let (message, help) = match ended {
        Some(ended) => {
            (format!("support ended on {ended}, before this onset"), "check the date and the patient's code")
        }
        None if *onset < patient.implanted => (
            format!("the patient was implanted on {}, after this onset", patient.implanted),
            "check the date and the patient's code",
        ),
        None if *onset < patient.records_from => (
            format!(
                "the records begin on {}, after this onset, so no audit counts the infection",
                patient.records_from
            ),
            "check the date; an infection before the records is counted in `infections_before` of patient.toml",
        ),
        None => return None,
    };
    Some(event.problem(Rule::OnsetOutside, "onset", message, help))
}

/// A finding for each determination of an onset that an earlier one gives already.
pub(super) fn infections_twice(events: &[&Event]) -> Vec<Problem> {
    let mut known: BTreeMap<NaiveDate, &Event> = BTreeMap::new();
    let mut problems = Vec::new();
    for event in events {
        let Fact::Infection(Infection { onset, .. }) = &event.fact else { continue };
        match known.get(onset) {
            None => _ = known.insert(*onset, event),
            Some(first) => {
                let problem = event.problem(
                    Rule::InfectionTwice,
                    "onset",
                    format!("another determination gives the onset {onset}, too"),
                    "void the one that is wrong, or correct its onset; audits count one of them",
                );
                problems.push(problem.beside(first.record.place(&first.span("", "onset"))));
            }
        }
    }
    problems
}
