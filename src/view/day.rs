//! Days and times in a few letters, with the year where it is not this one.

use chrono::{Datelike, NaiveDate};

use crate::event::At;

/// A day with its weekday within a week of `today`: "Mon 11-23", "11-02", "2025-12-02".
pub(super) fn short_day(day: NaiveDate, today: NaiveDate) -> String {
    if is_this_week(day, today) {
        day.format("%a %m-%d").to_string()
    } else if day.year() == today.year() {
        day.format("%m-%d").to_string()
    } else {
        day.to_string()
    }
}

/// The weekday alone within a week of `today`: "Mon", "11-02", "2024-11-02".
pub(super) fn weekday(at: &At, today: NaiveDate) -> String {
    let day = at.date();
    if is_this_week(day, today) { day.format("%a").to_string() } else { short_day(day, today) }
}

/// A time or a day: "Mon 18:40", "11-02 18:40", "2024-11-02".
pub(super) fn short(at: &At, today: NaiveDate) -> String {
    match at {
        At::Time(time) => format!("{} {}", weekday(at, today), time.format("%H:%M")),
        At::Day(day) => short_day(*day, today),
    }
}

/// A time as it is said today: `today 07:00`, `yesterday 18:55`, `Mon 11-23 18:40`.
pub(crate) fn day_and_time(at: &At, today: NaiveDate) -> String {
    let day = match (today - at.date()).num_days() {
        0 => "today".to_owned(),
        1 => "yesterday".to_owned(),
        _ => short_day(at.date(), today),
    };
    match at {
        At::Time(time) => format!("{day} {}", time.format("%H:%M")),
        At::Day(_) => day,
    }
}

/// Whether a day is within a week of `today`, so that the weekday names it.
pub(super) fn is_this_week(day: NaiveDate, today: NaiveDate) -> bool {
    (day - today).num_days().abs() < 7
}
