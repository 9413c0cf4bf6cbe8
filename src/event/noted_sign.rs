//! Signs that a note mentions, and the facts of a record that state them, too.

use super::dressing::Anchor;
use super::site::{Drainage, SiteField};
use super::{ChangeReason, Event, Fact, Kind};
use crate::word::words;

words! {
    /// The record that holds a finding of a note.
    pub enum NotedFinding {
        /// A temperature.
        Temperature = "temperature",
        /// A finding of the exit site.
        Site = "site",
        /// The state of the dressing.
        Dressing = "dressing",
        /// The state of the anchor.
        Anchor = "anchor",
        /// A pull at the line.
        Pull = "pull",
        /// An alarm of the pump: no record holds it, and a clinician is called.
        Alarm = "alarm",
        /// A state of the patient that no record holds: a clinician is called.
        Unwell = "unwell",
    }
}

impl NotedFinding {
    /// Returns true if no record holds the finding, only a contact with a clinician.
    pub(crate) fn is_for_a_clinician(self) -> bool {
        matches!(self, NotedFinding::Alarm | NotedFinding::Unwell)
    }
}

/// A sign that a note mentions, as precisely as a record can state it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum NotedSign {
    Fever,
    Pus,
    Drainage,
    Blood,
    Redness,
    Swelling,
    Odor,
    Pain,
    Warmth,
    Infected,
    Dressing,
    Anchor,
    Pull,
    Alarm,
    Unwell,
}

impl NotedSign {
    /// The record that holds it.
    pub(crate) fn finding(self) -> NotedFinding {
        match self {
            NotedSign::Fever => NotedFinding::Temperature,
            NotedSign::Dressing => NotedFinding::Dressing,
            NotedSign::Anchor => NotedFinding::Anchor,
            NotedSign::Pull => NotedFinding::Pull,
            NotedSign::Alarm => NotedFinding::Alarm,
            NotedSign::Unwell => NotedFinding::Unwell,
            NotedSign::Pus | NotedSign::Drainage | NotedSign::Blood | NotedSign::Redness | NotedSign::Swelling => {
                NotedFinding::Site
            }
            NotedSign::Odor | NotedSign::Pain | NotedSign::Warmth | NotedSign::Infected => NotedFinding::Site,
        }
    }

    /// Returns true if the facts of a record state it, too.
    pub(crate) fn is_answered_by(self, event: &Event) -> bool {
        let site = event.site();
        let is_present = |field| site.and_then(|site| site.finding(field)).is_some_and(|found| found.is_present());
        let drainage = site.and_then(|site| site.drainage);
        let covering = event.found_and_left();
        match self {
            NotedSign::Fever => event.temperature_c().is_some(),
            NotedSign::Pus => drainage == Some(Drainage::Purulent),
            NotedSign::Drainage => is_present(SiteField::Drainage),
            NotedSign::Blood => {
                let is_trauma = matches!(&event.fact, Fact::Trauma(trauma) if trauma.site_bleeding == Some(true));
                let is_bloody = matches!(drainage, Some(Drainage::Sanguineous | Drainage::Serosanguineous));
                is_present(SiteField::Bleeding) || is_bloody || is_trauma
            }
            NotedSign::Redness => is_present(SiteField::RednessMm),
            NotedSign::Swelling => is_present(SiteField::Swelling),
            NotedSign::Odor => is_present(SiteField::Odor),
            NotedSign::Pain => is_present(SiteField::Pain),
            NotedSign::Warmth => is_present(SiteField::Warmth),
            NotedSign::Infected => {
                SiteField::ALL.iter().any(|field| *field != SiteField::TemperatureC && is_present(*field))
            }
            NotedSign::Dressing => {
                let is_reason = |reason| matches!(reason, ChangeReason::Wet | ChangeReason::Soiled);
                matches!(&event.fact, Fact::Change(change) if change.reason.is_some_and(is_reason))
                    || covering.iter().any(|one| one.dressing.is_some_and(|dressing| dressing.is_damaged()))
            }
            NotedSign::Anchor => covering.iter().any(|one| one.anchor.is_some_and(|anchor| anchor != Anchor::InPlace)),
            NotedSign::Pull => event.name.kind == Kind::Trauma,
            NotedSign::Alarm | NotedSign::Unwell => false,
        }
    }
}
