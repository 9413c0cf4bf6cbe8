//! Signals as warnings: their sensitivity and lead time before infection, and the proportion followed by one.
//! Left out on purpose: causes, and thresholds. Many signals are tested, so one may be open by chance.

use std::cmp::Reverse;

use chrono::NaiveDate;
use schemars::JsonSchema;
use serde::Serialize;

use super::infections::year_to;
use super::signals::median;
use super::{device_days, events};
use crate::audit::{AuditSpan, BEFORE_DAYS, Contribution, Determination, OWN_DAYS, Rise};
use crate::day::{Period, before, plus};
use crate::event::Signal;
use crate::rules::Rules;
use crate::signal::{Urgency, not_known};
use crate::surveillance::share::{ClusterCount, Share};
use crate::word::Word;

/// The fewest days of a window of 30 that make it a control. As for lapses before infections.
const LEAST_DAYS: usize = 15;

/// Signals in the 30 days before the infections of the period, or of the 12 months to its end if it is shorter.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Warnings {
    /// The first day of that time; later if signals are known for fewer days back.
    pub from: NaiveDate,
    /// The last day of that time.
    pub to: NaiveDate,
    /// Infections of patients whose signals are known, with at least one patient-day in the 30 days before onset.
    pub infections: u64,
    /// All other infections.
    pub left_out: u64,
    /// Infections with any signal open in the 30 days before onset; null if signals are not known.
    pub with_any: Option<u64>,
    /// Infections with a signal of today open in those days; null if signals are not known.
    pub with_any_today: Option<u64>,
    /// Control windows: other 30 days of the same patients, in the year before the 30 days of each infection, with at least
    /// 15 patient-days without treatment for an infection, and without an onset in them or in the 30 days after.
    pub control_windows: u64,
    /// Control windows with any signal open; null if signals are not known.
    pub control_with_any: Option<u64>,
    /// Control windows with a signal of today open; null as above.
    pub control_with_any_today: Option<u64>,
    /// The probability of an infection within any 30 days at the program's own rate; null without device-days.
    pub any_30_days: Option<f64>,
    /// Each signal that opened or was open before an infection, most infections first; null if signals are not known.
    pub by_signal: Option<Vec<Warning>>,
}

/// The figures of one signal as a warning.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Warning {
    /// The signal's name.
    pub signal: Signal,
    /// `today` or `this-week`.
    pub urgency: Urgency,
    /// Infections with the signal open in the 30 days before onset.
    pub infections: u64,
    /// The proportion of all infections.
    pub share: Share,
    /// Control windows in which it was open.
    pub control_windows: u64,
    /// The median lead time in days, from the first time the signal could be known to onset; 0 if it was not known before.
    pub median_lead_days: Option<f64>,
    /// Episodes with complete follow-up of 30 days.
    pub episodes: u64,
    /// Episodes with incomplete follow-up, not counted.
    pub episodes_not_over: u64,
    /// Episodes followed by an onset within 30 days.
    pub followed: u64,
    /// The proportion followed; limits widened for clustering within patients.
    pub followed_share: Share,
    /// Infections with an episode that opened in the 30 days before onset, each counted once.
    pub found: u64,
    /// Episodes per such infection; null if there is none.
    pub looks_per_infection: Option<f64>,
}

/// A patient with known signals.
struct KnownPatient<'a> {
    one: &'a Contribution,
    rises: &'a [Rise],
    /// The infections included.
    infections: Vec<&'a Determination>,
    /// Other 30 days.
    controls: Vec<Period>,
}

impl Warnings {
    pub(super) fn of(all: &[Contribution], rules: Rules, span: &AuditSpan) -> Warnings {
        let days = days(span);
        let patients: Vec<KnownPatient> =
            all.iter().filter_map(|one| KnownPatient::of(one, days, span.signals_from)).collect();
        let infections: u64 = patients.iter().map(|patient| patient.infections.len() as u64).sum();
        let total = events(all, days).count() as u64;
        let is_known = not_known(rules).is_empty();
        let with = |is_so: &dyn Fn(&Rise) -> bool| {
            let of = |patient: &KnownPatient| patient.with(is_so).count() as u64;
            is_known.then(|| patients.iter().map(of).sum())
        };
        let controls = |is_so: &dyn Fn(&Rise) -> bool| {
            let of = |patient: &KnownPatient| patient.controls_with(is_so);
            is_known.then(|| patients.iter().map(of).sum())
        };
        let mut by_signal: Vec<Warning> =
            Signal::ALL.iter().map(|signal| Warning::of(*signal, &patients, days, span.today)).collect();
        by_signal.retain(|one| one.infections + one.episodes + one.episodes_not_over > 0);
        by_signal.sort_by_key(|one| (Reverse(one.infections), Reverse(one.followed), one.signal.word()));
        let (device_days, events) = (device_days(all, days) as f64, total as f64);
        Warnings {
            from: days.from,
            to: days.to,
            infections,
            left_out: total - infections,
            with_any: with(&|_| true),
            with_any_today: with(&|rise| rise.signal.urgency() == Urgency::Today),
            control_windows: patients.iter().map(|patient| patient.controls.len() as u64).sum(),
            control_with_any: controls(&|_| true),
            control_with_any_today: controls(&|rise| rise.signal.urgency() == Urgency::Today),
            any_30_days: (device_days > 0.0).then(|| -(-events / device_days * BEFORE_DAYS as f64).exp_m1()),
            by_signal: is_known.then_some(by_signal),
        }
    }
}

/// Returns the period, or the 12 months to its end, limited to days with signals known for the 30 days before.
fn days(span: &AuditSpan) -> Period {
    let known_from = plus(span.signals_from, BEFORE_DAYS);
    Period { from: year_to(span.period.to).from.max(known_from).min(span.period.from), to: span.period.to }
}

impl<'a> KnownPatient<'a> {
    fn of(one: &'a Contribution, days: Period, signals_from: NaiveDate) -> Option<KnownPatient<'a>> {
        let is_looked_at = |infection: &Determination| {
            one.stay.days(Period { from: plus(infection.onset, -BEFORE_DAYS), to: before(infection.onset) }) > 0
        };
        let infections = events(std::slice::from_ref(one), days).map(|(_, infection)| infection);
        let infections = infections.filter(|infection| is_looked_at(infection)).collect();
        let mut patient = KnownPatient { one, rises: one.rises.as_ref()?, infections, controls: Vec::new() };
        patient.controls = patient.other_windows(signals_from);
        Some(patient)
    }

    /// The windows of 30 days back from each infection that count as controls.
    fn other_windows(&self, signals_from: NaiveDate) -> Vec<Period> {
        let of_one = |infection: &&Determination| {
            let onset = infection.onset;
            (1..=OWN_DAYS / BEFORE_DAYS).map(move |n| Period {
                from: plus(onset, -(n + 1) * BEFORE_DAYS),
                to: before(plus(onset, -n * BEFORE_DAYS)),
            })
        };
        let is_on_file = |day: &NaiveDate| {
            self.one.stay.is_patient_day(*day) && !self.one.treated.iter().any(|treated| treated.contains(*day))
        };
        let is_control = |window: &Period| {
            let leads = Period { from: window.from, to: plus(window.to, BEFORE_DAYS) };
            // the last window before the onset's own ends the day before those 30 days, and is not its lead
            let is_before_one = self.onsets().any(|onset| leads.contains(onset));
            window.from >= signals_from && !is_before_one && window.days().filter(is_on_file).count() >= LEAST_DAYS
        };
        self.infections.iter().flat_map(of_one).filter(is_control).collect()
    }

    /// The control windows in which such a signal was open.
    fn controls_with(&self, is_so: &dyn Fn(&Rise) -> bool) -> u64 {
        let is_up = |window: &Period, rise: &Rise| {
            rise.since <= window.to && rise.ended.is_none_or(|ended| ended >= window.from) && is_so(rise)
        };
        let has_one = |window: &&Period| self.rises.iter().any(|rise| is_up(window, rise));
        self.controls.iter().filter(has_one).count() as u64
    }

    /// Returns the lead time of each infection preceded by such a signal, in days from the first time it could be known.
    fn with(&self, is_so: &dyn Fn(&Rise) -> bool) -> impl Iterator<Item = i64> {
        self.infections.iter().filter_map(move |infection| {
            let onset = infection.onset;
            let is_up = |rise: &&Rise| {
                rise.since < onset && rise.ended.is_none_or(|ended| ended >= plus(onset, -BEFORE_DAYS)) && is_so(rise)
            };
            let first = self.rises.iter().filter(is_up).min_by_key(|rise| rise.since)?;
            Some((onset - first.known).num_days().max(0))
        })
    }

    /// Returns the opening days of a signal's episodes with complete follow-up, and the number of the others.
    fn over(&self, signal: Signal, days: Period, today: NaiveDate) -> (Vec<NaiveDate>, u64) {
        let rises = self.rises.iter().filter(|rise| rise.signal == signal && days.contains(rise.since));
        let last = |since: NaiveDate| {
            let last = plus(since, BEFORE_DAYS);
            self.one.stay.ended.map_or(last, |(ended, _)| last.min(ended))
        };
        let (over, others): (Vec<_>, Vec<_>) = rises.map(|rise| rise.since).partition(|since| last(*since) <= today);
        (over, others.len() as u64)
    }

    /// Returns every onset, including later ones.
    fn onsets(&self) -> impl Iterator<Item = NaiveDate> {
        let is_event = |infection: &&Determination| infection.is_event() && self.one.stay.holds(infection.onset);
        self.one.infections.iter().filter(is_event).map(|infection| infection.onset)
    }
}

impl Warning {
    fn of(signal: Signal, patients: &[KnownPatient], days: Period, today: NaiveDate) -> Warning {
        let follows = |since: NaiveDate, onset: NaiveDate| since < onset && onset <= plus(since, BEFORE_DAYS);
        let (mut before, mut followed, mut leads) = (Vec::new(), Vec::new(), Vec::new());
        let (mut not_over, mut found) = (0, 0);
        for patient in patients {
            let own: Vec<i64> = patient.with(&|rise| rise.signal == signal).collect();
            before.push(ClusterCount { part: own.len() as u64, whole: patient.infections.len() as u64 });
            leads.extend(own.into_iter().map(Some));
            let (over, others) = patient.over(signal, days, today);
            let is_followed = |since: &&NaiveDate| patient.onsets().any(|onset| follows(**since, onset));
            let part = over.iter().filter(is_followed).count() as u64;
            followed.push(ClusterCount { part, whole: over.len() as u64 });
            found += patient.onsets().filter(|onset| over.iter().any(|since| follows(*since, *onset))).count() as u64;
            not_over += others;
        }
        let (infections, rises): (ClusterCount, ClusterCount) =
            (before.iter().copied().sum(), followed.iter().copied().sum());
        Warning {
            signal,
            urgency: signal.urgency(),
            infections: infections.part,
            share: Share::of(&before),
            control_windows: patients.iter().map(|one| one.controls_with(&|rise| rise.signal == signal)).sum(),
            median_lead_days: median(leads),
            episodes: rises.whole,
            episodes_not_over: not_over,
            followed: rises.part,
            followed_share: Share::of(&followed),
            found,
            looks_per_infection: (found > 0).then(|| rises.whole as f64 / found as f64),
        }
    }
}
