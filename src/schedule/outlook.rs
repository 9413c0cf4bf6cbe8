//! The planned due days of a period: from the last change on file, as if each were met on its day.
//!
//! Left out on purpose: the outcome of an expected change, which [`super::Missed`] computes.

use std::collections::BTreeMap;

use chrono::NaiveDate;

use super::{Because, Beginning, Due, Schedule, State};
use crate::day::Period;
use crate::policy::CarePlace;
use crate::timeline::Timeline;
use crate::word::words;

words! {
    /// The plan of a day.
    pub enum DayPlan {
        /// A change is due.
        ChangeDue = "change-due",
        /// A change on that day is on file.
        OnFile = "on-file",
        /// No change is due according to the schedule.
        Free = "free",
        /// Not expected: the exit site or the records have not begun.
        NotBegun = "not-begun",
        /// Not expected: the patient is elsewhere.
        Elsewhere = "elsewhere",
        /// Not expected: the exit site is closed, or support has ended.
        Ended = "ended",
    }
}

/// One planned day.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct PlannedDay {
    /// Care day.
    pub day: NaiveDate,
    /// Plan.
    pub plan: DayPlan,
    /// Reason why a change is due.
    pub because: Option<Because>,
}

/// The planned days of a period.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Outlook {
    /// Every day of the period.
    pub days: Vec<PlannedDay>,
}

impl Outlook {
    /// Plans the days of a period. `due` is the change that is due now.
    ///
    /// The interval restarts with each change on file. After the last one, each due day counts as met on its day, but a
    /// change that is due or overdue now is planned for today, and the interval continues from there. A household that is
    /// not covered today is planned from the last known change.
    ///
    /// ```
    /// # use exitsite::story::Story;
    /// let home = Story::implanted("2026-08-03").home_from("2026-08-27").event("2026-11-22T08:00", "change", "");
    /// assert_eq!(home.outlook("2026-11-22", "2026-11-29", "2026-11-23"), "22 on-file, 24 26 28");
    /// // overdue: today, and onward from there
    /// assert_eq!(home.outlook("2026-11-22", "2026-11-29", "2026-11-25T09:00"), "22 on-file, 24 25 27 29");
    /// // after a shower: today, whatever the interval
    /// let shower = home.event("2026-11-23T08:00", "shower", "");
    /// assert_eq!(shower.outlook("2026-11-22", "2026-11-29", "2026-11-23T09:00"), "22 on-file, 23 after-shower 25 27 29");
    /// // an order that runs for some days of the period
    /// let daily = home.order("2026-11-25", "2026-11-27", "every_days = 1");
    /// assert_eq!(daily.outlook("2026-11-22", "2026-11-30", "2026-11-23"), "22 on-file, 24 25 26 27 29");
    /// // a month whose day before and day after are in others; a leap day
    /// assert_eq!(home.outlook("2028-02-25", "2028-03-02", "2026-11-23"), "25 27 29 02");
    /// // elsewhere from the 25th, back on the 28th: a look is due on the first day back
    /// let away = home.elsewhere_from("2026-11-25").home_from("2026-11-28");
    /// assert_eq!(away.outlook("2026-11-22", "2026-11-30", "2026-11-23"), "22 on-file, 24, 25 elsewhere, 26 elsewhere, 27 elsewhere, 28 return 30");
    /// // a household that reports by log is not overdue for an unreported change
    /// let log = Story::implanted("2026-06-01").log_household_from("2026-06-30").event("2026-10-31", "change", "");
    /// assert_eq!(log.outlook("2026-11-01", "2026-11-07", "2026-11-04T09:00"), "02 04 06");
    /// ```
    pub fn of(schedule: &Schedule, timeline: &Timeline, due: &Due, period: Period) -> Outlook {
        let mut on_file: Vec<NaiveDate> = timeline.changes(schedule.exit).map(|change| change.when.care_day).collect();
        on_file.sort();
        let due_days = due_days(schedule, timeline, due, &on_file, period);
        let planned = |day: NaiveDate| {
            let because = due_days.get(&day).copied();
            let plan = match because {
                Some(_) => DayPlan::ChangeDue,
                None if on_file.contains(&day) => DayPlan::OnFile,
                None => unexpected(schedule, day).unwrap_or(DayPlan::Free),
            };
            PlannedDay { day, plan, because }
        };
        Outlook { days: period.days().map(planned).collect() }
    }
}

/// Returns the due days, from the last change before the period to its end.
fn due_days(
    schedule: &Schedule,
    timeline: &Timeline,
    due: &Due,
    on_file: &[NaiveDate],
    period: Period,
) -> BTreeMap<NaiveDate, Because> {
    let today = timeline.today;
    let next_due = |day| schedule.next_due(day, today);
    let mut now = due.because.filter(|_| matches!(due.state, State::Due | State::Overdue));
    now = now.filter(|because| *because != Because::LogLate);
    let mut days = BTreeMap::new();
    let (mut last, mut next) = match on_file.iter().rfind(|day| **day < period.from) {
        Some(day) => (*day, next_due(*day)),
        None => (schedule.beginning().day(), schedule.first_due(today)),
    };
    let mut is_first = on_file.iter().all(|day| *day >= period.from);
    while let Some(day) = next
        && last <= period.to
    {
        let because = match schedule.beginning() {
            _ if schedule.is_stay_between(last, day) => Because::Return,
            Beginning::Implant(_) if is_first => Because::FirstChange,
            Beginning::Unknown(_) if is_first => Because::UnknownBefore,
            _ => Because::Interval,
        };
        is_first = false;
        let change = on_file.iter().copied().find(|change| *change > last);
        // Before the period, repeating due days are skipped.
        if let (None, Some((_, following))) = (change, schedule.leap(day, period.from.min(today), today)) {
            (last, next) = (day, Some(following));
            continue;
        }
        last = match change {
            Some(change) if change <= day => change,
            Some(change) if next_due(day).is_none_or(|following| change < following) => {
                days.insert(day, because);
                change
            }
            None if day >= today && now.is_some() => {
                days.extend(now.take().map(|because| (today, because)));
                today
            }
            _ => {
                days.insert(day, because);
                day
            }
        };
        next = next_due(last);
    }
    // No regular due day follows, such as on the eve of the end of support.
    days.extend(now.filter(|_| next.is_none()).map(|because| (today, because)));
    days
}

/// Returns the reason why nothing is expected on a day.
fn unexpected(schedule: &Schedule, day: NaiveDate) -> Option<DayPlan> {
    let is_closed = schedule.exit.until.is_some_and(|until| until <= day);
    if day < schedule.start() {
        Some(DayPlan::NotBegun)
    } else if is_closed || schedule.patient.has_ended(day) {
        Some(DayPlan::Ended)
    } else {
        (schedule.patient.place(day) == CarePlace::Elsewhere).then_some(DayPlan::Elsewhere)
    }
}
