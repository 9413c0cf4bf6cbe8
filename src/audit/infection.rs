//! Infection determinations by a clinician, by onset.

use chrono::NaiveDate;

use crate::day::{Instant, Period};
use crate::event::{Certainty, Event, Fact, InfectedPart, Remedy};
use crate::timeline::Timeline;

/// One determination on file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Determination {
    /// The record.
    pub file: String,
    /// Date of onset.
    pub onset: NaiveDate,
    /// Date of the determination.
    pub determined: NaiveDate,
    /// Date on which the record was written, not before the determination.
    pub entered: NaiveDate,
    /// The instant from which the record exists.
    pub known_at: Instant,
    /// Infected part.
    pub part: InfectedPart,
    /// Certainty of the determination.
    pub certainty: Certainty,
    /// Organisms.
    pub organisms: Vec<String>,
    /// True if it is a recurrence.
    pub is_recurrence: bool,
}

impl Determination {
    /// Returns true if it is proven or probable.
    pub(crate) fn is_certain(&self) -> bool {
        self.certainty != Certainty::Possible
    }

    /// Returns true if it counts as an event in rates: proven or probable, and not a recurrence.
    pub fn is_event(&self) -> bool {
        self.is_certain() && !self.is_recurrence
    }
}

/// The determinations of a timeline.
pub(super) struct Determinations {
    /// One per onset, in order.
    pub(super) counted: Vec<Determination>,
    /// Further ones of the same onset, not counted.
    pub(super) twice: Vec<Determination>,
}

/// The days on an antibiotic, with overlaps merged. A treatment without an end date continues.
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

/// Returns the determinations of a timeline. Of several with one onset the most certain counts, on a tie the first;
/// organisms are those of all of them.
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
