//! Pulls, what grew, who is signed off, and what is left.

use schemars::JsonSchema;
use serde::Serialize;

use super::{device_days, events};
use crate::audit::Contribution;
use crate::day::Period;
use crate::surveillance::rate::Rate;

/// Pulls.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Trauma {
    /// How many.
    pub events: u64,
    /// Over device-days.
    pub per_1000_device_days: Rate,
}

/// The organism, as the determinations name it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Organism {
    /// Its name.
    pub name: String,
    /// In how many infections.
    pub infections: u64,
}

/// Sign-offs on the period's last day; null if the policy or the staff list cannot be used.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Households {
    /// Caregivers of the patients under support.
    pub caregivers: u64,
    /// The number signed off.
    pub signed_off: Option<u64>,
    /// The number whose sign-off has lapsed.
    pub lapsed: Option<u64>,
    /// Changes in the period by somebody of a household who was neither signed off nor taught that day.
    pub changes_by_untaught: Option<u64>,
}

/// Households that were to order on the period's last day.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Supplies {
    /// Patients at home.
    pub households: u64,
    /// The number with an item to order by then.
    pub short: u64,
    /// The number with an item of which that is not known.
    pub unknown: u64,
}

impl Trauma {
    pub(super) fn of(all: &[Contribution], period: Period) -> Trauma {
        let events = all.iter().map(|one| one.traumas).sum();
        Trauma { events, per_1000_device_days: Rate::of(events, device_days(all, period) as f64 / 1000.0) }
    }
}

/// Organisms of the infections of a period, the most frequent first, whatever the capitals.
pub(super) fn organisms(all: &[Contribution], period: Period) -> Vec<Organism> {
    let mut known: Vec<Organism> = Vec::new();
    for (_, infection) in events(all, period) {
        let mut names: Vec<&str> = Vec::new();
        for name in infection.organisms.iter().map(|name| name.trim()) {
            if names.iter().any(|other| is_same(other, name)) {
                continue;
            }
            names.push(name);
            match known.iter_mut().find(|organism| is_same(&organism.name, name)) {
                Some(organism) => organism.infections += 1,
                None => known.push(Organism { name: name.to_owned(), infections: 1 }),
            }
        }
    }
    known.sort_by(|a, b| (b.infections, &a.name).cmp(&(a.infections, &b.name)));
    known
}

fn is_same(a: &str, b: &str) -> bool {
    a.to_lowercase() == b.to_lowercase()
}

impl Households {
    pub(super) fn of(all: &[Contribution]) -> Households {
        let sum = |count: &dyn Fn(&Contribution) -> Option<u64>| all.iter().map(count).sum::<Option<u64>>();
        Households {
            caregivers: all.iter().map(|one| one.household.caregivers).sum(),
            signed_off: sum(&|one| one.household.signed_off),
            lapsed: sum(&|one| one.household.lapsed),
            changes_by_untaught: sum(&|one| one.household.changes_by_untaught),
        }
    }
}

impl Supplies {
    pub(super) fn of(all: &[Contribution]) -> Supplies {
        let home = || all.iter().map(|one| &one.household).filter(|household| household.is_home);
        Supplies {
            households: home().count() as u64,
            short: home().filter(|household| household.is_short == Some(true)).count() as u64,
            unknown: home().filter(|household| household.is_short.is_none()).count() as u64,
        }
    }
}
