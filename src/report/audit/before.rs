//! Events before each infection, beside those of the program and of the patient's own earlier time. Not a cause.

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
    /// Its onset.
    pub onset: NaiveDate,
    /// Patient-days on file among the 30 days before the onset.
    pub window_days: i64,
    /// Days that the records cover; the others are not reported.
    pub window_days_covered: i64,
    /// The events on them; null if none of them is reported, or if a file of them cannot be read.
    pub window: Option<Counts<u64>>,
    /// Events per 30 covered patient-days of the whole program in the period.
    pub program_per_30_days: Option<Counts<f64>>,
    /// Events per 30 covered days of this patient in the year before those 30 days; null without such days.
    pub own_per_30_days: Option<Counts<f64>>,
}

/// How often each happened.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, JsonSchema)]
pub struct Counts<T> {
    /// The line was pulled.
    pub trauma: T,
    /// The anchor was loose or absent.
    pub anchor_off: T,
    /// The dressing was wet.
    pub wet_dressing: T,
    /// An expected change was missed.
    pub missed_changes: T,
    /// A shower before its time, or against an order.
    pub showers_too_early: T,
    /// A shower that no change followed in time.
    pub showers_not_followed: T,
}

impl<T: Copy> Counts<T> {
    /// All of them in order.
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

    fn map<U>(&self, change: impl Fn(T) -> U) -> Counts<U> {
        Counts {
            trauma: change(self.trauma),
            anchor_off: change(self.anchor_off),
            wet_dressing: change(self.wet_dressing),
            missed_changes: change(self.missed_changes),
            showers_too_early: change(self.showers_too_early),
            showers_not_followed: change(self.showers_not_followed),
        }
    }
}

/// Events before each infection of the period, by onset.
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
                // No news of a day is no day without a pull; what was told of one nevertheless stands.
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

fn count<'a>(all: impl Iterator<Item = &'a Happening>, days: Period) -> Counts<u64> {
    let mut counts = Counts {
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

fn per_30_days(counts: Counts<u64>, days: i64) -> Option<Counts<f64>> {
    (days > 0).then(|| counts.map(|count| count as f64 * BEFORE_DAYS as f64 / days as f64))
}
