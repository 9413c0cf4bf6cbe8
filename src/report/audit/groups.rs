//! Infections and device-days of the period by patient group: all infections over exposure, not only the first.

use std::collections::BTreeMap;

use schemars::JsonSchema;
use serde::Serialize;

use super::{GroupBy, device_days, events};
use crate::audit::Contribution;
use crate::day::Period;
use crate::surveillance::rate::Rate;

/// Infections and device-days of one patient group in the period.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct GroupRate {
    /// The trait's value.
    pub value: String,
    /// Patients with at least one day of support in the period.
    pub patients: u64,
    /// Infections.
    pub events: u64,
    /// Device-days.
    pub device_days: i64,
    /// The rate.
    pub per_1000_device_days: Rate,
}

impl GroupRate {
    /// Returns the groups in the order of their values; empty if no grouping was requested. Groups with neither a day nor an
    /// infection in the period are omitted.
    pub(super) fn all(all: &[Contribution], period: Period, by: Option<GroupBy>) -> Vec<GroupRate> {
        let Some(by) = by else { return Vec::new() };
        let mut groups: BTreeMap<String, Vec<&Contribution>> = BTreeMap::new();
        for one in all {
            groups.entry(by.value(one)).or_default().push(one);
        }
        let group = |(value, own): (String, Vec<&Contribution>)| {
            let events = own.iter().map(|one| events(std::slice::from_ref(*one), period).count() as u64).sum();
            let days = device_days(own.iter().copied(), period);
            GroupRate {
                value,
                patients: own.iter().filter(|one| one.stay.days(period) > 0).count() as u64,
                events,
                device_days: days,
                per_1000_device_days: Rate::of(events, days as f64 / 1000.0),
            }
        };
        groups.into_iter().map(group).filter(|group| group.device_days > 0 || group.events > 0).collect()
    }
}
