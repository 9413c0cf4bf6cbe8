//! Line pulls, organisms, sign-offs and supplies.

use schemars::JsonSchema;
use serde::Serialize;

use super::{device_days, events};
use crate::audit::Contribution;
use crate::day::Period;
use crate::surveillance::rate::Rate;

/// Line pulls.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Pulls {
    /// The number of pulls.
    pub events: u64,
    /// The rate.
    pub per_1000_device_days: Rate,
}

/// An organism, as named in the determinations.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Organism {
    /// The organism's name.
    pub name: String,
    /// The number of infections with it.
    pub infections: u64,
}

/// Sign-offs on the period's last day; null if the policy or the staff list is invalid.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Households {
    /// Caregivers of the patients under support.
    pub caregivers: u64,
    /// The number signed off.
    pub signed_off: Option<u64>,
    /// The number whose sign-off has lapsed.
    pub lapsed: Option<u64>,
    /// Changes in the period by a household member who was neither signed off nor taught that day.
    pub changes_by_untaught: Option<u64>,
}

/// Households that had to order supplies on the period's last day.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Supplies {
    /// Patients at home.
    pub households: u64,
    /// Households with an item to order by then.
    pub short: u64,
    /// Households with an item whose stock is unknown.
    pub unknown: u64,
}

impl Pulls {
    pub(super) fn of(all: &[Contribution], period: Period) -> Pulls {
        let events = all.iter().map(|one| one.traumas).sum();
        Pulls { events, per_1000_device_days: Rate::of(events, device_days(all, period) as f64 / 1000.0) }
    }
}

/// Returns the organisms of a period's infections, most frequent first, ignoring case.
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
