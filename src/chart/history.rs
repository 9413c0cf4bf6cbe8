//! A patient's files, found by name, newest first, each opened once.
//!
//! The file name is the index, so a question about this morning costs the same after ten years of records: it lists the
//! newest year folder, opens the last change and the files named later, and goes back only as far as needed.

mod audit;
mod household;
mod reader;
mod recent;

use std::collections::BTreeMap;

use chrono::{Duration, NaiveDate, NaiveDateTime};

pub(super) use reader::Reader;
pub(super) use recent::Recent;

use crate::day::{AsOf, Calendar, Instant, after, before, plus};
use crate::event::{Event, EventName, Kind};
use crate::folder::{CodeFolder, Folder};
use crate::patient::{ExitSite, Patient};
use crate::policy::Policy;
use crate::problem::Problem;

/// The kinds that are reported as long as they are open.
const LASTING: [Kind; 3] = [Kind::Infection, Kind::Treatment, Kind::Culture];

/// A patient's files, listed and opened on demand.
#[derive(Debug)]
pub(super) struct History<'a> {
    reader: Reader<'a>,
    patient: &'a Patient,
    calendar: &'a Calendar,
    own: CodeFolder,
    listed: BTreeMap<String, Vec<EventName>>,
    opened: BTreeMap<EventName, Option<Event>>,
    /// Problems of names: strays and folders that could hide the last change.
    name_problems: Vec<Problem>,
    /// Problems of files, by name.
    file_problems: Vec<(EventName, Problem)>,
}

impl<'a> History<'a> {
    /// Starts a patient's history without opening a file. `own` is the listing of the patient's folder.
    pub(super) fn of(folder: &'a Folder, patient: &'a Patient, own: CodeFolder) -> Self {
        let name_problems = own.problems.clone();
        let calendar = &patient.calendar;
        History {
            reader: Reader::of(folder),
            patient,
            calendar,
            own,
            listed: BTreeMap::new(),
            opened: BTreeMap::new(),
            name_problems,
            file_problems: Vec::new(),
        }
    }

    /// The year folders, newest first.
    fn years(&self) -> Vec<String> {
        self.own.years.iter().rev().cloned().collect()
    }

    /// The names in one year folder, in event order; listed once.
    fn year(&mut self, year: &str) -> Vec<EventName> {
        if !self.listed.contains_key(year) {
            let listing = self.reader.folder.year(&self.own.path, year);
            self.name_problems.extend(listing.problems);
            let mut names = listing.events;
            names.sort_by_cached_key(|name| self.latest_wall(name));
            self.listed.insert(year.to_owned(), names);
        }
        self.listed.get(year).cloned().unwrap_or_default()
    }

    /// The latest wall-clock time at which the named event can be: one without a time is at the end of its care day.
    fn latest_wall(&self, name: &EventName) -> NaiveDateTime {
        walls(name, self.calendar).1
    }

    /// The event of a name, opened once; `None` if unreadable.
    pub(super) fn open(&mut self, name: EventName) -> Option<&Event> {
        if !self.opened.contains_key(&name) {
            let mut problems = Vec::new();
            let mut event = self.reader.read(&self.own, name, self.calendar, &mut problems);
            if let Some(problem) =
                event.as_ref().filter(|event| event.void.is_none()).and_then(|event| self.patient.exit_problem(event))
            {
                event = event.filter(|_| !problem.makes_unusable());
                problems.push(problem);
            }
            self.file_problems.extend(problems.into_iter().map(|problem| (name, problem)));
            self.opened.insert(name, event);
        }
        self.opened.get(&name).and_then(Option::as_ref)
    }

    /// Opens the wanted files from `oldest` on; of all years if it is `None`.
    pub(super) fn open_where(&mut self, oldest: Option<NaiveDate>, is_wanted: impl Fn(&EventName) -> bool) {
        let oldest_year = oldest.map(|oldest| oldest.format("%Y").to_string()).unwrap_or_default();
        for year in self.years().into_iter().take_while(|year| *year >= oldest_year) {
            let mut names = self.year(&year);
            names.reverse();
            names.retain(|name| {
                let is_of_those_days = oldest.is_none_or(|oldest| name.date >= oldest);
                is_of_those_days && !self.opened.contains_key(name) && is_wanted(name)
            });
            let mut rest = names.as_slice();
            while !rest.is_empty() {
                let (together, others) = rest.split_at(self.reader.fetch(&self.own, rest));
                together.iter().for_each(|name| {
                    self.open(*name);
                });
                rest = others;
            }
        }
    }

    /// Opens every infection, treatment and culture, however old: an open one is reported until it ends or its result is
    /// known. Years with nothing else to read are listed for these alone.
    pub(super) fn open_lasting(&mut self) {
        for year in self.years() {
            let names = match self.listed.get(&year) {
                Some(names) => names.clone(),
                None => self.reader.folder.year(&self.own.path, &year).events,
            };
            for name in names.into_iter().filter(|name| LASTING.contains(&name.kind)) {
                self.open(name);
            }
        }
    }

    /// Opens the files over which signals look back: every wanted file of `look_back_days`, and older checkoffs that can
    /// still count toward a sign-off in those days. Without the policy's signal settings nothing is opened.
    pub(super) fn open_for_signals(&mut self, policy: &Policy, as_of: AsOf, is_wanted: impl Fn(&EventName) -> bool) {
        let Some(signals) = &policy.signals else { return };
        let today = self.calendar.today(as_of.instant);
        // A file of the care day before the first can have the date of the first in its name.
        let oldest = plus(today, -signals.look_back_days);
        let valid_days = policy.teaching.map_or(0, |teaching| teaching.valid_days);
        let oldest_checkoff = plus(oldest, -2 * valid_days);
        self.open_where(Some(oldest.min(oldest_checkoff)), |name| {
            let is_of_those_days = name.date >= oldest && is_wanted(name);
            (is_of_those_days || name.kind == Kind::Teaching) && has_been(name, as_of)
        });
    }

    /// The names on file from a day on, except those that did not exist at an earlier instant.
    pub(super) fn names_since(&mut self, oldest: NaiveDate, as_of: AsOf) -> Vec<EventName> {
        let oldest_year = oldest.format("%Y").to_string();
        let years = self.years().into_iter().take_while(|year| *year >= oldest_year);
        let names: Vec<EventName> = years.flat_map(|year| self.year(&year)).collect();
        names.into_iter().filter(|name| name.date >= oldest && has_been(name, as_of)).collect()
    }

    /// Opens the changes and logs for a period's chain: from the last change before it to the first one after it, for
    /// every exit site open in it, of those that existed as of the given instant.
    pub(super) fn open_changes_around(&mut self, first: NaiveDate, last: NaiveDate, as_of: AsOf) {
        let exits: Vec<String> = self.patient.exits_open_between(first, last).map(|exit| exit.id.clone()).collect();
        let (mut wanted_before, mut wanted_behind) = (exits.clone(), exits);
        let mut oldest = before(first);
        for year in self.years() {
            if wanted_before.is_empty() && year.as_str() < oldest.format("%Y").to_string().as_str() {
                break;
            }
            for name in self.year(&year).into_iter().rev() {
                // A log covers days before the day on which it was read in, never after.
                let is_wanted = match name.kind {
                    Kind::Change => name.date <= after(last),
                    kind => kind == Kind::Log,
                };
                let is_lacking = !wanted_before.is_empty();
                if is_wanted && (name.date >= oldest || is_lacking) {
                    self.settle(name, &mut wanted_before, as_of, |day| day < first);
                    // The day of the last one and the day before are opened completely: names may be in a different order
                    // than the events.
                    oldest = if is_lacking { oldest.min(before(name.date)) } else { oldest };
                }
            }
        }
        let mut newest = after(last);
        for year in self.own.years.clone() {
            if year.as_str() < last.format("%Y").to_string().as_str() {
                continue;
            }
            for name in self.year(&year) {
                let is_lacking = !wanted_behind.is_empty();
                if name.kind == Kind::Change && name.date >= last && (name.date <= newest || is_lacking) {
                    self.settle(name, &mut wanted_behind, as_of, |day| day > last);
                    newest = if is_lacking { newest.max(after(name.date)) } else { newest };
                }
            }
        }
    }

    /// Opens a file, and removes from `wanted` the exit site for which a change on a care day that satisfies `is_met` counts.
    fn settle(&mut self, name: EventName, wanted: &mut Vec<String>, as_of: AsOf, is_met: impl Fn(NaiveDate) -> bool) {
        let (patient, calendar) = (self.patient, self.calendar);
        if let Some(event) = self.open(name)
            && event.name.kind == Kind::Change
            && event.void.is_none()
            && event.exists(calendar, as_of.instant)
            && is_met(event.when.care_day)
        {
            let day = event.when.care_day;
            let is_of = |exit: &ExitSite| patient.concerns(event, exit) && patient.counts(exit, day);
            wanted.retain(|id| !patient.exits.iter().any(|exit| exit.id == *id && is_of(exit)));
        }
    }

    /// Opens, newest first, the files that may have a `[site]`, until `is_enough` returns true for the events opened. The
    /// day of the last one and the day before are opened completely: events may be in a different order than their names.
    pub(super) fn open_sites(&mut self, mut is_enough: impl FnMut(&Event) -> bool) {
        let mut oldest = None;
        for year in self.years() {
            for name in self.year(&year).into_iter().rev() {
                if oldest.is_some_and(|oldest| name.date < oldest) {
                    return;
                }
                if matches!(name.kind, Kind::Change | Kind::Assessment) && self.open(name).is_some_and(&mut is_enough) {
                    oldest = oldest.or(Some(before(name.date)));
                }
            }
        }
    }

    /// The readable events opened so far.
    pub(super) fn opened(&self) -> impl Iterator<Item = &Event> {
        self.opened.values().flatten()
    }

    /// Takes the readable events opened so far.
    pub(super) fn into_events(self) -> (Vec<Event>, Vec<Problem>) {
        let problems = self.name_problems.into_iter().chain(self.file_problems.into_iter().map(|(_, problem)| problem));
        (self.opened.into_values().flatten().collect(), problems.collect())
    }

    /// Returns true if a file with this name was opened and is unreadable.
    fn is_unusable(&self, name: EventName) -> bool {
        matches!(self.opened.get(&name), Some(None))
    }
}

/// Returns true if the named event can have existed as of the given instant. A log covers its days whenever it was read
/// in.
fn has_been(name: &EventName, as_of: AsOf) -> bool {
    name.date <= after(as_of.instant.date_naive()) || name.kind == Kind::Log || !as_of.is_given
}

/// The earliest and latest wall-clock time at which the named event can be: without a time, those of its care day.
fn walls(name: &EventName, calendar: &Calendar) -> (NaiveDateTime, NaiveDateTime) {
    match name.time.map(|time| name.date.and_time(time)) {
        Some(wall) => (wall, wall),
        None => {
            let starts = |day: NaiveDate| day.and_time(calendar.starts());
            (starts(name.date), starts(after(name.date)) - Duration::seconds(1))
        }
    }
}

/// Returns the unreadable files of some kinds that may be later than the event on which an answer is based, or, without
/// one, may be that event; not those after `as_of`.
pub(super) fn perhaps_later<'p>(
    problems: impl Iterator<Item = &'p Problem>,
    kinds: &[Kind],
    used: Option<&Event>,
    calendar: &Calendar,
    as_of: Instant,
) -> Vec<String> {
    let now = calendar.on_the_wall(as_of, calendar.today(as_of)).naive_local();
    let is_perhaps_later = |file: &str| {
        let name = file.rsplit('/').next().and_then(EventName::read).filter(|name| kinds.contains(&name.kind));
        name.map(|name| walls(&name, calendar)).is_some_and(|(earliest, latest)| {
            earliest <= now && used.is_none_or(|used| walls(&used.name, calendar).0 <= latest)
        })
    };
    let unusable = problems.filter(|problem| problem.makes_unusable());
    let mut files: Vec<String> = unusable.map(|problem| problem.place.file.clone()).collect();
    files.retain(|file| is_perhaps_later(file));
    files.sort();
    files.dedup();
    files
}
