//! Quality of the records of a period.

use chrono::{Duration, NaiveDate};
use schemars::JsonSchema;
use serde::Serialize;

use crate::day::{Instant, Period, after, before};
use crate::event::{Event, Fact};
use crate::patient::{Patient, Reports};
use crate::policy::{CarePlace, Policy};
use crate::score::Score;

/// Hours after the event from which a record is a late entry. Source: rules of the audit, common practice.
const LATE_ENTRY_HOURS: i64 = 72;

/// Counts over the records of a period, by care day.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Quality {
    /// Records that count.
    pub events: u64,
    /// Records written more than 72 hours after the event.
    pub late_entries: u64,
    /// Records amended since.
    pub amended: u64,
    /// Records voided; not among `events`.
    pub voided: u64,
    /// Records with a day but no time.
    pub times_unknown: u64,
    /// Those of `events` from days on which the household reported by log.
    pub events_by_log: u64,
    /// Late entries among `events_by_log`.
    pub late_entries_by_log: u64,
    /// Site records.
    pub scores: u64,
    /// Site records in which an item of the rubric was not assessed.
    pub incomplete_scores: u64,
    /// Patient-days at home or inpatient, before today, that the records do not cover.
    pub days_not_covered: u64,
    /// Gaps between consecutive logs of the household.
    pub log_gaps: u64,
}

impl Quality {
    /// Counts over the events of a patient.
    pub(super) fn of<'e>(
        policy: &Policy,
        patient: &Patient,
        events: impl Iterator<Item = &'e Event> + Clone,
        as_of: Instant,
        period: Period,
    ) -> Quality {
        let calendar = &patient.calendar;
        let is_there = |event: &&Event| period.contains(event.when.care_day) && event.exists(calendar, as_of);
        let counted: Vec<&Event> = events.clone().filter(is_there).filter(|event| event.void.is_none()).collect();
        let count = |is_so: &dyn Fn(&Event) -> bool| counted.iter().filter(|event| is_so(event)).count() as u64;
        let score = |event: &Event| {
            let score = policy.scoring.as_ref().zip(event.site());
            score.map(|(scoring, site)| Score::of(&scoring.rubric, site)).filter(Score::is_site_record)
        };
        let is_late = |event: &Event| event.known_at(calendar) - event.when.instant > Duration::hours(LATE_ENTRY_HOURS);
        let is_by_log = |event: &Event| reports_by_log(patient, event.when.care_day);
        Quality {
            events: counted.len() as u64,
            late_entries: count(&is_late),
            events_by_log: count(&is_by_log),
            late_entries_by_log: count(&|event| is_late(event) && is_by_log(event)),
            scores: count(&|event| score(event).is_some()),
            amended: count(&|event| !event.amended.is_empty()),
            voided: events.clone().filter(is_there).filter(|event| event.void.is_some()).count() as u64,
            times_unknown: count(&|event| !event.is_timed()),
            incomplete_scores: count(&|event| score(event).is_some_and(|score| !score.is_complete())),
            days_not_covered: 0,
            log_gaps: log_gaps(events, period),
        }
    }

    /// Adds up several patients.
    pub fn sum(all: impl Iterator<Item = Quality>) -> Quality {
        all.fold(Quality::default(), |sum, one| Quality {
            events: sum.events + one.events,
            late_entries: sum.late_entries + one.late_entries,
            events_by_log: sum.events_by_log + one.events_by_log,
            late_entries_by_log: sum.late_entries_by_log + one.late_entries_by_log,
            scores: sum.scores + one.scores,
            amended: sum.amended + one.amended,
            voided: sum.voided + one.voided,
            times_unknown: sum.times_unknown + one.times_unknown,
            incomplete_scores: sum.incomplete_scores + one.incomplete_scores,
            days_not_covered: sum.days_not_covered + one.days_not_covered,
            log_gaps: sum.log_gaps + one.log_gaps,
        })
    }
}

/// Returns true if the household reported by log on a day.
fn reports_by_log(patient: &Patient, day: NaiveDate) -> bool {
    let row = patient.care.iter().take_while(|row| row.from <= day).last();
    row.is_some_and(|row| row.place == CarePlace::Home && row.reports == Reports::Log)
}

/// Counts gaps between the end of one log and the start of the next that overlap the period.
fn log_gaps<'e>(events: impl Iterator<Item = &'e Event>, period: Period) -> u64 {
    let days = |event: &Event| match &event.fact {
        Fact::Log(log) if event.void.is_none() => Some((log.from, log.through)),
        _ => None,
    };
    let mut logs: Vec<_> = events.filter_map(days).collect();
    logs.sort();
    let mut gaps = 0;
    let mut through = None;
    for (from, last) in logs {
        if let Some(known) = through
            && after(known) < from
            && after(known) <= period.to
            && before(from) >= period.from
        {
            gaps += 1;
        }
        through = through.max(Some(last));
    }
    gaps
}
