//! The action on an open signal, in a few words: "acted on" alone would say of a swab that a clinician knows.

use crate::day::WallTime;
use crate::event::{ActedBy, ContactOutcome, Kind, Signal};
use crate::signal::{LatestAction, Urgency};
use crate::text::visible;

/// Names the action on a signal: `told md-3`, `culture taken, no clinician told`, `assessed`. `on` formats its time after the
/// action: `told md-3 Nov 17`.
pub(crate) fn act(action: Option<&LatestAction>, signal: Signal, on: impl Fn(WallTime) -> String) -> String {
    let Some(action) = action else { return "acted on".to_owned() };
    if let Some(told) = &action.told {
        let on = on(told.at);
        return match &told.clinician {
            Some(who) => format!("told {}{on}", visible(who)),
            None => format!("escalated{on}, no clinician named"),
        };
    }
    let is_coming_in = action.acted.outcome == Some(ContactOutcome::ComingIn);
    if let Some(visit) = action.expect_by.filter(|_| is_coming_in) {
        // The day of the visit, not of the call.
        return format!("visit expected{}{}", on(visit), untold(Some(action), signal));
    }
    let what = match (action.acted.how, action.acted.kind) {
        (ActedBy::Contact, _) if is_coming_in => "coming in".to_owned(),
        (ActedBy::Contact, _) => "called".to_owned(),
        (ActedBy::Look, _) if action.by_clinician => format!("assessed by {}", visible(&action.acted.by)),
        (ActedBy::Look, _) => "assessed".to_owned(),
        (ActedBy::Clinical, Kind::Culture) => "culture taken".to_owned(),
        (ActedBy::Clinical, Kind::Infection) => "infection determined".to_owned(),
        (ActedBy::Clinical, Kind::Treatment) => "treatment ordered".to_owned(),
        _ => "acted on".to_owned(),
    };
    format!("{what}{}{}", on(action.at), untold(Some(action), signal))
}

/// Says that no clinician was told of a signal of today, after another fact: `, no clinician told`; otherwise empty. An infection
/// or a treatment is a clinician's, but not the answer to a call about the signal.
pub(crate) fn untold(action: Option<&LatestAction>, signal: Signal) -> &'static str {
    let Some(action) = action.filter(|action| action.told.is_none() && signal.urgency() == Urgency::Today) else {
        return "";
    };
    match (action.acted.how, action.acted.kind) {
        (ActedBy::Clinical, Kind::Infection | Kind::Treatment) => ", no call about it on file",
        (ActedBy::Clinical, _) => ", no clinician told",
        // A pull is followed by a look; a finding is not answered by being seen again.
        (ActedBy::Look, _) if signal.is_clinical_finding_of_today() && !action.by_clinician => ", no clinician told",
        _ => "",
    }
}

/// Names the clinician who was told of a signal, or says that none was, after the record that acted on it: `; told md-3 Nov 17
/// 11:15`, `, no clinician told`; otherwise empty.
pub(crate) fn and_told(action: Option<&LatestAction>, signal: Signal, at: impl Fn(WallTime) -> String) -> String {
    let Some(action) = action else { return String::new() };
    match action.told.as_ref() {
        Some(told) if told.at == action.at => String::new(),
        Some(_) => format!("; {}", act(Some(action), signal, |told| format!(" {}", at(told)))),
        None => untold(Some(action), signal).to_owned(),
    }
}
