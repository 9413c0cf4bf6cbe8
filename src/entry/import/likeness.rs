//! Index of rows and records by the keys on which duplicates agree, so that no row is compared with all the others.
//!
//! Two events of one kind, exit site and care day ([`LikenessKey`]) that are close in time are possible duplicates; a row is
//! already on file if a record of the same moment has the same facts.

use std::collections::{BTreeMap, BTreeSet, VecDeque};

use chrono::{Duration, NaiveDate, TimeDelta};

use super::facts::{facts, is_altered, was_the_same};
use crate::check::{PERHAPS_THE_SAME_MINUTES, exit_named};
use crate::day::Instant;
use crate::entry::Book;
use crate::event::{Event, Kind};
use crate::patient::Belonging;
use crate::record::{Value, Values};

/// The key of possible duplicates: events of different groups never are.
pub(super) type LikenessKey = (Kind, NaiveDate, Option<usize>);

/// The moment and exit site of an event.
pub(super) type EventMoment = (Kind, NaiveDate, Instant, bool, Option<Belonging>);

/// An event of a group: its time and its number.
type GroupMember = (Instant, usize);

/// The events of one group, ordered by number and so by time.
#[derive(Debug, Default)]
pub(super) struct Alike {
    timed: Vec<GroupMember>,
    untimed: Vec<GroupMember>,
}

/// Events by group; empty for staff, whose checkoffs are never possible duplicates.
pub(super) fn groups<'e>(
    book: &Book,
    events: impl IntoIterator<Item = (usize, &'e Event)>,
) -> BTreeMap<LikenessKey, Alike> {
    let mut groups: BTreeMap<LikenessKey, Alike> = BTreeMap::new();
    for (n, event) in events {
        let Some(group) = group(book, event) else { continue };
        let alike = groups.entry(group).or_default();
        let members = if event.is_timed() { &mut alike.timed } else { &mut alike.untimed };
        members.push((event.when.instant, n));
    }
    groups
}

/// The group of an event; `None` for staff.
pub(super) fn group(book: &Book, event: &Event) -> Option<LikenessKey> {
    let patient = book.patient.as_ref()?;
    Some((event.name.kind, event.when.care_day, exit_named(patient, event)))
}

/// The moment of an event, and its exit site.
pub(super) fn moment(book: &Book, event: &Event) -> EventMoment {
    let belonging = book.patient.as_ref().map(|patient| patient.belonging(event));
    (event.name.kind, event.when.care_day, event.when.instant, event.is_timed(), belonging)
}

impl Alike {
    /// The possible duplicates of an event.
    pub(super) fn all(&self, event: &Event) -> impl Iterator<Item = usize> {
        let timed = if event.is_timed() { self.between(event, near(), near()) } else { &self.timed };
        timed.iter().chain(&self.untimed).map(|(_, n)| *n)
    }

    /// The possible duplicates of event `n` with a smaller number, nearest first.
    pub(super) fn before(&self, event: &Event, n: usize) -> impl Iterator<Item = usize> {
        let timed = if event.is_timed() { self.between(event, near(), TimeDelta::zero()) } else { &self.timed };
        let below = |members: &'_ [GroupMember]| members.partition_point(|(_, other)| *other < n);
        let (timed, untimed) = (&timed[..below(timed)], &self.untimed[..below(&self.untimed)]);
        untimed.iter().rev().chain(timed.iter().rev()).map(|(_, n)| *n)
    }

    /// The timed events in a window around an event.
    fn between(&self, event: &Event, before: TimeDelta, after: TimeDelta) -> &[GroupMember] {
        let (first, last) = (event.when.instant - before, event.when.instant + after);
        let start = self.timed.partition_point(|(at, _)| *at < first);
        let end = self.timed.partition_point(|(at, _)| *at <= last);
        &self.timed[start..end.max(start)]
    }

    /// The distance of the nearest event; an event that is timed, or untimed, like this one is nearer than any other.
    pub(super) fn distance(&self, event: &Event) -> Option<(bool, TimeDelta)> {
        let to = |(at, _): &GroupMember| (event.when.instant - *at).abs();
        let around = self.between(event, near(), near());
        let middle = around.partition_point(|(at, _)| *at < event.when.instant);
        let of_timed = around[..middle].last().into_iter().chain(around[middle..].first()).map(to).min();
        let of_all = |members: &[GroupMember]| members.first().map(|_| TimeDelta::zero());
        let (alike, otherwise) = match event.is_timed() {
            true => (of_timed, of_all(&self.untimed)),
            false => (of_all(&self.untimed), of_all(&self.timed)),
        };
        alike.map(|apart| (false, apart)).or(otherwise.map(|apart| (true, apart)))
    }

    /// The events at that distance, before and after.
    pub(super) fn at_distance(&self, event: &Event, (is_otherwise, apart): (bool, TimeDelta)) -> [&[GroupMember]; 2] {
        let run = |at: Instant| {
            let start = self.timed.partition_point(|(other, _)| *other < at);
            let end = self.timed.partition_point(|(other, _)| *other <= at);
            &self.timed[start..end]
        };
        let at = event.when.instant;
        match (event.is_timed(), is_otherwise) {
            (true, true) | (false, false) => [&self.untimed, &[]],
            (false, true) => [&self.timed, &[]],
            (true, false) if apart.is_zero() => [run(at), &[]],
            (true, false) => [run(at - apart), run(at + apart)],
        }
    }
}

fn near() -> TimeDelta {
    Duration::minutes(PERHAPS_THE_SAME_MINUTES)
}

/// The records on file at the moments of some rows, by their facts; each matches only one row.
#[derive(Debug, Default)]
pub(super) struct OnFile {
    same: BTreeMap<(EventMoment, String), VecDeque<usize>>,
    /// Records that were amended or filled in later.
    altered: BTreeMap<EventMoment, Vec<(usize, Values)>>,
    claimed: BTreeSet<usize>,
}

impl OnFile {
    /// The records of a book at the moments of these rows.
    pub(super) fn of<'e>(book: &Book, rows: impl Iterator<Item = &'e Event>) -> OnFile {
        let moments: BTreeSet<EventMoment> = rows.map(|event| moment(book, event)).collect();
        let mut on_file = OnFile::default();
        for (at, event) in book.events.iter().enumerate() {
            let moment = moment(book, event);
            let there = if moments.contains(&moment) { Values::of(&event.record.text) } else { None };
            let Some(there) = there.map(|values| facts(&values)) else { continue };
            on_file.same.entry((moment, written(&there))).or_default().push_back(at);
            if is_altered(event, &there) {
                on_file.altered.entry(moment).or_default().push((at, there));
            }
        }
        on_file
    }

    /// Claims the first unclaimed record that has the facts of a row, or had them before a correction.
    pub(super) fn claim(&mut self, book: &Book, event: &Event, values: &Values) -> Option<usize> {
        let (moment, said) = (moment(book, event), facts(values));
        let same = self.same.get_mut(&(moment, written(&said)));
        let same = same.and_then(|free| std::iter::from_fn(|| free.pop_front()).find(|at| !self.claimed.contains(at)));
        let altered = || {
            let mut altered = self.altered.get(&moment).into_iter().flatten();
            let was = |(at, there): &&(usize, Values)| {
                !self.claimed.contains(at) && was_the_same(&said, there, &book.events[*at])
            };
            altered.find(was).map(|(at, _)| *at)
        };
        let at = same.or_else(altered)?;
        self.claimed.insert(at);
        Some(at)
    }

    /// Returns true if a record is matched with a row.
    pub(super) fn is_claimed(&self, at: usize) -> bool {
        self.claimed.contains(&at)
    }
}

fn written(said: &Values) -> String {
    Value::Table(said.clone()).to_string()
}
