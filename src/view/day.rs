//! Short dates and times: `Mon 21:30` within a week, `Oct 30`, with the year if it is not this one.

use chrono::{Datelike, NaiveDate};

use crate::event::At;

/// Formats a day: "Mon Nov 23" within a week of `today`, else "Nov 2", "Dec 2 2025".
pub(super) fn short_day(day: NaiveDate, today: NaiveDate) -> String {
    if is_this_week(day, today) { day.format("%a %b %-d").to_string() } else { calendar_day(day, today) }
}

/// Formats a day: "today", the weekday within a week of it ("Mon"), else "Nov 2", "Dec 2 2025".
pub(super) fn weekday(at: &At, today: NaiveDate) -> String {
    let day = at.date();
    if day == today {
        "today".to_owned()
    } else if is_this_week(day, today) {
        day.format("%a").to_string()
    } else {
        calendar_day(day, today)
    }
}

fn calendar_day(day: NaiveDate, today: NaiveDate) -> String {
    if day.year() == today.year() { day.format("%b %-d").to_string() } else { day.format("%b %-d %Y").to_string() }
}

/// Formats a time or a day: "today 06:20", "Mon 18:40", "Nov 2 18:40", "Mon".
pub(super) fn short(at: &At, today: NaiveDate) -> String {
    match at {
        At::Time(time) => format!("{} {}", weekday(at, today), time.format("%H:%M")),
        At::Day(_) => weekday(at, today),
    }
}

/// Formats a time relative to today: `today 07:00`, `yesterday 18:55`, `Mon Nov 23 18:40`.
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

/// Returns true if a day is within a week of `today`, so the weekday identifies it.
pub(super) fn is_this_week(day: NaiveDate, today: NaiveDate) -> bool {
    (day - today).num_days().abs() < 7
}
