//! Features of the published working definitions around an infection, from the records on file.
//!
//! The definitions are those of ventricular assist device infection in Hannan MM et al., J Heart Lung Transplant
//! 2011;30:375-384. Left out on purpose: any conclusion. Only a clinician decides if a definition is met.

use chrono::NaiveDate;
use schemars::JsonSchema;
use serde::Serialize;

use crate::day::{Period, plus};
use crate::event::{Certainty, Drainage, Event, Fact, InfectedPart, Infection, Pain, Site};
use crate::policy::{Policy, Threshold};
use crate::report::At;
use crate::text;
use crate::timeline::Timeline;
use crate::word::words;

/// The days before and after onset within which records are listed. Common practice, no source.
pub const CRITERIA_DAYS: i64 = 14;

words! {
    /// A feature of the definitions.
    pub enum FeatureName {
        /// Purulent drainage.
        Purulence = "purulence",
        /// A culture.
        Culture = "culture",
        /// Redness.
        Erythema = "erythema",
        /// Warmth.
        Warmth = "warmth",
        /// Pain on pressure.
        Tenderness = "tenderness",
        /// A temperature at or above the policy's limit.
        Fever = "fever",
    }
}

/// The records around one infection.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Criteria {
    /// The record of the infection.
    pub file: String,
    /// The date of onset.
    pub onset: NaiveDate,
    /// The infected part, as determined by the clinician.
    pub part: InfectedPart,
    /// The certainty, as determined by the clinician.
    pub certainty: Certainty,
    /// The first day searched.
    pub from: NaiveDate,
    /// The last day searched.
    pub to: NaiveDate,
    /// The features.
    pub features: Vec<Feature>,
}

/// One feature.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Feature {
    /// The feature.
    pub feature: FeatureName,
    /// Records that show it, in order.
    pub shown: Vec<FeatureRecord>,
    /// Records that assessed it and did not find it, in order.
    pub not_there: Vec<FeatureRecord>,
}

/// A record that states a feature.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct FeatureRecord {
    /// The time.
    pub at: At,
    /// The file.
    pub file: String,
    /// The finding in words.
    pub says: String,
}

/// Lists the records around each infection on file.
pub(super) fn of(policy: Option<&Policy>, timeline: &Timeline) -> Vec<Criteria> {
    let signals = policy.and_then(|policy| policy.signals.as_ref());
    let fever = signals.map(|signals| signals.threshold(Threshold::FeverCelsius));
    let infections = timeline.events().iter().filter_map(|event| match &event.fact {
        Fact::Infection(infection) => Some((event, infection)),
        _ => None,
    });
    infections.map(|(event, infection)| around(event, infection, fever, timeline)).collect()
}

fn around(event: &Event, infection: &Infection, fever: Option<f64>, timeline: &Timeline) -> Criteria {
    let onset = infection.onset;
    let days = Period { from: plus(onset, -CRITERIA_DAYS), to: plus(onset, CRITERIA_DAYS) };
    let near: Vec<&Event> = timeline.events().iter().filter(|event| days.contains(event.when.care_day)).collect();
    let feature = |feature: FeatureName| {
        let said = |shows: bool| {
            let says = near.iter().filter_map(|event| {
                let (_, says) =
                    says(feature, event, fever, timeline.today).filter(|(is_there, _)| *is_there == shows)?;
                Some(FeatureRecord {
                    at: At::of(&event.when, &timeline.patient.calendar),
                    file: event.file().to_owned(),
                    says,
                })
            });
            says.collect()
        };
        Feature { feature, shown: said(true), not_there: said(false) }
    };
    Criteria {
        file: event.file().to_owned(),
        onset,
        part: infection.part,
        certainty: infection.certainty,
        from: days.from,
        to: days.to,
        features: FeatureName::ALL.iter().copied().map(feature).collect(),
    }
}

/// Returns true if an event shows a feature, with its words; `None` if the event does not assess it.
fn says(feature: FeatureName, event: &Event, fever: Option<f64>, today: NaiveDate) -> Option<(bool, String)> {
    let site = event.site();
    match feature {
        FeatureName::Culture => match &event.fact {
            Fact::Culture(culture) => {
                let result = culture.result_by(today)?;
                let growth = if result.growth { "growth" } else { "no growth" };
                let words = format!("{}: {growth} {}", culture.specimen, result.organisms.join(", "));
                Some((result.growth, words.trim_end().to_owned()))
            }
            _ => None,
        },
        FeatureName::Fever => {
            let celsius = temperature(event, site)?;
            Some((celsius >= fever?, text::temperature(celsius)))
        }
        FeatureName::Purulence => {
            let drainage = site?.drainage?;
            Some((drainage == Drainage::Purulent, format!("drainage {drainage}")))
        }
        FeatureName::Erythema => {
            let redness = site?.redness_mm?;
            Some((redness > 0.0, format!("redness {redness} mm")))
        }
        FeatureName::Warmth => {
            let warm = site?.warmth?;
            Some((warm, if warm { "warm" } else { "not warm" }.to_owned()))
        }
        FeatureName::Tenderness => {
            let pain = site?.pain?;
            Some((pain != Pain::None, format!("pain on pressure {pain}")))
        }
    }
}

fn temperature(event: &Event, site: Option<&Site>) -> Option<f64> {
    match &event.fact {
        Fact::Contact(contact) => contact.temperature_c,
        _ => site?.temperature_c,
    }
}
