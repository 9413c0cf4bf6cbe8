//! Problems of clinical records: infection determinations, their onset, and ignored intolerances.

use std::collections::BTreeMap;

use chrono::NaiveDate;

use crate::event::{Event, Fact, Infection, Kind};
use crate::patient::Patient;
use crate::people::Role;
use crate::problem::{Problem, Rule};
use crate::program::Program;
use crate::text::visible;
use crate::word::Word;

/// The clinical problems of one event.
pub(super) fn problems(program: &Program, patient: &Patient, event: &Event, events: &[Event]) -> Vec<Problem> {
    let mut problems: Vec<Problem> = onset_outside(patient, event).into_iter().collect();
    match &event.fact {
        Fact::Change(change) => {
            let named = change.materials.cleanser.and_then(|used| {
                let named = patient.intolerances.iter().find(|intolerance| used.is_named_in(intolerance));
                named.map(|named| (used.word(), named))
            });
            if let Some((used, named)) = named {
                let on_file = match named == used {
                    true => String::new(),
                    false => format!(" (on file: {})", visible(named)),
                };
                problems.push(event.problem(
                    Rule::IntoleranceIgnored,
                    "materials.cleanser",
                    format!("the patient does not tolerate {used}{on_file}"),
                    "check the skin, and ask which material to use instead",
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
                    "no other infection record has that name",
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
            "write the code of a clinician; the roles are [signals] clinician_roles in policy.toml",
        ));
    }
    problems
}

/// Returns true if a role may determine an infection; only a physician if the policy does not say.
pub(crate) fn may_determine(program: &Program, role: Role) -> bool {
    let signals = program.policy.as_ref().and_then(|policy| policy.signals.as_ref());
    signals.map_or(role == Role::Physician, |signals| signals.clinician_roles.contains(&role))
}

/// The problem of an infection that no audit counts: its onset is outside the patient's time on file.
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
            "check the date; count an infection from before the records in `infections_before` of patient.toml",
        ),
        None => return None,
    };
    Some(event.problem(Rule::OnsetOutside, "onset", message, help))
}

/// One problem per determination whose onset an earlier one already has.
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
                    format!("another determination also has the onset {onset}"),
                    "void the wrong one, or correct its onset; audits count only one of them",
                );
                problems.push(problem.beside(first.record.place(&first.span("", "onset"))));
            }
        }
    }
    problems
}
