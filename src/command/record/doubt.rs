//! Doubts about one record in addition to those of `check`, and a checkoff in another person's folder.

use chrono::NaiveDate;

use super::call;
use crate::command::consent;
use crate::day::Instant;
use crate::entry::{Book, Clock, Draft, Trial, plain};
use crate::event::{ChangeReason, Dressing, Event, Fact, Kind};
use crate::problem::{Failure, Problem, Rule};
use crate::record::{Value, Values};
use crate::schedule::{Schedule, TriggerEvent};
use crate::teaching::SignOffRules;
use crate::text;
use crate::timeline::Timeline;
use crate::view::doubt::{Doubt, doubt, misplaced};

/// The doubts about a single record in addition to those of `check`: a promise for a past or distant time, a finding in its
/// note, a supply item that the policy does not list, an inspection of nothing, a checkoff that will not count.
pub(super) fn doubts_of(draft: &Draft, trial: &Trial, book: &Book, clock: Clock) -> Result<Vec<String>, Failure> {
    let today = book.calendar.today(clock.now);
    let mut doubts: Vec<Doubt> = in_vain(trial, book);
    if let (Some(Value::Moment(until)), Some(at)) = (draft.values.get("expect_by"), draft.instant(clock))
        && clock.instant(*until).is_some_and(|until| until <= at)
    {
        return Err(Failure::unwritten(format!(
            "--expect-by: {until} is not after the call; type when it is expected"
        )));
    }
    let items = book.program.policy.as_ref().and_then(|policy| policy.supplies.as_ref());
    if let (Some(item), Some(items)) = (draft.values.text("item"), items)
        && items.iter().all(|known| known.item != item)
    {
        let near = text::nearest(item, items.iter().map(|known| known.item.as_str()));
        doubts.push(Doubt::UnknownItem { item, near });
    }
    if draft.kind == Kind::Inspection && !draft.says_something() {
        doubts.push(Doubt::EmptyInspection);
    }
    if let (Some(Value::Date(onset)), Some(at)) = (draft.values.get("onset"), draft.instant(clock))
        && *onset > clock.calendar.today(at)
    {
        doubts.push(Doubt::LateOnset(*onset));
    }
    if let Some(event) = trial.event.as_ref().filter(|event| event.name.kind == Kind::Culture)
        && book.program.people.as_ref().is_some_and(|people| !people.is_staff(&event.by, event.when.care_day))
    {
        doubts.push(Doubt::CultureBy { by: &event.by });
    }
    doubts.extend(trial.event.as_ref().and_then(found_intact));
    let of_call = trial.event.iter().flat_map(|event| call::of_call(event, book, clock.now, false));
    let of_note = trial.event.iter().flat_map(|event| call::of_note(event, book, &[]));
    Ok(doubts.iter().map(|one| doubt(one, today)).chain(of_call).chain(of_note).collect())
}

/// The doubts about the order of a record and the records of its care day: those that only a person may accept, since the
/// record would end a report, and those that `--yes` accepts.
pub(super) fn of_order(event: &Event, book: &Book, now: Instant) -> (Vec<String>, Vec<String>) {
    let (mut firm, mut others) = (Vec::new(), Vec::new());
    let (Some(plan), Some(patient)) = (book.program.plan(), book.patient.as_ref()) else { return (firm, others) };
    let events = book.events.iter().cloned().chain([event.clone()]).collect();
    let timeline = Timeline::of(patient, events, now);
    let date: NaiveDate = book.calendar.date(now);
    for exit in &patient.exits {
        for (report, change) in TriggerEvent::assumed(&Schedule { plan, patient, exit }, &timeline) {
            let trigger = report.trigger(&patient.calendar);
            if change.name == event.name {
                firm.push(doubt(&Doubt::Ends(trigger), date));
            } else if report.event.name == event.name {
                others.push(doubt(&Doubt::EndedBy { report: trigger, file: change.file() }, date));
            }
        }
    }
    (firm, others)
}

/// A doubt of `check`; for a possible duplicate also the command that adds what is new to the record on file instead.
pub(super) fn asked(problem: &Problem, draft: &Draft, book: &Book) -> String {
    let sentence = consent::sentence(problem);
    let [other] = problem.related.as_slice() else { return sentence };
    let event = book.events.iter().find(|event| event.file() == other.file);
    let values = event.and_then(|event| Values::of(&event.record.text));
    let (Rule::PerhapsTheSame, Some(values)) = (problem.rule, values) else { return sentence };
    let new = Draft::keys(draft.kind).into_iter().filter(|(key, ..)| values.get(key).is_none());
    let sets: String = new
        .filter_map(|(key, ..)| Some(format!(" --set {key}={}", text::quoted(&plain(draft.values.get(&key)?)))))
        .collect();
    let is_timed_later = values.get("at").is_none() && draft.values.get("at").is_some();
    let file = text::quoted(&other.file);
    match sets.as_str() {
        // A time is never amended: the record with the time replaces the one without.
        _ if is_timed_later => format!(
            "{sentence} If it is the same, save this one with its time, then void the one without:\n  exitsite void {file} --why \"same {}, now with its time\" --replaced-by FILE",
            draft.kind
        ),
        "" => sentence,
        sets => format!(
            "{sentence} If it is the same, add what is new to it instead:\n  exitsite amend {file}{sets} --why \"…\""
        ),
    }
}

/// The doubt about a change because of damage whose dressing was found intact.
pub(in crate::command) fn found_intact<'a>(event: &Event) -> Option<Doubt<'a>> {
    let Fact::Change(change) = &event.fact else { return None };
    let reason = change
        .reason
        .filter(|reason| matches!(reason, ChangeReason::Wet | ChangeReason::Soiled | ChangeReason::Lifting))?;
    (change.found.dressing == Some(Dressing::Intact)).then_some(Doubt::FoundIntact(reason))
}

/// Reasons that a checkoff will not count regardless of its steps. `check` already reports faults of its curriculum.
fn in_vain<'a>(trial: &Trial, book: &Book) -> Vec<Doubt<'a>> {
    let school = SignOffRules::of(book.program.rules());
    let (Some(event), Some(school)) = (&trial.event, school) else { return Vec::new() };
    let Fact::Teaching(teaching) = &event.fact else { return Vec::new() };
    let observer = school.objection_to_observer(event, teaching);
    let is_said = trial.asked.iter().any(|known| known.rule == Rule::UnknownCurriculum);
    let curriculum = school.objection_to_curriculum(teaching).filter(|_| !is_said);
    observer.into_iter().chain(curriculum).map(Doubt::NotPassed).collect()
}

/// Rejects a checkoff in the records of someone other than its learner, and gives the correct command.
pub(super) fn nothing_misplaced(draft: &Draft, book: &Book) -> Result<(), Failure> {
    let Some(learner) = draft.values.text("learner").filter(|learner| *learner != book.owner.code()) else {
        return Ok(());
    };
    let is_caregiver = book.patient.iter().flat_map(|patient| &patient.caregivers).any(|known| known.code == learner);
    if is_caregiver {
        return Ok(());
    }
    let is_staff = book.program.people.as_ref().is_some_and(|people| people.get(learner).is_some());
    match book.program.household_of(learner) {
        _ if is_staff => Err(Failure::new(misplaced(learner, None))),
        Some(patient) => Err(Failure::new(misplaced(learner, Some(patient)))),
        None => Ok(()),
    }
}
