//! Facts just before the time that a handoff covers: with the default start, they would be in no handoff.

use chrono::{Duration, Timelike};
use schemars::JsonSchema;
use serde::Serialize;

use super::At;
use crate::day::{Calendar, Instant};

/// The hours before the default start in which records are counted: a handoff that is late, or a shift longer than 12 hours.
const HOURS_BEFORE: i64 = 2;

/// Records entered in the two hours before the default start.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct JustBefore {
    /// The number of records.
    pub records: usize,
    /// The full hour before the first of them: a start that covers them all.
    pub since: At,
}

/// Returns true if an instant is in the hours before the start.
pub(super) fn is_just_before(at: Instant, since: Instant) -> bool {
    since - Duration::hours(HOURS_BEFORE) < at && at <= since
}

impl JustBefore {
    /// Counts the entry times of the records before the start; `None` if there is none.
    ///
    /// ```text
    /// 07:16, 07:31   two records, since 07:00
    /// 07:00          one record, since 06:00: a handoff leaves out the records of its first instant
    /// ```
    pub(super) fn of(entered: impl Iterator<Item = Instant>, calendar: &Calendar) -> Option<JustBefore> {
        let entered: Vec<Instant> = entered.collect();
        let last_before = *entered.iter().min()? - Duration::seconds(1);
        let wall = last_before.with_timezone(&calendar.policy_zone()).fixed_offset();
        let past_the_hour = i64::from(wall.minute()) * 60 + i64::from(wall.second());
        Some(JustBefore { records: entered.len(), since: At::Time(wall - Duration::seconds(past_the_hour)) })
    }
}
