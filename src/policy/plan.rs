//! The part of the policy behind a patient's state: care day, phases, windows, returns, limits of an order.

use chrono::NaiveTime;

use super::Phase;
use crate::day::Calendar;
use crate::problem::Rule;
use crate::record::{Table, fields};

fields! {
    /// Plan of care: the care day, the phases, the windows.
    #[derive(Debug, Clone, PartialEq)]
    pub struct CarePlan {
        /// The start of the care day and the zone.
        pub calendar: Calendar = with(calendar),
        /// Phases of care; the first whose conditions a day meets gives its interval.
        pub phases as "phase": Vec<Phase> = preset phases(),
        /// Hours in which something is to be answered.
        pub windows: Windows = preset,
        /// A household that reports by log hands one in at least this often, in days.
        pub log_days: i64 = with(log_days),
        /// The return from another hospital.
        pub returns: Returns = preset,
    }
}

fields! {
    /// The return from another hospital.
    #[derive(Debug, Clone, Copy, PartialEq, Eq)]
    pub struct Returns {
        /// Fewer days elsewhere in a row make no return.
        pub after_days: i64 = preset whole((0, 3650)),
        /// A return is judged this long where the household reports by log.
        pub judged_days: i64 = preset whole((0, 3650)),
    }
}

fields! {
    /// The limits of a clinician's order.
    #[derive(Debug, Clone, Copy, PartialEq, Eq)]
    pub struct Orders {
        /// A longer ordered interval is pointed out, in days.
        pub longest_days: i64 = preset whole((1, 366)),
    }
}

fields! {
    /// Hours in which something is to be answered.
    #[derive(Debug, Clone, Copy, PartialEq, Eq)]
    pub struct Windows {
        /// Hours from a shower to the change after it.
        pub after_shower_hours: i64 = preset whole((0, 168)),
        /// Hours from a report of damage to the change after it.
        pub after_damage_hours: i64 = preset whole((0, 168)),
        /// An earlier shower is pointed out; 0 for no limit.
        pub first_shower_pod: i64 = preset whole((0, 3650)),
    }
}

/// Reads the zone and the start of the care day.
fn calendar(table: &mut Table) -> Option<Calendar> {
    let zone = table.needed().zone("time_zone", "IANA name of the program's zone, such as America/Chicago");
    let starts = table.time_of_day("care_day_starts", "start of the care day, before 12:00");
    if starts.is_some_and(|starts| starts >= noon()) {
        table.add(
            Rule::CareDayStart,
            "care_day_starts",
            "a day of care begins before noon",
            "write a time before 12:00, such as 03:00:00",
        );
    }
    Some(Calendar::new(starts?, zone?))
}

fn log_days(table: &mut Table) -> Option<i64> {
    let read = table.table("reporting", "logs of households", |table| {
        table.whole("log_days", (1, 366), "a log is expected at least this often, in days")
    });
    read.flatten()
}

fn noon() -> NaiveTime {
    NaiveTime::from_hms_opt(12, 0, 0).unwrap_or_default()
}
