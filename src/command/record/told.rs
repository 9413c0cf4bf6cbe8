//! The change reported in a call: its author and its time, which cannot be later than the call.

use super::flags::Typed;
use crate::command::consent;
use crate::entry::{Book, Clock, Draft, Said};
use crate::event::Kind;
use crate::problem::Failure;
use crate::record::Value;

/// The change reported in a call.
pub(super) fn told_change(typed: &Typed, book: &Book, contact: &Draft, clock: Clock) -> Result<Option<Draft>, Failure> {
    let Some(when) = &typed.changed else { return Ok(None) };
    let mut wrong = Vec::new();
    if let Some(outcome @ ("no-answer" | "will-change")) = contact.values.text("outcome") {
        wrong.push(format!("--changed: a call with outcome {outcome} cannot report a change; use --outcome other"));
    }
    let by = typed.changed_by.clone().or_else(|| told_by(contact, book));
    if by.is_none() {
        let with = contact.values.text("with").unwrap_or_default();
        wrong.push(format!(
            "Required: --changed-by, the person who changed it. {with} is not a member of the household."
        ));
    }
    let mut change = match change_told_in(contact, &by.unwrap_or_default(), when, clock) {
        Ok(change) => change,
        Err(sentence) => {
            wrong.push(format!("--changed: {sentence}"));
            contact.clone()
        }
    };
    if let Some(exit) = &typed.changed_exit
        && let Err(sentence) = change.set("exit", exit, clock)
    {
        wrong.push(format!("--changed-exit: {sentence}"));
    }
    consent::to_be_put_right(&wrong)?;
    Ok(Some(change))
}

/// The household member reached by a call: a caregiver or the patient.
pub(in crate::command) fn told_by(contact: &Draft, book: &Book) -> Option<String> {
    let with = contact.values.text("with")?;
    let mut caregivers = book.patient.iter().flat_map(|patient| &patient.caregivers);
    (with == "patient" || caregivers.any(|caregiver| caregiver.code == with)).then(|| with.to_owned())
}

/// The change reported in a call, not later than the call. Without a time it takes the time of the call.
pub(in crate::command) fn change_told_in(contact: &Draft, by: &str, when: &str, clock: Clock) -> Result<Draft, String> {
    let mut change = Draft::new(Kind::Change);
    match (when, contact.values.get("at"), contact.values.get("on")) {
        ("", Some(Value::Moment(at)), _) => change.happened(Said::At(*at)),
        ("", _, Some(Value::Date(on))) => change.happened(Said::On(*on)),
        _ => change.set_when(when, clock)?,
    }
    if let (Some(told), Some(at)) = (change.instant(clock), contact.instant(clock))
        && told > at
    {
        return Err(format!("\"{when}\" is later than the call; check both times"));
    }
    change.values.set("by", Value::Text(by.to_owned()));
    change.values.set("source", Value::Text("told".to_owned()));
    for key in ["entered.at", "entered.by"] {
        if let Some(value) = contact.values.get(key) {
            change.values.set(key, value.clone());
        }
    }
    Ok(change)
}
