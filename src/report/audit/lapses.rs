//! Lapses before infection: each patient's 30 days before an onset, compared with the same patient's preceding year.
//! Left out on purpose: causes. Five lapses are tested, so one may stand out by chance.

use chrono::NaiveDate;
use schemars::JsonSchema;
use serde::Serialize;

use super::events;
use crate::audit::{AuditSpan, BEFORE_DAYS, Contribution, OWN_DAYS, Precursor};
use crate::day::{Period, before, plus};
use crate::surveillance::matched::{MatchedRatio, MatchedSet};
use crate::word::words;

/// The minimum number of days on file in a 30-day window of the case-crossover. Common practice, no source.
const LEAST_DAYS: usize = 15;

words! {
    /// A lapse in the care of an exit site.
    pub enum Lapse {
        /// Line pull.
        Pull = "pull",
        /// Anchor found loose or absent.
        AnchorOff = "anchor-off",
        /// Dressing found wet.
        WetDressing = "wet-dressing",
        /// Expected change missed.
        MissedChange = "missed-change",
        /// Shower without a timely change.
        ShowerNotFollowed = "shower-not-followed",
    }
}

/// Lapses before the infections of the period: an association, not a cause.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Lapses {
    /// Infections with days on file both in the 30 days before onset and in the preceding year.
    pub infections: u64,
    /// Infections of the period without such days, or with an unreadable file.
    pub left_out: u64,
    /// The ratios of each lapse.
    pub by_lapse: Vec<LapseRatio>,
}

/// One lapse in the days before infection and in other days of the same patients. Days that no record covers, and days on an
/// antibiotic, are excluded.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct LapseRatio {
    /// The lapse.
    pub lapse: Lapse,
    /// Lapses in the 30 days before onset.
    pub before: u64,
    /// Days in those windows; for the anchor, looks at it.
    pub before_exposure: u64,
    /// Lapses in the preceding year.
    pub others: u64,
    /// Days, or looks, in that year.
    pub others_exposure: u64,
    /// The self-matched rate ratio, conditional on each infection's total.
    pub rate_ratio: MatchedRatio,
    /// Infections of the case-crossover with the lapse in the 30 days before onset.
    pub exposed: u64,
    /// Infections in the case-crossover: at least 15 days on file in the 30 days before onset and in another 30-day window.
    pub windows: u64,
    /// Control windows with the lapse.
    pub others_exposed: u64,
    /// Control windows, up to 12 per infection.
    pub others_windows: u64,
    /// The case-crossover odds ratio.
    pub odds_ratio: MatchedRatio,
}

/// An infection with its days on file.
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

    /// Returns true if a day is in the 30 days before onset.
    fn is_before(&self, day: NaiveDate) -> bool {
        day >= plus(self.onset, -BEFORE_DAYS)
    }

    /// Returns the index of a day's 30-day window, counted back from onset; 0 is the window right before it.
    fn window(&self, day: NaiveDate) -> usize {
        usize::try_from((before(self.onset) - day).num_days() / BEFORE_DAYS).unwrap_or(usize::MAX)
    }

    /// Returns the days of a lapse, one entry per occurrence.
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

    /// Returns the days at risk for a lapse; for the anchor, the days of looks at it.
    fn exposure(&self, lapse: Lapse) -> Vec<NaiveDate> {
        match lapse {
            Lapse::AnchorOff => {
                let looks = self.one.anchor_looks.iter().copied();
                looks.filter(|day| self.days.binary_search(day).is_ok()).collect()
            }
            _ => self.days.clone(),
        }
    }

    /// Returns the matched set of the rate ratio.
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

    /// Returns for each window whether it has the lapse, the case window first; `None` if the case window has too few days on
    /// file.
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
