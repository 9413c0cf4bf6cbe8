//! Sorts entries into those already on file, those to be added to a record on file, and possible duplicates.
//!
//! An entry is *on file* if a record, voided or not, has the same facts, time, kind and exit site; they may differ in
//! values named by the record's amendments or filled in later, such as a culture result. Each record matches only one
//! entry. Among the rest, possible duplicates of a valid record or of another entry need a decision: `same` joins them,
//! `another` keeps them separate.

use std::collections::{BTreeMap, BTreeSet};

use super::CellError;
use super::facts::{facts_to_join, touched};
use super::likeness::{Alike, EventMoment, LikenessKey, OnFile, group, groups, moment};
use super::rows::{Decision, RowEntry};
use crate::entry::Book;
use crate::event::Event;
use crate::record::{Value, Values};
use crate::text::{cut, visible};

/// The maximum number of pairs per entry that are asked about.
const MOST_PAIRS: usize = 5;

/// The maximum number of pairs kept to be shown; the rest are counted.
pub(super) const MOST_QUESTIONS: usize = 200;

/// A possible duplicate.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PossibleDuplicate {
    /// The row's first line.
    pub line: usize,
    /// The row in words: kind, time, author.
    pub row: String,
    /// The file of the other record; `None` if it is another row.
    pub file: Option<String>,
    /// The other row's first line.
    pub other_line: Option<usize>,
    /// The other event in words.
    pub other: String,
}

/// The entries of one patient, sorted.
#[derive(Debug, Default)]
pub(super) struct Sorted {
    /// New records.
    pub(super) new: Vec<RowEntry>,
    /// Additions to records on file.
    pub(super) additions: Vec<Joining>,
    /// The number already on file.
    pub(super) on_file: usize,
    pub(super) questions: Vec<PossibleDuplicate>,
    /// The number of possible duplicates, including those not kept.
    pub(super) pairs: usize,
    pub(super) slips: Vec<CellError>,
}

/// The facts that duplicate rows add to a record on file.
#[derive(Debug)]
pub(super) struct Joining {
    /// The index of the record among the events of the book.
    pub(super) at: usize,
    pub(super) lines: Vec<usize>,
    pub(super) keys: Vec<(String, Value)>,
}

/// Sorts the entries of one patient against the records on file.
pub(super) fn sort(book: &Book, mut entries: Vec<RowEntry>, is_whole: bool) -> Sorted {
    // The order of the rows must not matter.
    entries.sort_by_cached_key(|entry| (entry.event.order(), entry.draft.text(), entry.lines.clone()));
    let mut sorting = Sorting::of(book, entries);
    (0..sorting.entries.len()).for_each(|n| sorting.claim(n));
    sorting.kept_apart = sorting.kept_apart();
    sorting.join(is_whole);
    sorting.ask();
    sorting.sorted()
}

/// The state of an entry during sorting.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum EntryState {
    /// Not on file.
    Open,
    /// On file as this event.
    OnFile(usize),
    /// Joined with another entry, or added to a record.
    Joined,
}

/// The other event of a possible duplicate.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Other {
    /// Another entry.
    Row(usize),
    /// An event of the book.
    Record(usize),
}

struct Sorting<'a, 'b> {
    book: &'b Book<'a>,
    entries: Vec<RowEntry>,
    standing: Vec<EntryState>,
    on_file: OnFile,
    /// Records of rows decided to be separate.
    kept_apart: BTreeSet<usize>,
    additions: BTreeMap<usize, (Vec<usize>, Values)>,
    sorted: Sorted,
}

impl<'a, 'b> Sorting<'a, 'b> {
    fn of(book: &'b Book<'a>, entries: Vec<RowEntry>) -> Self {
        Sorting {
            book,
            on_file: OnFile::of(book, entries.iter().map(|entry| &entry.event)),
            standing: vec![EntryState::Open; entries.len()],
            entries,
            kept_apart: BTreeSet::new(),
            additions: BTreeMap::new(),
            sorted: Sorted::default(),
        }
    }

    /// Finds an unclaimed record with the facts of an entry.
    fn claim(&mut self, n: usize) {
        let entry = &self.entries[n];
        // A duplicate needs no record of its own.
        if entry.decision == Some(Decision::Same) {
            return;
        }
        if let Some(at) = self.on_file.claim(self.book, &entry.event, &entry.draft.values) {
            self.standing[n] = EntryState::OnFile(at);
        }
    }

    /// Joins the entries decided to be the same, each with the nearest row of the file or record on file.
    fn join(&mut self, is_whole: bool) {
        let mut joined = BTreeSet::new();
        let near = self.near();
        for n in 0..self.entries.len() {
            if self.entries[n].decision != Some(Decision::Same) {
                continue;
            }
            let Nearest { first, count } = near.nearest(self.book, &self.entries[n].event);
            match first.as_slice() {
                [Other::Row(other)] => {
                    self.join_rows(n, *other);
                    joined.insert(*other);
                }
                [Other::Record(at)] => self.join_record(n, *at),
                [] if is_whole => {
                    self.undecided(n, "Nothing on file or in this file is a possible duplicate. Leave it empty.");
                }
                // Its duplicate may be a row that cannot be read yet.
                [] => self.standing[n] = EntryState::Joined,
                several => {
                    let shown = several.iter().map(|other| self.place_of(*other));
                    let rest = (count > MOST_PAIRS).then(|| format!("{} more", count - MOST_PAIRS));
                    let others: Vec<String> = shown.chain(rest).collect();
                    let message = format!("It could be a duplicate of {}. Write the time.", others.join(" and "));
                    self.undecided(n, &message);
                }
            }
        }
        joined.into_iter().for_each(|n| self.claim(n));
    }

    /// The rows and records that a row can duplicate.
    ///
    /// Excludes rows and records decided to be separate. A record of the same moment as a row belongs to that row, or
    /// is asked about with it.
    fn near(&self) -> Near {
        let is_row = |n: &usize| self.standing[*n] == EntryState::Open && self.entries[*n].decision.is_none();
        let rows = (0..self.entries.len()).filter(is_row).map(|n| (n, &self.entries[n].event));
        let taken: BTreeSet<EventMoment> = rows.clone().map(|(_, event)| moment(self.book, event)).collect();
        let is_own =
            |(at, event): &(usize, &Event)| !self.kept_apart.contains(at) && !taken.contains(&moment(self.book, event));
        let records = self.book.events.iter().enumerate().filter(is_own);
        let is_standing = |(at, event): &(usize, &Event)| event.void.is_none() || self.on_file.is_claimed(*at);
        let (standing, voided): (Vec<_>, Vec<_>) = records.partition(is_standing);
        Near { rows: groups(self.book, rows), standing: groups(self.book, standing), voided: groups(self.book, voided) }
    }

    /// Records of rows decided to be separate.
    fn kept_apart(&self) -> BTreeSet<usize> {
        let record = |(standing, entry): (&EntryState, &RowEntry)| match standing {
            EntryState::OnFile(at) if entry.decision == Some(Decision::Another) => Some(*at),
            _ => None,
        };
        self.standing.iter().zip(&self.entries).filter_map(record).collect()
    }

    fn place_of(&self, other: Other) -> String {
        match other {
            Other::Row(n) => format!("line {}", self.entries[n].lines[0]),
            Other::Record(at) => self.book.events[at].file().to_owned(),
        }
    }

    /// Adds the facts of one row to another, or reports that they conflict.
    fn join_rows(&mut self, n: usize, other: usize) {
        let entry = self.entries[n].clone();
        self.standing[n] = EntryState::Joined;
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
        if let Some(event) = target.draft.event(&self.book.owner, 1, &self.book.calendar, &mut problems) {
            target.event = event;
        }
        target.problems = problems;
    }

    /// Adds the facts of a row to a record, or reports that they conflict.
    fn join_record(&mut self, n: usize, at: usize) {
        let (book, entry) = (self.book, self.entries[n].clone());
        let event = &book.events[at];
        self.standing[n] = EntryState::Joined;
        let there = Values::of(&event.record.text).unwrap_or_default();
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
                // A value amended since keeps its correction.
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

    fn disagree(&mut self, entry: &RowEntry, key: &str, value: &Value, known: &Value, place: &str) {
        let (column, cell) = entry.cells.get(key).cloned().unwrap_or_default();
        let shown = |value: &Value| cut(&visible(&value.to_string()), 60);
        let message = format!(
            "{key} is {} here and {} in {place}, so they differ. Correct one, or write another.",
            shown(value),
            shown(known)
        );
        self.sorted.slips.push(CellError::of_cell(entry.lines[0], &column, &cell, &message));
    }

    fn undecided(&mut self, n: usize, message: &str) {
        let (column, _) = self.entries[n].cells.get("same").cloned().unwrap_or_else(|| ("same".into(), "same".into()));
        self.standing[n] = EntryState::Joined;
        self.sorted.slips.push(CellError::of_cell(self.entries[n].lines[0], &column, "same", message));
    }

    /// Lists the pairs without a decision.
    fn ask(&mut self) {
        let is_undecided = |n: &usize| self.standing[*n] == EntryState::Open && self.entries[*n].decision.is_none();
        let undecided: Vec<usize> = (0..self.entries.len()).filter(is_undecided).collect();
        let rows = groups(self.book, undecided.iter().map(|n| (*n, &self.entries[*n].event)));
        let is_own = |(at, event): &(usize, &Event)| event.void.is_none() && !self.kept_apart.contains(at);
        let records = groups(self.book, self.book.events.iter().enumerate().filter(is_own));
        let (mut questions, mut pairs) = (Vec::new(), 0);
        for n in undecided {
            let event = &self.entries[n].event;
            let Some(group) = group(self.book, event) else { continue };
            let records = records.get(&group).into_iter().flat_map(|alike| alike.all(event)).take(MOST_PAIRS);
            let rows = rows.get(&group).into_iter().flat_map(|alike| alike.before(event, n)).take(MOST_PAIRS);
            for other in records.map(Other::Record).chain(rows.map(Other::Row)) {
                pairs += 1;
                if questions.len() < MOST_QUESTIONS {
                    questions.push(self.question(n, other));
                }
            }
        }
        (self.sorted.questions, self.sorted.pairs) = (questions, pairs);
    }

    fn question(&self, n: usize, other: Other) -> PossibleDuplicate {
        let (file, other_line, event) = match other {
            Other::Record(at) => (Some(self.place_of(other)), None, &self.book.events[at]),
            Other::Row(row) => (None, Some(self.entries[row].lines[0]), &self.entries[row].event),
        };
        let entry = &self.entries[n];
        PossibleDuplicate { line: entry.lines[0], row: words(&entry.event), file, other_line, other: words(event) }
    }

    fn sorted(mut self) -> Sorted {
        for (entry, standing) in self.entries.into_iter().zip(self.standing) {
            match standing {
                EntryState::Open if entry.decision != Some(Decision::Same) => self.sorted.new.push(entry),
                EntryState::OnFile(_) => self.sorted.on_file += entry.lines.len(),
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

/// The candidates for rows decided to be the same.
struct Near {
    rows: BTreeMap<LikenessKey, Alike>,
    standing: BTreeMap<LikenessKey, Alike>,
    /// Voided records, which count only if nothing else is near.
    voided: BTreeMap<LikenessKey, Alike>,
}

/// The nearest candidates.
#[derive(Default)]
struct Nearest {
    /// The first of them.
    first: Vec<Other>,
    count: usize,
}

impl Near {
    /// The candidates nearest in time; several if there is a tie.
    fn nearest(&self, book: &Book, event: &Event) -> Nearest {
        let Some(group) = group(book, event) else { return Nearest::default() };
        let (rows, standing) = (self.rows.get(&group), self.standing.get(&group));
        let distance = |alike: Option<&Alike>| alike.and_then(|alike| alike.distance(event));
        let (least, records) = match [distance(rows), distance(standing)].into_iter().flatten().min() {
            Some(least) => (least, standing),
            None => match distance(self.voided.get(&group)) {
                Some(least) => (least, self.voided.get(&group)),
                None => return Nearest::default(),
            },
        };
        let rows = rows.map(|alike| alike.at_distance(event, least)).unwrap_or_default();
        let records = records.map(|alike| alike.at_distance(event, least)).unwrap_or_default();
        let rows_first = rows.iter().rev().flat_map(|run| run.iter().rev()).map(|(_, n)| Other::Row(*n));
        let records_next = records.iter().copied().flatten().map(|(_, at)| Other::Record(*at));
        let count = rows.iter().chain(&records).map(|run| run.len()).sum();
        Nearest { first: rows_first.chain(records_next).take(MOST_PAIRS).collect(), count }
    }
}

/// An event in a question: kind, time, author.
fn words(event: &Event) -> String {
    let when = match event.when.wall {
        Some(wall) => wall.format("at %Y-%m-%d %H:%M").to_string(),
        None => format!("on {}", event.when.care_day),
    };
    format!("{} {when} by {}", event.name.kind, visible(&event.by))
}
