//! Lapses before infection: each patient's 30 days before an onset beside the same patient's year before those days.
//!
//! Left out on purpose: causes. Five lapses are looked at, so one of them may stand out by chance.

use chrono::NaiveDate;
use schemars::JsonSchema;
use serde::Serialize;

use super::events;
use crate::audit::{AuditSpan, BEFORE_DAYS, Contribution, OWN_DAYS, Precursor};
use crate::day::{Period, before, plus};
use crate::surveillance::matched::{MatchedRatio, MatchedSet};
use crate::word::words;

/// The fewest days of a window of 30 that make it one of the case-crossover. Common practice, no source.
const LEAST_DAYS: usize = 15;

words! {
    /// A lapse in the care of an exit site.
    pub enum Lapse {
        /// The line was pulled.
        Pull = "pull",
        /// A look found the anchor loose or absent.
        AnchorOff = "anchor-off",
        /// The dressing was wet.
        WetDressing = "wet-dressing",
        /// An expected change was missed.
        MissedChange = "missed-change",
        /// No change followed a shower in time.
        ShowerNotFollowed = "shower-not-followed",
    }
}

/// Lapses before the infections of the period. An association, not a cause.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Lapses {
    /// Infections with days on file both in the 30 days before the onset and in the year before those.
    pub infections: u64,
    /// Infections of the period that lack such days, or of which a file cannot be read.
    pub left_out: u64,
    /// Each lapse.
    pub by_lapse: Vec<LapseRatio>,
}

/// One lapse, in the days before an infection and in others of the same patient. Days of which the records say nothing, and
/// days under an antibiotic, count on neither side.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct LapseRatio {
    /// The lapse.
    pub lapse: Lapse,
    /// Lapses in the 30 days before an onset.
    pub before: u64,
    /// Days in those windows; looks at the anchor for a lapse of the anchor.
    pub before_exposure: u64,
    /// Lapses in the year before those windows.
    pub others: u64,
    /// Days, or looks, of that year.
    pub others_exposure: u64,
    /// The self-matched rate ratio, conditional on the total of each infection.
    pub rate_ratio: MatchedRatio,
    /// Infections with the lapse in the 30 days before, of those of the case-crossover.
    pub exposed: u64,
    /// Infections of the case-crossover: at least 15 days on file in the 30 days before, and in one other window of 30 days.
    pub windows: u64,
    /// Other windows with the lapse.
    pub others_exposed: u64,
    /// Other windows, up to 12 of each infection.
    pub others_windows: u64,
    /// The case-crossover odds ratio.
    pub odds_ratio: MatchedRatio,
}

/// One infection with its days on file.
struct Case<'a> {
    one: &'a Contribution,
    onset: NaiveDate,
    days: Vec<NaiveDate>,
}

impl Lapses {
    pub(super) fn of(all: &[Contribution], span: &AuditSpan) -> Lapses {
        let total = events(all, span.period).count();
        let cases: Vec<Case> =
            events(all, span.period).filter_map(|(one, infection)| Case::of(one, infection.onset)).collect();
        Lapses {
            infections: cases.len() as u64,
            left_out: (total - cases.len()) as u64,
            by_lapse: Lapse::ALL.iter().map(|lapse| LapseRatio::of(*lapse, &cases)).collect(),
        }
    }
}

impl<'a> Case<'a> {
    fn of(one: &'a Contribution, onset: NaiveDate) -> Option<Case<'a>> {
        one.happenings.as_ref()?;
        let year = Period { from: plus(onset, -(BEFORE_DAYS + OWN_DAYS)), to: before(onset) };
        let is_on_file = |day: &NaiveDate| {
            one.stay.is_patient_day(*day)
                && !one.days_not_told.contains(day)
                && !one.treated.iter().any(|treated| treated.contains(*day))
        };
        let case = Case { one, onset, days: year.days().filter(is_on_file).collect() };
        (case.days.iter().any(|day| case.is_before(*day)) && case.days.iter().any(|day| !case.is_before(*day)))
            .then_some(case)
    }

    /// Returns true if a day is one of the 30 before the onset.
    fn is_before(&self, day: NaiveDate) -> bool {
        day >= plus(self.onset, -BEFORE_DAYS)
    }

    /// The windows of 30 days back from the onset, 0 the one right before it, that a day is in.
    fn window(&self, day: NaiveDate) -> usize {
        usize::try_from((before(self.onset) - day).num_days() / BEFORE_DAYS).unwrap_or(usize::MAX)
    }

    /// The days of a lapse, each as often as it happened on it.
    fn lapses(&self, lapse: Lapse) -> Vec<NaiveDate> {
        let is_one = |what: Precursor| match lapse {
            Lapse::Pull => what == Precursor::Trauma,
            Lapse::AnchorOff => what == Precursor::AnchorOff,
            Lapse::WetDressing => what == Precursor::WetDressing,
            Lapse::MissedChange => what == Precursor::MissedChange,
            Lapse::ShowerNotFollowed => what == Precursor::ShowerNotFollowed,
        };
        let all = self.one.happenings.iter().flatten().filter(|one| is_one(one.what)).map(|one| one.day);
        all.filter(|day| self.days.binary_search(day).is_ok()).collect()
    }

    /// The days over which a lapse is counted: of the anchor, its looks.
    fn exposure(&self, lapse: Lapse) -> Vec<NaiveDate> {
        match lapse {
            Lapse::AnchorOff => {
                let looks = self.one.anchor_looks.iter().copied();
                looks.filter(|day| self.days.binary_search(day).is_ok()).collect()
            }
            _ => self.days.clone(),
        }
    }

    /// The set of the rate ratio.
    fn rates(&self, lapse: Lapse) -> MatchedSet {
        let (lapses, exposure) = (self.lapses(lapse), self.exposure(lapse));
        let before = |days: &[NaiveDate]| days.iter().filter(|day| self.is_before(**day)).count();
        let window = before(&exposure);
        MatchedSet {
            inside: before(&lapses) as u64,
            all: lapses.len() as u64,
            window: window as f64,
            others: (exposure.len() - window) as f64,
        }
    }

    /// Returns true if each window has the lapse, that right before the onset first; None where too few of its days are on file.
    fn windows(&self, lapse: Lapse) -> Option<Vec<bool>> {
        let lapses = self.lapses(lapse);
        let last = (OWN_DAYS / BEFORE_DAYS) as usize;
        let is_on_file = |n: &usize| self.days.iter().filter(|day| self.window(**day) == *n).count() >= LEAST_DAYS;
        let has_lapse = |n: usize| lapses.iter().any(|day| self.window(*day) == n);
        let windows: Vec<usize> = (0..=last).filter(is_on_file).collect();
        (windows.first() == Some(&0) && windows.len() > 1).then(|| windows.into_iter().map(has_lapse).collect())
    }
}

impl LapseRatio {
    fn of(lapse: Lapse, cases: &[Case]) -> LapseRatio {
        let rates: Vec<MatchedSet> = cases.iter().map(|case| case.rates(lapse)).collect();
        let windows: Vec<Vec<bool>> = cases.iter().filter_map(|case| case.windows(lapse)).collect();
        let set = |windows: &Vec<bool>| {
            let exposed = windows.iter().filter(|has| **has).count();
            let (window, others) = (exposed as f64, (windows.len() - exposed) as f64);
            MatchedSet { inside: u64::from(windows[0]), all: 1, window, others }
        };
        let sum = |of: &dyn Fn(&MatchedSet) -> f64| rates.iter().map(of).sum::<f64>() as u64;
        let others = || windows.iter().flat_map(|windows| &windows[1..]);
        LapseRatio {
            lapse,
            before: rates.iter().map(|set| set.inside).sum(),
            before_exposure: sum(&|set| set.window),
            others: rates.iter().map(|set| set.all - set.inside).sum(),
            others_exposure: sum(&|set| set.others),
            rate_ratio: MatchedRatio::of(&rates),
            exposed: windows.iter().filter(|windows| windows[0]).count() as u64,
            windows: windows.len() as u64,
            others_exposed: others().filter(|has| **has).count() as u64,
            others_windows: others().count() as u64,
            odds_ratio: MatchedRatio::of(&windows.iter().map(set).collect::<Vec<_>>()),
        }
    }
}
