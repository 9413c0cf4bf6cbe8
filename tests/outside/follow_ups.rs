//! The follow-ups of `reference/survival.json` with the figures of R's `survival`, and the trial that most books on
//! survival compute.

use std::collections::BTreeMap;
use std::sync::LazyLock;

use exitsite::surveillance::follow_up::{FollowUp, FollowUpEnd};
use serde::Deserialize;

use crate::trial::{PLACEBO, TREATED, weeks};

/// A row of freedom: day, at risk, events, censored, survival, standard error, low, high.
pub(crate) type FreedomRow = (i64, u64, u64, u64, f64, Option<f64>, Option<f64>, Option<f64>);

/// A row of an incidence: day, at risk, value, standard error, low, high.
pub(crate) type IncidenceRow = (i64, u64, f64, f64, Option<f64>, Option<f64>);

/// A set of follow-ups and its curves.
#[derive(Deserialize)]
pub(crate) struct Set {
    pub(crate) name: String,
    #[serde(rename = "spells")]
    follow_ups: Vec<(i64, i64, String)>,
    pub(crate) freedom: Vec<FreedomRow>,
    pub(crate) median: (Option<f64>, Option<f64>, Option<f64>),
    pub(crate) incidence: BTreeMap<String, Vec<IncidenceRow>>,
}

/// Some of the sets compared.
#[derive(Deserialize)]
pub(crate) struct Compared {
    pub(crate) sets: Vec<String>,
    pub(crate) expected: Vec<f64>,
    pub(crate) chi_square: f64,
    pub(crate) df: u64,
    pub(crate) p: f64,
    pub(crate) hazard_ratio: Vec<Option<f64>>,
    pub(crate) hazard_low: Vec<Option<f64>>,
    pub(crate) hazard_high: Vec<Option<f64>>,
}

#[derive(Deserialize)]
pub(crate) struct Reference {
    pub(crate) sets: Vec<Set>,
    pub(crate) log_rank: Vec<Compared>,
}

/// Source: R 4.2.2, survival 3.5-3, by `reference/survival.R`; checked with lifelines 0.30.3 and statsmodels 0.15.0 by
/// `reference/survival.py`.
pub(crate) static REFERENCE: LazyLock<Reference> =
    LazyLock::new(|| serde_json::from_str(include_str!("reference/survival.json")).unwrap());

/// Parses an end as written in the reference.
pub(crate) fn end(word: &str) -> FollowUpEnd {
    match word {
        "infection" => FollowUpEnd::Infection,
        "death" => FollowUpEnd::Death,
        "transplant" => FollowUpEnd::Transplant,
        "recovery" => FollowUpEnd::Recovery,
        "censored" => FollowUpEnd::Censored,
        _ => panic!("{word}"),
    }
}

impl Set {
    /// The set with this name.
    pub(crate) fn named(name: &str) -> &'static Set {
        REFERENCE.sets.iter().find(|set| set.name == name).unwrap()
    }

    pub(crate) fn follow_ups(&self) -> Vec<FollowUp> {
        self.follow_ups.iter().map(|(from, to, word)| FollowUp { from: *from, to: *to, end: end(word) }).collect()
    }
}

/// True if two figures are equal to 1e-10 of the second, or to 1e-15 if it is 0 but for rounding.
pub(crate) fn is_same(ours: f64, theirs: f64) -> bool {
    (ours - theirs).abs() <= 1e-10 * theirs.abs() + 1e-15
}

/// True if two figures are equal, or both are `None`.
pub(crate) fn are_same(ours: Option<f64>, theirs: Option<f64>) -> bool {
    match (ours, theirs) {
        (Some(ours), Some(theirs)) => is_same(ours, theirs),
        (ours, theirs) => ours.is_none() && theirs.is_none(),
    }
}

/// True if a figure rounds to the printed one: at most half of the last decimal away, with a little for rounding.
pub(crate) fn is_printed(ours: f64, printed: f64, decimals: i32) -> bool {
    (ours - printed).abs() <= 0.5 * 10_f64.powi(-decimals) + 1e-12
}

/// The follow-ups of a group of the trial, with a relapse as an infection.
pub(crate) fn remission(group: &str) -> Vec<FollowUp> {
    let end = |is_relapse| if is_relapse { FollowUpEnd::Infection } else { FollowUpEnd::Censored };
    weeks(group).map(|(week, is_relapse)| FollowUp { from: 0, to: week, end: end(is_relapse) }).collect()
}

/// The follow-ups of the 21 treated, and of the 21 given a placebo.
pub(crate) fn treated_and_placebo() -> [Vec<FollowUp>; 2] {
    [remission(TREATED), remission(PLACEBO)]
}

#[test]
fn the_trial_typed_here_is_the_one_typed_in_the_script() {
    let [treated, placebo] = treated_and_placebo();
    assert_eq!((treated.len(), placebo.len()), (21, 21));
    assert_eq!(Set::named("treated").follow_ups(), treated);
    assert_eq!(Set::named("placebo").follow_ups(), placebo);
}

/// The sets contain every case that they are meant to cover.
#[test]
fn the_sets_have_late_entry_and_ties_and_every_end() {
    let sets = &REFERENCE.sets;
    let follow_ups: Vec<FollowUp> = sets.iter().flat_map(Set::follow_ups).collect();
    for end in [
        FollowUpEnd::Infection,
        FollowUpEnd::Death,
        FollowUpEnd::Transplant,
        FollowUpEnd::Recovery,
        FollowUpEnd::Censored,
    ] {
        assert!(
            follow_ups.iter().filter(|follow_up| follow_up.end == end && follow_up.from > 0).count() > 2,
            "{end:?}"
        );
    }
    assert!(sets.iter().any(|set| set.follow_ups.len() == 1) && sets.iter().any(|set| set.follow_ups.len() == 400));
    assert!(sets.iter().any(|set| set.incidence.is_empty()), "all censored");
    assert!(follow_ups.iter().any(|follow_up| follow_up.from == follow_up.to), "entered on the day of the end");
}
