//! The part of the policy that determines a patient's state: care day, phases, windows, returns, limits of an order.

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
        /// Phases of care; the first one whose conditions a day meets gives its interval.
        pub phases as "phase": Vec<Phase> = preset phases(),
        /// Deadlines, in hours.
        pub windows: Windows = preset,
        /// Maximum number of days between logs of a household that reports by log.
        pub log_days: i64 = with(log_days),
        /// Return from another hospital.
        pub returns: Returns = preset,
    }
}

fields! {
    /// Return from another hospital.
    #[derive(Debug, Clone, Copy, PartialEq, Eq)]
    pub struct Returns {
        /// Minimum number of consecutive days elsewhere that count as a stay.
        pub after_days: i64 = preset whole((0, 3650)),
        /// Days after a return during which a change is due in a household that reports by log, even without a log.
        pub judged_days: i64 = preset whole((0, 3650)),
    }
}

fields! {
    /// The limits of a clinician's order.
    #[derive(Debug, Clone, Copy, PartialEq, Eq)]
    pub struct Orders {
        /// Longest ordered interval without a warning, in days.
        pub longest_days: i64 = preset whole((1, 366)),
    }
}

fields! {
    /// Deadlines, in hours.
    #[derive(Debug, Clone, Copy, PartialEq, Eq)]
    pub struct Windows {
        /// Hours from a shower until the change is due.
        pub after_shower_hours: i64 = preset whole((0, 168)),
        /// Hours from a report of damage until the change is due.
        pub after_damage_hours: i64 = preset whole((0, 168)),
        /// First post-operative day on which a shower is allowed; 0 for no limit.
        pub first_shower_pod: i64 = preset whole((0, 3650)),
    }
}

/// Reads the zone and the start of the care day.
fn calendar(table: &mut Table) -> Option<Calendar> {
    let zone = table.needed().zone("time_zone", "IANA name of the program's time zone, such as America/Chicago");
    let starts = table.time_of_day("care_day_starts", "start of the care day, before 12:00");
    if starts.is_some_and(|starts| starts >= noon()) {
        table.add(
            Rule::CareDayStart,
            "care_day_starts",
            "the care day must start before noon",
            "write a time before 12:00, such as 03:00:00",
        );
    }
    Some(Calendar::new(starts?, zone?))
}

fn log_days(table: &mut Table) -> Option<i64> {
    let read = table.table("reporting", "logs of households", |table| {
        table.whole("log_days", (1, 366), "maximum number of days between logs")
    });
    read.flatten()
}

fn noon() -> NaiveTime {
    NaiveTime::from_hms_opt(12, 0, 0).unwrap_or_default()
}
