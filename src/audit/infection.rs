//! Infection determinations: a clinician's, by their onset.

use chrono::NaiveDate;

use crate::day::{Instant, Period};
use crate::event::{Certainty, Event, Fact, InfectedPart, Remedy};
use crate::timeline::Timeline;

/// One determination on file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Determination {
    /// The record.
    pub file: String,
    /// Its first day.
    pub onset: NaiveDate,
    /// The day on which it was determined.
    pub determined: NaiveDate,
    /// The day on which the record of it was written, not before it was determined.
    pub entered: NaiveDate,
    /// The time from which the record exists.
    pub known_at: Instant,
    /// The part.
    pub part: InfectedPart,
    /// How sure the clinician is.
    pub certainty: Certainty,
    /// The organisms.
    pub organisms: Vec<String>,
    /// True if it is one that came back.
    pub is_recurrence: bool,
}

impl Determination {
    /// Returns true if it is proven or probable.
    pub fn is_certain(&self) -> bool {
        self.certainty != Certainty::Possible
    }

    /// Returns true if it is an event of the rates: proven or probable, and no recurrence.
    pub fn is_event(&self) -> bool {
        self.is_certain() && !self.is_recurrence
    }
}

/// The determinations of a timeline.
pub(super) struct Determinations {
    /// One for each onset, by onset.
    pub(super) counted: Vec<Determination>,
    /// Further ones of an onset: not counted.
    pub(super) twice: Vec<Determination>,
}

/// The days under an antibiotic, merged where they overlap. One without an end runs on.
pub(super) fn treated(timeline: &Timeline) -> Vec<Period> {
    let days = |event: &Event| match &event.fact {
        Fact::Treatment(treatment) if is_antibiotic(treatment.what) => {
            Some(Period { from: event.when.care_day, to: treatment.until.unwrap_or(NaiveDate::MAX) })
        }
        _ => None,
    };
    let mut all: Vec<Period> = timeline.events().iter().filter_map(days).filter(|days| days.from <= days.to).collect();
    all.sort_by_key(|days| days.from);
    let mut merged: Vec<Period> = Vec::new();
    for days in all {
        match merged.last_mut().filter(|last| days.from <= last.to) {
            Some(last) => last.to = last.to.max(days.to),
            None => merged.push(days),
        }
    }
    merged
}

fn is_antibiotic(remedy: Remedy) -> bool {
    matches!(remedy, Remedy::OralAntibiotic | Remedy::IntravenousAntibiotic | Remedy::LongTermSuppression)
}

/// Every determination of a timeline. Of several of one onset the most certain counts, of equals the first; what grew is
/// that of all of them.
pub(super) fn all(timeline: &Timeline) -> Determinations {
    let infection = |event: &Event| match &event.fact {
        Fact::Infection(infection) => Some(Determination {
            file: event.file().to_owned(),
            onset: infection.onset,
            determined: event.when.care_day,
            entered: timeline
                .patient
                .calendar
                .today(event.known_at(&timeline.patient.calendar))
                .max(event.when.care_day),
            known_at: match event.is_timed() {
                true => event.when.instant,
                false => timeline.patient.calendar.start(event.when.care_day),
            },
            part: infection.part,
            certainty: infection.certainty,
            organisms: infection.organisms.clone(),
            is_recurrence: infection.recurrence_of.is_some(),
        }),
        _ => None,
    };
    let mut infections: Vec<Determination> = timeline.events().iter().filter_map(infection).collect();
    let rank =
        |one: &Determination| [Certainty::Proven, Certainty::Probable].iter().position(|known| *known == one.certainty);
    infections.sort_by_cached_key(|one| (one.onset, rank(one).unwrap_or(usize::MAX), one.known_at, one.file.clone()));
    let mut found = Determinations { counted: Vec::new(), twice: Vec::new() };
    for infection in infections {
        match found.counted.last_mut().filter(|known| known.onset == infection.onset) {
            Some(known) => {
                let others = infection.organisms.iter().filter(|one| !known.organisms.contains(one)).cloned();
                let others: Vec<String> = others.collect();
                known.organisms.extend(others);
                found.twice.push(infection);
            }
            None => found.counted.push(infection),
        }
    }
    found
}
