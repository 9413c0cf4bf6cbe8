//! One patient's events in order, as of an instant.
//!
//! A timeline contains the events that exist and count as of that instant: no voided record and no future event. Logs are
//! the one exception: a log covers its days whenever it was read in.

use std::borrow::Cow;

use chrono::{Duration, NaiveDate};

use crate::day::{AsOf, GRACE_MINUTES, Instant, after, before, plus};
use crate::event::{Anchor, Contact, ContactOutcome, Event, Fact, Log, Site, Source};
use crate::patient::{ExitSite, Patient, Reports};
use crate::people::People;
use crate::policy::{CarePlace, CarePlan};

/// One patient's events as of an instant.
#[derive(Debug)]
pub struct Timeline<'a> {
    /// The patient.
    pub patient: &'a Patient,
    /// The instant.
    pub as_of: Instant,
    /// The care day of that instant, in the patient's time zone.
    pub today: NaiveDate,
    sorted: Cow<'a, SortedEvents>,
}

/// Events sorted as of an instant: those that exist and count, in order, and the rest.
#[derive(Debug, Clone)]
pub struct SortedEvents {
    counting: Vec<Event>,
    /// Voided and future events.
    others: Vec<Event>,
    /// Each log with the instant from which it exists.
    logs: Vec<(Log, Instant)>,
    /// True if the instant is that of the clock, rather than `--as-of`.
    is_now: bool,
}

impl SortedEvents {
    /// Sorts a patient's events; a log covers its days whenever it was read in.
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

    /// Sorts a patient's events as of now, or of a given instant.
    pub fn as_of(patient: &Patient, events: Vec<Event>, as_of: AsOf) -> SortedEvents {
        SortedEvents { is_now: !as_of.is_given, ..SortedEvents::of(patient, events, as_of.instant) }
    }

    /// Every event, unordered.
    pub fn all(&self) -> impl Iterator<Item = &Event> + Clone {
        self.counting.iter().chain(&self.others)
    }
}

impl<'a> Timeline<'a> {
    /// Sorts events; future and voided ones are left out.
    pub fn of(patient: &'a Patient, events: Vec<Event>, as_of: Instant) -> Self {
        let sorted = Cow::Owned(SortedEvents::of(patient, events, as_of));
        Timeline { patient, as_of, today: patient.calendar.today(as_of), sorted }
    }

    /// Wraps events that were sorted as of that instant.
    pub fn over(patient: &'a Patient, sorted: &'a SortedEvents, as_of: Instant) -> Self {
        Timeline { patient, as_of, today: patient.calendar.today(as_of), sorted: Cow::Borrowed(sorted) }
    }

    /// The events, in order.
    pub fn events(&self) -> &[Event] {
        &self.sorted.counting
    }

    /// The timeline after the events dated slightly ahead of the clock: within today's care day, or the tolerance for
    /// clocks. `None` if there are none, or if an instant was given.
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

    /// The non-empty site records of an exit site, in order.
    pub fn sites<'t>(&'t self, exit: &'t ExitSite) -> impl DoubleEndedIterator<Item = (&'t Event, &'t Site)> {
        self.of_exit(exit).filter_map(|event| event.site().filter(|site| !site.is_empty()).map(|site| (event, site)))
    }

    /// The latest record of the anchor of an exit site. An event that does not mention it changes nothing.
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

    /// Returns true if the latest record by staff reports that support ended, and `[ended]` is not written yet. Alerts
    /// stop until staff record a later event, so that a family in mourning is not called about a dressing.
    pub fn is_end_reported(&self, people: Option<&People>) -> bool {
        let is_report = |(_, contact): &(&Event, &Contact)| contact.outcome == ContactOutcome::SupportEnded;
        let report = self.contacts().rfind(is_report).filter(|_| self.patient.ended.is_none());
        let is_staffs = |event: &Event| people.is_none_or(|people| people.is_staff(&event.by, event.when.care_day));
        report.is_some_and(|(report, _)| {
            !self.events().iter().any(|event| event.order() > report.order() && is_staffs(event))
        })
    }

    /// Returns true if a care day is covered by the records.
    ///
    /// A day is covered if it is not later than today and the patient is inpatient, or at home in a household that
    /// reports each change, or at home and a complete log includes the day. Days elsewhere are not covered.
    pub fn is_covered(&self, day: NaiveDate) -> bool {
        self.is_covered_between(day, day)
    }

    /// Returns true if every care day from `first` to `last`, both included, is covered.
    pub(crate) fn is_covered_between(&self, first: NaiveDate, last: NaiveDate) -> bool {
        self.days_not_covered(first, last) == 0
    }

    /// The number of care days from `first` to `last`, both included, that are not covered.
    pub fn days_not_covered(&self, first: NaiveDate, last: NaiveDate) -> i64 {
        self.days_not_covered_by(first, last, |_| true)
    }

    /// Counts covered days using the logs that `counts` accepts, by care rows and logs: a long period costs no more than
    /// a short one.
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
        // Most care rows lie outside the days asked about.
        if last < first {
            return 0;
        }
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

    /// Returns true if a household that reports each change was at home on a day and no complete log includes it: the
    /// records then show only that no change was reported, not that there was none.
    pub(crate) fn is_covered_by_silence(&self, day: NaiveDate) -> bool {
        let row = self.patient.care_row(day);
        row.is_some_and(|row| row.place == CarePlace::Home && row.reports == Reports::Each)
            && self.days_of_logs(day, day, |_| true) == 0
    }

    /// The last day that any log covers.
    pub(crate) fn last_day_of_logs(&self) -> Option<NaiveDate> {
        self.sorted.logs.iter().map(|(log, _)| log.through).max()
    }

    /// Returns true if every care day from `first` to `last` is covered, counting only logs that were read in by then.
    pub fn is_told_between(&self, first: NaiveDate, last: NaiveDate) -> bool {
        self.days_not_covered_by(first, last, |read_in| read_in <= self.as_of) == 0
    }

    /// The last covered day before today, counting only logs that were read in by then.
    pub(crate) fn last_covered_day(&self) -> Option<NaiveDate> {
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

    /// The care day of the last contact with the household: a record reported by it, or a contact that reached the
    /// patient or a caregiver.
    pub(crate) fn last_told_day(&self) -> Option<NaiveDate> {
        self.sorted.counting.iter().rev().find(|event| self.patient.is_heard(event)).map(|event| event.when.care_day)
    }

    /// Returns true if the household reported something on a care day; a call alone reports nothing.
    pub(crate) fn is_reported_on(&self, day: NaiveDate) -> bool {
        let is_reported = |event: &Event| event.source == Source::Told && !matches!(event.fact, Fact::Contact(_));
        self.sorted.counting.iter().any(|event| event.when.care_day == day && is_reported(event))
    }

    /// The day on which the household's next log is expected: `log_days` after the last covered day or the last day of a
    /// stay elsewhere, otherwise after the start.
    pub fn log_expected(&self, start: NaiveDate, plan: &CarePlan) -> NaiveDate {
        self.log_expected_by(self.as_of, self.today, start, plan)
    }

    /// The day on which the next log was expected as of an earlier instant, on its care day.
    pub(crate) fn log_expected_by(
        &self,
        then: Instant,
        today: NaiveDate,
        start: NaiveDate,
        plan: &CarePlan,
    ) -> NaiveDate {
        let stay = self.patient.last_day_of_stay(plan.returns.after_days, NaiveDate::MIN, before(today));
        let last = self.last_covered_day_by(then, today).into_iter().chain(stay).max();
        plus(last.unwrap_or(start), plan.log_days)
    }
}

/// The days from `first` to `last`, both included; empty if they are in reverse order.
fn length(first: NaiveDate, last: NaiveDate) -> i64 {
    ((last - first).num_days() + 1).max(0)
}
