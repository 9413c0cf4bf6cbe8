//! The next due change, and missed changes.
//!
//! A [`Schedule`] combines the policy's phases, a patient's orders and places, and one exit site; it determines the
//! expected days and when the change after a given one is due. [`Due`] applies it to today, [`Expectation`]s to the past.
//!
//! Left out on purpose: the disk. Everything here is a function of records already read.

mod due;
mod heard;
mod missed;
mod outlook;
pub mod promise;
mod report;
mod requirement;

use chrono::NaiveDate;

pub use due::{Due, LastChange, State};
pub use missed::{ChangeOutcome, DatedDay, DaysInDate, Expectation, Missed, OnTime};
pub use outlook::{DayPlan, Outlook, PlannedDay};
pub(crate) use promise::{DefaultFrom, default_promise};
pub use promise::{Promise, default_until};
pub use report::{ChangeTrigger, TriggerEvent, Trouble};
pub use requirement::{Because, Requirement};

use crate::day::{after, before, plus};
use crate::patient::{CareOrder, ExitSite, Patient};
use crate::policy::{CarePlace, CarePlan, Interval};

/// The number of days searched for a due day; an interval is at most 366.
const LOOK_AHEAD_DAYS: i64 = 400;

const DAYS_OF_A_WEEK: i64 = 7;

/// The phase name while a clinician's order gives the interval.
const ORDER: &str = "order";

/// The schedule of one exit site: its expected days and the interval of changes on them.
#[derive(Debug, Clone, Copy)]
pub struct Schedule<'a> {
    /// The policy.
    pub plan: &'a CarePlan,
    /// The patient.
    pub patient: &'a Patient,
    /// The exit site.
    pub exit: &'a ExitSite,
}

/// The reason why a shower is too early.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NoShower {
    /// Before the first post-operative day on which showers are allowed.
    Before {
        /// That day.
        first_pod: i64,
    },
    /// An order does not allow showers.
    Ordered,
}

/// The start of the chain, before the first change.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Beginning {
    /// The dressing applied in the operating room, on the exit site's first day.
    Implant(NaiveDate),
    /// The last change before the records begin.
    ChangeBefore(NaiveDate),
    /// Unknown: a look is due immediately. The day before the start, which is not a change.
    Unknown(NaiveDate),
}

impl<'a> Schedule<'a> {
    /// The first day of the chain.
    pub fn start(&self) -> NaiveDate {
        self.patient.start(self.exit)
    }

    /// The post-operative day: days since the exit site's first day.
    pub fn pod(&self, day: NaiveDate) -> i64 {
        (day - self.exit.from).num_days()
    }

    /// Returns true if a change can be expected on a day: after the start, before the last day of the exit site and of
    /// support, and not elsewhere.
    ///
    /// ```
    /// # use exitsite::story::Story;
    /// let story = Story::implanted("2026-08-03").home_from("2026-08-27").elsewhere_from("2026-10-14").home_from("2026-10-20").ended("2026-11-13");
    /// assert!(!story.is_expected("2026-08-03")); // the start itself
    /// assert!(story.is_expected("2026-08-04"));
    /// assert!(!story.is_expected("2026-10-14")); // elsewhere
    /// assert!(story.is_expected("2026-10-20")); // the first day back
    /// assert!(story.is_expected("2026-11-12"));
    /// assert!(!story.is_expected("2026-11-13")); // nothing is due on the last day itself
    /// ```
    pub fn is_expected(&self, day: NaiveDate) -> bool {
        self.start() < day && self.is_inside(day)
    }

    /// Returns true if a day from `first` to `last`, both included, belongs to a stay elsewhere: an unbroken run of at
    /// least `[returns] after_days` days, according to the care rows, including those after today.
    ///
    /// ```
    /// # use exitsite::story::Story;
    /// let away = |back: &str| Story::implanted("2026-08-03").home_from("2026-08-27").elsewhere_from("2026-11-13").home_from(back);
    /// assert!(away("2026-11-15").is_stay_between("2026-11-14", "2026-11-20"));
    /// assert!(!away("2026-11-15").is_stay_between("2026-11-15", "2026-11-20"));
    /// // a night in an emergency room is not a stay: only its own day is not expected
    /// assert!(!away("2026-11-14").is_stay_between("2026-11-10", "2026-11-20"));
    /// // a second row that goes on elsewhere makes it longer
    /// let moved = Story::implanted("2026-08-03").elsewhere_from("2026-11-13").elsewhere_from("2026-11-14").home_from("2026-11-15");
    /// assert!(moved.is_stay_between("2026-11-14", "2026-11-14"));
    /// ```
    pub fn is_stay_between(&self, first: NaiveDate, last: NaiveDate) -> bool {
        self.patient.last_day_of_stay(self.plan.returns.after_days, first, last).is_some()
    }

    /// Returns true if anything can be due on a day: support and exit site are open, the records have begun, and the
    /// patient is not elsewhere.
    pub(crate) fn is_followed(&self, day: NaiveDate) -> bool {
        self.start() <= day && self.is_inside(day)
    }

    fn is_inside(&self, day: NaiveDate) -> bool {
        self.exit.until.is_none_or(|until| day < until)
            && !self.patient.has_ended(day)
            && self.patient.place(day) != CarePlace::Elsewhere
    }

    /// Returns the interval of a day and the name of its phase: the order in force, otherwise the first phase that
    /// applies.
    ///
    /// Several orders: the one with the latest `from` applies; on a tie, the last in the file.
    ///
    /// ```
    /// # use exitsite::story::Story;
    /// let story = Story::implanted("2026-08-03").home_from("2026-08-27").order("2026-10-01", "2026-10-14", "every_days = 1");
    /// assert_eq!(story.interval("2026-08-24"), "daily (early)"); // POD 21
    /// assert_eq!(story.interval("2026-08-25"), "daily (ward)"); // POD 22, still inpatient
    /// assert_eq!(story.interval("2026-08-27"), "every 2 days (home)");
    /// assert_eq!(story.interval("2026-10-01"), "daily (order)");
    /// assert_eq!(story.interval("2026-10-14"), "daily (order)"); // `until` is included
    /// assert_eq!(story.interval("2026-10-15"), "every 2 days (home)");
    /// // of two orders in force, the later one applies
    /// let story = story.order("2026-10-05", "2026-10-06", "every_days = 3");
    /// assert_eq!(story.interval("2026-10-06"), "every 3 days (order)");
    /// assert_eq!(story.interval("2026-10-07"), "daily (order)");
    /// ```
    pub fn interval(&self, day: NaiveDate) -> Option<(&'a Interval, &'a str)> {
        let orders = self.patient.orders.iter().filter(|order| order.runs_on(day, &self.exit.id));
        let order =
            orders.filter_map(|order| Some((order.from, order.interval.as_ref()?))).max_by_key(|(from, _)| *from);
        if let Some((_, interval)) = order {
            return Some((interval, ORDER));
        }
        let (pod, place) = (self.pod(day), self.patient.place(day));
        let phase = self.plan.phases.iter().find(|phase| phase.holds_on(day, pod, place))?;
        Some((&phase.interval, phase.name.as_str()))
    }

    /// Returns the reason why a shower on a day is too early: the post-operative day, or an order; `None` if it is
    /// allowed.
    ///
    /// ```
    /// # use exitsite::story::Story;
    /// let story = Story::implanted("2026-08-03").order("2026-10-01", "2026-10-14", "no_showers = true");
    /// assert_eq!(story.no_shower("2026-08-30"), "before the first shower day"); // POD 27
    /// assert_eq!(story.no_shower("2026-08-31"), "nothing"); // POD 28
    /// assert_eq!(story.no_shower("2026-10-14"), "ordered");
    /// ```
    pub fn no_shower(&self, day: NaiveDate) -> Option<NoShower> {
        let first_pod = self.plan.windows.first_shower_pod;
        if self.pod(day) < first_pod {
            return Some(NoShower::Before { first_pod });
        }
        let forbids = |order: &CareOrder| order.no_showers && order.runs_on(day, &self.exit.id);
        self.patient.orders.iter().any(forbids).then_some(NoShower::Ordered)
    }

    /// Returns the day on which the change after one on `last` is due; `None` if there is none within 400 days of the
    /// later of `last` and `today`.
    ///
    /// This is the first expected day whose own interval is met, or the first expected day after a stay elsewhere. Each day is
    /// judged by its own interval, so a shorter interval takes effect immediately.
    ///
    /// ```
    /// # use exitsite::story::Story;
    /// let story = Story::implanted("2026-08-03").home_from("2026-08-27");
    /// assert_eq!(story.next_due("2026-08-10"), "2026-08-11"); // daily through POD 21
    /// assert_eq!(story.next_due("2026-08-24"), "2026-08-25"); // and on the ward
    /// assert_eq!(story.next_due("2026-08-26"), "2026-08-28"); // going home: every other day
    /// assert_eq!(story.next_due("2026-10-31"), "2026-11-02"); // the clocks go back in between
    /// assert_eq!(story.next_due("2027-02-27"), "2027-03-01");
    /// assert_eq!(story.next_due("2028-02-27"), "2028-02-29"); // a leap day
    /// assert_eq!(story.next_due("2026-12-31"), "2027-01-02"); // over the year's end
    ///
    /// // an order that shortens the interval takes effect immediately
    /// let daily = Story::implanted("2026-08-03").home_from("2026-08-27").order("2026-10-02", "2026-10-31", "every_days = 1");
    /// assert_eq!(daily.next_due("2026-09-30"), "2026-10-02");
    /// assert_eq!(daily.next_due("2026-10-01"), "2026-10-02");
    /// assert_eq!(daily.next_due("2026-10-30"), "2026-10-31");
    /// assert_eq!(daily.next_due("2026-10-31"), "2026-11-02"); // and ends with its last day
    ///
    /// // weekdays, at least min_days apart
    /// let weekdays = Story::implanted("2026-08-03").home_from("2026-08-27").order("2026-09-01", "", "on_weekdays = ['mon', 'wed', 'fri']\nmin_days = 2");
    /// assert_eq!(weekdays.next_due("2026-11-20"), "2026-11-23"); // Friday to Monday
    /// assert_eq!(weekdays.next_due("2026-11-24"), "2026-11-27"); // Tuesday: Wednesday is too soon
    /// assert_eq!(weekdays.next_due("2026-11-22"), "2026-11-25"); // Sunday: Monday is too soon
    ///
    /// // back from elsewhere: the first day back, whatever the interval
    /// let away = Story::implanted("2026-08-03").home_from("2026-08-27").elsewhere_from("2026-11-13").home_from("2026-11-23");
    /// assert_eq!(away.next_due("2026-11-11"), "2026-11-23");
    /// assert_eq!(away.next_due("2026-11-12"), "2026-11-23");
    /// assert_eq!(away.next_due("2026-11-10"), "2026-11-12"); // due before the move
    /// assert_eq!(away.next_due("2026-11-15"), "2026-11-23"); // changed while elsewhere
    /// assert_eq!(away.next_due("2026-11-23"), "2026-11-25");
    /// // a single day elsewhere is not a stay: it is not expected, and the interval continues
    /// let night = Story::implanted("2026-08-03").home_from("2026-08-27").elsewhere_from("2026-11-13").home_from("2026-11-14");
    /// assert_eq!(night.next_due("2026-11-12"), "2026-11-14");
    /// assert_eq!(night.next_due("2026-11-11"), "2026-11-14");
    /// let seldom = night.order("2026-11-01", "", "every_days = 4");
    /// assert_eq!(seldom.next_due("2026-11-12"), "2026-11-16");
    ///
    /// // support ended: nothing is due
    /// let ended = Story::implanted("2026-08-03").home_from("2026-08-27").ended("2026-11-13");
    /// assert_eq!(ended.next_due("2026-11-10"), "2026-11-12");
    /// assert_eq!(ended.next_due("2026-11-11"), "nothing");
    /// ```
    pub fn next_due(&self, last: NaiveDate, today: NaiveDate) -> Option<NaiveDate> {
        self.first_met(last, after(last.max(self.start())), self.horizon(last, today))
    }

    /// Returns the first day from which all days are alike: no phase, order, place or end starts or stops any more.
    pub(crate) fn settled_from(&self) -> NaiveDate {
        let through = |pod| plus(self.exit.from, pod);
        let phases = self.plan.phases.iter();
        let named = phases.flat_map(|phase| [phase.from, phase.until, phase.through_pod.map(through)]);
        after(named.flatten().fold(self.patient.last_day_named(), NaiveDate::max))
    }

    /// Counts the due days from one day to `until`, each as if met on its day, and returns the due day after them. `None`
    /// if there are too few, or the days are not alike yet: after a number of due days the weekday repeats, and so on.
    pub(crate) fn leap(&self, due_on: NaiveDate, until: NaiveDate, today: NaiveDate) -> Option<(i64, NaiveDate)> {
        let (interval, _) = self.interval(due_on)?;
        let is_far = (until - due_on).num_days() >= DAYS_OF_A_WEEK * interval.longest_days();
        if !is_far || due_on < self.settled_from() {
            return None;
        }
        let mut day = due_on;
        for steps in 1..=DAYS_OF_A_WEEK {
            day = self.next_due(day, today)?;
            let days = (day - due_on).num_days();
            if days % DAYS_OF_A_WEEK == 0 {
                let times = (until - due_on).num_days() / days;
                return Some((steps * times, plus(due_on, days * times)));
            }
        }
        None
    }

    /// Counts the due days after one day and before `until`, each as if met on its day.
    pub(crate) fn due_days_between(&self, due_on: NaiveDate, until: NaiveDate, today: NaiveDate) -> i64 {
        let mut count = 0;
        let mut next = self.next_due(due_on, today);
        while let Some(day) = next.filter(|day| *day < until) {
            let leap = self.leap(day, until, today);
            count += leap.map_or(1, |(steps, _)| steps);
            next = leap.map(|(_, following)| following).or_else(|| self.next_due(day, today));
        }
        count
    }

    /// Returns the last day on which a change after `last` is searched. An interval is shorter than the horizon, so
    /// nothing is found later than that many days after all days are alike.
    fn horizon(&self, last: NaiveDate, today: NaiveDate) -> NaiveDate {
        plus(last.max(today.min(self.settled_from())), LOOK_AHEAD_DAYS)
    }

    /// Returns the first day from `first` to `horizon` on which the change after one on `last` is due, the exit site and
    /// support are open, and the patient is not elsewhere.
    fn first_met(&self, last: NaiveDate, first: NaiveDate, horizon: NaiveDate) -> Option<NaiveDate> {
        let is_met = |day: NaiveDate| self.interval(day).is_some_and(|(interval, _)| interval.is_met(last, day));
        let mut days = first.iter_days().take_while(|day| *day <= horizon);
        days.find(|day| self.is_inside(*day) && (is_met(*day) || self.is_stay_between(last, *day)))
    }

    /// The start of the chain, before the first change.
    pub fn beginning(&self) -> Beginning {
        let start = self.start();
        match self.patient.last_change_before {
            _ if start == self.exit.from => Beginning::Implant(start),
            Some(last) => Beginning::ChangeBefore(last),
            None => Beginning::Unknown(before(start)),
        }
    }

    /// The first due day of the chain.
    ///
    /// ```
    /// # use exitsite::story::Story;
    /// // the dressing applied in the operating room counts as changed on POD 0
    /// assert_eq!(Story::implanted("2026-11-23").first_due(), "2026-11-24");
    /// // records that begin later: from the last change before, if known
    /// let later = Story::implanted("2023-05-02").home_from("2023-06-01");
    /// assert_eq!(later.records_from("2026-11-02").last_change_before("2026-11-01").first_due(), "2026-11-03");
    /// // a change that was due before the start, or on it, is due on the first day
    /// assert_eq!(later.records_from("2026-11-02").last_change_before("2026-10-31").first_due(), "2026-11-02");
    /// assert_eq!(later.records_from("2026-11-02").last_change_before("2026-10-25").first_due(), "2026-11-02");
    /// // back from elsewhere before the start, and not seen since
    /// let back = later.elsewhere_from("2026-10-20").home_from("2026-10-28").order("2026-10-01", "", "every_days = 30");
    /// assert_eq!(back.records_from("2026-11-02").last_change_before("2026-10-19").first_due(), "2026-11-02");
    /// assert_eq!(back.records_from("2026-11-02").last_change_before("2026-10-28").first_due(), "2026-11-27");
    /// // nothing known: a look is due immediately, on the first day itself
    /// assert_eq!(later.records_from("2026-11-02").first_due(), "2026-11-02");
    /// // and if the patient is elsewhere then, on the first day back
    /// assert_eq!(later.elsewhere_from("2026-10-30").home_from("2026-11-06").records_from("2026-11-02").first_due(), "2026-11-06");
    /// ```
    pub fn first_due(&self, today: NaiveDate) -> Option<NaiveDate> {
        match self.beginning() {
            Beginning::Implant(last) => self.next_due(last, today),
            Beginning::ChangeBefore(last) if self.first_met(last, after(last), self.start()).is_none() => {
                self.next_due(last, today)
            }
            Beginning::ChangeBefore(_) | Beginning::Unknown(_) => {
                let start = self.start();
                let horizon = self.horizon(start, today);
                start.iter_days().take_while(|day| *day <= horizon).find(|day| self.is_inside(*day))
            }
        }
    }
}

impl Beginning {
    /// The day from which the chain counts.
    pub fn day(self) -> NaiveDate {
        match self {
            Beginning::Implant(day) | Beginning::ChangeBefore(day) | Beginning::Unknown(day) => day,
        }
    }

    /// The day, if it is that of a change.
    pub fn change(self) -> Option<NaiveDate> {
        match self {
            Beginning::Implant(day) | Beginning::ChangeBefore(day) => Some(day),
            Beginning::Unknown(_) => None,
        }
    }
}
