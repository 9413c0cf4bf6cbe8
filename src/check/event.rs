//! Checks an event against the patient's course, the staff, the policy and the other events.

use std::collections::BTreeMap;

use chrono::{Duration, NaiveDate};

use super::{clinical, day_after, person};
use crate::day::{Instant, is_date_of_care};
use crate::event::{Event, Fact, Kind, Log, Teaching};
use crate::patient::{Belonging, ExitDay, Patient, Reports};
use crate::policy::CarePlace;
use crate::problem::{Problem, Rule};
use crate::program::Program;
use crate::text;

use super::photo;

/// The maximum number of minutes between two timed events of one kind that are possible duplicates. Common practice, no
/// source.
pub(crate) const PERHAPS_THE_SAME_MINUTES: i64 = 90;

/// The problems of a patient's events, given in order.
pub(super) fn problems(program: &Program, patient: &Patient, events: &[Event], latest: Instant) -> Vec<Problem> {
    let mut problems = Vec::new();
    let standing: Vec<&Event> = events.iter().filter(|event| event.void.is_none()).collect();
    for event in &standing {
        problems.extend(time_problem(patient, event, latest));
        problems.extend(course_problem(patient, event).or_else(|| patient.exit_problem(event)));
        problems.extend(person::problems(program, patient, event));
        problems.extend(teaching_problems(program, event));
        problems.extend(clinical::problems(program, patient, event, events));
        problems.extend(photo::place_problem(program, event));
    }
    problems.extend(perhaps_the_same(patient, &standing));
    problems.extend(log_gaps(patient, &standing));
    problems.extend(clinical::infections_twice(&standing));
    problems
}

/// The problems of a record in a staff folder.
pub(super) fn staff_problems(program: &Program, event: &Event, latest: Instant) -> Vec<Problem> {
    if event.void.is_some() {
        return Vec::new();
    }
    let mut problems: Vec<Problem> = person::misplaced_among_staff(event).into_iter().collect();
    problems.extend(teaching_problems(program, event));
    if !event.exists(&program.calendar(), latest) {
        problems.push(in_the_future(event));
    }
    problems.extend(person::staff_problems(program, event));
    problems
}

fn time_problem(patient: &Patient, event: &Event, latest: Instant) -> Option<Problem> {
    // Another year is a fault of its own.
    if !is_date_of_care(event.when.care_day) {
        return None;
    }
    if !event.exists(&patient.calendar, latest) {
        return Some(in_the_future(event));
    }
    let is_untimed_today = !event.is_timed() && event.when.care_day == patient.calendar.today(latest);
    let untimed = || {
        event.problem(
            Rule::UntimedToday,
            "on",
            "a record from today without a time",
            "add `at` with the time while it is known, and rename the file",
        )
    };
    is_untimed_today.then(untimed)
}

fn in_the_future(event: &Event) -> Problem {
    event.problem(
        Rule::InTheFuture,
        event.time_key(),
        "the date is in the future",
        "check the day, the month and the year",
    )
}

/// The problem of an event before the implant or after the end of support.
fn course_problem(patient: &Patient, event: &Event) -> Option<Problem> {
    let day = event.when.care_day;
    if day < patient.implanted {
        let message = format!("the patient was implanted on {}, after this", patient.implanted);
        return Some(event.problem(
            Rule::BeforeImplant,
            event.time_key(),
            message,
            "check the day and the patient's code",
        ));
    }
    let ended = patient.ended.as_ref().filter(|ended| day > ended.on)?;
    // An infection is often determined after the end of support, for example from a culture of the explanted pump.
    if matches!(&event.fact, Fact::Infection(infection) if infection.onset <= ended.on) {
        return None;
    }
    Some(event.problem(
        Rule::AfterEnd,
        event.time_key(),
        format!("support ended on {}, before this", ended.on),
        "check the day and the patient's code",
    ))
}

fn teaching_problems(program: &Program, event: &Event) -> Vec<Problem> {
    let Some(curricula) = program.policy.as_ref().and_then(|policy| policy.curricula.as_ref()) else {
        return Vec::new();
    };
    let unknown_step = |key: &str, step: &String| {
        event.problem(
            Rule::UnknownStep,
            key,
            format!("the curriculum has no step \"{}\"", text::visible(step)),
            "write the id of a step of the curriculum in policy.toml",
        )
    };
    match &event.fact {
        Fact::Teaching(Teaching { curriculum, version, unaided, prompted, missed, .. }) => {
            let taught: Vec<_> =
                curricula.iter().filter(|known| known.name == *curriculum && known.version == *version).collect();
            if taught.is_empty() {
                let message =
                    format!("the policy has no curriculum \"{}\" version {version}", text::visible(curriculum));
                return vec![event.problem(
                    Rule::UnknownCurriculum,
                    "curriculum",
                    message,
                    "check [[curriculum]] in policy.toml; keep old versions there",
                )];
            }
            let is_known =
                |step: &&String| !taught.iter().any(|known| known.steps.iter().any(|known| known.id == **step));
            let lists = [("unaided", unaided), ("prompted", prompted), ("missed", missed)];
            lists
                .iter()
                .flat_map(|(key, steps)| steps.iter().filter(is_known).map(|step| unknown_step(key, step)))
                .collect()
        }
        Fact::Change(change) => {
            let is_known =
                |step: &&String| !curricula.iter().any(|known| known.steps.iter().any(|known| known.id == **step));
            change.steps_missed.iter().filter(is_known).map(|step| unknown_step("steps_missed", step)).collect()
        }
        _ => Vec::new(),
    }
}

/// The exit site by which events are grouped; `None` if it is unclear.
pub(crate) fn exit_named(patient: &Patient, event: &Event) -> Option<usize> {
    match patient.belonging(event) {
        Belonging::Exit(ExitDay::One(n) | ExitDay::Closing(n)) => Some(n),
        _ => None,
    }
}

/// One problem per chain of possible duplicates, at the last of them.
fn perhaps_the_same(patient: &Patient, events: &[&Event]) -> Vec<Problem> {
    let mut groups: BTreeMap<(NaiveDate, Kind, Option<usize>), Vec<&Event>> = BTreeMap::new();
    for event in events {
        let exit = exit_named(patient, event);
        groups.entry((event.when.care_day, event.name.kind, exit)).or_default().push(event);
    }
    let chains = groups.into_values().filter(|group| group.len() > 1).flat_map(chains_of);
    chains.filter_map(|chain| one_finding(&chain)).collect()
}

/// Chains of events close in time; an event without a time is linked to all of its day.
fn chains_of(group: Vec<&Event>) -> Vec<Vec<&Event>> {
    if group.iter().any(|event| !event.is_timed()) {
        return vec![group];
    }
    let mut chains: Vec<Vec<&Event>> = Vec::new();
    for event in group {
        match chains.last_mut() {
            Some(chain)
                if chain.last().is_some_and(|last| {
                    event.when.instant - last.when.instant <= Duration::minutes(PERHAPS_THE_SAME_MINUTES)
                }) =>
            {
                chain.push(event)
            }
            _ => chains.push(vec![event]),
        }
    }
    chains
}

fn one_finding(chain: &[&Event]) -> Option<Problem> {
    let (last, earlier) = chain.split_last()?;
    if earlier.is_empty() {
        return None;
    }
    let message = format!(
        "{} on one care day, possible duplicates",
        text::count(chain.len() as i64, &format!("{} record", last.name.kind))
    );
    let problem =
        last.problem(Rule::PerhapsTheSame, last.time_key(), message, "void the duplicate; keep both if both happened");
    Some(
        earlier
            .iter()
            .fold(problem, |problem, event| problem.beside(event.record.place(&event.span("", event.time_key())))),
    )
}

/// The problems of days at home, in a household that reports by log, that fall between two logs.
fn log_gaps(patient: &Patient, events: &[&Event]) -> Vec<Problem> {
    let mut logs: Vec<(&Event, &Log)> = events
        .iter()
        .filter_map(|event| match &event.fact {
            Fact::Log(log) => Some((*event, log)),
            _ => None,
        })
        .collect();
    logs.sort_by_key(|(_, log)| (log.from, log.through));
    let mut problems = Vec::new();
    let mut told_through: Option<NaiveDate> = None;
    for (event, log) in logs {
        if let Some(through) = told_through.filter(|through| day_after(*through) < log.from) {
            let is_log_day = |day: &NaiveDate| {
                patient.care_row(*day).is_some_and(|row| row.place == CarePlace::Home && row.reports == Reports::Log)
            };
            let days = day_after(through).iter_days().take_while(|day| *day < log.from).filter(is_log_day).count();
            if days > 0 {
                let message =
                    format!("{} between this log and the previous one are in neither", text::count(days as i64, "day"));
                problems.push(event.problem(
                    Rule::LogGap,
                    "from",
                    message,
                    "ask the household; changes on those days are unreported, not missed",
                ));
            }
        }
        told_through = told_through.max(Some(log.through));
    }
    problems
}
