//! Events before each infection, compared with the whole program and with the patient's own earlier time. They do not
//! establish a cause.

use chrono::NaiveDate;
use schemars::JsonSchema;
use serde::Serialize;

use super::events;
use crate::audit::{AuditSpan, BEFORE_DAYS, Contribution, Happening, OWN_DAYS, Precursor};
use crate::day::{Period, before, plus};

/// Events before one infection.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Before {
    /// The patient's code.
    pub patient: String,
    /// The date of onset.
    pub onset: NaiveDate,
    /// Patient-days on file among the 30 days before the onset.
    pub window_days: i64,
    /// Days covered by the records; nothing is known of the others.
    pub window_days_covered: i64,
    /// The events on those days; null if no day is covered, or if a file of one of them cannot be read.
    pub window: Option<EventCounts<u64>>,
    /// Events per 30 covered patient-days in the whole program during the period.
    pub program_per_30_days: Option<EventCounts<f64>>,
    /// This patient's events per 30 covered days in the year before those 30 days; null if no such day is covered.
    pub own_per_30_days: Option<EventCounts<f64>>,
}

/// Counts, or rates, of each event.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, JsonSchema)]
pub struct EventCounts<T> {
    /// Line pulls.
    pub trauma: T,
    /// Anchor found loose or absent.
    pub anchor_off: T,
    /// Dressing found wet.
    pub wet_dressing: T,
    /// Missed expected changes.
    pub missed_changes: T,
    /// Showers before they were allowed, or against an order.
    pub showers_too_early: T,
    /// Showers without a timely change.
    pub showers_not_followed: T,
}

impl<T: Copy> EventCounts<T> {
    /// Returns all counts in order.
    pub fn all(&self) -> [T; 6] {
        [
            self.trauma,
            self.anchor_off,
            self.wet_dressing,
            self.missed_changes,
            self.showers_too_early,
            self.showers_not_followed,
        ]
    }

    fn map<U>(&self, change: impl Fn(T) -> U) -> EventCounts<U> {
        EventCounts {
            trauma: change(self.trauma),
            anchor_off: change(self.anchor_off),
            wet_dressing: change(self.wet_dressing),
            missed_changes: change(self.missed_changes),
            showers_too_early: change(self.showers_too_early),
            showers_not_followed: change(self.showers_not_followed),
        }
    }
}

/// Returns the events before each infection of the period, by onset.
pub(super) fn all(all: &[Contribution], span: &AuditSpan) -> Vec<Before> {
    let known = all.iter().filter(|one| one.happenings.is_some());
    let in_period = all.iter().filter_map(|one| one.happenings.as_ref()).flatten();
    let told_in_period = known.map(|one| one.days_told(span.period)).sum();
    let program = per_30_days(count(in_period, span.period), told_in_period);
    let mut found: Vec<Before> = events(all, span.period)
        .map(|(one, infection)| {
            let window = Period { from: plus(infection.onset, -BEFORE_DAYS), to: before(infection.onset) };
            let own = Period { from: plus(window.from, -OWN_DAYS), to: before(window.from) };
            let happened = one.happenings.as_ref();
            let covered = one.days_told(window);
            Before {
                patient: one.patient.clone(),
                onset: infection.onset,
                window_days: one.stay.days(window),
                window_days_covered: covered,
                // A day that no record covers is not a day without a pull; a pull reported for such a day still counts.
                window: happened
                    .map(|all| count(all.iter(), window))
                    .filter(|counts| covered > 0 || counts.all().iter().any(|count| *count > 0)),
                program_per_30_days: program,
                own_per_30_days: happened.and_then(|all| per_30_days(count(all.iter(), own), one.days_told(own))),
            }
        })
        .collect();
    found.sort_by(|a, b| (a.onset, &a.patient).cmp(&(b.onset, &b.patient)));
    found
}

fn count<'a>(all: impl Iterator<Item = &'a Happening>, days: Period) -> EventCounts<u64> {
    let mut counts = EventCounts {
        trauma: 0,
        anchor_off: 0,
        wet_dressing: 0,
        missed_changes: 0,
        showers_too_early: 0,
        showers_not_followed: 0,
    };
    for one in all.filter(|one| days.contains(one.day)) {
        *match one.what {
            Precursor::Trauma => &mut counts.trauma,
            Precursor::AnchorOff => &mut counts.anchor_off,
            Precursor::WetDressing => &mut counts.wet_dressing,
            Precursor::MissedChange => &mut counts.missed_changes,
            Precursor::ShowerTooEarly => &mut counts.showers_too_early,
            Precursor::ShowerNotFollowed => &mut counts.showers_not_followed,
        } += 1;
    }
    counts
}

fn per_30_days(counts: EventCounts<u64>, days: i64) -> Option<EventCounts<f64>> {
    (days > 0).then(|| counts.map(|count| count as f64 * BEFORE_DAYS as f64 / days as f64))
}
