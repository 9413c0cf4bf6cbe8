//! Doubts about one record in addition to those of `check`, and a checkoff in another person's folder.

use chrono::Duration;

use crate::entry::{Book, Clock, Draft, Trial};
use crate::event::{Fact, Kind};
use crate::problem::{Failure, Rule};
use crate::record::Value;
use crate::teaching::SignOffRules;
use crate::text;
use crate::view;

/// The number of days ahead beyond which a promise is doubted. Common practice, no source.
const FAR_OFF_DAYS: i64 = 30;

/// The doubts about a single record in addition to those of `check`: a promise for a past or distant time, a supply
/// item that the policy does not list, an inspection of nothing, a checkoff that will not count.
pub(super) fn doubts_of(draft: &Draft, trial: &Trial, book: &Book, clock: Clock) -> Result<Vec<String>, Failure> {
    let mut doubts: Vec<String> = in_vain(trial, book);
    if let (Some(Value::Moment(until)), Some(at)) = (draft.values.get("expect_by"), draft.instant(clock)) {
        let until_instant = clock.instant(*until);
        if until_instant.is_some_and(|until| until <= at) {
            return Err(Failure::new(format!(
                "--expect-by: {until} is not after the call; type when it is expected; nothing was written"
            )));
        }
        if until_instant.is_some_and(|until| until - at > Duration::days(FAR_OFF_DAYS)) {
            doubts.push(format!("it is promised for {until}, more than {FAR_OFF_DAYS} days ahead: check the year"));
        }
    }
    let items = book.program.policy.as_ref().and_then(|policy| policy.supplies.as_ref());
    if let (Some(item), Some(items)) = (draft.values.text("item"), items)
        && items.iter().all(|known| known.item != item)
    {
        let near = text::nearest(item, items.iter().map(|known| known.item.as_str()));
        let near = near.map(|near| format!("; did you mean {near}?")).unwrap_or_default();
        doubts.push(format!("the policy has no supply \"{}\"{near}", text::visible(item)));
    }
    if draft.kind == Kind::Inspection && !draft.says_something() {
        doubts.push("the inspection mentions neither dressing nor anchor".to_owned());
    }
    if let (Some(Value::Date(onset)), Some(at)) = (draft.values.get("onset"), draft.instant(clock))
        && *onset > clock.calendar.today(at)
    {
        doubts.push(format!("the onset, {onset}, is after the determination"));
    }
    Ok(doubts)
}

/// Reasons that a checkoff will not count regardless of its steps. `check` already reports faults of its curriculum.
fn in_vain(trial: &Trial, book: &Book) -> Vec<String> {
    let school = SignOffRules::of(book.program.rules());
    let (Some(event), Some(school)) = (&trial.event, school) else { return Vec::new() };
    let Fact::Teaching(teaching) = &event.fact else { return Vec::new() };
    let observer = school.objection_to_observer(event, teaching);
    let is_said = trial.asked.iter().any(|known| known.rule == Rule::UnknownCurriculum);
    let curriculum = school.objection_to_curriculum(teaching).filter(|_| !is_said);
    let objections = observer.into_iter().chain(curriculum);
    objections
        .map(|why| format!("the checkoff will not be passed: {}", text::visible(&view::objection(&why))))
        .collect()
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
    let (whose, code) = match book.program.people.as_ref().and_then(|people| people.get(learner)) {
        Some(_) => ("is on the staff".to_owned(), learner),
        None => match book.program.household_of(learner) {
            Some(patient) => (format!("is a caregiver of {patient}"), patient),
            None => return Ok(()),
        },
    };
    Err(Failure::new(format!(
        "--learner: {learner} {whose}, so the checkoff would not count here. Use `exitsite record teaching {code} --learner {learner} …`; nothing was written"
    )))
}
