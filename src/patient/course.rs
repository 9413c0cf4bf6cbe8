//! A patient's course on a given day: the place of care, the open exit sites, the exit site of an event.

use chrono::NaiveDate;

use super::{CareRow, ExitSite, Patient};
use crate::day::before;
use crate::event::{ContactOutcome, Event, Fact, Source};
use crate::policy::CarePlace;
use crate::problem::{OneOf, Problem, Rule};
use crate::text;

/// The exit site of an event on a given day.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum ExitDay {
    /// This exit site, by its index in the file.
    One(usize),
    /// The exit site that closes that day; another opens, and the event names neither.
    Closing(usize),
    /// No exit site was open yet.
    BeforeExit,
    /// No exit site was open any longer.
    AfterExit,
    /// Several exit sites are open and the event names none.
    Unclear,
    /// The event names an unknown exit site.
    Unknown,
}

/// The subject of an event: an exit site or the patient.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Belonging {
    /// One exit site; `None` if it is unclear which.
    Exit(ExitDay),
    /// Every exit site open that day, or the patient.
    Patient,
}

impl Patient {
    /// Returns the care row in force on a day: the last one that begins on or before it; before the first row, the first
    /// one.
    pub(crate) fn care_row(&self, day: NaiveDate) -> Option<&CareRow> {
        self.care.iter().rev().find(|row| row.from <= day).or(self.care.first())
    }

    /// Returns the place of care on a day.
    pub fn place(&self, day: NaiveDate) -> CarePlace {
        self.care_row(day).map_or(CarePlace::Home, |row| row.place)
    }

    /// Returns the last day of a stay elsewhere within `first` to `last`, both included. A stay is an unbroken run of at
    /// least `after_days` days elsewhere, according to the care rows; the first row extends back, the last one forward.
    pub(crate) fn last_day_of_stay(&self, after_days: i64, first: NaiveDate, last: NaiveDate) -> Option<NaiveDate> {
        let mut until = NaiveDate::MAX;
        let mut run: Option<NaiveDate> = None;
        for (n, row) in self.care.iter().enumerate().rev() {
            let from = if n == 0 { NaiveDate::MIN } else { row.from };
            if row.place == CarePlace::Elsewhere {
                let end = *run.get_or_insert(until);
                let goes_on = n > 0 && self.care[n - 1].place == CarePlace::Elsewhere;
                let is_stay = (end - from).num_days() + 1 >= after_days;
                if !goes_on && is_stay && from.max(first) <= end.min(last) {
                    return Some(end.min(last));
                }
            } else {
                run = None;
            }
            until = before(from);
        }
        None
    }

    /// The latest date in the course: after it, place, exit sites, orders and support no longer change.
    pub(crate) fn last_day_named(&self) -> NaiveDate {
        let care = self.care.iter().map(|row| row.from);
        let exits = self.exits.iter().flat_map(|exit| [Some(exit.from), exit.until]).flatten();
        let orders = self.orders.iter().flat_map(|order| [Some(order.from), order.until]).flatten();
        let ended = self.ended.iter().map(|ended| ended.on);
        care.chain(exits).chain(orders).chain(ended).fold(self.records_from, NaiveDate::max)
    }

    /// The first day of an exit site's schedule: the later of its first day and the first day of the records.
    pub fn start(&self, exit: &ExitSite) -> NaiveDate {
        exit.from.max(self.records_from)
    }

    /// The last day on which an event counts for an exit site: its last day, or that of support.
    pub fn last_day(&self, exit: &ExitSite) -> Option<NaiveDate> {
        let ended = self.ended.as_ref().map(|ended| ended.on);
        exit.until.into_iter().chain(ended).min()
    }

    /// Returns true if an event of that care day counts for the exit site: not before its first day, not after its last.
    pub fn counts(&self, exit: &ExitSite, day: NaiveDate) -> bool {
        self.start(exit) <= day && self.last_day(exit).is_none_or(|last| day <= last)
    }

    /// Returns true if the event shows contact with the household: a record reported by it, or a contact that reached the
    /// patient or a caregiver. An unanswered call is not contact, whatever its `source`.
    pub fn is_heard(&self, event: &Event) -> bool {
        match &event.fact {
            Fact::Contact(contact) => {
                contact.outcome != ContactOutcome::NoAnswer && self.household().any(|code| code == contact.with)
            }
            _ => event.source == Source::Told,
        }
    }

    /// The people who change the dressing at home, by code: the caregivers, then `patient`.
    pub fn household(&self) -> impl Iterator<Item = &str> {
        self.caregivers.iter().map(|caregiver| caregiver.code.as_str()).chain(["patient"])
    }

    /// The household as a sheet numbers it from 1: the patient first, so that a new caregiver changes no number.
    pub fn on_the_sheet(&self) -> impl Iterator<Item = &str> {
        ["patient"].into_iter().chain(self.caregivers.iter().map(|caregiver| caregiver.code.as_str()))
    }

    /// Returns true if support has ended by `day`: nothing is due from that day on.
    pub(crate) fn has_ended(&self, day: NaiveDate) -> bool {
        self.ended.as_ref().is_some_and(|ended| ended.on <= day)
    }

    /// The day on which the patient moved home, if still there on `day`; `None` if the records begin at home.
    pub(crate) fn home_since(&self, day: NaiveDate) -> Option<NaiveDate> {
        let so_far = self.care.partition_point(|row| row.from <= day);
        let at_home = self.care[..so_far].iter().rev().take_while(|row| row.place == CarePlace::Home).count();
        let first = self.care[..so_far].get(so_far - at_home)?;
        Some(first.from).filter(|_| at_home < so_far).filter(|from| *from > self.records_from)
    }

    /// The number of consecutive days elsewhere, `day` included.
    pub fn days_elsewhere(&self, day: NaiveDate) -> Option<i64> {
        if self.place(day) != CarePlace::Elsewhere {
            return None;
        }
        let rows = self.care.iter().rev().skip_while(|row| row.from > day);
        let since = rows.take_while(|row| row.place == CarePlace::Elsewhere).last()?.from;
        Some((day - since).num_days())
    }

    /// The exit sites listed on `day`: every one that is not closed, otherwise the one closed last.
    pub(crate) fn exits_followed(&self, day: NaiveDate) -> Vec<&ExitSite> {
        let not_closed: Vec<&ExitSite> =
            self.exits.iter().filter(|exit| exit.until.is_none_or(|until| day <= until)).collect();
        if not_closed.is_empty() {
            self.exits.iter().max_by_key(|exit| exit.until).into_iter().collect()
        } else {
            not_closed
        }
    }

    /// The exit sites that are open on any day of a period.
    pub(crate) fn exits_open_between(&self, first: NaiveDate, last: NaiveDate) -> impl Iterator<Item = &ExitSite> {
        self.exits.iter().filter(move |exit| exit.from <= last && exit.until.is_none_or(|until| first <= until))
    }

    /// Returns the subject of an event: an exit site or the patient.
    pub(crate) fn belonging(&self, event: &Event) -> Belonging {
        if event.name.kind.traits().concerns_one_exit {
            Belonging::Exit(self.exit_on(event.exit.as_deref(), event.when.care_day))
        } else {
            Belonging::Patient
        }
    }

    /// Returns true if an event counts for an exit site: it belongs to it, or concerns every exit site open that day.
    pub fn concerns(&self, event: &Event, exit: &ExitSite) -> bool {
        match self.belonging(event) {
            Belonging::Exit(ExitDay::One(n) | ExitDay::Closing(n)) => self.exits[n].id == exit.id,
            Belonging::Exit(_) => false,
            Belonging::Patient => exit.is_open(event.when.care_day),
        }
    }

    /// Returns the exit site of an event on a care day; `named` is the one named in the record, if any.
    ///
    /// On a day on which one exit site closes and another opens, an event that names neither belongs to the one that
    /// closes.
    pub(crate) fn exit_on(&self, named: Option<&str>, day: NaiveDate) -> ExitDay {
        // Most patients have one exit site, and this runs for every event.
        if let (None, [exit]) = (named, self.exits.as_slice()) {
            return match exit.is_open(day) {
                true => ExitDay::One(0),
                false if day < exit.from => ExitDay::BeforeExit,
                false => ExitDay::AfterExit,
            };
        }
        let open: Vec<usize> = (0..self.exits.len()).filter(|n| self.exits[*n].is_open(day)).collect();
        if let Some(id) = named {
            return match self.exits.iter().position(|exit| exit.id == id) {
                None => ExitDay::Unknown,
                Some(n) if open.contains(&n) => ExitDay::One(n),
                Some(n) if day < self.exits[n].from => ExitDay::BeforeExit,
                Some(_) => ExitDay::AfterExit,
            };
        }
        let closing: Vec<usize> = open.iter().copied().filter(|n| self.exits[*n].until == Some(day)).collect();
        let others_open_today = open.iter().filter(|n| !closing.contains(n)).all(|n| self.exits[*n].from == day);
        match (open.as_slice(), closing.as_slice()) {
            ([], _) if self.exits.iter().all(|exit| day < exit.from) => ExitDay::BeforeExit,
            ([], _) => ExitDay::AfterExit,
            ([one], _) => ExitDay::One(*one),
            (_, [closing]) if others_open_today => ExitDay::Closing(*closing),
            _ => ExitDay::Unclear,
        }
    }

    /// The problem with an event's exit site: it is unclear, or the event does not count.
    pub(crate) fn exit_problem(&self, event: &Event) -> Option<Problem> {
        let Belonging::Exit(exit) = self.belonging(event) else { return None };
        let key = if event.exit.is_some() { "exit" } else { event.time_key() };
        let ids = || self.exits.iter().map(|exit| exit.id.as_str());
        let (rule, message) = match exit {
            ExitDay::One(_) => return None,
            ExitDay::Closing(n) => (
                Rule::ExitNotNamed,
                format!("one exit site closes and another opens that day; the record counts for \"{}\"", ids().nth(n)?),
            ),
            ExitDay::BeforeExit => (Rule::BeforeExit, "the exit site was not open yet that day".to_owned()),
            ExitDay::AfterExit => (Rule::AfterExit, "the exit site was already closed that day".to_owned()),
            ExitDay::Unclear => (Rule::ExitUnclear, "several exit sites were open that day".to_owned()),
            ExitDay::Unknown => (Rule::ExitUnclear, "the patient has no exit site with that id".to_owned()),
        };
        let help = "check the day and `exit`; the record does not count";
        let problem = event.problem(rule, key, message, help);
        Some(match rule {
            Rule::ExitNotNamed | Rule::ExitUnclear => {
                problem.choosing(OneOf { key: "exit", values: ids().map(text::visible).collect() })
            }
            _ => problem,
        })
    }
}
