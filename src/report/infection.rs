//! A patient's open infections and ongoing treatments: the first item of a handoff.
//! Left out on purpose: any conclusion. Infections are as determined by a clinician, and treatments as ordered.

use chrono::NaiveDate;
use schemars::JsonSchema;
use serde::Serialize;

use crate::chart::Chart;
use crate::event::{Certainty, Event, Fact, InfectedPart, Remedy};

/// Open infections, ongoing treatments, and pending cultures.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct UnderTreatment {
    /// Unresolved infections, by onset.
    pub infections: Vec<OpenInfection>,
    /// Ongoing treatments, in order.
    pub treatments: Vec<RunningTreatment>,
    /// The dates of cultures without a result, in order.
    pub cultures_pending: Vec<NaiveDate>,
}

/// An unresolved infection.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct OpenInfection {
    /// The infected part, as determined by the clinician.
    pub part: InfectedPart,
    /// The certainty, as determined by the clinician.
    pub certainty: Certainty,
    /// The first day.
    pub onset: NaiveDate,
    /// The organisms.
    pub organisms: Vec<String>,
}

/// An ongoing treatment.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct RunningTreatment {
    /// The treatment.
    pub what: Remedy,
    /// The first day.
    pub since: NaiveDate,
    /// The planned last day; null if none is on file, or if `--as-of` was given.
    pub until: Option<NaiveDate>,
}

/// Returns a patient's open infections and ongoing treatments; `None` if there are none.
/// Requires the records of infections, treatments and cultures.
pub fn under_treatment(chart: &Chart) -> Option<UnderTreatment> {
    let timeline = chart.timeline();
    let open = UnderTreatment::of(timeline.events(), timeline.today, chart.as_of().is_given);
    let is_any = !open.infections.is_empty() || !open.treatments.is_empty();
    is_any.then_some(open)
}

impl UnderTreatment {
    /// Returns true if there is an open infection, a running treatment or a pending culture.
    pub(crate) fn is_any(&self) -> bool {
        !self.infections.is_empty() || !self.treatments.is_empty() || !self.cultures_pending.is_empty()
    }

    /// Returns the open infections, ongoing treatments and pending cultures among the events as of a day.
    pub fn of<'t>(events: impl IntoIterator<Item = &'t Event>, today: NaiveDate, is_asked: bool) -> UnderTreatment {
        let (mut infections, mut treatments, mut cultures_pending) = (Vec::new(), Vec::new(), Vec::new());
        for event in events {
            match &event.fact {
                Fact::Infection(infection) if infection.resolved.is_none_or(|day| day > today) => {
                    let organisms = infection.organisms.clone();
                    let (part, certainty, onset) = (infection.part, infection.certainty, infection.onset);
                    infections.push(OpenInfection { part, certainty, onset, organisms });
                }
                Fact::Treatment(treatment)
                    if treatment.what.lasts() && treatment.until.is_none_or(|day| day >= today) =>
                {
                    treatments.push(RunningTreatment {
                        what: treatment.what,
                        since: event.when.care_day,
                        until: treatment.until.filter(|_| !is_asked),
                    });
                }
                Fact::Culture(culture) if culture.result_by(today).is_none() => {
                    cultures_pending.push(event.when.care_day);
                }
                _ => {}
            }
        }
        infections.sort_by_key(|infection| infection.onset);
        UnderTreatment { infections, treatments, cultures_pending }
    }
}
