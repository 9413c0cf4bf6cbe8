//! The due change of one exit site at one instant, with its deadline and reason.

use chrono::NaiveDate;
use schemars::JsonSchema;
use serde::Serialize;

use super::heard::{LogHousehold, RequirementStatus};
use super::requirement::Unanswered;
use super::{Because, ChangeTrigger, Missed, Promise, Requirement, Schedule};
use crate::day::WallTime;
use crate::event::{At, Event};
use crate::patient::Patient;
use crate::policy::Interval;
use crate::timeline::Timeline;
use crate::word::words;

words! {
    /// The state of an exit site.
    #[derive(PartialOrd, Ord)]
    pub enum State {
        /// Cannot be determined.
        Unusable = "unusable",
        /// The deadline has passed.
        Overdue = "overdue",
        /// Due today.
        Due = "due",
        /// Due later.
        Upcoming = "upcoming",
        /// Waiting for a log from a household that reports by log.
        AwaitingLog = "awaiting-log",
        /// No change is due.
        None = "none",
    }
}

/// The last change of an exit site.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct LastChange {
    /// Time.
    pub at: At,
    /// File.
    pub file: String,
    /// Care day.
    pub day: NaiveDate,
    /// Care days since then.
    pub days_ago: i64,
}

impl LastChange {
    fn of(event: &Event, patient: &Patient, today: NaiveDate) -> LastChange {
        let day = event.when.care_day;
        let at = At::of(&event.when, &patient.calendar);
        LastChange { at, file: event.file().to_owned(), day, days_ago: (today - day).num_days() }
    }
}

/// The due change of one exit site.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Due {
    /// State: unusable, overdue, due, upcoming, awaiting-log, none.
    pub state: State,
    /// Care day on which it is due.
    pub due_on: Option<NaiveDate>,
    /// Deadline.
    pub deadline: Option<WallTime>,
    /// Reason.
    pub because: Option<Because>,
    /// True if it is unknown whether a change came before or after the event that requires it.
    #[schemars(with = "Option<bool>")]
    pub order_unknown: bool,
    /// Interval in days; null for weekdays.
    pub interval_days: Option<i64>,
    /// Interval in words.
    pub interval: Option<Interval>,
    /// Phase name, or `order`.
    pub phase: Option<String>,
    /// Whole hours since the deadline; null if not overdue.
    pub hours_overdue: Option<i64>,
    /// Last covered day, for a household that is not covered today.
    pub heard_through: Option<NaiveDate>,
    /// Last day of contact with that household.
    pub heard_from: Option<NaiveDate>,
    /// True if nothing was reported on that day, as in a call that only reached the household; null without such a day.
    pub heard_by_call: Option<bool>,
    /// Day on which its log is expected.
    pub log_expected: Option<NaiveDate>,
    /// Consecutive missed changes.
    #[schemars(with = "Option<i64>")]
    pub missed_in_a_row: i64,
    /// The shower or damage that requires the change.
    pub report: Option<ChangeTrigger>,
    /// Other requirements, earliest deadline first; null if the patient's state cannot be determined.
    #[schemars(with = "Option<Vec<Requirement>>")]
    pub also: Vec<Requirement>,
    /// Showers and damage without a change, ended by a stay elsewhere.
    #[schemars(with = "Option<Vec<ChangeTrigger>>")]
    pub ended_by_move: Vec<ChangeTrigger>,
    /// The last change.
    pub last_change: Option<LastChange>,
    /// Promised change or visit, while pending or after it was broken.
    pub promise: Option<Promise>,
}

impl Due {
    /// Returns the due change of the schedule's exit site, as of the timeline's instant.
    ///
    /// ```
    /// # use exitsite::story::Story;
    /// let home = Story::implanted("2026-08-03").home_from("2026-08-27").event("2026-11-22T08:00", "change", "");
    /// assert_eq!(home.due("2026-11-23T07:15"), "upcoming 2026-11-24 interval");
    /// assert_eq!(home.due("2026-11-24T02:59"), "upcoming 2026-11-24 interval"); // still the care day before
    /// assert_eq!(home.due("2026-11-24T03:00"), "due 2026-11-24 interval");
    /// assert_eq!(home.due("2026-11-25T02:59"), "due 2026-11-24 interval");
    /// assert_eq!(home.due("2026-11-25T03:00"), "overdue 2026-11-24 interval, 0 h"); // the end of the care day
    /// assert_eq!(home.due("2026-11-26T07:15"), "overdue 2026-11-24 interval, 28 h");
    ///
    /// // a change at 01:30 by the night shift belongs to the day before
    /// let night = Story::implanted("2026-08-03").home_from("2026-08-27").event("2026-11-23T01:30", "change", "");
    /// assert_eq!(night.due("2026-11-24T07:15"), "due 2026-11-24 interval");
    ///
    /// // the first change
    /// assert_eq!(Story::implanted("2026-11-23").due("2026-11-23T20:00"), "upcoming 2026-11-24 first-change");
    /// assert_eq!(Story::implanted("2026-11-23").due("2026-11-24T07:15"), "due 2026-11-24 first-change");
    ///
    /// // a shower: two hours, whatever the interval
    /// let shower = home.event("2026-11-22T18:40", "shower", "");
    /// assert_eq!(shower.due("2026-11-22T20:40"), "due 2026-11-22 after-shower");
    /// assert_eq!(shower.due("2026-11-22T20:41"), "overdue 2026-11-22 after-shower, 0 h");
    /// assert_eq!(shower.event("2026-11-22T19:30", "change", "").due("2026-11-23T07:15"), "upcoming 2026-11-24 interval");
    /// // at the same minute the change counts as after it
    /// assert_eq!(shower.event("2026-11-22T18:40", "change", "").due("2026-11-23T07:15"), "upcoming 2026-11-24 interval");
    ///
    /// // a shower on a known day, and a change without a time for another reason: the order is unknown
    /// let unknown = Story::implanted("2026-08-03").home_from("2026-08-27").event("2026-11-23", "shower", "");
    /// assert_eq!(unknown.event("2026-11-23", "change", "reason = 'scheduled'").due("2026-11-24T07:15"), "overdue 2026-11-23 after-shower order unknown, 4 h");
    /// assert_eq!(unknown.event("2026-11-23", "change", "reason = 'after-shower'").due("2026-11-24T07:15"), "upcoming 2026-11-25 interval");
    /// assert_eq!(unknown.event("2026-11-23", "change", "").due("2026-11-24T07:15"), "upcoming 2026-11-25 interval");
    ///
    /// // a wet dressing; the earlier deadline comes first
    /// let wet = home.event("2026-11-23T21:30", "inspection", "dressing = 'wet'");
    /// assert_eq!(wet.due("2026-11-23T22:00"), "due 2026-11-23 damage");
    /// assert_eq!(wet.due("2026-11-24T07:15"), "overdue 2026-11-23 damage, 7 h");
    /// // a change that leaves it lifting requires another
    /// let left = home.event("2026-11-23T09:00", "change", "[left]\ndressing = 'lifting'");
    /// assert_eq!(left.due("2026-11-23T10:00"), "due 2026-11-23 damage");
    /// // a voided change does not count
    /// let void = home.event("2026-11-23T09:00", "change", "[void]\nat = 2026-11-23T12:00:00\nby = 'rn-07'\nwhy = 'wrong patient'");
    /// assert_eq!(void.due("2026-11-24T07:15"), "due 2026-11-24 interval");
    ///
    /// // a stay elsewhere ends what was due; back home a look is due
    /// let away = shower.elsewhere_from("2026-11-23").home_from("2026-11-26");
    /// assert_eq!(away.due("2026-11-24T07:15"), "none");
    /// assert_eq!(away.due("2026-11-26T07:15"), "due 2026-11-26 return");
    ///
    /// // a night in an emergency room is not a stay: what was due stays due
    /// let night = home.elsewhere_from("2026-11-25").home_from("2026-11-26");
    /// assert_eq!(night.due("2026-11-25T07:15"), "none");
    /// assert_eq!(night.due("2026-11-26T07:15"), "overdue 2026-11-24 interval, 28 h");
    ///
    /// // overdue, and then a shower: both remain
    /// let both = home.event("2026-11-26T06:00", "shower", "");
    /// assert_eq!(both.due("2026-11-26T07:15"), "overdue 2026-11-24 interval, 28 h");
    /// assert_eq!(both.also("2026-11-26T07:15"), "after-shower 2026-11-26 by 2026-11-26T08:00");
    /// // a shower due sooner than the interval, and a dressing that it left wet
    /// let wet = home.event("2026-11-23T06:00", "shower", "dressing_after = 'wet'");
    /// assert_eq!(wet.due("2026-11-23T07:15"), "due 2026-11-23 after-shower");
    /// assert_eq!(wet.also("2026-11-23T07:15"), "damage 2026-11-23 by 2026-11-23T08:00, interval 2026-11-24 by 2026-11-25T03:00");
    /// assert_eq!(home.also("2026-11-23T07:15"), "nothing");
    ///
    /// // a household that reports by log has not missed an unreported change
    /// let log = Story::implanted("2026-06-01").log_household_from("2026-06-30").event("2026-11-01T10:00", "log", "from = 2026-10-01\nthrough = 2026-10-31\ncomplete = true").event("2026-10-31", "change", "");
    /// assert_eq!(log.due("2026-11-01T11:00"), "upcoming 2026-11-02 interval");
    /// assert_eq!(log.due("2026-11-24T07:15"), "awaiting-log 2026-11-02 interval");
    /// assert_eq!(log.due("2026-12-06T02:59"), "awaiting-log 2026-11-02 interval"); // 35 days after 10-31
    /// assert_eq!(log.due("2026-12-06T03:00"), "overdue 2026-12-05 log-late, 0 h");
    /// // but a reported shower comes first
    /// assert_eq!(log.event("2026-11-20T18:00", "shower", "source = 'told'").due("2026-11-24T07:15"), "overdue 2026-11-20 after-shower, 83 h");
    ///
    /// // a complete log without a change shows that the one due on 11-02 was missed, once it covers that day and the
    /// // next, on which it could still have been made late; that today is not covered makes no difference
    /// let read_in = |through: &str| log.event("2026-11-25T10:00", "log", &format!("from = 2026-11-01\nthrough = {through}\ncomplete = true"));
    /// assert_eq!(read_in("2026-11-24").due("2026-11-25T11:00"), "overdue 2026-11-02 interval, 536 h");
    /// assert_eq!(read_in("2026-11-03").due("2026-11-25T11:00"), "overdue 2026-11-02 interval, 536 h");
    /// assert_eq!(read_in("2026-11-02").due("2026-11-25T11:00"), "awaiting-log 2026-11-02 interval");
    ///
    /// // and a shower comes first: the log reports a change missed weeks ago, the dressing is wet now
    /// let wet = read_in("2026-11-24").event("2026-11-25T10:30", "shower", "source = 'told'");
    /// assert_eq!(wet.due("2026-11-25T11:00"), "due 2026-11-25 after-shower");
    /// assert_eq!(wet.also("2026-11-25T11:00"), "interval 2026-11-02 by 2026-11-03T03:00");
    ///
    /// // a log counts from its own time: it covers today only from the instant at which it was read in
    /// let early = log.event("2026-11-24T12:00", "log", "from = 2026-11-01\nthrough = 2026-11-24\ncomplete = true");
    /// assert_eq!(early.due("2026-11-24T11:59"), "awaiting-log 2026-11-02 interval");
    /// assert_eq!(early.due("2026-11-24T12:00"), "overdue 2026-11-02 interval, 513 h");
    /// assert_eq!(early.heard("2026-11-24T11:59"), "through 2026-10-31, from nothing, log 2026-12-05");
    ///
    /// // a call covers no day: the log is complete through the same day as before, but there was contact with the
    /// // household
    /// assert_eq!(log.heard("2026-11-24T07:15"), "through 2026-10-31, from nothing, log 2026-12-05");
    /// let called = log.event("2026-11-20T10:00", "contact", "with = 'p001-son'\nabout = ['log']\noutcome = 'advised'");
    /// assert_eq!(called.heard("2026-11-24T07:15"), "through 2026-10-31, from 2026-11-20, log 2026-12-05");
    /// // an answering machine, or another hospital, is not contact with the household
    /// let none = log.event("2026-11-20T10:00", "contact", "with = 'p001-son'\nabout = ['log']\noutcome = 'no-answer'");
    /// let other = log.event("2026-11-20T10:00", "contact", "with = 'other'\nabout = ['log']\noutcome = 'advised'");
    /// assert_eq!(none.heard("2026-11-24T07:15"), log.heard("2026-11-24T07:15"));
    /// assert_eq!(other.heard("2026-11-24T07:15"), log.heard("2026-11-24T07:15"));
    /// // days before the records begin count: inpatient through 10-31, the log is expected 35 days after that
    /// let late = Story::implanted("2026-06-01").log_household_from("2026-11-01").records_from("2026-11-20").last_change_before("2026-11-19");
    /// assert_eq!(late.heard("2026-11-24T07:15"), "through 2026-10-31, from nothing, log 2026-12-05");
    ///
    /// // a return makes a change due for three days in such a household, then its log is awaited
    /// let back = Story::implanted("2026-06-01").log_household_from("2026-06-30").elsewhere_from("2026-11-10").log_household_from("2026-11-20");
    /// assert_eq!(back.due("2026-11-22T07:15"), "overdue 2026-11-20 return, 28 h");
    /// assert_eq!(back.due("2026-11-23T07:15"), "awaiting-log 2026-11-20 return");
    ///
    /// // in the night when the clocks go back the day has 25 hours, and an interval is still two days
    /// let clocks = Story::implanted("2026-08-03").home_from("2026-08-27").event("2026-10-30T08:00", "change", "");
    /// assert_eq!(clocks.due("2026-11-02T03:00"), "overdue 2026-11-01 interval, 0 h");
    /// ```
    pub fn of(schedule: &Schedule, timeline: &Timeline) -> Due {
        let today = timeline.today;
        let last_change = timeline.changes(schedule.exit).next_back();
        let unanswered = Unanswered::at(schedule, timeline, timeline.as_of);
        let mut due = Due {
            state: State::None,
            due_on: None,
            deadline: None,
            because: None,
            order_unknown: false,
            interval_days: None,
            interval: None,
            phase: None,
            hours_overdue: None,
            heard_through: None,
            heard_from: None,
            heard_by_call: None,
            log_expected: None,
            missed_in_a_row: Missed::in_a_row(schedule, timeline),
            report: None,
            also: Vec::new(),
            ended_by_move: Vec::new(),
            last_change: last_change.map(|event| LastChange::of(event, schedule.patient, today)),
            promise: Promise::of(schedule, timeline),
        };
        let requirements = unanswered.earliest();
        due.ended_by_move = unanswered.ended_by_move;
        if !schedule.is_followed(today) {
            return due;
        }
        let regular = Requirement::regular(schedule, timeline, last_change);
        let log = LogHousehold::of(schedule, timeline);
        let known = regular.map_or(RequirementStatus::InTime, |regular| log.knows_of(schedule, timeline, &regular));
        let judged = regular.filter(|_| known != RequirementStatus::NotYet);
        let mut all: Vec<Requirement> = requirements.into_iter().chain(judged).collect();
        // An unreported change, or one reported long after its day, ranks after a dressing that is wet now.
        all.sort_by_key(|one| (known != RequirementStatus::InTime && !one.is_reported(), one.precedence()));
        let awaited = regular.filter(|_| all.is_empty()).map(|regular| log.awaited(timeline, regular));
        if let Some((interval, phase)) = regular.and_then(|regular| schedule.interval(regular.due_on)) {
            due.interval_days = interval.days();
            due.interval = Some(interval.clone());
            due.phase = Some(phase.to_owned());
        }
        if !timeline.is_told_between(today, today) {
            due.heard_through = log.heard_through;
            due.heard_from = timeline.last_told_day();
            due.heard_by_call = due.heard_from.map(|day| !timeline.is_reported_on(day));
            due.log_expected = Some(log.expected);
        }
        let mut all = all.into_iter().chain(awaited).map(|one| one.as_of(timeline.as_of));
        let Some(chosen) = all.next() else {
            return Due { heard_through: None, heard_from: None, heard_by_call: None, log_expected: None, ..due };
        };
        due.state = match chosen.due_on <= today {
            _ if chosen.hours_overdue.is_some() => State::Overdue,
            _ if awaited.is_some() => State::AwaitingLog,
            true => State::Due,
            false => State::Upcoming,
        };
        due.due_on = Some(chosen.due_on);
        due.deadline = Some(chosen.deadline);
        due.because = Some(chosen.because);
        due.order_unknown = chosen.order_unknown;
        due.report = chosen.report;
        due.hours_overdue = chosen.hours_overdue;
        due.also = all.collect();
        due.also.sort_by_key(Requirement::precedence);
        due
    }

    /// Returns true if a promise was broken.
    pub(crate) fn has_broken_promise(&self) -> bool {
        self.promise.as_ref().is_some_and(|promise| promise.broken)
    }

    /// Returns the showers and damage without a change, except an overdue one that is the due one.
    pub(crate) fn clocks(&self) -> impl Iterator<Item = (Because, &ChangeTrigger, WallTime)> {
        let due = self.because.zip(self.report.as_ref()).zip(self.deadline).filter(|_| self.hours_overdue.is_none());
        let due = due.map(|((because, report), deadline)| (because, report, deadline));
        let also = self.also.iter().filter_map(|one| Some((one.because, one.report.as_ref()?, one.deadline)));
        due.into_iter().chain(also)
    }

    /// Returns the earliest deadline of a shower or damage without a change, whether it is the due one or in `also`.
    pub(crate) fn reported_deadline(&self) -> Option<WallTime> {
        let also = self.also.iter().filter(|one| one.is_reported()).map(|one| one.deadline);
        also.chain(self.deadline.filter(|_| self.report.is_some())).min()
    }
}
