//! The plan of one patient's course: place of care, open exit sites, orders, and the events to come.
//!
//! Left out on purpose: which of it was recorded (the diary) and what the records imply (the truth).

use std::collections::BTreeSet;

use chrono::{DateTime, Datelike, Days, LocalResult, NaiveDate, NaiveTime, TimeDelta, TimeZone, Weekday};
use chrono_tz::Tz;

use crate::ending::{Kind, Plan};
use crate::record::Moment;

/// The place of care: home, hospital, or elsewhere.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(crate) enum Place {
    Inpatient,
    Home,
    Elsewhere,
}

/// The interval between changes: a number of days, or fixed weekdays.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(crate) enum Interval {
    Days(i64),
    Weekdays(&'static [Weekday]),
}

/// An exit site; `until` is its last day.
pub(crate) struct Exit {
    pub(crate) id: &'static str,
    pub(crate) position: &'static str,
    pub(crate) from: NaiveDate,
    pub(crate) why: &'static str,
    pub(crate) until: Option<NaiveDate>,
}

/// A `[[care]]` row, in force until the next.
pub(crate) struct Care {
    pub(crate) from: NaiveDate,
    pub(crate) place: Place,
    pub(crate) is_by_log: bool,
    pub(crate) zone: Option<Tz>,
}

/// The content of an `[[order]]`.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(crate) enum Ordered {
    Changes(Interval),
    NoShowers,
}

/// An `[[order]]`.
pub(crate) struct Order {
    pub(crate) from: NaiveDate,
    pub(crate) until: Option<NaiveDate>,
    pub(crate) what: Ordered,
    pub(crate) why: &'static str,
}

/// A `[[caregiver]]`.
pub(crate) struct Caregiver {
    pub(crate) code: String,
    pub(crate) relation: &'static str,
}

/// A kind of incident after discharge.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(crate) enum What {
    Readmission,
    Away,
    Surgery,
    Pull,
    Infection,
    Drainage,
}

/// An incident with its first and last day.
#[derive(Clone, Copy)]
pub(crate) struct Happening {
    pub(crate) what: What,
    pub(crate) from: NaiveDate,
    pub(crate) through: NaiveDate,
}

/// A household's log: the days it covers, and the day on which it is imported.
pub(crate) struct Log {
    pub(crate) from: NaiveDate,
    pub(crate) through: NaiveDate,
    pub(crate) read_on: NaiveDate,
}

/// A household's habits, at the dressing and on paper.
pub(crate) struct Habits {
    pub(crate) is_evening: bool,
    pub(crate) writes_times: bool,
    pub(crate) looks_at_all: bool,
    pub(crate) notes_materials: bool,
}

/// Everything decided about a patient before the first day is simulated.
pub(crate) struct Course {
    pub(crate) code: String,
    pub(crate) plan: &'static Plan,
    pub(crate) kind: Kind,
    /// The program's time zone.
    pub(crate) zone: Tz,
    /// The morning after the last recorded day.
    pub(crate) morning: NaiveDate,
    pub(crate) implanted: NaiveDate,
    pub(crate) records_from: NaiveDate,
    pub(crate) last_change_before: Option<NaiveDate>,
    pub(crate) intolerances: Vec<&'static str>,
    pub(crate) exits: Vec<Exit>,
    pub(crate) care: Vec<Care>,
    pub(crate) orders: Vec<Order>,
    pub(crate) caregivers: Vec<Caregiver>,
    pub(crate) ended: Option<(NaiveDate, &'static str)>,
    pub(crate) happenings: Vec<Happening>,
    pub(crate) visits: BTreeSet<NaiveDate>,
    pub(crate) logs: Vec<Log>,
    pub(crate) habits: Habits,
}

/// Returns the date `days` after a day, or before it if negative.
pub(crate) fn shift(day: NaiveDate, days: i64) -> NaiveDate {
    day + TimeDelta::days(days)
}

/// Returns the number of days from one day to another.
pub(crate) fn days_between(from: NaiveDate, to: NaiveDate) -> i64 {
    (to - from).num_days()
}

/// Returns the instant of a wall time in a zone; one hour later if the clock change skips or repeats that time.
pub(crate) fn moment_in(zone: Tz, day: NaiveDate, minutes: i64) -> Moment {
    let wall = day.and_time(NaiveTime::MIN) + TimeDelta::minutes(minutes);
    let at = match zone.from_local_datetime(&wall) {
        LocalResult::Single(at) => at,
        _ => zone
            .from_local_datetime(&(wall + TimeDelta::hours(1)))
            .earliest()
            .unwrap_or_else(|| DateTime::from_timestamp_nanos(0).with_timezone(&zone)),
    };
    at.fixed_offset()
}

impl Course {
    /// The care row in force on a day; before the first row, the first.
    fn care_on(&self, day: NaiveDate) -> &Care {
        let begun = self.care.iter().rev().find(|care| care.from <= day);
        begun.unwrap_or(&self.care[0])
    }

    /// The patient's place of care on a day.
    pub(crate) fn place(&self, day: NaiveDate) -> Place {
        self.care_on(day).place
    }

    /// True if the household reports by log on that day.
    pub(crate) fn is_by_log(&self, day: NaiveDate) -> bool {
        self.care_on(day).is_by_log
    }

    /// The time zone in force on a day.
    pub(crate) fn zone_on(&self, day: NaiveDate) -> Tz {
        self.care_on(day).zone.unwrap_or(self.zone)
    }

    /// Returns the instant `minutes` after midnight of a date, in the patient's zone.
    pub(crate) fn moment(&self, date: NaiveDate, minutes: i64) -> Moment {
        moment_in(self.zone_on(shift(date, minutes.div_euclid(1440))), date, minutes)
    }

    /// The first day at home.
    pub(crate) fn discharge(&self) -> Option<NaiveDate> {
        self.care.iter().find(|care| care.place == Place::Home).map(|care| care.from)
    }

    /// True if the patient is followed on a day.
    pub(crate) fn is_followed(&self, day: NaiveDate) -> bool {
        day >= self.records_from && self.ended.is_none_or(|(on, _)| day < on)
    }

    /// True if an exit site can be due for a change on a day.
    pub(crate) fn is_expected(&self, exit: &Exit, day: NaiveDate) -> bool {
        let is_open = exit.from.max(self.records_from) < day && exit.until.is_none_or(|until| day < until);
        is_open && self.is_followed(day) && self.place(day) != Place::Elsewhere
    }

    /// The indices of the exit sites that can be due for a change on a day.
    pub(crate) fn open_exits(&self, day: NaiveDate) -> Vec<usize> {
        (0..self.exits.len()).filter(|exit| self.is_expected(&self.exits[*exit], day)).collect()
    }

    /// The interval of an exit site on a day: as ordered; otherwise daily in the first three weeks and in the hospital,
    /// and every other day after that.
    pub(crate) fn interval(&self, exit: &Exit, day: NaiveDate) -> Interval {
        let running = self.orders.iter().filter(|order| order.runs_on(day));
        let ordered = running.filter_map(|order| match order.what {
            Ordered::Changes(interval) => Some((order.from, interval)),
            Ordered::NoShowers => None,
        });
        match ordered.max_by_key(|(from, _)| *from) {
            Some((_, interval)) => interval,
            None if days_between(exit.from, day) <= 21 || self.place(day) == Place::Inpatient => Interval::Days(1),
            None => Interval::Days(2),
        }
    }

    /// True if a change is due on `day` when the last one was on `last`.
    pub(crate) fn is_due(&self, exit: &Exit, last: NaiveDate, day: NaiveDate) -> bool {
        if day <= last || !self.is_expected(exit, day) {
            return false;
        }
        let was_away = last.iter_days().take_while(|d| *d <= day).any(|d| self.place(d) == Place::Elsewhere);
        was_away || self.interval(exit, day).is_met(last, day)
    }

    /// The incident on a day, if any, with the number of days since it began.
    pub(crate) fn happening(&self, day: NaiveDate) -> Option<(What, i64)> {
        let now = self.happenings.iter().find(|it| it.from <= day && day <= it.through)?;
        Some((now.what, days_between(now.from, day)))
    }

    /// True if a day, the day before and the day after are all at home, followed and without an incident.
    pub(crate) fn is_quiet(&self, day: NaiveDate) -> bool {
        let (before, after) = (day - Days::new(1), day + Days::new(1));
        let is_home = [before, day, after].iter().all(|d| self.is_followed(*d) && self.place(*d) == Place::Home);
        is_home && !self.happenings.iter().any(|it| it.from <= after && before <= it.through)
    }

    /// True if the household's care on a day is on file: reported at once, or covered by an imported log.
    pub(crate) fn is_told(&self, day: NaiveDate) -> bool {
        !self.is_by_log(day) || self.log_of(day).is_some()
    }

    /// The log that covers a day.
    pub(crate) fn log_of(&self, day: NaiveDate) -> Option<&Log> {
        self.logs.iter().rev().find(|log| log.from <= day && day <= log.through)
    }

    /// True if each exit site is old enough for a shower and no order forbids it.
    pub(crate) fn may_shower(&self, day: NaiveDate) -> bool {
        let is_forbidden = |order: &Order| order.what == Ordered::NoShowers && order.runs_on(day);
        self.exits.iter().all(|exit| exit.from > day || days_between(exit.from, day) >= 30)
            && !self.orders.iter().any(is_forbidden)
    }

    /// The day of the last change, if the ending fixes it.
    pub(crate) fn last_change_planted(&self) -> Option<NaiveDate> {
        self.plan.last_change.map(|days| shift(self.morning, -days))
    }
}

impl Order {
    /// True if the order is in force on a day.
    pub(crate) fn runs_on(&self, day: NaiveDate) -> bool {
        self.from <= day && self.until.is_none_or(|until| day <= until)
    }
}

impl Interval {
    /// True if the interval after a change on `last` has run out by `day`.
    pub(crate) fn is_met(self, last: NaiveDate, day: NaiveDate) -> bool {
        match self {
            Interval::Days(days) => days_between(last, day) >= days,
            Interval::Weekdays(weekdays) => last < day && weekdays.contains(&day.weekday()),
        }
    }
}
