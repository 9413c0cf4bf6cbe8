//! The plan of an import, complete before anything is written: every row is read, compared with the records on file,
//! and tried against them.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use super::cells::Cells;
use super::columns::ColumnLayout;
use super::log::{LogPlan, is_the_log, log, overlapping};
use super::map::Map;
use super::quiet;
use super::rows::{Books, ReadRows, RowEntry};
use super::sameness::{self, Joining, MOST_QUESTIONS, PossibleDuplicate};
use super::target::Target;
use super::{CellError, ImportFlags};
use crate::check::problems_beside;
use crate::day::Period;
use crate::entry::{Book, is_refused};
use crate::event::{Event, EventName};
use crate::folder::NewRecord;
use crate::patient::Patient;
use crate::place::RecordText;
use crate::problem::{Level, Problem, Rule};
use crate::program::Program;
use crate::record::{Edit, Value, Values};
use crate::text::{count, visible};

/// The plan of an import.
#[derive(Debug, Clone, Default)]
pub struct Plan {
    /// Faults that prevent the import.
    pub slips: Vec<CellError>,
    /// Possible duplicates without a decision, up to a maximum.
    pub questions: Vec<PossibleDuplicate>,
    /// The number of possible duplicates.
    pub pairs: usize,
    /// Remarks that need a yes.
    pub asked: Vec<Remark>,
    /// Remarks that are only shown.
    pub noted: Vec<Remark>,
    /// The plan for each patient.
    pub owners: Vec<OwnerPlan>,
}

/// A remark to check.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Remark {
    /// The row's first line; `None` if the remark is not about a row.
    pub line: Option<usize>,
    /// The text.
    pub message: String,
}

/// The plan for a patient or a staff member.
#[derive(Debug, Clone, Default)]
pub struct OwnerPlan {
    /// The code.
    pub code: String,
    /// The new records, the log's last.
    pub new: Vec<NewRecord>,
    /// The additions to records on file.
    pub additions: Vec<Addition>,
    /// The number of rows already on file.
    pub on_file: usize,
    /// The number of rows that are not filled in.
    pub not_filled_in: usize,
    /// The log, if the file is imported as one.
    pub log: Option<LogPlan>,
    /// The records before and after the import; `None` for staff.
    pub sides: Option<Sides>,
}

/// A patient's records before and after an import.
#[derive(Debug, Clone)]
pub struct Sides {
    /// The course.
    pub patient: Patient,
    /// The events on file.
    pub before: Vec<Event>,
    /// The events after the import.
    pub after: Vec<Event>,
    /// The problems of the files that cannot be read.
    pub unread: Vec<Problem>,
}

/// An existing record that the import adds data to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Addition {
    /// Its path.
    pub file: String,
    /// Its text before.
    pub was: String,
    /// Its text afterwards.
    pub text: String,
}

impl Plan {
    /// Computes the plan of a file.
    pub fn of(program: &Program, cells: &Cells, map: Option<&Map>, given: &ImportFlags) -> Plan {
        let layout = match ColumnLayout::of(cells, map) {
            Ok(layout) => layout,
            Err(faults) => {
                return Plan { slips: faults.into_iter().map(CellError::of_file).collect(), ..Plan::default() };
            }
        };
        let mut slips = missing_columns(&layout, given);
        if !slips.is_empty() {
            return Plan { slips, ..Plan::default() };
        }
        let books = Books { program, open: BTreeMap::new() };
        let (voided, rows): (Vec<_>, Vec<_>) = cells.rows.iter().partition(|row| layout.is_voided(&row.cells));
        let (not_filled_in, numbered) = (BTreeMap::new(), BTreeMap::new());
        let (entries, read_slips) = (Vec::new(), Vec::new());
        let mut reading =
            ReadRows { layout: &layout, given, books, entries, slips: read_slips, not_filled_in, numbered };
        rows.into_iter().for_each(|row| reading.read(row));
        slips.append(&mut reading.slips);
        slips.extend(reading.entries.iter().filter_map(|entry| outside_of_log(entry, given.log)));
        let is_whole = slips.is_empty();
        let mut of_owner: BTreeMap<String, Vec<RowEntry>> = BTreeMap::new();
        for entry in reading.entries {
            of_owner.entry(entry.owner.clone()).or_default().push(entry);
        }
        let mut plan = Plan { slips, ..Plan::default() };
        for (code, book) in &reading.books.open {
            let entries = of_owner.remove(code).unwrap_or_default();
            let not_filled_in = reading.not_filled_in.get(code).copied().unwrap_or(0);
            let owner = plan.add_owner(book, entries, given, is_whole);
            plan.owners.push(OwnerPlan { not_filled_in, ..owner });
        }
        if !voided.is_empty() {
            let message = format!("Skipped {}.", count(voided.len() as i64, "voided row"));
            plan.noted.push(Remark { line: None, message });
        }
        for (code, numbered) in &reading.numbered {
            let meant: Vec<String> = numbered.iter().map(|(number, code)| format!("{number} is {code}")).collect();
            let message = format!("Sheet of {code}: {}. Were these the numbers when it was printed?", meant.join(", "));
            plan.noted.push(Remark { line: None, message });
        }
        plan.slips.sort();
        plan.slips.dedup();
        plan.questions.sort_by(|a, b| (a.line, &a.file, a.other_line).cmp(&(b.line, &b.file, b.other_line)));
        plan.asked.sort();
        plan.noted.sort();
        plan
    }

    /// Returns true if it needs at most a yes to be carried out.
    pub fn is_sound(&self) -> bool {
        self.slips.is_empty() && self.questions.is_empty()
    }

    /// All new records.
    pub(crate) fn new_records(&self) -> Vec<NewRecord> {
        self.owners.iter().flat_map(|owner| owner.new.iter().cloned()).collect()
    }

    /// All existing records to which the import adds facts.
    pub fn additions(&self) -> impl Iterator<Item = &Addition> {
        self.owners.iter().flat_map(|owner| &owner.additions)
    }

    fn add_owner(&mut self, book: &Book, entries: Vec<RowEntry>, given: &ImportFlags, is_whole: bool) -> OwnerPlan {
        let sorted = sameness::sort(book, entries, is_whole);
        self.slips.extend(sorted.slips);
        let free = MOST_QUESTIONS.saturating_sub(self.questions.len());
        self.questions.extend(sorted.questions.into_iter().take(free));
        self.pairs += sorted.pairs;
        let mut owner =
            OwnerPlan { code: book.owner.code().to_owned(), on_file: sorted.on_file, ..OwnerPlan::default() };
        let mut beside = Beside { events: book.events.clone(), rows: BTreeMap::new() };
        for Joining { at, lines, keys } in sorted.additions {
            match addition(book, &book.events[at], &keys, given) {
                Some((addition, event, problems)) => {
                    let row = PlannedRow { line: lines.first().copied(), cells: BTreeMap::new(), is_new: false };
                    self.take(&problems, &row);
                    beside.rows.insert(event.file().to_owned(), row);
                    beside.events[at] = event;
                    owner.additions.push(addition);
                }
                None => self.slips.push(CellError {
                    line: lines.first().copied(),
                    column: None,
                    value: None,
                    message: format!("Cannot add to {}. Amend it by hand.", book.events[at].file()),
                }),
            }
        }
        let elsewhere: Vec<(usize, String)> =
            sorted.new.iter().filter_map(|entry| Some((entry.lines[0], book.elsewhere(&entry.event)?))).collect();
        if let Some((line, first)) = elsewhere.iter().min() {
            let more = if elsewhere.len() > 1 { format!(" ({} such rows)", elsewhere.len()) } else { String::new() };
            self.asked.push(Remark { line: Some(*line), message: format!("{first}{more}") });
        }
        let mut numbers: BTreeMap<EventName, u16> = BTreeMap::new();
        for event in &book.events {
            let number = numbers.entry(EventName { n: 1, ..event.name }).or_default();
            *number = event.name.n.max(*number);
        }
        for mut entry in sorted.new {
            let number = numbers.entry(EventName { n: 1, ..entry.event.name }).or_default();
            *number += 1;
            let name = EventName { n: *number, ..entry.event.name };
            let row = PlannedRow { line: entry.lines.first().copied(), cells: entry.cells, is_new: true };
            let text = entry.event.record.text.clone();
            self.take(&entry.problems, &row);
            entry.event.name = name;
            let file = book.owner.file(name);
            beside.rows.insert(file.clone(), row);
            entry.event.record = Arc::new(RecordText { file, text: text.clone() });
            owner.new.push(NewRecord { owner: book.owner.folder(), name, text });
            beside.events.push(entry.event);
        }
        if let Some(days) = given.log.filter(|_| book.patient.is_some()) {
            let is_on_file = book.events.iter().any(|event| is_the_log(event, days, given.is_complete));
            owner.log = Some(LogPlan { days, is_on_file });
            if !is_on_file {
                self.asked.extend(overlapping(book, days).map(|message| Remark { line: None, message }));
                match log(book, days, given) {
                    Ok((record, event)) => {
                        let row = PlannedRow { line: None, cells: BTreeMap::new(), is_new: true };
                        beside.rows.insert(event.file().to_owned(), row);
                        owner.new.push(record);
                        beside.events.push(event);
                    }
                    Err(slip) => self.slips.push(slip),
                }
            }
        }
        let missed = owner.log.filter(|log| !log.is_on_file && given.is_complete);
        if let Some(message) =
            missed.and_then(|log| quiet::missed_by_the_log(book, &beside.events, log.days, given.now))
        {
            self.asked.push(Remark { line: None, message });
        }
        owner.sides = book.patient.clone().map(|patient| Sides {
            patient,
            before: book.events.clone(),
            after: beside.events.clone(),
            unread: book.unusable.clone(),
        });
        self.try_out(book, beside, given);
        if let Some(problem) = book.unusable.first().filter(|_| !owner.new.is_empty()) {
            let message = format!("Cannot read {}, so no row was compared with it.", problem.place.file);
            self.asked.push(Remark { line: None, message });
        }
        owner
    }

    /// Checks the new records against the course, the staff, the policy and each other.
    fn try_out(&mut self, book: &Book, beside: Beside, given: &ImportFlags) {
        let Beside { mut events, rows } = beside;
        if rows.is_empty() {
            return;
        }
        events.sort_by_cached_key(Event::order);
        let problems = |events: &[Event], files: &BTreeSet<&str>| {
            problems_beside(book.program, book.patient.as_ref(), events, |file| files.contains(file), given.now)
        };
        let files: BTreeSet<&str> = rows.keys().map(String::as_str).collect();
        let on_file: BTreeSet<&str> =
            rows.iter().filter(|(_, row)| !row.is_new).map(|(file, _)| file.as_str()).collect();
        let known = if on_file.is_empty() { Vec::new() } else { problems(&book.events, &on_file) };
        let known: BTreeSet<_> = known.iter().map(Problem::fault).collect();
        for problem in problems(&events, &files).into_iter().filter(|problem| !known.contains(&problem.fault())) {
            let own = rows.get(&problem.place.file);
            let related = || problem.related.iter().find_map(|place| rows.get(&place.file));
            let Some(row) = own.or_else(related) else { continue };
            self.take(&[problem], row);
        }
    }

    /// Sorts the problems of a row into refused, asked about and only shown.
    fn take(&mut self, problems: &[Problem], row: &PlannedRow) {
        // Every possible duplicate has been decided, or is asked about with both sides.
        for problem in problems.iter().filter(|problem| problem.rule != Rule::PerhapsTheSame) {
            let remark = || Remark { line: row.line, message: problem.message.clone() };
            match problem.rule.level() {
                _ if is_refused(problem.rule) => match row.line {
                    Some(line) => self.slips.push(CellError::of_problem(problem, line, &row.cells)),
                    None => {
                        self.slips.push(CellError::of_file(format!("--log: {}; {}", problem.message, problem.help)))
                    }
                },
                Level::Warning => self.asked.push(remark()),
                _ => self.noted.push(remark()),
            }
        }
    }
}

/// The new events of a patient among those on file, and the rows that they came from, by file.
struct Beside {
    events: Vec<Event>,
    rows: BTreeMap<String, PlannedRow>,
}

struct PlannedRow {
    line: Option<usize>,
    cells: BTreeMap<String, (String, String)>,
    is_new: bool,
}

/// The faults of required columns that are missing.
fn missing_columns(layout: &ColumnLayout, given: &ImportFlags) -> Vec<CellError> {
    let has = |wanted: &Target| layout.gives(|target| target == wanted);
    let mut slips = Vec::new();
    let mut missing = |is_given: bool, message: &str| {
        if !is_given {
            slips.push(CellError::of_file(message));
        }
    };
    missing(
        has(&Target::Patient) || given.patient.is_some(),
        "No column has the patient. Add a column `patient`, or --patient CODE.",
    );
    missing(
        layout.blocks.iter().all(|block| block.kind.is_some()) || has(&Target::Kind) || given.kind.is_some(),
        "No column has the kind of record. Add a column `kind`, or --kind change.",
    );
    missing(
        has(&Target::Field("by".to_owned())) || given.by.is_some(),
        "No column has the person who did or saw it. Add a column `by`, or --by CODE.",
    );
    missing(
        layout.gives(|target| matches!(target, Target::At | Target::On | Target::Date)),
        "No column has the time. Add a column `on` for days, `at` for times, or `date` and `time`.",
    );
    slips
}

fn outside_of_log(entry: &RowEntry, log: Option<Period>) -> Option<CellError> {
    let days = log?;
    let (day, care_day) = (entry.event.name.date, entry.event.when.care_day);
    if days.contains(day) || days.contains(care_day) {
        return None;
    }
    let key = if entry.event.is_timed() { "at" } else { "on" };
    let (column, value) = entry.cells.get(key).cloned().unwrap_or_default();
    let message = format!("{day} is outside the log, {} to {}. Check the month and the year.", days.from, days.to);
    Some(CellError::of_cell(entry.lines[0], &column, &value, &message))
}

/// Adds keys to a record on file; returns its new text and event.
fn addition(
    book: &Book,
    event: &Event,
    keys: &[(String, Value)],
    given: &ImportFlags,
) -> Option<(Addition, Event, Vec<Problem>)> {
    let was: Vec<String> = keys.iter().map(|(key, _)| format!("{key} not given")).collect();
    let mut amended = Values::default();
    for (key, value) in [
        ("at", Value::Moment(book.clock(given.now).moment())),
        ("by", Value::Text(given.writer.clone())),
        ("why", Value::Text(format!("also in the log {}", visible(&given.file)))),
        ("was", Value::Text(was.join("; "))),
    ] {
        amended.set(key, value);
    }
    let was = event.record.text.clone();
    let mut edit = Edit::of(&was, event.name.kind.fields())?;
    keys.iter().try_for_each(|(key, value)| edit.set(key, value)).ok()?;
    edit.append("amended", &amended).ok()?;
    let text = edit.text().to_owned();
    let source = Arc::new(RecordText { file: event.file().to_owned(), text: text.clone() });
    let (mut problems, mut before) = (Vec::new(), Vec::new());
    let added = Event::read(&source, event.name, &book.calendar, &mut problems);
    _ = Event::read(&event.record, event.name, &book.calendar, &mut before);
    problems.retain(|problem: &Problem| before.iter().all(|known: &Problem| known.fault() != problem.fault()));
    // An unusable record is refused with its reason.
    let added = added.or_else(|| (!problems.is_empty()).then(|| event.clone()))?;
    Some((Addition { file: event.file().to_owned(), was, text }, added, problems))
}
