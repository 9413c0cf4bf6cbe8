//! A patient's open infections and running treatments: the first thing that a colleague is told.
//!
//! Left out on purpose: any conclusion. An infection is what a clinician determined, and a treatment what was ordered.

use chrono::NaiveDate;
use schemars::JsonSchema;
use serde::Serialize;

use crate::chart::Chart;
use crate::event::{Certainty, Event, Fact, InfectedPart, Remedy};

/// Open infections, running treatments, and cultures without a result.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct UnderTreatment {
    /// Infections that are not resolved, by onset.
    pub infections: Vec<OpenInfection>,
    /// Treatments that have not ended, in order.
    pub treatments: Vec<RunningTreatment>,
    /// The days of cultures without a result, in order.
    pub cultures_pending: Vec<NaiveDate>,
}

/// An infection that is not resolved.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct OpenInfection {
    /// The part, as the clinician wrote it.
    pub part: InfectedPart,
    /// How certain, as the clinician wrote it.
    pub certainty: Certainty,
    /// Its first day.
    pub onset: NaiveDate,
    /// The organisms.
    pub organisms: Vec<String>,
}

/// A treatment that has not ended.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct RunningTreatment {
    /// The treatment.
    pub what: Remedy,
    /// Its first day.
    pub since: NaiveDate,
    /// Its planned last day; null if there is none on file, or if the question is of an earlier moment.
    pub until: Option<NaiveDate>,
}

/// The open infections and running treatments of a patient; `None` if there are none.
///
/// It needs the records of infections, treatments and cultures.
pub fn under_treatment(chart: &Chart) -> Option<UnderTreatment> {
    let timeline = chart.timeline();
    let open = UnderTreatment::of(timeline.events(), timeline.today, chart.as_of().is_given);
    let is_any = !open.infections.is_empty() || !open.treatments.is_empty();
    is_any.then_some(open)
}

impl UnderTreatment {
    /// Returns true if there is an open infection, a running treatment or a pending culture.
    pub fn is_any(&self) -> bool {
        !self.infections.is_empty() || !self.treatments.is_empty() || !self.cultures_pending.is_empty()
    }

    /// The open infections, running treatments and pending cultures among some events, by a day.
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
                    if lasts(treatment.what) && treatment.until.is_none_or(|day| day >= today) =>
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

/// True for a treatment that runs over days, as a drug does, and does not end with its own day.
fn lasts(what: Remedy) -> bool {
    !matches!(what, Remedy::Debridement | Remedy::Relocation)
}
