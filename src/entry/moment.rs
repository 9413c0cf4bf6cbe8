//! Parses times as people type them: `18:40`, `yesterday 18:40`, `mon 07:00`, `2026-11-23`, each as a moment or a day.
//!
//! An ambiguous time is rejected, never guessed: a time that a clock change repeats, "Monday" on a Monday, "today"
//! between midnight and the start of the care day. The time is read back in full before it is written.

use chrono::{DateTime, Datelike, Duration, FixedOffset, NaiveDate, NaiveDateTime, NaiveTime, Timelike, Weekday};

use super::day_part::{in_full, is_by_day_part};
use super::time_of_day::{bare_hour, time};
use super::us_date::{by_numbers, iso_day, near_year, us_day};
use crate::day::{Calendar, ClockChange, GRACE_MINUTES, Instant, after, before, plus};
use crate::record::Moment;
use crate::text::{cut, visible};

/// The moment of typing and the patient's calendar.
#[derive(Debug, Clone, Copy)]
pub struct Clock<'a> {
    /// The current time.
    pub now: Instant,
    /// The patient's calendar.
    pub calendar: &'a Calendar,
}

/// A typed time.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Said {
    /// A moment.
    At(Moment),
    /// A day; the time is unknown.
    On(NaiveDate),
}

/// The parts of a typed time.
#[derive(Default)]
struct Parts {
    day: Option<Day>,
    time: Option<NaiveTime>,
    offset: Option<FixedOffset>,
}

#[derive(Clone, Copy)]
enum Day {
    Date(NaiveDate),
    /// A month and a day without a year.
    OfAnyYear(u32, u32),
    Today(i64),
    Weekday(Weekday),
}

/// The direction of a time: past or future.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Direction {
    Back,
    Ahead,
}

/// A typed text in a message: visible, and short enough for the rest to be read.
fn as_typed(text: &str) -> String {
    cut(&visible(text), 60)
}

impl Clock<'_> {
    /// The current time to the second, with the UTC offset of the patient's time zone.
    pub fn moment(&self) -> Moment {
        let wall = self.wall();
        Moment {
            wall: wall.naive_local().with_nanosecond(0).unwrap_or(wall.naive_local()),
            offset: Some(*wall.offset()),
        }
    }

    /// The instant of a record's moment.
    pub fn instant(&self, moment: Moment) -> Option<Instant> {
        moment.instant(self.calendar)
    }

    /// Parses the time of a past event.
    ///
    /// ```
    /// # use exitsite::{day::Calendar, entry::{Clock, Said}};
    /// # let calendar = Calendar::new("03:00:00".parse().unwrap(), chrono_tz::America::Chicago);
    /// # let said = |now: &str, text: &str| {
    /// #     match (Clock { now: now.parse().unwrap(), calendar: &calendar }).past(text) {
    /// #         Ok(Said::At(moment)) => moment.to_string(), Ok(Said::On(day)) => day.to_string(), Err(sentence) => sentence,
    /// #     }
    /// # };
    /// let morning = "2026-11-24T07:15:00-06:00"; // a Tuesday
    /// assert_eq!(said(morning, "now"), "2026-11-24T07:15:00-06:00");
    /// assert_eq!(said(morning, "06:40"), "2026-11-24T06:40:00-06:00");
    /// assert_eq!(said(morning, "1:30"), "2026-11-24T01:30:00-06:00"); // the night before this morning
    /// assert_eq!(said(morning, "yesterday 18:40"), "2026-11-23T18:40:00-06:00");
    /// assert_eq!(said(morning, "yesterday 6:40 pm"), "2026-11-23T18:40:00-06:00");
    /// assert_eq!((said(morning, "6 am"), said(morning, "6a")), (said(morning, "06:00"), said(morning, "0600")));
    /// assert_eq!((said(morning, "midnight"), said(morning, "mon noon")), (said(morning, "0:00"), said(morning, "mon 1200")));
    /// assert_eq!(said(morning, "mon 1840"), "2026-11-23T18:40:00-06:00");
    /// for typed in ["yesterday 7:15 pm", "yesterday 715p", "yesterday 7:15p", "yesterday 1915", "yesterday 19:15"] {
    ///     assert_eq!(said(morning, typed), "2026-11-23T19:15:00-06:00", "{typed}");
    /// }
    /// assert_eq!((said(morning, "0715"), said(morning, "715")), (said(morning, "07:15"), said(morning, "7:15 am")));
    /// // an hour alone is asked about
    /// assert_eq!(said(morning, "8"), "\"8\" could be more than one time. Type 08:00 or 20:00.");
    /// assert!(said(morning, "yesterday 10").contains("Type \"yesterday 10:00am\" or \"yesterday 22:00\"."));
    /// // and so is a time whose other half of the day is nearer
    /// assert_eq!(said(morning, "yesterday 6:40"), "\"yesterday 6:40\" could be more than one time. Type \"yesterday 06:40\" or \"yesterday 18:40\".");
    /// assert_eq!(said("2026-11-24T19:05:00-06:00", "6:40"), "\"6:40\" could be more than one time. Type 06:40 or 18:40.");
    /// assert_eq!(said("2026-11-24T23:05:00-06:00", "10:15"), "\"10:15\" could be more than one time. Type 10:15am or 22:15.");
    /// // a part of the day; after midnight, the date is needed
    /// assert_eq!(said(morning, "last night at 9"), "2026-11-23T21:00:00-06:00");
    /// assert_eq!(said(morning, "this morning 6:30"), "2026-11-24T06:30:00-06:00");
    /// assert!(said(morning, "this morning 8").contains("is in the future") && said(morning, "last night").contains("no time"));
    /// assert!(said(morning, "yesterday at 9").contains("Type \"yesterday 09:00\" or \"yesterday 21:00\"."));
    /// assert!(said("2026-11-24T01:30:00-06:00", "last night at 9").contains("such as 2026-11-23."));
    /// assert_eq!(said(morning, "wednesday"), "2026-11-18");
    /// assert_eq!(said(morning, "yesterday"), "2026-11-23");
    /// assert_eq!(said(morning, "2026-11-23"), "2026-11-23");
    /// // in US style; without a year, the last such day
    /// assert_eq!(said(morning, "11/23/2026 6:40 pm"), "2026-11-23T18:40:00-06:00");
    /// assert_eq!(said(morning, "11/3/26"), "2026-11-03");
    /// assert_eq!(said(morning, "12/24"), "2025-12-24");
    /// assert_eq!(said(morning, "Nov 22 18:30"), "2026-11-22T18:30:00-06:00");
    /// assert_eq!(said(morning, "march 3 2024"), "2024-03-03");
    /// assert_eq!(said(morning, "March 3, 2024 6:40 pm"), "2024-03-03T18:40:00-06:00");
    /// assert!(said(morning, "smarch 3 2024").contains("is not a time") && said(morning, "feb 30").contains("not a time"));
    /// assert!(said(morning, "23/11/2026").contains("is not a time"));
    /// assert!(said(morning, "11/23/226").contains("is not a time"));
    /// assert_eq!(said(morning, "2026-11-23T18:40"), "2026-11-23T18:40:00-06:00");
    /// assert_eq!(said(morning, "2026-11-23 18:40-07:00"), "2026-11-23T19:40:00-06:00"); // by the patient's clock
    /// // after midnight, the evening before is still in this care day
    /// assert_eq!(said("2026-11-24T01:30:00-06:00", "23:50"), "2026-11-23T23:50:00-06:00");
    /// assert!(said("2026-11-24T01:30:00-06:00", "yesterday").contains("Write the date"));
    /// // a future time, an ambiguous day, and a time that never existed
    /// assert!(said(morning, "18:40").contains("\"yesterday 18:40\""));
    /// assert!(said(morning, "tomorrow 10:00").contains("is in the future"));
    /// assert!(said(morning, "2026-12-23").contains("is in the future"));
    /// assert!(said(morning, "tuesday").contains("Write today or the date"));
    /// let skipped = "2026-03-08T02:30 does not exist: the clocks went forward. Write 2026-03-08T03:30 if your clock had not changed.";
    /// assert_eq!(said(morning, "2026-03-08T02:30"), skipped);
    /// let repeated = "2026-11-01T01:30 occurred twice: the clocks went back. Write 2026-11-01T01:30-05:00 for the first, 2026-11-01T01:30-06:00 for the second.";
    /// assert_eq!(said(morning, "2026-11-01T01:30"), repeated);
    /// assert!(said(morning, "half past six").contains("18:40"));
    /// ```
    ///
    /// # Errors
    /// One sentence that says what to type instead.
    pub fn past(&self, text: &str) -> Result<Said, String> {
        match self.unclear_half(text) {
            Some(sentence) => Err(sentence),
            None => self.read_past(text),
        }
    }

    /// Parses the time of a past event on the 24-hour clock, as in the columns of a log.
    pub(super) fn read_past(&self, text: &str) -> Result<Said, String> {
        let said = self.read(text, Direction::Back)?;
        let latest = self.now + Duration::minutes(GRACE_MINUTES);
        let has_come = match said {
            Said::At(Moment { wall, offset: Some(offset) }) => {
                wall.and_local_timezone(offset).earliest().is_none_or(|instant| instant <= latest)
            }
            Said::At(_) => true,
            Said::On(day) => day <= self.wall().date_naive(),
        };
        if has_come {
            Ok(said)
        } else {
            Err(format!("\"{text}\" is in the future. Check the date.", text = as_typed(text)))
        }
    }

    /// Parses a future time.
    ///
    /// # Errors
    /// One sentence that says what to type instead.
    pub fn ahead(&self, text: &str) -> Result<Moment, String> {
        match self.read(text, Direction::Ahead)? {
            Said::At(moment) => Ok(moment),
            Said::On(_) => Err(format!("\"{text}\" has no time. Write \"{text} 18:00\".", text = as_typed(text))),
        }
    }

    /// The calendar date, which between midnight and the start of the care day is the next one.
    pub(crate) fn date(&self) -> NaiveDate {
        self.wall().date_naive()
    }

    /// The current care day as a question offers it: `today`, or its date between midnight and the start of the care
    /// day.
    pub(crate) fn today_as_typed(&self) -> String {
        if self.is_two_days() { self.calendar.today(self.now).to_string() } else { "`today`".to_owned() }
    }

    /// Returns true between midnight and the start of the care day, when "today" could be two days.
    fn is_two_days(&self) -> bool {
        self.wall().time() < self.calendar.starts()
    }

    /// The sentence about a day word between midnight and the start of the care day.
    fn two_days(&self, text: &str) -> String {
        let today = self.calendar.today(self.now);
        format!("After midnight \"{text}\" could be two days. Write the date, such as {today}.", text = as_typed(text))
    }

    /// Parses a day.
    ///
    /// # Errors
    /// One sentence that says what to type instead.
    pub fn day(&self, text: &str) -> Result<NaiveDate, String> {
        if Parts::read(text).is_none_or(|parts| parts.day.is_none() && parts.time.is_none()) && text.trim() != "now" {
            let words = if self.is_two_days() {
                "2026-11-23 or 11/23/2026"
            } else {
                "2026-11-23, 11/23/2026, today or yesterday"
            };
            return Err(format!("\"{text}\" is not a date. Write {words}.", text = as_typed(text)));
        }
        match self.read(text, Direction::Back)? {
            Said::On(day) => Ok(day),
            Said::At(_) => Err(format!(
                "\"{text}\" has a time. Write only the day, such as 2026-11-23 or yesterday.",
                text = as_typed(text)
            )),
        }
    }

    fn read(&self, text: &str, direction: Direction) -> Result<Said, String> {
        if text.trim().eq_ignore_ascii_case("now") {
            return Ok(Said::At(self.moment()));
        }
        if is_by_day_part(text) && self.is_two_days() {
            return Err(self.two_days(text));
        }
        let full = in_full(text, direction == Direction::Ahead)?;
        let text = full.as_str();
        let is_day = |text: &str| Parts::read(text).is_some_and(|parts| parts.day.is_some() && parts.time.is_none());
        bare_hour(text, is_day).map_or(Ok(()), Err)?;
        let unknown = || match direction {
            Direction::Back => format!(
                "\"{text}\" is not a time. Write 18:40, 9pm, \"yesterday 18:40\", 2026-11-23T18:40, or 2026-11-23 alone.",
                text = as_typed(text)
            ),
            Direction::Ahead => {
                format!(
                    "\"{text}\" is not a time. Write 18:40, 9pm, \"tomorrow 12:00\", or 2026-11-23T18:40.",
                    text = as_typed(text)
                )
            }
        };
        let parts = Parts::read(text).ok_or_else(unknown)?;
        let Some(time) = parts.time else {
            let day = parts.day.ok_or_else(unknown)?;
            if !matches!(day, Day::Date(_) | Day::OfAnyYear(..)) && self.is_two_days() {
                return Err(self.two_days(text));
            }
            return Ok(Said::On(self.date_of(day, direction)?));
        };
        let date = match parts.day {
            Some(day) => self.date_of(day, direction)?,
            None => self.date_of_time(time, text, direction)?,
        };
        self.moment_of(date.and_time(time), parts.offset).map(Said::At)
    }

    fn wall(&self) -> DateTime<FixedOffset> {
        self.calendar.on_the_wall(self.now, self.calendar.today(self.now))
    }

    fn date_of(&self, day: Day, direction: Direction) -> Result<NaiveDate, String> {
        let today = self.wall().date_naive();
        match day {
            Day::Date(date) => Ok(date),
            Day::OfAnyYear(month, day) => near_year(today, month, day, direction == Direction::Back),
            Day::Today(days) => Ok(plus(today, days)),
            Day::Weekday(weekday) if weekday == today.weekday() => {
                Err(format!("Today is {}. Write today or the date.", today.format("%A")))
            }
            Day::Weekday(weekday) => {
                let next: fn(NaiveDate) -> NaiveDate = if direction == Direction::Back { before } else { after };
                let mut date = next(today);
                while date.weekday() != weekday {
                    date = next(date);
                }
                Ok(date)
            }
        }
    }

    /// The date of a time typed without a day: today, or yesterday while the night still belongs to that care day.
    fn date_of_time(&self, time: NaiveTime, text: &str, direction: Direction) -> Result<NaiveDate, String> {
        let wall = self.wall();
        let today = wall.date_naive();
        let latest = wall.naive_local() + Duration::minutes(GRACE_MINUTES);
        match direction {
            Direction::Ahead if today.and_time(time) >= wall.naive_local() => Ok(today),
            Direction::Ahead => {
                Err(format!("{text} has passed today. Write \"tomorrow {text}\".", text = as_typed(text)))
            }
            Direction::Back if today.and_time(time) <= latest => Ok(today),
            Direction::Back if wall.time() < self.calendar.starts() => Ok(before(today)),
            Direction::Back => Err(format!(
                "{text} today is in the future. For the day before, write \"yesterday {text}\".",
                text = as_typed(text)
            )),
        }
    }

    /// A wall-clock time with its UTC offset, as written.
    fn moment_of(&self, wall: NaiveDateTime, offset: Option<FixedOffset>) -> Result<Moment, String> {
        if let Some(offset) = offset {
            // Written in the patient's time zone, regardless of the offset typed.
            let instant = wall.checked_sub_offset(offset).map(|utc| utc.and_utc());
            let own = instant.map(|instant| self.calendar.on_the_wall(instant, self.calendar.today(instant)));
            return Ok(own.map_or(Moment { wall, offset: Some(offset) }, |own| Moment {
                wall: own.naive_local(),
                offset: Some(*own.offset()),
            }));
        }
        let care_day = self.calendar.care_day(wall);
        match self.calendar.instant(wall) {
            Ok(instant) => Ok(Moment { wall, offset: Some(*self.calendar.on_the_wall(instant, care_day).offset()) }),
            Err(ClockChange::Skipped) => {
                let forward = self.offset_near(wall, 2).map_or(0, |offset| offset.local_minus_utc())
                    - self.offset_near(wall, -2).map_or(0, |offset| offset.local_minus_utc());
                let then = wall + Duration::seconds(forward.into());
                let (wall, then) = (shown(wall), shown(then));
                Err(format!(
                    "{wall} does not exist: the clocks went forward. Write {then} if your clock had not changed."
                ))
            }
            Err(ClockChange::Repeated) => {
                let with_offset = |hours| {
                    let offset = self.offset_near(wall, hours).map(|offset| offset.to_string());
                    format!("{}{}", shown(wall), offset.unwrap_or_default())
                };
                Err(format!(
                    "{} occurred twice: the clocks went back. Write {} for the first, {} for the second.",
                    shown(wall),
                    with_offset(-2),
                    with_offset(2)
                ))
            }
        }
    }

    /// The UTC offset in force some hours from a wall-clock time.
    fn offset_near(&self, wall: NaiveDateTime, hours: i64) -> Option<FixedOffset> {
        let near = self.calendar.instant(wall + Duration::hours(hours)).ok()?;
        Some(*self.calendar.on_the_wall(near, self.calendar.care_day(wall)).offset())
    }
}

fn shown(wall: NaiveDateTime) -> impl std::fmt::Display {
    wall.format("%Y-%m-%dT%H:%M")
}

impl Parts {
    fn read(text: &str) -> Option<Parts> {
        let lower = text.trim().to_lowercase();
        let spaced = match lower.split_once('t') {
            Some((date, time)) if date.parse::<NaiveDate>().is_ok() => format!("{date} {time}"),
            _ => lower,
        };
        let spaced = spaced.replace(" am", "am").replace(" pm", "pm");
        let spaced = by_numbers(&spaced);
        let mut parts = Parts::default();
        for word in spaced.split_whitespace() {
            if let Some(day) = day(word).filter(|_| parts.day.is_none() && parts.time.is_none()) {
                parts.day = Some(day);
            } else if let Some((time, offset)) = time(word).filter(|_| parts.time.is_none()) {
                (parts.time, parts.offset) = (Some(time), offset);
            } else {
                return None;
            }
        }
        Some(parts)
    }
}

fn day(word: &str) -> Option<Day> {
    match word {
        "today" => Some(Day::Today(0)),
        "yesterday" => Some(Day::Today(-1)),
        "tomorrow" => Some(Day::Today(1)),
        word if word.contains('/') => us_day(word).and_then(|(year, month, day)| match year {
            Some(year) => NaiveDate::from_ymd_opt(year, month, day).map(Day::Date),
            None => Some(Day::OfAnyYear(month, day)),
        }),
        word if word.len() == 10 => iso_day(word).map(Day::Date),
        word => word.parse().ok().map(Day::Weekday),
    }
}
