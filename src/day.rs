//! Care days and instants: when a care day starts and ends, in which time zone, and which day is *today*.
//!
//! A care day runs from `care_day_starts` to the same wall-clock time on the next day, so that a change by the night
//! shift at 01:30 belongs to the day before. All day arithmetic uses calendar dates; an instant is computed only for a
//! deadline or for the order of events.
//!
//! Left out on purpose: the clock. *Now* is a parameter, which only `main` reads.

use chrono::{
    DateTime, Datelike, Duration, FixedOffset, LocalResult, Months, NaiveDate, NaiveDateTime, NaiveTime, Offset,
    SecondsFormat, TimeZone, Utc,
};
use chrono_tz::Tz;
use schemars::JsonSchema;
use serde::{Serialize, Serializer};

use crate::text;

/// A point in time, in UTC.
pub type Instant = DateTime<Utc>;

/// A wall-clock time with its offset; RFC 3339 in JSON.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, JsonSchema)]
#[schemars(with = "String")]
pub struct WallTime(pub DateTime<FixedOffset>);

impl WallTime {
    /// The instant.
    pub fn instant(self) -> Instant {
        self.0.to_utc()
    }
}

impl Serialize for WallTime {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(&self.0.to_rfc3339_opts(SecondsFormat::Secs, false))
    }
}

/// Tolerance for records from the future, in minutes: clocks differ.
pub(crate) const GRACE_MINUTES: i64 = 10;

/// A range of days, both ends included.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Period {
    /// First day.
    pub from: NaiveDate,
    /// Last day.
    pub to: NaiveDate,
}

/// The maximum length of a period, in years.
const LONGEST_PERIOD: u32 = 50;

impl Period {
    /// Checks a period that is requested on a day.
    ///
    /// # Errors
    /// It ends before it begins, has not started yet, or is too long.
    pub fn asked(from: NaiveDate, to: NaiveDate, today: NaiveDate) -> Result<Period, String> {
        let last = from.checked_add_months(Months::new(12 * LONGEST_PERIOD));
        if from > today {
            Err(format!("{from} to {to} has not started: today is {today}; choose a period that has"))
        } else if to < from {
            Err(format!("{from} to {to} ends before it begins; swap the two days"))
        } else if last.is_none_or(|last| to >= last) {
            Err(format!("{from} to {to} is more than {LONGEST_PERIOD} years; choose a shorter period"))
        } else {
            Ok(Period { from, to })
        }
    }

    /// Returns true if `day` is one of these days.
    pub fn contains(&self, day: NaiveDate) -> bool {
        self.from <= day && day <= self.to
    }

    /// The days, in order.
    pub fn days(&self) -> impl Iterator<Item = NaiveDate> {
        let to = self.to;
        self.from.iter_days().take_while(move |day| *day <= to)
    }
}

/// The reason why a wall-clock time does not have exactly one instant.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ClockChange {
    /// Skipped: the clocks went forward past it.
    Skipped,
    /// Repeated: the clocks went back over it.
    Repeated,
}

/// The start of the care day, and the time zone of each day.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Calendar {
    starts: NaiveTime,
    policy_zone: Tz,
    /// Time zones, each from a day on, in order; the first one also applies before its day.
    zones: Vec<(NaiveDate, Tz)>,
}

impl Calendar {
    /// The calendar of a program: one time zone for all days.
    pub fn new(starts: NaiveTime, policy_zone: Tz) -> Self {
        Calendar { starts, policy_zone, zones: Vec::new() }
    }

    /// The calendar of a patient: the time zones of the `[[care]]` rows, each from a day until the next.
    pub fn with_zones(&self, zones: Vec<(NaiveDate, Tz)>) -> Self {
        Calendar { zones, ..self.clone() }
    }

    /// The wall-clock time at which a care day starts.
    pub fn starts(&self) -> NaiveTime {
        self.starts
    }

    /// The time zone of the program's policy.
    pub(crate) fn policy_zone(&self) -> Tz {
        self.policy_zone
    }

    /// The time zone on a day: that of the last row that begins on or before it; the first one also applies earlier.
    pub fn zone(&self, day: NaiveDate) -> Tz {
        let row = self.zones.iter().rev().find(|(from, _)| *from <= day).or(self.zones.first());
        row.map_or(self.policy_zone, |(_, zone)| *zone)
    }

    /// The care day of a wall-clock time: its date, or the previous date if the time is before the start of the care day.
    ///
    /// ```
    /// # use exitsite::day::Calendar;
    /// # let (date, time) = (|t: &str| t.parse::<chrono::NaiveDate>().unwrap(), |t: &str| t.parse::<chrono::NaiveDateTime>().unwrap());
    /// let chicago = Calendar::new("03:00:00".parse().unwrap(), chrono_tz::America::Chicago);
    /// // a change by the night shift belongs to the day before
    /// assert_eq!(chicago.care_day(time("2026-11-24T01:30:00")), date("2026-11-23"));
    /// assert_eq!(chicago.care_day(time("2026-11-24T02:59:59")), date("2026-11-23"));
    /// // at the start of the care day the new day begins
    /// assert_eq!(chicago.care_day(time("2026-11-24T03:00:00")), date("2026-11-24"));
    /// // midnight is still the day before, across the end of a month and of a year
    /// assert_eq!(chicago.care_day(time("2026-12-01T00:00:00")), date("2026-11-30"));
    /// assert_eq!(chicago.care_day(time("2027-01-01T02:00:00")), date("2026-12-31"));
    /// // and across a leap day
    /// assert_eq!(chicago.care_day(time("2028-03-01T02:00:00")), date("2028-02-29"));
    /// ```
    pub fn care_day(&self, wall: NaiveDateTime) -> NaiveDate {
        if wall.time() < self.starts { before(wall.date()) } else { wall.date() }
    }

    /// The start of a care day, in the time zone of that day.
    pub fn start(&self, day: NaiveDate) -> Instant {
        self.boundary(day, self.zone(day))
    }

    /// The end of a care day: `care_day_starts` on the next date, in the time zone of the day itself.
    ///
    /// If the time zone skips that wall-clock time, the first instant after the gap; if it repeats it, the later one.
    ///
    /// ```
    /// # use exitsite::day::Calendar;
    /// # let date = |t: &str| t.parse::<chrono::NaiveDate>().unwrap();
    /// # let end = |zone: chrono_tz::Tz, starts: &str, day: &str| {
    /// #     let calendar = Calendar::new(starts.parse().unwrap(), zone);
    /// #     calendar.end(date(day)).to_rfc3339_opts(chrono::SecondsFormat::Secs, true)
    /// # };
    /// use chrono_tz::{America::Chicago, Australia::Lord_Howe, Europe::Berlin, Pacific::Apia};
    /// assert_eq!(end(Chicago, "03:00:00", "2026-11-23"), "2026-11-24T09:00:00Z");
    /// // the night the clocks go forward (2026-03-08 02:00 -> 03:00) is an hour shorter …
    /// assert_eq!(end(Chicago, "03:00:00", "2026-03-06"), "2026-03-07T09:00:00Z");
    /// assert_eq!(end(Chicago, "03:00:00", "2026-03-07"), "2026-03-08T08:00:00Z");
    /// // … and the night they go back (2026-11-01 02:00 -> 01:00) an hour longer
    /// assert_eq!(end(Chicago, "03:00:00", "2026-10-30"), "2026-10-31T08:00:00Z");
    /// assert_eq!(end(Chicago, "03:00:00", "2026-10-31"), "2026-11-01T09:00:00Z");
    /// // a start that is skipped: the first instant after the gap
    /// assert_eq!(end(Chicago, "02:30:00", "2026-03-07"), "2026-03-08T08:00:00Z");
    /// // a start that is repeated: the later one
    /// assert_eq!(end(Chicago, "01:30:00", "2026-10-31"), "2026-11-01T07:30:00Z");
    /// // Lord Howe moves by half an hour (2026-10-04 02:00 -> 02:30, 2026-04-05 02:00 -> 01:30)
    /// assert_eq!(end(Lord_Howe, "02:15:00", "2026-10-03"), "2026-10-03T15:30:00Z");
    /// assert_eq!(end(Lord_Howe, "01:45:00", "2026-04-04"), "2026-04-04T15:15:00Z");
    /// // Berlin goes forward on 2026-03-29 02:00 -> 03:00
    /// assert_eq!(end(Berlin, "03:00:00", "2026-03-28"), "2026-03-29T01:00:00Z");
    /// // Apia had no 2011-12-30 at all
    /// assert_eq!(end(Apia, "03:00:00", "2011-12-29"), "2011-12-30T10:00:00Z");
    /// // leap day and year end
    /// assert_eq!(end(Chicago, "03:00:00", "2028-02-28"), "2028-02-29T09:00:00Z");
    /// assert_eq!(end(Chicago, "03:00:00", "2026-12-31"), "2027-01-01T09:00:00Z");
    /// ```
    pub fn end(&self, day: NaiveDate) -> Instant {
        self.boundary(after(day), self.zone(day))
    }

    /// The care day that contains `instant`, in the time zone of the instant's date in the policy's time zone.
    ///
    /// ```
    /// # use exitsite::day::Calendar;
    /// # let date = |t: &str| t.parse::<chrono::NaiveDate>().unwrap();
    /// # let instant = |t: &str| t.parse::<chrono::DateTime<chrono::Utc>>().unwrap();
    /// use chrono_tz::America::{Chicago, Denver};
    /// let chicago = Calendar::new("03:00:00".parse().unwrap(), Chicago);
    /// assert_eq!(chicago.today(instant("2026-11-24T08:59:59Z")), date("2026-11-23"));
    /// assert_eq!(chicago.today(instant("2026-11-24T09:00:00Z")), date("2026-11-24"));
    /// // a patient in Denver is an hour behind
    /// let denver = chicago.with_zones(vec![(date("2026-09-01"), Denver)]);
    /// assert_eq!(denver.today(instant("2026-11-24T09:30:00Z")), date("2026-11-23"));
    /// assert_eq!(denver.today(instant("2026-11-24T10:00:00Z")), date("2026-11-24"));
    /// ```
    pub fn today(&self, instant: Instant) -> NaiveDate {
        let zone = self.zone(instant.with_timezone(&self.policy_zone).date_naive());
        let mut day = before(before(instant.with_timezone(&zone).date_naive()));
        while self.boundary(after(day), zone) <= instant {
            day = after(day);
        }
        day
    }

    /// The instant of a wall-clock time without an offset, in the time zone of its care day.
    ///
    /// ```
    /// # use exitsite::day::{Calendar, ClockChange};
    /// # let time = |t: &str| t.parse::<chrono::NaiveDateTime>().unwrap();
    /// let chicago = Calendar::new("03:00:00".parse().unwrap(), chrono_tz::America::Chicago);
    /// assert_eq!(chicago.instant(time("2026-11-24T07:15:00")).unwrap().to_rfc3339(), "2026-11-24T13:15:00+00:00");
    /// assert_eq!(chicago.instant(time("2026-07-24T07:15:00")).unwrap().to_rfc3339(), "2026-07-24T12:15:00+00:00");
    /// assert_eq!(chicago.instant(time("2026-03-08T02:30:00")), Err(ClockChange::Skipped));
    /// assert_eq!(chicago.instant(time("2026-11-01T01:30:00")), Err(ClockChange::Repeated));
    /// ```
    ///
    /// # Errors
    /// The clock change that skips or repeats the time.
    pub fn instant(&self, wall: NaiveDateTime) -> Result<Instant, ClockChange> {
        match self.zone(self.care_day(wall)).from_local_datetime(&wall) {
            LocalResult::Single(time) => Ok(time.to_utc()),
            LocalResult::Ambiguous(..) => Err(ClockChange::Repeated),
            LocalResult::None => Err(ClockChange::Skipped),
        }
    }

    /// Returns true if the time zone in force uses `offset` at that time.
    pub(crate) fn uses_offset(&self, wall: NaiveDateTime, offset: FixedOffset) -> bool {
        let zone = self.zone(self.care_day(wall));
        wall.checked_sub_offset(offset).is_some_and(|utc| zone.offset_from_utc_datetime(&utc).fix() == offset)
    }

    /// Converts an instant to the wall-clock time in the time zone in force.
    pub fn wall(&self, instant: Instant) -> WallTime {
        WallTime(self.on_the_wall(instant, self.today(instant)))
    }

    /// The calendar date of an instant on the wall, which after midnight is the day after the care day.
    ///
    /// ```
    /// # use exitsite::day::Calendar;
    /// let chicago = Calendar::new("03:00:00".parse().unwrap(), chrono_tz::America::Chicago);
    /// assert_eq!(chicago.date("2026-11-25T07:30:00Z".parse().unwrap()).to_string(), "2026-11-25");
    /// ```
    pub fn date(&self, instant: Instant) -> NaiveDate {
        self.wall(instant).0.date_naive()
    }

    /// The UTC offset of an instant on the wall, if it differs from that in the policy's time zone.
    ///
    /// ```
    /// use {chrono_tz::America::{Chicago, Denver}, exitsite::day::Calendar};
    /// let chicago = Calendar::new("03:00:00".parse().unwrap(), Chicago);
    /// let (denver, at) = (chicago.with_zones(vec![(Default::default(), Denver)]), "2026-11-24T13:15:00Z".parse().unwrap());
    /// assert_eq!((chicago.other_offset(at), denver.other_offset(at)), (None, Some("-07:00".to_owned())));
    /// ```
    pub fn other_offset(&self, instant: Instant) -> Option<String> {
        let own = *self.wall(instant).0.offset();
        (own != instant.with_timezone(&self.policy_zone).offset().fix()).then(|| own.to_string())
    }

    /// Converts an instant to the wall-clock time on `day`, with its offset.
    pub fn on_the_wall(&self, instant: Instant, day: NaiveDate) -> DateTime<FixedOffset> {
        instant.with_timezone(&self.zone(day)).fixed_offset()
    }

    /// Converts an instant to the wall-clock time on a care day.
    pub fn local(&self, instant: Instant, day: NaiveDate) -> WallTime {
        WallTime(self.on_the_wall(instant, day))
    }

    /// A date from 2020 to 2035 on which a time zone skips or repeats the start of the care day, if any.
    pub fn start_in_clock_change(&self) -> Option<(Tz, NaiveDate)> {
        let zones = self.zones.iter().map(|(_, zone)| *zone).chain([self.policy_zone]);
        zones.filter(|zone| *zone != Tz::UTC).find_map(|zone| {
            let days = NaiveDate::from_ymd_opt(2020, 1, 1)?.iter_days().take(16 * 366);
            let single = |day: &NaiveDate| zone.from_local_datetime(&day.and_time(self.starts)).single().is_some();
            days.into_iter().find(|day| !single(day)).map(|day| (zone, day))
        })
    }

    /// `care_day_starts` on a date, as an instant.
    fn boundary(&self, date: NaiveDate, zone: Tz) -> Instant {
        let wall = date.and_time(self.starts);
        match zone.from_local_datetime(&wall) {
            LocalResult::Single(time) | LocalResult::Ambiguous(_, time) => time.to_utc(),
            LocalResult::None => end_of_gap(wall, zone),
        }
    }
}

/// The first instant whose wall-clock time in `zone` is at or after `wall`, which the zone skips.
fn end_of_gap(wall: NaiveDateTime, zone: Tz) -> Instant {
    // Time zone offsets are at most 26 hours apart, so the end of the gap lies between these two.
    let (mut early, mut late) = (wall - Duration::hours(26), wall + Duration::hours(26));
    while late - early > Duration::seconds(1) {
        let middle = early + Duration::seconds((late - early).num_seconds() / 2);
        if zone.from_utc_datetime(&middle).naive_local() < wall {
            early = middle;
        } else {
            late = middle;
        }
    }
    late.and_utc()
}

/// The day before; saturates at the minimum date.
pub fn before(day: NaiveDate) -> NaiveDate {
    day.pred_opt().unwrap_or(day)
}

/// The day after; saturates at the maximum date.
pub fn after(day: NaiveDate) -> NaiveDate {
    day.succ_opt().unwrap_or(day)
}

/// `n` days later, or earlier if `n` is negative.
pub fn plus(day: NaiveDate, n: i64) -> NaiveDate {
    let limit = if n < 0 { NaiveDate::MIN } else { NaiveDate::MAX };
    Duration::try_days(n).and_then(|days| day.checked_add_signed(days)).unwrap_or(limit)
}

/// Returns true if a date is allowed in the records: 1990-01-01 to 2199-12-31.
pub(crate) fn is_date_of_care(day: NaiveDate) -> bool {
    (1990..=2199).contains(&day.year())
}

/// The instant of a question.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct AsOf {
    /// The instant.
    pub instant: Instant,
    /// True if it was given (`--as-of`) rather than taken from the clock.
    pub is_given: bool,
}

impl AsOf {
    /// Parses `DATE[THH:MM[:SS][OFFSET]]`. A date alone means one second before the end of that care day.
    ///
    /// ```
    /// # use exitsite::day::{AsOf, Calendar};
    /// let chicago = Calendar::new("03:00:00".parse().unwrap(), chrono_tz::America::Chicago);
    /// let as_of = |text| AsOf::read(text, &chicago).map(|a| a.instant.to_rfc3339());
    /// assert_eq!(as_of("2026-11-24").unwrap(), "2026-11-25T08:59:59+00:00");
    /// assert_eq!(as_of("2026-11-24T07:15").unwrap(), "2026-11-24T13:15:00+00:00");
    /// assert_eq!(as_of("2026-11-24T07:15:30-07:00").unwrap(), "2026-11-24T14:15:30+00:00");
    /// assert_eq!(as_of("2026-11-24T13:15Z").unwrap(), "2026-11-24T13:15:00+00:00");
    /// assert!(as_of("2026-03-08T02:30").unwrap_err().contains("went forward"));
    /// assert!(as_of("2026-11-01T01:30").unwrap_err().contains("went back"));
    /// assert!(as_of("yesterday").is_err());
    /// assert!(as_of("9999-12-31T23:59Z").is_err());
    /// assert!(as_of("-262143-01-01T00:00Z").is_err());
    /// ```
    ///
    /// # Errors
    /// One sentence that says what to type instead.
    pub fn read(text: &str, calendar: &Calendar) -> Result<AsOf, String> {
        let given = |instant| Ok(AsOf { instant, is_given: true });
        let calendar = Calendar::new(calendar.starts, calendar.policy_zone);
        if let Some(day) = NaiveDate::parse_from_str(text, "%Y-%m-%d").ok().filter(|day| is_date_of_care(*day)) {
            return given(calendar.end(day) - Duration::seconds(1));
        }
        for form in ["%Y-%m-%dT%H:%M:%S%#z", "%Y-%m-%dT%H:%M%#z"] {
            if let Ok(time) = DateTime::parse_from_str(&text.replace('Z', "+00:00"), form)
                && is_date_of_care(time.date_naive())
            {
                return given(time.to_utc());
            }
        }
        let wall = ["%Y-%m-%dT%H:%M:%S", "%Y-%m-%dT%H:%M"]
            .iter()
            .find_map(|form| NaiveDateTime::parse_from_str(text, form).ok())
            .filter(|wall| is_date_of_care(wall.date()))
            .ok_or_else(|| {
                format!("\"{}\" is not a date or a time. Write 2026-11-24 or 2026-11-24T07:15.", text::visible(text))
            })?;
        match calendar.instant(wall) {
            Ok(instant) => given(instant),
            Err(ClockChange::Skipped) => Err(format!(
                "{text} does not exist: the clocks went forward past it; add the offset, such as {text}-05:00"
            )),
            Err(ClockChange::Repeated) => Err(format!(
                "{text} happened twice: the clocks went back over it; add the offset, such as {text}-05:00"
            )),
        }
    }
}
