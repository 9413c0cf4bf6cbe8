//! Expected changes and their outcomes: on time, late, missed, unreported, open.

use chrono::NaiveDate;
use schemars::JsonSchema;
use serde::Serialize;

use super::Schedule;
use crate::day::{Period, after, before, plus};
use crate::timeline::Timeline;
use crate::word::words;

words! {
    /// The outcome of an expected change.
    pub enum ChangeOutcome {
        /// Changed on its day, or early.
        OnTime = "on-time",
        /// Changed after its day, before the next change was due.
        Late = "late",
        /// Not changed before the next change was due.
        Missed = "missed",
        /// Unreported.
        Unreported = "unreported",
        /// Still open: it can still be changed in time.
        Open = "open",
    }
}

/// One expected change.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Expectation {
    /// Care day on which it was due.
    pub due_on: NaiveDate,
    /// Outcome.
    pub outcome: ChangeOutcome,
    /// Care day of the change that ended it.
    pub done_on: Option<NaiveDate>,
    /// Days late: 0 if on time, null if unknown.
    pub days_late: Option<i64>,
    /// Phase of the due day.
    pub phase: String,
}

/// Covered expected days before today, with the share of days with dressing current; `S` is the representation of a
/// share.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, JsonSchema)]
#[schemars(rename = "DaysInDate", inline)]
pub struct DaysInDate<S> {
    /// Covered expected days.
    pub days: u64,
    /// Days at whose end no regular change was past due.
    pub in_date: u64,
    /// Their share, 0 to 1.
    pub share: S,
}

/// The on-time share of on-time, late and missed changes, with bounds for unreported ones.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, JsonSchema)]
#[schemars(rename = "OnTime", inline)]
pub struct OnTime<S> {
    /// The share.
    #[serde(flatten)]
    pub share: S,
    /// The share if every unreported change was missed.
    pub if_all_missed: Option<f64>,
    /// The share if every unreported change was on time.
    pub if_all_met: Option<f64>,
}

/// A covered expected day.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct DatedDay {
    /// Care day.
    pub day: NaiveDate,
    /// True if no regular change was past due at its end.
    pub is_in_date: bool,
}

/// The expected changes of one exit site over a period.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Missed {
    /// The expected changes, in order.
    pub expectations: Vec<Expectation>,
    /// The covered expected days of the period before today, in order.
    pub days: Vec<DatedDay>,
    /// The longest gap between two changes in days, without the days that are not covered.
    pub longest_gap_days: Option<i64>,
    /// Expected days of the period before today that are not covered.
    pub days_not_covered: i64,
}

impl Missed {
    /// Returns the expected changes of a period.
    ///
    /// ```
    /// # use exitsite::story::Story;
    /// let story = Story::implanted("2026-06-01").home_from("2026-06-30");
    /// let changes = |days: &[&str]| days.iter().fold(story.clone(), |story, day| story.event(day, "change", ""));
    ///
    /// let kept = changes(&["2026-11-01", "2026-11-03", "2026-11-05"]);
    /// assert_eq!(kept.missed("2026-11-02", "2026-11-06", "2026-11-06"), "11-03 on-time, 11-05 on-time");
    /// // an early change moves the next due day; it met its expectation, which belongs to the day of the change
    /// let early = changes(&["2026-11-01", "2026-11-02", "2026-11-04"]);
    /// assert_eq!(early.missed("2026-11-02", "2026-11-04", "2026-11-05"), "11-03 on-time, 11-04 on-time");
    /// // late by a day: before the next would have been due
    /// let late = changes(&["2026-11-01", "2026-11-04"]);
    /// assert_eq!(late.missed("2026-11-02", "2026-11-05", "2026-11-05"), "11-03 late by 1");
    /// // missed: not before the next was due; then the chain continues as if it had been made
    /// let missed = changes(&["2026-11-01", "2026-11-06"]);
    /// assert_eq!(missed.missed("2026-11-02", "2026-11-06", "2026-11-06"), "11-03 missed, 11-05 late by 1");
    /// // two changes on one care day are one
    /// let twice = changes(&["2026-11-01", "2026-11-03T08:00", "2026-11-03T20:00", "2026-11-05"]);
    /// assert_eq!(twice.missed("2026-11-02", "2026-11-06", "2026-11-06"), "11-03 on-time, 11-05 on-time");
    /// // a change at 01:30 belongs to the day before
    /// assert_eq!(changes(&["2026-11-01", "2026-11-04T01:30"]).missed("2026-11-02", "2026-11-04", "2026-11-04"), "11-03 on-time");
    /// // nothing yet: open while it can still be made, missed once the next is due
    /// assert_eq!(changes(&["2026-11-01"]).missed("2026-11-02", "2026-11-04", "2026-11-04"), "11-03 open");
    /// assert_eq!(changes(&["2026-11-01"]).missed("2026-11-02", "2026-11-05", "2026-11-05"), "11-03 missed, 11-05 open");
    ///
    /// // with a daily interval nothing is ever late
    /// let daily = Story::implanted("2026-11-01").event("2026-11-03", "change", "");
    /// assert_eq!(daily.missed("2026-11-01", "2026-11-04", "2026-11-04"), "11-02 missed, 11-03 on-time, 11-04 open");
    ///
    /// // an extra change on a weekday schedule adds no expectation
    /// let weekdays = Story::implanted("2026-06-01").home_from("2026-06-30").order("2026-07-01", "", "on_weekdays = ['mon', 'thu']");
    /// let extra = ["2026-11-19", "2026-11-21", "2026-11-23"].iter().fold(weekdays, |story, day| story.event(day, "change", ""));
    /// assert_eq!(extra.missed("2026-11-20", "2026-11-24", "2026-11-24"), "11-23 on-time");
    ///
    /// // an unreported change of a household that reports by log is unreported, not missed
    /// let log = Story::implanted("2026-06-01").log_household_from("2026-06-30").event("2026-10-31", "change", "").event("2026-11-01T10:00", "log", "from = 2026-07-01\nthrough = 2026-10-31\ncomplete = true");
    /// assert_eq!(log.missed("2026-11-01", "2026-11-05", "2026-11-05"), "11-02 unreported, 11-04 open");
    /// // a log that was read in later still covers its days
    /// let told = log.event("2026-12-01T10:00", "log", "from = 2026-11-01\nthrough = 2026-11-30\ncomplete = true");
    /// assert_eq!(told.missed("2026-11-01", "2026-11-05", "2026-12-02"), "11-02 missed, 11-04 missed");
    /// // the gap leaves out the days that are not covered, and counts them: 11-01 to 11-23
    /// assert_eq!(log.gap("2026-11-01", "2026-11-24", "2026-11-24"), "1 d, 23 not covered");
    /// assert_eq!(told.gap("2026-11-01", "2026-11-24", "2026-12-02"), "24 d, 0 not covered");
    /// ```
    pub fn of(schedule: &Schedule, timeline: &Timeline, period: Period) -> Missed {
        let changes = care_days(timeline, schedule);
        let chain = Chain::of(schedule, timeline, &changes);
        let expectations = chain.expectations(period);
        let (days, longest_gap_days) = (chain.dated_days(period), chain.longest_gap(period));
        Missed { expectations, days, longest_gap_days, days_not_covered: chain.days_not_covered(period) }
    }

    /// Returns the expectations from a day on, up to `enough` of those after the last event that matters: the rest are
    /// like them.
    pub fn since(schedule: &Schedule, timeline: &Timeline, first: NaiveDate, enough: i64) -> Vec<Expectation> {
        let changes = care_days(timeline, schedule);
        let chain = Chain::of(schedule, timeline, &changes);
        let alike = changes.last().copied().into_iter().fold(chain.alike_from.max(first), NaiveDate::max);
        let longest = schedule.interval(alike).map_or(0, |(interval, _)| interval.longest_days());
        let last = plus(alike, enough.saturating_add(1).saturating_mul(longest));
        chain.expectations(Period { from: first, to: last.min(timeline.today) })
    }

    /// Returns the number of consecutive missed changes at the end of the chain, before an open one.
    ///
    /// An unreported one is skipped, unless a change ended it. A change ends the run, so the one on the latest care day
    /// is enough.
    ///
    /// ```
    /// # use exitsite::story::Story;
    /// let home = Story::implanted("2026-06-01").home_from("2026-06-30");
    /// let last = home.event("2026-11-15", "change", "");
    /// assert_eq!(last.missed_in_a_row("2026-11-20T09:00"), 1); // 11-17 missed, 11-19 open
    /// assert_eq!(last.missed_in_a_row("2026-11-21T09:00"), 2);
    /// ```
    pub fn in_a_row(schedule: &Schedule, timeline: &Timeline) -> i64 {
        let changes: Vec<NaiveDate> =
            timeline.changes(schedule.exit).map(|change| change.when.care_day).max().into_iter().collect();
        let chain = Chain::of(schedule, timeline, &changes);
        let past = chain.run(changes.last().copied(), Period { from: timeline.today, to: timeline.today });
        let not_open = past.iter().rev().skip_while(|step| step.expectation.outcome == ChangeOutcome::Open);
        let is_told = |step: &&ExpectationRun| {
            step.expectation.outcome != ChangeOutcome::Unreported || step.expectation.done_on.is_some()
        };
        let in_a_row = not_open.filter(is_told).take_while(|step| step.expectation.outcome == ChangeOutcome::Missed);
        in_a_row.map(|step| step.times).sum()
    }

    /// Counts the days at whose end no regular change was past due.
    pub fn days_in_date(&self) -> i64 {
        self.days.iter().filter(|day| day.is_in_date).count() as i64
    }

    /// Counts the expectations with an outcome.
    pub fn count(&self, outcome: ChangeOutcome) -> i64 {
        self.expectations.iter().filter(|expectation| expectation.outcome == outcome).count() as i64
    }
}

impl Expectation {
    /// The day that assigns it to a period: that of its change if it was early, otherwise its due day.
    pub fn belongs_to(&self) -> NaiveDate {
        self.done_on.map_or(self.due_on, |done| done.min(self.due_on))
    }
}

/// The care days of the changes that count, without duplicates, in order.
fn care_days(timeline: &Timeline, schedule: &Schedule) -> Vec<NaiveDate> {
    let mut days: Vec<NaiveDate> = timeline.changes(schedule.exit).map(|change| change.when.care_day).collect();
    days.sort();
    days.dedup();
    days
}

/// The chain of expectations: each due day follows from the previous change or due day.
struct Chain<'a> {
    schedule: &'a Schedule<'a>,
    timeline: &'a Timeline<'a>,
    changes: &'a [NaiveDate],
    /// The first day from which only changes distinguish one day from the next.
    alike_from: NaiveDate,
}

/// An expectation, and the number of consecutive ones like it.
struct ExpectationRun {
    expectation: Expectation,
    times: i64,
}

impl<'a> Chain<'a> {
    fn of(schedule: &'a Schedule<'a>, timeline: &'a Timeline<'a>, changes: &'a [NaiveDate]) -> Chain<'a> {
        let told = timeline.last_day_of_logs().map(after);
        let alike_from = told.into_iter().fold(schedule.settled_from(), NaiveDate::max);
        Chain { schedule, timeline, changes, alike_from }
    }

    /// Returns the expectations that belong to a period.
    fn expectations(&self, period: Period) -> Vec<Expectation> {
        let last_before = self.changes.iter().copied().rfind(|day| *day < period.from);
        let all = self.run(last_before, period).into_iter().map(|step| step.expectation);
        all.filter(|expectation| period.contains(expectation.belongs_to())).collect()
    }

    /// Returns the expectations after the change `last_change`, or from the start, at least those due in the period.
    ///
    /// Before the period, repeating expectations are counted, not iterated.
    fn run(&self, last_change: Option<NaiveDate>, period: Period) -> Vec<ExpectationRun> {
        let today = self.timeline.today;
        let next_due = |day| self.schedule.next_due(day, today);
        let (mut last, mut next) = match last_change {
            Some(day) => (day, next_due(day)),
            None => (self.schedule.beginning().day(), self.schedule.first_due(today)),
        };
        let mut rows = Vec::new();
        while let Some(due_on) = next
            && last <= period.to
        {
            let after_that = next_due(due_on);
            let Some(done_on) = self.first_change_after(last) else {
                if due_on >= self.alike_from
                    && let Some((times, following)) = self.schedule.leap(due_on, period.from.min(today), today)
                {
                    rows.push(ExpectationRun { times, ..self.without_change(due_on, after_that, true) });
                    next = Some(following);
                    continue;
                }
                let is_over = after_that.map_or(due_on < today, |following| following <= today);
                rows.push(self.without_change(due_on, after_that, is_over));
                if !is_over || after_that.is_none() {
                    break;
                }
                (last, next) = (due_on, after_that);
                continue;
            };
            let is_in_time = done_on <= due_on;
            if is_in_time && done_on < due_on && next_due(done_on) == Some(due_on) {
                // An extra change: what was due stays due.
                last = done_on;
            } else if is_in_time {
                rows.push(self.row(due_on, ChangeOutcome::OnTime, Some(done_on), Some(0)));
                (last, next) = (done_on, next_due(done_on));
            } else if after_that.is_none_or(|following| done_on < following) {
                rows.push(match self.timeline.is_covered_between(due_on, before(done_on)) {
                    true => self.row(due_on, ChangeOutcome::Late, Some(done_on), Some((done_on - due_on).num_days())),
                    false => self.row(due_on, ChangeOutcome::Unreported, Some(done_on), None),
                });
                (last, next) = (done_on, next_due(done_on));
            } else {
                rows.push(self.without_change(due_on, after_that, true));
                (last, next) = (due_on, after_that);
            }
        }
        rows
    }

    fn first_change_after(&self, day: NaiveDate) -> Option<NaiveDate> {
        self.changes.get(self.changes.partition_point(|change| *change <= day)).copied()
    }

    /// Returns an expectation without a change, past or still open.
    fn without_change(&self, due_on: NaiveDate, after_that: Option<NaiveDate>, is_over: bool) -> ExpectationRun {
        let has_left = || self.schedule.is_stay_between(after(due_on), self.timeline.today);
        let is_unreported = match (is_over, after_that) {
            (true, Some(following)) => !self.timeline.is_covered_between(due_on, before(following)),
            (true, None) => !self.timeline.is_covered(due_on) || has_left(),
            (false, _) => has_left(),
        };
        let outcome = match is_over {
            _ if is_unreported => ChangeOutcome::Unreported,
            true => ChangeOutcome::Missed,
            false => ChangeOutcome::Open,
        };
        self.row(due_on, outcome, None, None)
    }

    fn row(
        &self,
        due_on: NaiveDate,
        outcome: ChangeOutcome,
        done_on: Option<NaiveDate>,
        days_late: Option<i64>,
    ) -> ExpectationRun {
        let phase = self.schedule.interval(due_on).map(|(_, phase)| phase.to_owned()).unwrap_or_default();
        ExpectationRun { expectation: Expectation { due_on, outcome, done_on, days_late, phase }, times: 1 }
    }

    /// Returns the covered expected days of the period before today, each with whether the dressing was current.
    fn dated_days(&self, period: Period) -> Vec<DatedDay> {
        let today = self.timeline.today;
        let mut days = Vec::new();
        let mut known: Option<(Option<NaiveDate>, Option<NaiveDate>)> = None;
        for day in period.days().take_while(|day| *day < today) {
            if !self.schedule.is_expected(day) || !self.timeline.is_covered(day) {
                continue;
            }
            let last = self.changes.iter().copied().rfind(|change| *change <= day);
            let next = match known {
                Some((change, next)) if change == last => next,
                _ => last.map_or_else(|| self.schedule.first_due(today), |last| self.schedule.next_due(last, today)),
            };
            known = Some((last, next));
            days.push(DatedDay { day, is_in_date: next.is_none_or(|next| day < next) });
        }
        days
    }

    /// Counts the expected days of the period before today that are not covered.
    fn days_not_covered(&self, period: Period) -> i64 {
        let past = period.days().take_while(|day| *day < self.timeline.today);
        past.filter(|day| self.schedule.is_expected(*day) && !self.timeline.is_covered(*day)).count() as i64
    }

    /// The longest gap between two changes that touch the period, less the days strictly between that are not covered.
    fn longest_gap(&self, period: Period) -> Option<i64> {
        let today = self.timeline.today;
        let end = match self.schedule.patient.last_day(self.schedule.exit) {
            Some(last) if last <= today => last,
            _ => today.min(period.to),
        };
        let start = self.schedule.start();
        if period.to < start || today < start {
            return None;
        }
        let first = self.schedule.beginning().change();
        let days: Vec<NaiveDate> = first.into_iter().chain(self.changes.iter().copied()).chain([end]).collect();
        let touching = days.windows(2).filter(|pair| pair[0] <= period.to && pair[1] >= period.from);
        let gap = |pair: &[NaiveDate]| {
            let not_covered = self.timeline.days_not_covered(after(pair[0]), before(pair[1]));
            (pair[1] - pair[0]).num_days() - not_covered
        };
        touching.map(gap).filter(|gap| *gap >= 0).max()
    }
}
