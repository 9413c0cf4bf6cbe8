//! A household's supplies: on hand, used, the day they run out, and the day to order by.
//!
//! On hand is the last count, plus what was received since, less what was lost and used since: each change at home uses
//! `per_change`. An item that was never counted is unknown, never zero.
//!
//! Left out on purpose: supplies used anywhere but at home; a ward has its own.

use chrono::NaiveDate;
use schemars::JsonSchema;
use serde::Serialize;

use crate::day::{Period, after, before, plus};
use crate::event::{Event, Fact, Tally};
use crate::patient::{CareRow, ExitSite, Patient, Reports};
use crate::policy::{CarePlace, CarePlan, SupplyItem};
use crate::schedule::{DayPlan, Due, Outlook, Schedule};
use crate::timeline::Timeline;

/// The number of days, including today, over which the household's own use is measured (rules: the last 28 days).
pub(crate) const OWN_USE_DAYS: i64 = 28;

/// The number of days ahead for which changes are projected.
pub(crate) const PROJECTED_DAYS: i64 = 400;

/// A household's stock of one item.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Stock {
    /// Item.
    pub item: String,
    /// Last count; null if never counted, as are the numbers below.
    pub counted: Option<i64>,
    /// Care day of that count.
    pub counted_on: Option<NaiveDate>,
    /// Number received since then.
    pub received: Option<i64>,
    /// Number lost since then.
    pub lost: Option<i64>,
    /// Number used by changes at home since then.
    pub used: Option<i64>,
    /// Stock according to the records; if negative, the records are wrong.
    pub on_hand: Option<i64>,
    /// Unreported changes planned before today; not included in `used`.
    pub changes_not_told: Option<i64>,
    /// Day of the first change without supplies; null also if that is more than 400 days ahead.
    pub runs_out_on: Option<NaiveDate>,
    /// That day less the lead time of an order.
    pub order_by: Option<NaiveDate>,
    /// True if it must be ordered by now.
    pub short: Option<bool>,
}

/// A household's stock of each item, in the order of the policy.
pub(crate) fn stocks(items: &[SupplyItem], plan: &CarePlan, timeline: &Timeline) -> Vec<Stock> {
    items.iter().map(|item| Stock::of(item, plan, timeline)).collect()
}

/// Returns true if an item must be ordered by now; `None` if one was never counted and no other is short.
pub(crate) fn is_short(stocks: &[Stock]) -> Option<bool> {
    if stocks.iter().any(|stock| stock.short == Some(true)) {
        return Some(true);
    }
    stocks.iter().all(|stock| stock.short.is_some()).then_some(false)
}

impl Stock {
    /// Computes a household's stock of an item, as of the timeline's instant.
    ///
    /// The n-th projected change is on the earlier of two days: that of the schedule run forward, and that of the own use
    /// of the last 28 days. A household that is not covered today is projected from the last known day.
    ///
    /// ```
    /// # use exitsite::story::Story;
    /// let home = Story::implanted("2026-08-03").home_from("2026-08-27").event("2026-11-20T08:00", "change", "");
    /// assert_eq!(home.stock("2026-11-21T07:15"), "never counted");
    /// // every other day: the 22nd, 24th and 26th can be supplied, the 28th cannot; order a week before
    /// let counted = home.event("2026-11-20T09:00", "supply", "item = 'dressing-kit'\ncounted = 3");
    /// assert_eq!(counted.stock("2026-11-21T02:59"), "3 on hand, runs out 2026-11-28, order by 2026-11-21");
    /// assert_eq!(counted.stock("2026-11-21T07:15"), "3 on hand, runs out 2026-11-28, order by 2026-11-21, short");
    /// // a change at home uses one, what is received is added, what is lost is subtracted
    /// let used = counted.event("2026-11-22T08:00", "change", "").event("2026-11-22T12:00", "supply", "item = 'dressing-kit'\nreceived = 20");
    /// assert_eq!(used.stock("2026-11-22T20:00"), "22 on hand, runs out 2027-01-07, order by 2026-12-31");
    /// let lost = used.event("2026-11-22T13:00", "supply", "item = 'dressing-kit'\nlost = 19");
    /// assert_eq!(lost.stock("2026-11-22T20:00"), "3 on hand, runs out 2026-11-30, order by 2026-11-23");
    /// // a later count replaces everything before it
    /// let again = lost.event("2026-11-22T14:00", "supply", "item = 'dressing-kit'\ncounted = 10");
    /// assert_eq!(again.stock("2026-11-22T20:00"), "10 on hand, runs out 2026-12-14, order by 2026-12-07");
    /// // negative: the records are wrong
    /// let none = counted.event("2026-11-20T10:00", "supply", "item = 'dressing-kit'\nlost = 5");
    /// assert_eq!(none.stock("2026-11-21T07:15"), "-2 on hand, runs out 2026-11-22, order by 2026-11-15, short");
    /// ```
    pub fn of(item: &SupplyItem, plan: &CarePlan, timeline: &Timeline) -> Stock {
        let mut count = None;
        let (mut received, mut lost, mut used) = (0, 0, 0);
        for event in timeline.events() {
            match &event.fact {
                Fact::Supply(supply) if supply.item == item.item => match supply.tally {
                    Tally::Counted(n) => {
                        count = Some((n, event.when.care_day));
                        (received, lost, used) = (0, 0, 0);
                    }
                    Tally::Received(n) => received += n,
                    Tally::Lost(n) => lost += n,
                },
                Fact::Change(_) if is_at_home(timeline.patient, event) => used += item.per_change,
                _ => {}
            }
        }
        let Some((counted, counted_on)) = count else { return Stock::never_counted(item) };
        let on_hand = counted + received - lost - used;
        let supplied = (item.per_change > 0).then(|| on_hand.max(0) / item.per_change);
        let (days, further) = projected(plan, timeline, counted_on, supplied.unwrap_or_default());
        let runs_out_on = supplied.and_then(|supplied| days.get(supplied as usize)).copied();
        let order_by = runs_out_on.map(|day| plus(day, -item.lead_days));
        Stock {
            item: item.item.clone(),
            counted: Some(counted),
            counted_on: Some(counted_on),
            received: Some(received),
            lost: Some(lost),
            used: Some(used),
            on_hand: Some(on_hand),
            changes_not_told: Some(days.iter().filter(|day| **day < timeline.today).count() as i64 + further),
            runs_out_on,
            order_by,
            short: Some(order_by.is_some_and(|day| day <= timeline.today)),
        }
    }

    fn never_counted(item: &SupplyItem) -> Stock {
        Stock {
            item: item.item.clone(),
            counted: None,
            counted_on: None,
            received: None,
            lost: None,
            used: None,
            on_hand: None,
            changes_not_told: None,
            runs_out_on: None,
            order_by: None,
            short: None,
        }
    }
}

/// Returns true if it is a change of one of the exit sites, made at home.
fn is_at_home(patient: &Patient, event: &Event) -> bool {
    matches!(event.fact, Fact::Change(_))
        && patient.place(event.when.care_day) == CarePlace::Home
        && patient.exits.iter().any(|exit| patient.concerns(event, exit))
}

/// Returns the days of the future changes at home, from the last known day on: at least those of `supplied` changes and
/// one more. If they end before today, also returns how many more there are before it.
fn projected(plan: &CarePlan, timeline: &Timeline, counted_on: NaiveDate, supplied: i64) -> (Vec<NaiveDate>, i64) {
    let (patient, today) = (timeline.patient, timeline.today);
    let is_home = |day: &NaiveDate| patient.place(*day) == CarePlace::Home;
    let (mut days, mut further) = (Vec::new(), 0);
    for exit in &patient.exits {
        let schedule = Schedule { plan, patient, exit };
        let from =
            if timeline.is_told_between(today, today) { today } else { first_unknown(timeline, exit, counted_on) };
        // From the day on which all days are alike, the requested number is enough.
        let changed = timeline.changes(exit).map(|change| change.when.care_day);
        let alike = changed.fold(schedule.settled_from().max(from), NaiveDate::max);
        let longest = schedule.interval(alike).map_or(1, |(interval, _)| interval.longest_days());
        let enough = plus(alike, supplied.saturating_add(2).saturating_mul(longest));
        let to = if enough < today { enough } else { plus(today, PROJECTED_DAYS) };
        let of_exit = due_days(plan, patient, exit, timeline, Period { from: from.min(today), to });
        if let Some(last) = of_exit.last().filter(|_| to < today && is_home(&to)) {
            further += schedule.due_days_between(*last, today, today);
        }
        days.extend(of_exit.into_iter().filter(is_home));
    }
    days.sort();
    let is_recent = |event: &&Event| event.when.care_day > plus(today, -OWN_USE_DAYS);
    let own = timeline.events().iter().filter(is_recent).filter(|event| is_at_home(patient, event)).count() as i64;
    for (n, day) in days.iter_mut().enumerate().filter(|_| own > 0) {
        let by_own_use = plus(today, (OWN_USE_DAYS * (n as i64 + 1) + own - 1) / own);
        *day = by_own_use.min(*day);
    }
    (days, further)
}

/// The day after the last known one: counted, covered, or with a change.
fn first_unknown(timeline: &Timeline, exit: &ExitSite, counted_on: NaiveDate) -> NaiveDate {
    let changed = timeline.changes(exit).next_back().map(|change| change.when.care_day);
    let covered = timeline.last_covered_day();
    let known = [changed, covered].into_iter().flatten().fold(counted_on, NaiveDate::max);
    after(known)
}

fn due_days(
    plan: &CarePlan,
    patient: &Patient,
    exit: &ExitSite,
    timeline: &Timeline,
    period: Period,
) -> Vec<NaiveDate> {
    let schedule = Schedule { plan, patient, exit };
    let due = Due::of(&schedule, timeline);
    let outlook = Outlook::of(&schedule, timeline, &due, period);
    let is_due = |planned: &&crate::schedule::PlannedDay| planned.plan == DayPlan::ChangeDue;
    outlook.days.iter().filter(is_due).map(|planned| planned.day).collect()
}

/// A household's needs for the first days at home.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct FirstDays {
    /// First day: that of the planned move home; today if the patient is at home, or no move is planned.
    pub from: NaiveDate,
    /// Last day.
    pub to: NaiveDate,
    /// Number needed.
    pub needed: i64,
}

impl FirstDays {
    /// Returns the changes due in the `discharge_days` from the day home, and the number of items that they use.
    pub fn of(item: &SupplyItem, plan: &CarePlan, timeline: &Timeline) -> FirstDays {
        let today = timeline.today;
        let home = planned_home(timeline.patient, today);
        let from = home.filter(|_| timeline.patient.place(today) != CarePlace::Home).unwrap_or(today);
        let period = Period { from, to: before(plus(from, item.discharge_days)) };
        let patient = at_home_from(timeline.patient, from);
        let changes: usize = patient
            .exits_followed(today)
            .into_iter()
            .map(|exit| due_days(plan, &patient, exit, timeline, period).len())
            .sum();
        FirstDays { from, to: period.to, needed: changes as i64 * item.per_change }
    }
}

/// The day of the next planned move home.
pub(crate) fn planned_home(patient: &Patient, today: NaiveDate) -> Option<NaiveDate> {
    patient.care.iter().find(|row| row.from > today && row.place == CarePlace::Home).map(|row| row.from)
}

/// Returns the patient as if at home from a day on.
fn at_home_from(patient: &Patient, from: NaiveDate) -> Patient {
    let mut home = patient.clone();
    if patient.place(from) != CarePlace::Home {
        home.care.retain(|row| row.from < from);
        let row = home.care.last().cloned();
        home.care.extend(row.map(|row| CareRow { from, place: CarePlace::Home, reports: Reports::Each, ..row }));
    }
    home
}
