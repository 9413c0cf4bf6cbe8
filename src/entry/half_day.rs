//! A past time typed without am or pm that could be in either half of the day: at seven in the evening, `6:40` is 06:40 or
//! 18:40. [`super::Clock`] rejects it; a person at a terminal is asked.
//!
//! Left out on purpose: `06:40` and `0640`, `10:15` after a date written 2026-11-23, and a time with seconds, an offset or a
//! part of the day, all of which are clear.

use chrono::{Duration, NaiveDate, NaiveDateTime, Timelike};

use super::day_part::is_by_day_part;
use super::moment::{Clock, Said};
use super::time_of_day::time;
use super::us_date::iso_day;
use crate::day::{GRACE_MINUTES, before};
use crate::text::{cut, visible};

/// One of the two times that a typed time could be.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct HalfDay {
    /// The time in words: `this morning 06:40`.
    pub words: String,
    /// The time as it can be typed: `06:40`, `yesterday 18:40`.
    pub typed: String,
}

impl Clock<'_> {
    /// Returns the two times that a past time could be, the earlier first; `None` if it is clear.
    ///
    /// A time from 1:00 to 12:59 without am or pm and without a leading zero could be two, if the other half of the day is
    /// nearer to now and has come.
    ///
    /// ```
    /// # use exitsite::{day::Calendar, entry::Clock};
    /// # let calendar = Calendar::new("03:00:00".parse().unwrap(), chrono_tz::America::Chicago);
    /// # let either = |now: &str, text: &str| {
    /// #     let halves = (Clock { now: now.parse().unwrap(), calendar: &calendar }).either_half(text);
    /// #     halves.map(|halves| halves.map(|half| half.words)).map(|words| words.join(", ")).unwrap_or_default()
    /// # };
    /// let evening = "2026-11-24T19:05:00-06:00"; // a Tuesday
    /// for typed in ["6:40", "640", "today 6:40", "at 6:40"] {
    ///     assert_eq!(either(evening, typed), "this morning 06:40, this evening 18:40", "{typed}");
    /// }
    /// assert_eq!(either(evening, "12:30"), ""); // 00:30 is further from now
    /// assert_eq!(either(evening, "7:30"), ""); // 19:30 is in the future
    /// assert_eq!(either(evening, "7:10"), "this morning 07:10, this evening 19:10"); // clocks differ by ten minutes
    /// for typed in ["06:40", "0640", "1015", "18:40", "6:40 am", "6:40p", "6:40:00", "6:40-06:00", "this morning 6:40"] {
    ///     assert_eq!(either(evening, typed), "", "{typed}");
    /// }
    /// // in the morning, only the day before has both halves
    /// let morning = "2026-11-24T07:15:00-06:00";
    /// assert_eq!(either(morning, "6:40"), "");
    /// assert_eq!(either(morning, "yesterday 6:40"), "yesterday morning 06:40, yesterday evening 18:40");
    /// assert_eq!(either(morning, "11/22 10:15"), "Sun Nov 22, 10:15, Sun Nov 22, 22:15");
    /// assert_eq!(either(morning, "2026-11-22 6:40"), "Sun Nov 22, 06:40, Sun Nov 22, 18:40");
    /// for typed in ["2026-11-22 06:40", "2026-11-22T10:15", "yesterday 1015", "yesterday noon", "tomorrow 6:40"] {
    ///     assert_eq!(either(morning, typed), "", "{typed}");
    /// }
    /// // after midnight
    /// let night = "2026-11-24T01:30:00-06:00";
    /// assert_eq!(either(night, "12:40"), "yesterday afternoon 12:40, tonight 00:40");
    /// assert_eq!(either(night, "11:50"), "yesterday morning 11:50, yesterday evening 23:50");
    /// assert_eq!(either(night, "1:10"), "");
    /// ```
    pub fn either_half(&self, text: &str) -> Option<[HalfDay; 2]> {
        let lower = text.trim().to_lowercase();
        let words: Vec<&str> = lower.split_whitespace().filter(|word| *word != "at").collect();
        let (last, days) = words.split_last()?;
        let (date, clock) = last.split_once('t').filter(|(date, _)| iso_day(date).is_some()).unwrap_or(("", last));
        let day = [days.join(" ").as_str(), date].concat();
        if is_by_day_part(text) || !is_either(clock, iso_day(&day).is_some()) {
            return None;
        }
        let (own, _) = time(clock)?;
        let other = own.with_hour((own.hour() + 12) % 24)?;
        let [own, other] = [own, other].map(|time| {
            // Two digits from 10 to 12 are clear with am or pm only.
            let spelled = match time.hour() {
                10..=12 => format!("{}{}", time.format("%H:%M"), if time.hour() < 12 { "am" } else { "pm" }),
                _ => time.format("%H:%M").to_string(),
            };
            let typed = format!("{day} {spelled}").trim().to_owned();
            match self.read_past(&typed) {
                Ok(Said::At(moment)) => Some((moment.wall, typed)),
                _ => None,
            }
        });
        let ((own, own_typed), (other, other_typed)) = own.zip(other)?;
        let now = self.moment().wall;
        let latest = now + Duration::minutes(GRACE_MINUTES);
        let is_nearer = (now - other).abs() < (now - own).abs();
        (own <= latest && other <= latest && is_nearer).then(|| {
            let half = |wall, typed| HalfDay { words: in_words(wall, now.date()), typed };
            let mut halves = [(own, own_typed), (other, other_typed)];
            halves.sort();
            halves.map(|(wall, typed)| half(wall, typed))
        })
    }

    /// The sentence about a time that could be two; `None` if it is clear.
    pub(super) fn unclear_half(&self, text: &str) -> Option<String> {
        let [one, other] = self.either_half(text)?.map(|half| match half.typed.contains(' ') {
            true => format!("\"{}\"", visible(&half.typed)),
            false => half.typed,
        });
        let typed = cut(&visible(text.trim()), 60);
        Some(format!("\"{typed}\" could be more than one time. Type {one} or {other}."))
    }
}

/// Returns true for a time of day that says neither am nor pm, nor by its form that it is on the 24-hour clock.
fn is_either(clock: &str, is_iso: bool) -> bool {
    let is_of_digits = |text: &str| text.bytes().all(|byte| byte.is_ascii_digit());
    let hour = match clock.split_once(':') {
        Some((hour, minute)) if is_of_digits(minute) => hour,
        None if clock.len() == 3 => &clock[..clock.len().min(1)],
        _ => return false,
    };
    let is_of_twelve = hour.parse().is_ok_and(|hour: u32| (1..=12).contains(&hour));
    is_of_digits(hour) && is_of_twelve && !hour.starts_with('0') && !(is_iso && hour.len() == 2)
}

fn in_words(wall: NaiveDateTime, today: NaiveDate) -> String {
    let part = match wall.hour() {
        5..12 => "morning",
        12..17 => "afternoon",
        17.. => "evening",
        _ => "night",
    };
    let time = wall.format("%H:%M");
    match wall.date() {
        day if day == today && part == "night" => format!("tonight {time}"),
        day if day == today => format!("this {part} {time}"),
        day if day == before(today) && part != "night" => format!("yesterday {part} {time}"),
        day => format!("{}, {time}", day.format("%a %b %-d")),
    }
}
