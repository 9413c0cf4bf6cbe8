//! The time of an event as a report prints it: a time with its offset, or a day.

use chrono::{DateTime, FixedOffset, NaiveDate, SecondsFormat};
use schemars::JsonSchema;
use serde::{Serialize, Serializer};

use super::When;
use crate::day::{Calendar, WallTime};

/// The time of an event with its offset, or only its day.
#[derive(Debug, Clone, Copy, PartialEq, Eq, JsonSchema)]
#[schemars(with = "String")]
pub enum At {
    /// A time.
    Time(DateTime<FixedOffset>),
    /// A day.
    Day(NaiveDate),
}

impl At {
    /// Returns the time of an event on the patient's clock, or its day.
    pub fn of(when: &When, calendar: &Calendar) -> At {
        match when.wall {
            Some(_) => At::Time(calendar.on_the_wall(when.instant, when.care_day)),
            None => At::Day(when.care_day),
        }
    }

    /// The wall-clock date and time, or the date alone: `2026-11-23 18:40`.
    pub fn minute(&self) -> String {
        match self {
            At::Time(time) => time.format("%Y-%m-%d %H:%M").to_string(),
            At::Day(day) => day.to_string(),
        }
    }

    /// The wall-clock date.
    pub fn date(&self) -> NaiveDate {
        match self {
            At::Time(time) => time.date_naive(),
            At::Day(day) => *day,
        }
    }
}

impl From<WallTime> for At {
    fn from(time: WallTime) -> At {
        At::Time(time.0)
    }
}

impl Serialize for At {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        match self {
            At::Time(time) => serializer.serialize_str(&rfc3339(time)),
            At::Day(day) => serializer.serialize_str(&day.to_string()),
        }
    }
}

/// RFC 3339 to the second, with a numeric offset.
pub fn rfc3339(time: &DateTime<FixedOffset>) -> String {
    time.to_rfc3339_opts(SecondsFormat::Secs, false)
}
