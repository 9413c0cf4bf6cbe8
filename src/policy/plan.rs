//! What the state of a patient needs: the care day, the phases, the windows, returns; and the limits of an order.

use chrono::NaiveTime;

use super::{Phase, time_zone};
use crate::day::Calendar;
use crate::problem::Rule;
use crate::record::Table;

/// What the state of a patient needs: the care day, the phases, the windows.
#[derive(Debug, Clone, PartialEq)]
pub struct Plan {
    /// The start of the care day and the zone.
    pub calendar: Calendar,
    /// The phases; the first whose conditions a day meets gives its interval.
    pub phases: Vec<Phase>,
    /// The windows after a shower or damage.
    pub windows: Windows,
    /// A household that reports by log hands one in at least this often, in days.
    pub log_days: i64,
    /// The return from another hospital.
    pub returns: Returns,
}

/// The return from another hospital.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Returns {
    /// Fewer days elsewhere in a row make no return and end nothing.
    pub after_days: i64,
    /// Days from its due day on which a return is judged in a household that reports by log.
    pub judged_days: i64,
}

/// The limits of a clinician's order.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Orders {
    /// A longer ordered interval is pointed out.
    pub longest_days: i64,
}

/// Hours in which something is to be answered.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Windows {
    /// Hours from a shower to the change after it.
    pub after_shower_hours: i64,
    /// Hours from a report of damage to the change after it.
    pub after_damage_hours: i64,
    /// The post-operative day from which showers are usual; 0 for no limit.
    pub first_shower_pod: i64,
}

impl Plan {
    pub(super) fn read(table: &mut Table, default: Option<&Plan>) -> Option<Plan> {
        let zone = table.needed().text("time_zone", "the IANA name of the program's zone, such as America/Chicago");
        let zone = zone.and_then(|name| time_zone(table, &name));
        let starts = table.time_of_day("care_day_starts", "when a day of care begins, before 12:00");
        if starts.is_some_and(|starts| starts >= noon()) {
            table.add(
                Rule::CareDayStart,
                "care_day_starts",
                "a day of care begins before noon",
                "write a time before 12:00, such as 03:00:00",
            );
        }
        let starts = starts.or(default.map(|plan| plan.calendar.starts()));
        let phases = Phase::read_all(table).or(default.map(|plan| plan.phases.clone()));
        let windows = table.table("windows", "hours in which something is to be answered", |table| {
            Windows::read(table, default.map(|plan| plan.windows))
        });
        let windows = windows.unwrap_or(default.map(|plan| plan.windows));
        let log_days = table.table("reporting", "how often a household hands in a log", |table| {
            table.whole("log_days", (1, 366), "a log is expected at least this often, in days")
        });
        let log_days = log_days.flatten().or(default.map(|plan| plan.log_days));
        let returns = table.table("returns", "the return from another hospital", |table| {
            Returns::read(table, default.map(|plan| plan.returns))
        });
        let returns = returns.unwrap_or(default.map(|plan| plan.returns));
        Some(Plan {
            calendar: Calendar::new(starts?, zone?),
            phases: phases?,
            windows: windows?,
            log_days: log_days?,
            returns: returns?,
        })
    }
}

impl Returns {
    fn read(table: &mut Table, default: Option<Returns>) -> Option<Returns> {
        let after_days = table.whole("after_days", (0, 3650), "fewer days elsewhere in a row make no return");
        let judged_days =
            table.whole("judged_days", (0, 3650), "a return is judged this long where the household reports by log");
        Some(Returns {
            after_days: after_days.or(default.map(|returns| returns.after_days))?,
            judged_days: judged_days.or(default.map(|returns| returns.judged_days))?,
        })
    }
}

impl Orders {
    pub(super) fn read(table: &mut Table, default: Option<Orders>) -> Option<Orders> {
        let longest_days = table.table("orders", "the limits of a clinician's order", |table| {
            table.whole("longest_days", (1, 366), "a longer ordered interval is pointed out, in days")
        });
        Some(Orders { longest_days: longest_days.flatten().or(default.map(|orders| orders.longest_days))? })
    }
}

impl Windows {
    fn read(table: &mut Table, default: Option<Windows>) -> Option<Windows> {
        let after_shower_hours =
            table.whole("after_shower_hours", (0, 168), "hours from a shower to the change after it");
        let after_damage_hours =
            table.whole("after_damage_hours", (0, 168), "hours from a report of damage to the change after it");
        let first_shower_pod =
            table.whole("first_shower_pod", (0, 3650), "an earlier shower is pointed out; 0 for no limit");
        Some(Windows {
            after_shower_hours: after_shower_hours.or(default.map(|windows| windows.after_shower_hours))?,
            after_damage_hours: after_damage_hours.or(default.map(|windows| windows.after_damage_hours))?,
            first_shower_pod: first_shower_pod.or(default.map(|windows| windows.first_shower_pod))?,
        })
    }
}

fn noon() -> NaiveTime {
    NaiveTime::from_hms_opt(12, 0, 0).unwrap_or_default()
}
