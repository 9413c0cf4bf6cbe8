//! Cultures without a result, infections and treatments that run: what changes a call, though nothing has to be done today.

use chrono::NaiveDate;
use schemars::JsonSchema;
use serde::Serialize;

use crate::event::{Fact, Part, Remedy};
use crate::patient::Exit;
use crate::timeline::Timeline;

/// An infection that is not resolved.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct OpenInfection {
    /// The part that is infected.
    pub part: Part,
    /// Its first day.
    pub onset: NaiveDate,
    /// The organisms that grew.
    pub organisms: Vec<String>,
}

/// A treatment that runs.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct RunningTreatment {
    /// The treatment.
    pub what: Remedy,
    /// The day on which it was ordered.
    pub since: NaiveDate,
    /// Its last day; null where none is set.
    pub until: Option<NaiveDate>,
}

/// The day of the oldest culture of an exit site without a result.
pub(super) fn culture_pending(timeline: &Timeline, exit: &Exit) -> Option<NaiveDate> {
    let is_pending = |fact: &Fact| match fact {
        Fact::Culture(culture) => culture.result.as_ref().is_none_or(|result| result.on > timeline.today),
        _ => false,
    };
    let mut cultures = timeline.of_exit(exit).filter(|event| is_pending(&event.fact));
    cultures.next().map(|event| event.when.care_day)
}

/// The infections of an exit site that are not resolved.
pub(super) fn infections(timeline: &Timeline, exit: &Exit) -> Vec<OpenInfection> {
    let infection = |fact: &Fact| match fact {
        Fact::Infection(infection) if infection.resolved.is_none_or(|day| day > timeline.today) => {
            let organisms = infection.organisms.clone();
            Some(OpenInfection { part: infection.part, onset: infection.onset, organisms })
        }
        _ => None,
    };
    timeline.of_exit(exit).filter_map(|event| infection(&event.fact)).collect()
}

/// The treatments of an exit site that run today.
pub(super) fn treatments(timeline: &Timeline, exit: &Exit) -> Vec<RunningTreatment> {
    let is_course =
        |what| matches!(what, Remedy::OralAntibiotic | Remedy::IntravenousAntibiotic | Remedy::LongTermSuppression);
    let events = timeline.of_exit(exit).filter_map(|event| match &event.fact {
        Fact::Treatment(treatment) if is_course(treatment.what) => Some((event.when.care_day, treatment)),
        _ => None,
    });
    let runs = events.filter(|(_, treatment)| treatment.until.is_none_or(|until| until >= timeline.today));
    runs.map(|(since, treatment)| RunningTreatment { what: treatment.what, since, until: treatment.until }).collect()
}
