//! Short dates and times: `Mon 21:30` within a week, `Oct 30`, with the year if it is not this one.

use chrono::{Datelike, Duration, NaiveDate, Timelike};

use crate::day::{Calendar, Instant, WallTime, before};
use crate::event::{At, EventName};
use crate::report::due::SiteRow;
use crate::signal::{Episode, Observation};

/// Formats a day: "Mon Nov 23" within a week of `today`, else "Nov 2", "Dec 2 2025".
pub(crate) fn short_day(day: NaiveDate, today: NaiveDate) -> String {
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

/// Converts a time for display: the last second of an hour is the end of a care day, where a record without a time counts,
/// and only its day is shown.
pub(super) fn of_wall(at: WallTime) -> At {
    let is_end_of_day = at.0.minute() == 59 && at.0.second() == 59;
    if is_end_of_day { At::Day(before((at.0 + Duration::seconds(1)).date_naive())) } else { At::Time(at.0) }
}

/// Formats a time of a row, with the UTC offset if the patient's time zone is not the program's.
pub(super) fn clock(site: &SiteRow, at: &At) -> String {
    let time = short(at, site.date);
    match (at, &site.utc_offset) {
        (At::Time(at), Some(_)) => format!("{time} {}", at.format("%:z")),
        _ => time,
    }
}

/// Formats a time of a signal: "Mon 21:30", or the day alone for a record without a time.
pub(super) fn wall(at: WallTime, today: NaiveDate) -> String {
    short(&of_wall(at), today)
}

/// The reader's date, and the program's clock.
#[derive(Debug, Clone, Copy)]
pub(crate) struct ReaderClock<'a> {
    /// The date.
    pub today: NaiveDate,
    /// The calendar with the program's time zone.
    pub calendar: &'a Calendar,
}

impl ReaderClock<'_> {
    /// Formats a time, with its UTC offset if that is not the program's: "Mon 21:30", "Mon 19:30 -07:00".
    pub(super) fn at(self, at: &At) -> String {
        let text = short(at, self.today);
        match at {
            At::Time(time) if !self.is_of_program(WallTime(*time)) => format!("{text} {}", time.format("%:z")),
            _ => text,
        }
    }

    /// Formats a time of a signal, or the day alone for a record without a time.
    pub(super) fn wall(self, at: WallTime) -> String {
        self.at(&of_wall(at))
    }

    /// Formats the start of a signal; the day alone if its first record has no time, or if a result or passing days raised it.
    pub(super) fn since(self, episode: &Episode) -> String {
        self.at(&start(episode))
    }

    fn is_of_program(self, at: WallTime) -> bool {
        at.0.with_timezone(&self.calendar.policy_zone()).naive_local() == at.0.naive_local()
    }
}

/// Formats the start of a signal; the day alone if its first record has no time, or if a result or passing days raised it.
pub(super) fn since(episode: &Episode, today: NaiveDate) -> String {
    short(&start(episode), today)
}

/// Returns the start of a signal; the day alone if its first record has no time, or if a result or passing days raised it.
pub(super) fn start(episode: &Episode) -> At {
    let first = episode.evidence.first();
    // The day turns at a time at which nobody recorded anything.
    if first.is_some_and(|said| matches!(said.what, Observation::Grew { .. }) || is_of_days(&said.what)) {
        return At::Day(episode.since.0.date_naive());
    }
    match first.and_then(|said| EventName::read(said.file.rsplit('/').next()?)) {
        Some(name) if name.time.is_some() => At::Time(episode.since.0),
        _ => of_wall(episode.since),
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

/// Names the UTC offset of the patient's clock, if it is not the program's: a time is typed by the patient's clock.
pub(crate) fn by_their_clock(calendar: &Calendar, now: Instant) -> String {
    let offset = calendar.other_offset(now);
    offset.map(|offset| format!(" (where the patient is, UTC{offset})")).unwrap_or_default()
}

/// Returns true if elapsed days, rather than one record, show a signal.
pub(super) fn is_of_days(observation: &Observation) -> bool {
    use Observation::*;
    matches!(
        observation,
        Missed(_) | LogExpected(_) | NoLookSince { .. } | NoResult(_) | ElsewhereSince(_) | DrainageSince(_)
    )
}
