//! A patient's files, found by name, newest first, and opened once.
//!
//! The file name is the index, so a question of this morning costs the same after ten years of records: it lists the
//! newest year's folder, opens the last change and the files named later, and goes back only as far as it must.

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
use crate::patient::Patient;
use crate::policy::Policy;
use crate::problem::Problem;

/// A patient's files, listed and opened as they are asked for.
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
    /// Problems of files, each under its name.
    file_problems: Vec<(EventName, Problem)>,
}

impl<'a> History<'a> {
    /// A patient's history; nothing is opened yet. `own` is the patient's folder as it was listed.
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

    /// The years that have a folder, newest first.
    fn years(&self) -> Vec<String> {
        self.own.years.iter().rev().cloned().collect()
    }

    /// The names in one year's folder, in the order in which their events stand; listed once.
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

    /// The latest wall time that the event of a name can stand at: one without a time stands at the end of its care day.
    fn latest_wall(&self, name: &EventName) -> NaiveDateTime {
        walls(name, self.calendar).1
    }

    /// The event of a name, opened once; None if it cannot be used.
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

    /// Opens the files of `oldest` and later whose names are wanted; of all years without a day.
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

    /// Opens every infection and treatment, however old: one that is open or runs is told until it ends. Years that nothing else
    /// asks for are listed for these alone.
    pub(super) fn open_lasting(&mut self) {
        for year in self.years() {
            let names = match self.listed.get(&year) {
                Some(names) => names.clone(),
                None => self.reader.folder.year(&self.own.path, &year).events,
            };
            for name in names.into_iter().filter(|name| matches!(name.kind, Kind::Infection | Kind::Treatment)) {
                self.open(name);
            }
        }
    }

    /// Opens what signals look back over: of `look_back_days` every file whose name is wanted, and of older ones the
    /// checkoffs that can still sign somebody off in those days. Without a policy's signals nothing is opened.
    pub(super) fn open_for_signals(&mut self, policy: &Policy, as_of: AsOf, is_wanted: impl Fn(&EventName) -> bool) {
        let Some(signals) = &policy.signals else { return };
        let today = self.calendar.today(as_of.instant);
        // A file of the care day before the first can be named by the first.
        let oldest = plus(today, -signals.look_back_days);
        let valid_days = policy.teaching.map_or(0, |teaching| teaching.valid_days);
        let oldest_checkoff = plus(oldest, -2 * valid_days);
        self.open_where(Some(oldest.min(oldest_checkoff)), |name| {
            let is_of_those_days = name.date >= oldest && is_wanted(name);
            (is_of_those_days || name.kind == Kind::Teaching) && has_been(name, as_of)
        });
    }

    /// The names on file of a day and later, those apart that an earlier moment does not know.
    pub(super) fn names_since(&mut self, oldest: NaiveDate, as_of: AsOf) -> Vec<EventName> {
        let oldest_year = oldest.format("%Y").to_string();
        let years = self.years().into_iter().take_while(|year| *year >= oldest_year);
        let names: Vec<EventName> = years.flat_map(|year| self.year(&year)).collect();
        names.into_iter().filter(|name| name.date >= oldest && has_been(name, as_of)).collect()
    }

    /// Opens the changes and logs that a period's chain needs: from the last change before it to the first behind it,
    /// for every exit site that is open in it.
    pub(super) fn open_changes_around(&mut self, first: NaiveDate, last: NaiveDate) {
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
                if is_wanted && (name.date >= oldest || !wanted_before.is_empty()) {
                    self.settle(name, &mut wanted_before, |day| day < first);
                    // The day of the last one is opened whole, and the one before: names may stand in another order.
                    oldest = if wanted_before.is_empty() { oldest } else { oldest.min(before(name.date)) };
                }
            }
        }
        let mut newest = after(last);
        for year in self.own.years.clone() {
            if year.as_str() < last.format("%Y").to_string().as_str() {
                continue;
            }
            for name in self.year(&year) {
                let is_near = name.date <= newest || !wanted_behind.is_empty();
                if name.kind == Kind::Change && name.date >= last && is_near {
                    self.settle(name, &mut wanted_behind, |day| day > last);
                    newest = if wanted_behind.is_empty() { newest } else { newest.max(after(name.date)) };
                }
            }
        }
    }

    /// Opens a file, and strikes from `wanted` the exit site of a change on a care day that `is_met` takes.
    fn settle(&mut self, name: EventName, wanted: &mut Vec<String>, is_met: impl Fn(NaiveDate) -> bool) {
        let patient = self.patient;
        if let Some(event) = self.open(name)
            && event.name.kind == Kind::Change
            && event.void.is_none()
            && is_met(event.when.care_day)
        {
            wanted.retain(|id| !patient.exits.iter().any(|exit| exit.id == *id && patient.concerns(event, exit)));
        }
    }

    /// Opens, newest first, what may hold a `[site]`, until `is_enough` says so of the events opened. The day of the last
    /// one and the one before are opened whole: by their times, events may stand in another order than by their names.
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

    /// The usable events opened so far.
    pub(super) fn opened(&self) -> impl Iterator<Item = &Event> {
        self.opened.values().flatten()
    }

    /// Takes the usable events opened so far.
    pub(super) fn into_events(self) -> (Vec<Event>, Vec<Problem>) {
        let problems = self.name_problems.into_iter().chain(self.file_problems.into_iter().map(|(_, problem)| problem));
        (self.opened.into_values().flatten().collect(), problems.collect())
    }

    /// Returns true if a file of this name was opened and cannot be used.
    fn is_unusable(&self, name: EventName) -> bool {
        matches!(self.opened.get(&name), Some(None))
    }
}

/// Returns true if the event of a name can have been as of a moment that was asked about. A log covers its days whenever it was
/// read in.
fn has_been(name: &EventName, as_of: AsOf) -> bool {
    name.date <= after(as_of.instant.date_naive()) || name.kind == Kind::Log || !as_of.is_given
}

/// The earliest and the latest wall time that the event of a name can stand at: without a time, those of its care day.
fn walls(name: &EventName, calendar: &Calendar) -> (NaiveDateTime, NaiveDateTime) {
    match name.time.map(|time| name.date.and_time(time)) {
        Some(wall) => (wall, wall),
        None => {
            let starts = |day: NaiveDate| day.and_time(calendar.starts());
            (starts(name.date), starts(after(name.date)) - Duration::seconds(1))
        }
    }
}

/// The files of some kinds that cannot be used and may be later than the event that an answer was taken from, or, where
/// there is none, may be the one that it should have been taken from; not those of after `as_of`.
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
