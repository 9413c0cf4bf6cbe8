//! One patient's events in order, as of one moment.
//!
//! A timeline holds what exists and counts as of that moment: no voided record, nothing that has not happened yet.
//! The one exception are logs: a log covers its days whenever it was read in.

use std::borrow::Cow;

use chrono::{Duration, NaiveDate};

use crate::day::{AsOf, GRACE_MINUTES, Instant, after, before, plus};
use crate::event::{Anchor, Contact, ContactOutcome, Event, Fact, Log, Site};
use crate::patient::{ExitSite, Patient, Reports};
use crate::people::People;
use crate::policy::{CarePlace, CarePlan};

/// One patient's events as of a moment.
#[derive(Debug)]
pub struct Timeline<'a> {
    /// The patient.
    pub patient: &'a Patient,
    /// The moment.
    pub as_of: Instant,
    /// The care day of that moment, where the patient is.
    pub today: NaiveDate,
    sorted: Cow<'a, SortedEvents>,
}

/// Events sorted out as of a moment: those that exist and count, in order, and the rest.
#[derive(Debug, Clone)]
pub struct SortedEvents {
    counting: Vec<Event>,
    /// Voided events, and those that have not happened yet.
    others: Vec<Event>,
    /// Each log with the moment from which on it is there.
    logs: Vec<(Log, Instant)>,
    /// True if the moment is that of the clock, and none that was asked about.
    is_now: bool,
}

impl SortedEvents {
    /// Sorts out a patient's events; a log covers its days whenever it was read in.
    pub fn of(patient: &Patient, events: Vec<Event>, as_of: Instant) -> SortedEvents {
        let counts = |event: &Event| event.void.is_none() && event.exists(&patient.calendar, as_of);
        let log = |event: &Event| match &event.fact {
            Fact::Log(log) if event.void.is_none() => Some((*log, event.earliest(&patient.calendar))),
            _ => None,
        };
        let logs = events.iter().filter_map(log).collect();
        let (mut counting, others): (Vec<Event>, Vec<Event>) = events.into_iter().partition(counts);
        counting.sort_by_cached_key(Event::order);
        SortedEvents { counting, others, logs, is_now: false }
    }

    /// Sorts out a patient's events as of now, or of a moment that was asked about.
    pub fn as_of(patient: &Patient, events: Vec<Event>, as_of: AsOf) -> SortedEvents {
        SortedEvents { is_now: !as_of.is_given, ..SortedEvents::of(patient, events, as_of.instant) }
    }

    /// Every event, in no promised order.
    pub fn all(&self) -> impl Iterator<Item = &Event> + Clone {
        self.counting.iter().chain(&self.others)
    }
}

impl<'a> Timeline<'a> {
    /// Puts events in order; those that do not exist yet or are voided are left out.
    pub fn of(patient: &'a Patient, events: Vec<Event>, as_of: Instant) -> Self {
        let sorted = Cow::Owned(SortedEvents::of(patient, events, as_of));
        Timeline { patient, as_of, today: patient.calendar.today(as_of), sorted }
    }

    /// Takes events that were sorted out as of that moment.
    pub fn over(patient: &'a Patient, sorted: &'a SortedEvents, as_of: Instant) -> Self {
        Timeline { patient, as_of, today: patient.calendar.today(as_of), sorted: Cow::Borrowed(sorted) }
    }

    /// Every event, in order.
    pub fn events(&self) -> &[Event] {
        &self.sorted.counting
    }

    /// The records as they are after the events dated a little ahead of the clock: within today's care day, or the
    /// minutes by which clocks differ. `None` where there are none, or a moment was asked about.
    pub fn ahead(&self) -> Option<Timeline<'a>> {
        let latest = self.as_of + Duration::minutes(GRACE_MINUTES);
        let is_soon = |event: &&Event| {
            let is_today = event.when.care_day == self.today;
            event.void.is_none() && (is_today || event.earliest(&self.patient.calendar) <= latest)
        };
        let soon: Vec<&Event> = self.sorted.others.iter().filter(|_| self.sorted.is_now).filter(is_soon).collect();
        let last = soon.iter().map(|event| event.when.instant).max()?;
        let events = self.sorted.counting.iter().chain(soon).cloned().collect();
        Some(Timeline::of(self.patient, events, last))
    }

    /// The events that concern an exit site, in order.
    pub fn of_exit<'t>(&'t self, exit: &'t ExitSite) -> impl DoubleEndedIterator<Item = &'t Event> {
        self.sorted.counting.iter().filter(move |event| self.patient.concerns(event, exit))
    }

    /// The changes that count for an exit site, in order.
    pub fn changes<'t>(&'t self, exit: &'t ExitSite) -> impl DoubleEndedIterator<Item = &'t Event> {
        self.of_exit(exit).filter(move |event| {
            matches!(event.fact, Fact::Change(_)) && self.patient.counts(exit, event.when.care_day)
        })
    }

    /// The site records of an exit site that hold anything, in order.
    pub fn sites<'t>(&'t self, exit: &'t ExitSite) -> impl DoubleEndedIterator<Item = (&'t Event, &'t Site)> {
        self.of_exit(exit).filter_map(|event| event.site().filter(|site| !site.is_empty()).map(|site| (event, site)))
    }

    /// The last word on the anchor of an exit site. An event that is silent on it unsays nothing.
    pub fn anchor<'t>(&'t self, exit: &'t ExitSite) -> Option<(&'t Event, Anchor)> {
        self.of_exit(exit).filter_map(|event| Some((event, event.anchor()?))).next_back()
    }

    /// The contacts, in order.
    pub fn contacts(&self) -> impl DoubleEndedIterator<Item = (&Event, &Contact)> {
        self.sorted.counting.iter().filter_map(|event| match &event.fact {
            Fact::Contact(contact) => Some((event, contact)),
            _ => None,
        })
    }

    /// Returns true if the last word of staff is that support ended, and `[ended]` is not yet written. Alerts stop, since a household
    /// in mourning is not called about a dressing, until staff record a later event.
    pub fn is_end_reported(&self, people: Option<&People>) -> bool {
        let is_report = |(_, contact): &(&Event, &Contact)| contact.outcome == ContactOutcome::SupportEnded;
        let report = self.contacts().rfind(is_report).filter(|_| self.patient.ended.is_none());
        let is_staffs = |event: &Event| people.is_none_or(|people| people.is_staff(&event.by, event.when.care_day));
        report.is_some_and(|(report, _)| {
            !self.events().iter().any(|event| event.order() > report.order() && is_staffs(event))
        })
    }

    /// Returns true if what happened on a care day is covered by the records.
    ///
    /// It is if the day is not later than today and the patient is inpatient, or at home in a household that reports
    /// each change, or at home and a complete log holds the day. Days elsewhere are not covered.
    pub fn is_covered(&self, day: NaiveDate) -> bool {
        self.is_covered_between(day, day)
    }

    /// Returns true if every care day from `first` to `last`, both included, is covered.
    pub fn is_covered_between(&self, first: NaiveDate, last: NaiveDate) -> bool {
        self.days_not_covered(first, last) == 0
    }

    /// The number of care days from `first` to `last`, both included, that are not covered.
    pub fn days_not_covered(&self, first: NaiveDate, last: NaiveDate) -> i64 {
        self.days_not_covered_by(first, last, |_| true)
    }

    /// Counts them by the logs that `counts` takes, by rows and logs: a long time costs no more than a short one.
    fn days_not_covered_by(&self, first: NaiveDate, last: NaiveDate, counts: impl Fn(Instant) -> bool) -> i64 {
        let care = &self.patient.care;
        let covered = care.iter().enumerate().map(|(n, row)| {
            let from = if n == 0 { first } else { first.max(row.from) };
            let to = care.get(n + 1).map_or(last, |next| last.min(before(next.from))).min(self.today);
            match (row.place, row.reports) {
                (CarePlace::Inpatient, _) | (CarePlace::Home, Reports::Each) => length(from, to),
                (CarePlace::Home, Reports::Log) => self.days_of_logs(from, to, &counts),
                (CarePlace::Elsewhere, _) => 0,
            }
        });
        length(first, last) - covered.sum::<i64>()
    }

    /// The number of days from `first` to `last` in a complete log.
    fn days_of_logs(&self, first: NaiveDate, last: NaiveDate, counts: impl Fn(Instant) -> bool) -> i64 {
        let read_in = self.sorted.logs.iter().filter(|(log, at)| log.complete && counts(*at));
        let held = read_in.map(|(log, _)| (log.from.max(first), log.through.min(last)));
        let mut held: Vec<(NaiveDate, NaiveDate)> = held.filter(|(from, through)| from <= through).collect();
        held.sort();
        let (mut days, mut next) = (0, first);
        for (from, through) in held {
            days += length(from.max(next), through);
            next = next.max(after(through));
        }
        days
    }

    /// Returns true if a household that reports each change was at home on a day and no complete log holds it: that there was
    /// no change is then not on file, only that none was reported.
    pub fn is_covered_by_silence(&self, day: NaiveDate) -> bool {
        let row = self.patient.care_row(day);
        row.is_some_and(|row| row.place == CarePlace::Home && row.reports == Reports::Each)
            && self.days_of_logs(day, day, |_| true) == 0
    }

    /// The last day that a log names.
    pub fn last_day_of_logs(&self) -> Option<NaiveDate> {
        self.sorted.logs.iter().map(|(log, _)| log.through).max()
    }

    /// Returns true if every care day from `first` to `last` is covered, of logs only by those that were read in by then.
    pub fn is_told_between(&self, first: NaiveDate, last: NaiveDate) -> bool {
        self.days_not_covered_by(first, last, |read_in| read_in <= self.as_of) == 0
    }

    /// The last covered day before today, by the logs that were read in by then.
    pub fn last_covered_day(&self) -> Option<NaiveDate> {
        self.last_covered_day_by(self.as_of, self.today)
    }

    fn last_covered_day_by(&self, then: Instant, today: NaiveDate) -> Option<NaiveDate> {
        let mut last = before(today);
        for (n, row) in self.patient.care.iter().enumerate().rev() {
            let first = if n == 0 { NaiveDate::MIN } else { row.from };
            let within = |from: NaiveDate, through: NaiveDate| {
                let through = through.min(last);
                (from.max(first) <= through).then_some(through)
            };
            let day = match (row.place, row.reports) {
                (CarePlace::Inpatient, _) | (CarePlace::Home, Reports::Each) => within(first, last),
                (CarePlace::Home, Reports::Log) => {
                    let read_in = self.sorted.logs.iter().filter(|(log, at)| log.complete && *at <= then);
                    read_in.filter_map(|(log, _)| within(log.from, log.through)).max()
                }
                (CarePlace::Elsewhere, _) => None,
            };
            if day.is_some() {
                return day;
            }
            last = last.min(before(first));
        }
        None
    }

    /// The care day of the last event that was told, or of the last contact that reached the patient or a caregiver.
    pub fn last_told_day(&self) -> Option<NaiveDate> {
        self.sorted.counting.iter().rev().find(|event| self.patient.is_heard(event)).map(|event| event.when.care_day)
    }

    /// The day on which the household's next log is expected, `log_days` after the last covered day or the last day of a
    /// stay elsewhere, or else the start.
    pub fn log_expected(&self, start: NaiveDate, plan: &CarePlan) -> NaiveDate {
        self.log_expected_by(self.as_of, self.today, start, plan)
    }

    /// The day expected at an earlier moment, on the care day of that moment.
    pub fn log_expected_by(&self, then: Instant, today: NaiveDate, start: NaiveDate, plan: &CarePlan) -> NaiveDate {
        let stay = self.patient.last_day_of_stay(plan.returns.after_days, NaiveDate::MIN, before(today));
        let last = self.last_covered_day_by(then, today).into_iter().chain(stay).max();
        plus(last.unwrap_or(start), plan.log_days)
    }
}

/// The days from `first` to `last`, both included; none where they are in no order.
fn length(first: NaiveDate, last: NaiveDate) -> i64 {
    ((last - first).num_days() + 1).max(0)
}
