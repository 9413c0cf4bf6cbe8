//! Which entries are on file already, which are the same as a record on file, and which nobody can tell.
//!
//! An entry is *on file* where a record says the same of the same time, kind and exit site, voided since or not; also where
//! they differ only in what the record's amendments name, or in what was filled in later, as a culture's result. Each
//! record answers for one entry only. Among the rest, entries that are perhaps the same as a record that stands, or as
//! another entry, need a decision: `same` joins them, `another` keeps them apart.

use std::collections::{BTreeMap, BTreeSet};

use chrono::{NaiveDate, TimeDelta};

use super::Slip;
use super::facts::{facts, facts_to_join, touched, was_the_same};
use super::rows::{Decision, Entry, event_of};
use crate::check::are_perhaps_the_same;
use crate::entry::Book;
use crate::event::{Event, Kind};
use crate::record::{Value, Values};
use crate::text::{cut, visible};

/// Most pairs of one entry that are asked about.
const MOST_PAIRS: usize = 5;

/// Most pairs that are kept to be shown; the rest are counted.
pub(super) const MOST_QUESTIONS: usize = 200;

/// Two that are perhaps the same.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Question {
    /// The row's first line.
    pub line: usize,
    /// What the row says it is: kind, when, by whom.
    pub row: String,
    /// The file on record; none where it is another row.
    pub file: Option<String>,
    /// The other row's first line.
    pub other_line: Option<usize>,
    /// What the other is.
    pub other: String,
}

/// What becomes of the entries of one patient.
#[derive(Debug, Default)]
pub(super) struct Sorted {
    /// To be written as records of their own.
    pub(super) new: Vec<Entry>,
    /// To be added to records on file.
    pub(super) additions: Vec<Joining>,
    /// So many are on file already.
    pub(super) on_file: usize,
    pub(super) questions: Vec<Question>,
    /// So many pairs are perhaps the same, with those that are not kept.
    pub(super) pairs: usize,
    pub(super) slips: Vec<Slip>,
}

/// What rows say beyond a record on file that they are the same as.
#[derive(Debug)]
pub(super) struct Joining {
    /// The record's place among the events of the book.
    pub(super) at: usize,
    pub(super) lines: Vec<usize>,
    pub(super) keys: Vec<(String, Value)>,
}

/// Sorts the entries of one patient by what is on file.
pub(super) fn sort(book: &Book, mut entries: Vec<Entry>, is_whole: bool) -> Sorted {
    // The order of the rows decides nothing.
    entries.sort_by_cached_key(|entry| (entry.event.order(), entry.draft.text(), entry.lines.clone()));
    let mut sorting = Sorting::of(book, entries);
    (0..sorting.entries.len()).for_each(|n| sorting.claim(n));
    sorting.join(is_whole);
    sorting.ask();
    sorting.sorted()
}

/// Where an entry stands while it is sorted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Standing {
    /// Not on file.
    Open,
    /// On file as this event.
    OnFile(usize),
    /// Said by another entry, or added to a record.
    Joined,
}

/// What an entry is perhaps the same as.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Other {
    /// Another entry.
    Row(usize),
    /// An event of the book.
    Record(usize),
}

struct Sorting<'a, 'b> {
    book: &'b Book<'a>,
    entries: Vec<Entry>,
    standing: Vec<Standing>,
    /// The events on file of a kind and day.
    on_file: BTreeMap<(Kind, NaiveDate), Vec<usize>>,
    /// The entries of a kind and day.
    of_a_day: BTreeMap<(Kind, NaiveDate), Vec<usize>>,
    claimed: BTreeSet<usize>,
    additions: BTreeMap<usize, (Vec<usize>, Values)>,
    sorted: Sorted,
}

impl<'a, 'b> Sorting<'a, 'b> {
    fn of(book: &'b Book<'a>, entries: Vec<Entry>) -> Self {
        let by_day = |events: &mut dyn Iterator<Item = &Event>| {
            let mut days: BTreeMap<(Kind, NaiveDate), Vec<usize>> = BTreeMap::new();
            for (n, event) in events.enumerate() {
                days.entry((event.name.kind, event.when.care_day)).or_default().push(n);
            }
            days
        };
        Sorting {
            book,
            on_file: by_day(&mut book.events.iter()),
            of_a_day: by_day(&mut entries.iter().map(|entry| &entry.event)),
            standing: vec![Standing::Open; entries.len()],
            entries,
            claimed: BTreeSet::new(),
            additions: BTreeMap::new(),
            sorted: Sorted::default(),
        }
    }

    /// Finds the record that says what an entry says, if there is one that answers for no other entry yet.
    fn claim(&mut self, n: usize) {
        let (book, entry) = (self.book, &self.entries[n]);
        // What is the same as something needs no record of its own.
        if entry.decision == Some(Decision::Same) {
            return;
        }
        let said = facts(&entry.draft.values);
        let free = || {
            let near = self.on_file.get(&key(&entry.event)).into_iter().flatten().copied();
            near.filter(|at| !self.claimed.contains(at) && is_of_the_same_moment(book, &entry.event, &book.events[*at]))
        };
        let on_file: Vec<(usize, Values)> =
            free().filter_map(|at| Some((at, facts(&Values::of(&book.events[at].source.text)?)))).collect();
        let equal = on_file.iter().find(|(_, there)| *there == said);
        let found = equal.or_else(|| on_file.iter().find(|(at, there)| was_the_same(&said, there, &book.events[*at])));
        if let Some((at, _)) = found {
            self.claimed.insert(*at);
            self.standing[n] = Standing::OnFile(*at);
        }
    }

    /// Joins what somebody decided is the same, each with the nearest row of the file or record on file.
    fn join(&mut self, is_whole: bool) {
        let mut joined = BTreeSet::new();
        for n in 0..self.entries.len() {
            if self.entries[n].decision != Some(Decision::Same) {
                continue;
            }
            match self.nearest(n).as_slice() {
                [Other::Row(other)] => {
                    self.join_rows(n, *other);
                    joined.insert(*other);
                }
                [Other::Record(at)] => self.join_record(n, *at),
                [] if is_whole => {
                    self.undecided(n, "nothing on file or in this file is perhaps the same; leave it empty");
                }
                // What it is the same as may be a row that cannot be read yet.
                [] => self.standing[n] = Standing::Joined,
                several => {
                    let shown = several.iter().take(MOST_PAIRS).map(|other| self.place_of(*other));
                    let rest = several.len().saturating_sub(MOST_PAIRS);
                    let rest = (rest > 0).then(|| format!("{rest} more"));
                    let others: Vec<String> = shown.chain(rest).collect();
                    let message = format!("it could be the same as {}; write the time", others.join(" and "));
                    self.undecided(n, &message);
                }
            }
        }
        joined.into_iter().for_each(|n| self.claim(n));
    }

    /// What an entry can be the same as, the nearest in time; several where nobody can tell.
    ///
    /// Rows and records that somebody keeps apart are none of them. A record of the same moment as a row is that row's, or
    /// is asked about beside it.
    fn nearest(&self, n: usize) -> Vec<Other> {
        let event = &self.entries[n].event;
        let is_row = |other: &usize| self.standing[*other] == Standing::Open && self.entries[*other].decision.is_none();
        let rows: Vec<usize> = self.same_as(n).filter(is_row).collect();
        let is_own = |at: &usize| {
            let record = &self.book.events[*at];
            let is_the_row = |row: &usize| is_of_the_same_moment(self.book, &self.entries[*row].event, record);
            !self.is_kept_apart(*at) && !rows.iter().any(is_the_row)
        };
        let records: Vec<usize> = self.records_like(n).filter(is_own).collect();
        let is_standing = |at: &usize| self.book.events[*at].void.is_none() || self.claimed.contains(at);
        let standing: Vec<usize> = records.iter().copied().filter(is_standing).collect();
        let records = if standing.is_empty() && rows.is_empty() { records } else { standing };
        let others = rows.into_iter().map(Other::Row).chain(records.into_iter().map(Other::Record));
        let apart = |other: &Other| {
            let other = self.event_of(*other);
            let is_untimed = !event.is_timed() || !other.is_timed();
            let apart = if is_untimed { TimeDelta::zero() } else { (event.when.instant - other.when.instant).abs() };
            (event.is_timed() != other.is_timed(), apart)
        };
        let others: Vec<Other> = others.collect();
        let least = others.iter().map(apart).min();
        others.into_iter().filter(|other| Some(apart(other)) == least).collect()
    }

    fn event_of(&self, other: Other) -> &Event {
        match other {
            Other::Row(n) => &self.entries[n].event,
            Other::Record(at) => &self.book.events[at],
        }
    }

    fn place_of(&self, other: Other) -> String {
        match other {
            Other::Row(n) => format!("line {}", self.entries[n].lines[0]),
            Other::Record(at) => self.book.events[at].file().to_owned(),
        }
    }

    /// Adds what one row says to another, or finds that they disagree.
    fn join_rows(&mut self, n: usize, other: usize) {
        let entry = self.entries[n].clone();
        self.standing[n] = Standing::Joined;
        let is_said = |values: &Values| facts_to_join(values);
        let there = is_said(&self.entries[other].draft.values);
        for (key, value) in is_said(&entry.draft.values).keys() {
            match there.get(&key) {
                None => self.entries[other].draft.values.set(&key, value.clone()),
                Some(known) if known == value => {}
                Some(known) => {
                    let where_ = format!("line {}", self.entries[other].lines[0]);
                    self.disagree(&entry, &key, value, known, &where_);
                }
            }
        }
        let target = &mut self.entries[other];
        target.lines.extend(&entry.lines);
        for (key, cell) in entry.cells {
            target.cells.entry(key).or_insert(cell);
        }
        let mut problems = Vec::new();
        if let Some(event) = event_of(&target.draft, self.book, 1, &mut problems) {
            target.event = event;
        }
        target.problems = problems;
    }

    /// Adds what a row says to a record, or finds that they disagree.
    fn join_record(&mut self, n: usize, at: usize) {
        let (book, entry) = (self.book, self.entries[n].clone());
        let event = &book.events[at];
        self.standing[n] = Standing::Joined;
        let there = Values::of(&event.source.text).unwrap_or_default();
        let (lines, added) = self.additions.remove(&at).unwrap_or_default();
        let (mut lines, mut added) = (lines, added);
        let mut is_new = false;
        for (key, value) in facts_to_join(&entry.draft.values).keys() {
            match there.get(&key).or(added.get(&key)) {
                None if event.void.is_none() => {
                    added.set(&key, value.clone());
                    is_new = true;
                }
                None => {}
                Some(known) if known == value || event.void.is_some() => {}
                // What was amended since keeps its correction.
                Some(_) if touched(event).contains(&key) => {}
                Some(known) => self.disagree(&entry, &key, value, &known.clone(), event.file()),
            }
        }
        if is_new {
            lines.extend(&entry.lines);
        } else {
            self.sorted.on_file += 1;
        }
        if !lines.is_empty() {
            self.additions.insert(at, (lines, added));
        }
    }

    fn disagree(&mut self, entry: &Entry, key: &str, value: &Value, known: &Value, place: &str) {
        let (column, cell) = entry.cells.get(key).cloned().unwrap_or_default();
        let shown = |value: &Value| cut(&visible(&value.to_string()), 60);
        let message = format!(
            "{key} is {} here and {} in {place}; they cannot be the same: correct one, or write another",
            shown(value),
            shown(known)
        );
        self.sorted.slips.push(Slip::of_cell(entry.lines[0], &column, &cell, &message));
    }

    fn undecided(&mut self, n: usize, message: &str) {
        let (column, _) = self.entries[n].cells.get("same").cloned().unwrap_or_else(|| ("same".into(), "same".into()));
        self.standing[n] = Standing::Joined;
        self.sorted.slips.push(Slip::of_cell(self.entries[n].lines[0], &column, "same", message));
    }

    /// Lists what nobody decided.
    fn ask(&mut self) {
        let is_undecided = |n: usize| self.standing[n] == Standing::Open && self.entries[n].decision.is_none();
        let (mut questions, mut pairs) = (Vec::new(), 0);
        for n in (0..self.entries.len()).filter(|n| is_undecided(*n)) {
            let entry = &self.entries[n];
            let question = |event: &Event, file: Option<String>, other_line: Option<usize>| Question {
                line: entry.lines[0],
                row: words(&entry.event),
                file,
                other_line,
                other: words(event),
            };
            let own_kept = |at: &usize| self.book.events[*at].void.is_none() && !self.is_kept_apart(*at);
            let records = self.records_like(n).filter(own_kept).take(MOST_PAIRS);
            let records = records.map(Other::Record);
            let rows = self.same_as(n).filter(|other| *other < n && is_undecided(*other)).take(MOST_PAIRS);
            for other in records.chain(rows.map(Other::Row)) {
                pairs += 1;
                if questions.len() < MOST_QUESTIONS {
                    questions.push(match other {
                        Other::Record(at) => {
                            let event = &self.book.events[at];
                            question(event, Some(event.file().to_owned()), None)
                        }
                        Other::Row(row) => question(&self.entries[row].event, None, Some(self.entries[row].lines[0])),
                    });
                }
            }
        }
        (self.sorted.questions, self.sorted.pairs) = (questions, pairs);
    }

    /// Whether a record on file is that of a row which somebody decided is another.
    fn is_kept_apart(&self, at: usize) -> bool {
        let is_it = |(standing, entry): (&Standing, &Entry)| {
            *standing == Standing::OnFile(at) && entry.decision == Some(Decision::Another)
        };
        self.claimed.contains(&at) && self.standing.iter().zip(&self.entries).any(is_it)
    }

    /// The other entries that are perhaps the same, nearest below first.
    fn same_as(&self, n: usize) -> impl Iterator<Item = usize> {
        let event = &self.entries[n].event;
        let others = self.of_a_day.get(&key(event)).into_iter().flatten().copied().rev();
        others.filter(move |other| *other != n && self.is_like(event, &self.entries[*other].event))
    }

    /// The records that are perhaps the same, voided ones, too.
    fn records_like(&self, n: usize) -> impl Iterator<Item = usize> {
        let event = &self.entries[n].event;
        let records = self.on_file.get(&key(event)).into_iter().flatten().copied();
        records.filter(move |at| self.is_like(event, &self.book.events[*at]))
    }

    fn is_like(&self, one: &Event, other: &Event) -> bool {
        self.book.patient.as_ref().is_some_and(|patient| are_perhaps_the_same(patient, one, other))
    }

    fn sorted(mut self) -> Sorted {
        for (entry, standing) in self.entries.into_iter().zip(self.standing) {
            match standing {
                Standing::Open if entry.decision != Some(Decision::Same) => self.sorted.new.push(entry),
                Standing::OnFile(_) => self.sorted.on_file += entry.lines.len(),
                _ => {}
            }
        }
        let keys = |values: Values| values.keys().into_iter().map(|(key, value)| (key, value.clone())).collect();
        let additions =
            self.additions.into_iter().map(|(at, (lines, values))| Joining { at, lines, keys: keys(values) });
        self.sorted.additions = additions.collect();
        self.sorted
    }
}

fn key(event: &Event) -> (Kind, NaiveDate) {
    (event.name.kind, event.when.care_day)
}

fn is_of_the_same_moment(book: &Book, one: &Event, other: &Event) -> bool {
    let exit = |event: &Event| book.patient.as_ref().map(|patient| patient.belonging(event));
    one.when.instant == other.when.instant && one.is_timed() == other.is_timed() && exit(one) == exit(other)
}

/// An event in a question: kind, when, by whom.
fn words(event: &Event) -> String {
    let when = match event.when.wall {
        Some(wall) => wall.format("at %Y-%m-%d %H:%M").to_string(),
        None => format!("on {}", event.when.care_day),
    };
    format!("{} {when} by {}", event.name.kind, visible(&event.by))
}
