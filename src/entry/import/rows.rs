//! Reads rows as entries: drafts of records, parsed like the records that they will be.

use std::collections::BTreeMap;

use super::cells::SheetRow;
use super::columns::{ColumnBlock, ColumnLayout};
use super::filled::{FilledValue, Whereabouts, block_applies, found, is_filled, left_over, value};
use super::target::{KEYS, Target};
use super::{CellError, ImportFlags, split, who};
use crate::entry::{Book, Clock, Draft, Said, is_refused, typed};
use crate::event::{Event, Kind};
use crate::problem::{Problem, Rule};
use crate::program::Program;
use crate::record::{Shape, Value};
use crate::text::{either, nearest, visible};
use crate::word::Word;

/// The maximum number of characters in a cell.
const LONGEST_TEXT: usize = 20_000;

/// The maximum number of characters in a cell that is not free text.
const LONGEST_WORD: usize = 300;

/// The decision about a row that is a possible duplicate of a record on file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Decision {
    /// It is the same event; further facts of the row are added to the record.
    Same,
    /// It is another event, with its own record.
    Another,
}

/// One record of a row.
#[derive(Debug, Clone)]
pub(super) struct RowEntry {
    /// Its lines, in order.
    pub(super) lines: Vec<usize>,
    /// The owner's code.
    pub(super) owner: String,
    pub(super) draft: Draft,
    pub(super) event: Event,
    pub(super) decision: Option<Decision>,
    /// The column and the cell of each key.
    pub(super) cells: BTreeMap<String, (String, String)>,
    /// The problems found while reading it.
    pub(super) problems: Vec<Problem>,
}

/// The books of the rows, opened on demand.
pub(super) struct Books<'a> {
    pub(super) program: &'a Program,
    pub(super) open: BTreeMap<String, Book<'a>>,
}

/// All rows of a file, as read.
pub(super) struct ReadRows<'a, 'b> {
    pub(super) layout: &'b ColumnLayout,
    pub(super) given: &'b ImportFlags,
    pub(super) books: Books<'a>,
    pub(super) entries: Vec<RowEntry>,
    pub(super) slips: Vec<CellError>,
    /// The number of rows not filled in, by patient.
    pub(super) not_filled_in: BTreeMap<String, usize>,
    /// The sheet numbers used in place of a code, by patient.
    pub(super) numbered: BTreeMap<String, BTreeMap<String, String>>,
}

impl<'a> Books<'a> {
    pub(super) fn open(&mut self, code: &str, kind: Kind) -> Result<&Book<'a>, String> {
        if !self.open.contains_key(code) {
            let book = Book::open(self.program, code, kind).map_err(|failure| failure.0)?;
            self.open.insert(code.to_owned(), book);
        }
        match self.open.get(code) {
            Some(book) if book.patient.is_some() || kind == Kind::Teaching => Ok(book),
            _ => Err(format!("{code} is staff. Records of the kind {kind} need a patient's code")),
        }
    }
}

impl<'a> ReadRows<'a, '_> {
    /// Reads one row.
    pub(super) fn read(&mut self, row: &SheetRow) {
        let known = self.slips.len();
        self.look_at_shape(row);
        if self.slips.len() > known {
            return;
        }
        let mut is_used = vec![false; row.cells.len()];
        let layout = self.layout;
        for block in &layout.blocks {
            let found = found(layout, block, row);
            if !block_applies(layout, block, row) || !is_filled(layout, block, &found) {
                continue;
            }
            block.taken().for_each(|n| is_used.iter_mut().skip(n).take(1).for_each(|used| *used = true));
            if let Some(entry) = self.entry(row, block, &found) {
                self.entries.push(entry);
            }
        }
        let left: Vec<(usize, &str)> = left_over(layout, row, &is_used);
        for (n, text) in &left {
            let whens: Vec<&str> =
                layout.blocks.iter().filter_map(|block| Some(layout.header[block.when_column?].as_str())).collect();
            let message = format!("this is filled in, but no record applies to the row; fill in {}", either(&whens));
            self.slips.push(CellError::of_cell(row.line, &layout.header[*n], text, &message));
        }
        if left.is_empty() && !is_used.contains(&true) {
            self.count_not_filled_in(row);
        }
    }

    /// Finds the faults in the shape of the row.
    fn look_at_shape(&mut self, row: &SheetRow) {
        let header = &self.layout.header;
        if row.cells.iter().zip(header).all(|(cell, name)| cell == name) && row.cells.len() >= header.len() {
            self.slips.push(CellError::of_line(row.line, "this is the header again; delete the line"));
            return;
        }
        for (n, cell) in row.cells.iter().enumerate().filter(|(_, cell)| !cell.is_empty()) {
            match header.get(n).map(String::as_str) {
                None => {
                    let message =
                        "the row has more cells than the header; put quotes around a text that contains the separator";
                    self.slips.push(CellError::of_cell(row.line, &format!("column {}", n + 1), cell, message));
                    return;
                }
                Some("") => {
                    let message = "the column has no name in the header; name it, or clear the cell";
                    self.slips.push(CellError::of_cell(row.line, &format!("column {}", n + 1), cell, message));
                }
                Some(_) => {}
            }
        }
    }

    fn count_not_filled_in(&mut self, row: &SheetRow) {
        let layout = self.layout;
        let named = layout.blocks.iter().find_map(|block| {
            let found = found(layout, block, row);
            found.into_iter().find(|(target, ..)| **target == Target::Patient).map(|(.., text)| text.to_owned())
        });
        let Some(code) = named.or_else(|| self.given.patient.clone()) else { return };
        match self.books.open(&code, Kind::Change) {
            Ok(_) => *self.not_filled_in.entry(code).or_default() += 1,
            Err(message) => self.slips.push(CellError::of_cell(row.line, "patient", &code, &message)),
        }
    }

    /// The entry of a block of a row; `None` if it has faults, which are all added to the slips.
    fn entry(&mut self, row: &SheetRow, block: &ColumnBlock, found: &[FilledValue]) -> Option<RowEntry> {
        let layout = self.layout;
        let at = Whereabouts { layout, row };
        let mut slips = Vec::new();
        let kind = kind(block, found, self.given, at).map_err(|slip| slips.push(slip)).ok();
        let whose = patient(found, self.given, at).map_err(|slip| slips.push(slip)).ok();
        let book = whose.as_ref().and_then(|(code, n)| {
            // The learner of a checkoff can be anyone.
            let opened = self.books.open(code, kind.unwrap_or(Kind::Teaching));
            opened.map_err(|message| slips.push(at.slip(*n, "patient", code, &message))).ok()
        });
        let (Some(kind), Some((code, _)), Some(book)) = (kind, whose, book) else {
            self.slips.append(&mut slips);
            return None;
        };
        let clock = book.clock(self.given.now);
        let mut draft = begun(kind, self.given, clock);
        let has_exit = |id: &str| book.patient.iter().flat_map(|patient| &patient.exits).any(|exit| exit.id == id);
        let mut cells = BTreeMap::new();
        match when(self.layout, found, clock) {
            Ok((said, n)) => {
                draft.happened(said);
                cells.extend(["at", "on"].map(|key| (key.to_owned(), at.cell(n, key, ""))));
            }
            Err((n, message)) => {
                slips.push(at.slip(n, "when", "", &message));
                // The other cells are still checked.
                draft.happened(Said::On(clock.calendar.today(clock.now)));
            }
        }
        let mut not_read = Vec::new();
        for (target, n, text) in found {
            let Target::Field(key) = target else { continue };
            let read = match KEYS.shape(kind, key) {
                Some(_) if key == "by" && who::is_number(text) => who::numbered(book.patient.as_ref(), text)
                    .inspect(|code| {
                        self.numbered
                            .entry(book.owner.code().to_owned())
                            .or_default()
                            .insert((*text).to_owned(), code.clone());
                    })
                    .map(Value::Text),
                Some(shape) => field(self.layout, key, shape, text, clock),
                None if key == "exit" && !has_exit(text) => Err(format!(
                    "{code} has no such exit site, and records of the kind {kind} name none; clear the cell"
                )),
                // A value shared by several records need not fit all of them, nor need the exit site printed on a
                // sheet.
                None if block.kind.is_some() || key == "exit" => continue,
                None => Err(split::stranger(kind, key, found, at)),
            };
            match read {
                Ok(value) => {
                    draft.values.set(key, value);
                    cells.insert(key.clone(), at.cell(*n, key, text));
                }
                Err(mut message) => {
                    let own = n.map(|n| self.layout.own_words(n)).unwrap_or_default();
                    if !own.is_empty() {
                        message.push_str(&format!("; the map has {}", either(&own)));
                    }
                    slips.push(at.slip(*n, key, text, &message));
                    not_read.push(key.as_str());
                }
            }
        }
        let decision = decision(found, at).map_err(|slip| slips.push(slip)).ok().flatten();
        if let Some((_, n, text)) = value(found, &Target::Same) {
            cells.insert("same".to_owned(), at.cell(n, "same", text));
        }
        let is_read = slips.is_empty();
        let mut problems = Vec::new();
        let event = draft.event(&book.owner, 1, &book.calendar, &mut problems);
        let (refused, others): (Vec<_>, Vec<_>) = problems.into_iter().partition(|problem| is_refused(problem.rule));
        let counts = |problem: &&Problem| is_read || is_of_what_was_read(problem, &not_read);
        slips.extend(refused.iter().filter(counts).map(|problem| CellError::of_problem(problem, row.line, &cells)));
        match event.filter(|_| slips.is_empty()) {
            Some(event) => {
                let lines = vec![row.line];
                Some(RowEntry { lines, owner: code, draft, event, decision, cells, problems: others })
            }
            None => {
                // A valid row is checked against the staff and the household later, together with all others.
                slips.extend(who::unknown(book, &draft, row.line, &cells));
                self.slips.append(&mut slips);
                None
            }
        }
    }
}

/// Returns true if a problem of a record with unreadable cells concerns the other cells.
fn is_of_what_was_read(problem: &Problem, not_read: &[&str]) -> bool {
    match problem.rule {
        Rule::MissingKey => problem.key.as_deref().is_none_or(|key| !not_read.contains(&key)),
        Rule::Contradiction => false,
        _ => true,
    }
}

/// An empty record of the log, with its source, author and writer.
fn begun(kind: Kind, given: &ImportFlags, clock: Clock) -> Draft {
    let mut draft = Draft::new(kind);
    draft.values.set("source", Value::Text(given.source.word().to_owned()));
    draft.entered(&given.writer, clock);
    if let Some(by) = &given.by {
        draft.values.set("by", Value::Text(by.clone()));
    }
    draft
}

fn kind(block: &ColumnBlock, found: &[FilledValue], given: &ImportFlags, at: Whereabouts) -> Result<Kind, CellError> {
    match (block.kind, value(found, &Target::Kind)) {
        (Some(kind), _) => Ok(kind),
        (None, Some((_, n, text))) => Kind::from_word(&text.to_lowercase()).ok_or_else(|| {
            let several = split::kinds(text);
            if !several.is_empty() {
                return at.slip(n, "kind", text, &split::advice(found, at, &several));
            }
            let near = nearest(text, Kind::WORDS.iter().copied());
            let near = near.map(|near| format!("did you mean {near}? Use")).unwrap_or("use".to_owned());
            let message = format!("\"{}\" is not a kind of record; {near} {}", visible(text), either(Kind::WORDS));
            at.slip(n, "kind", text, &message)
        }),
        (None, None) => given.kind.ok_or_else(|| {
            CellError::of_line(
                at.row.line,
                "`kind` is empty; write change, shower or another kind, or add --kind KIND for the entire file",
            )
        }),
    }
}

fn patient(found: &[FilledValue], given: &ImportFlags, at: Whereabouts) -> Result<(String, Option<usize>), CellError> {
    match (value(found, &Target::Patient), &given.patient) {
        (Some((_, n, text)), Some(patient)) if text != patient => {
            let message = format!("\"{}\" is not the patient of --patient, {patient}", visible(text));
            Err(at.slip(n, "patient", text, &message))
        }
        (Some((_, n, text)), _) => Ok((text.to_owned(), n)),
        (None, Some(patient)) => Ok((patient.clone(), None)),
        (None, None) => Err(CellError::of_line(
            at.row.line,
            "`patient` is empty; write the code, or add --patient CODE for the entire file",
        )),
    }
}

fn decision(found: &[FilledValue], at: Whereabouts) -> Result<Option<Decision>, CellError> {
    let Some((_, n, text)) = value(found, &Target::Same) else { return Ok(None) };
    match text.to_lowercase().as_str() {
        "same" => Ok(Some(Decision::Same)),
        "another" => Ok(Some(Decision::Another)),
        _ => {
            let message = format!("\"{}\" is not a choice; use same or another, or leave it empty", visible(text));
            Err(at.slip(n, "same", text, &message))
        }
    }
}

/// The time of a row, and its column.
fn when(
    layout: &ColumnLayout,
    found: &[FilledValue],
    clock: Clock,
) -> Result<(Said, Option<usize>), (Option<usize>, String)> {
    let value = |wanted: Target| found.iter().find(|(target, ..)| **target == wanted).map(|(_, n, text)| (*n, *text));
    let forms = &layout.forms;
    let days = [value(Target::At), value(Target::On), value(Target::Date)];
    let given = days.iter().flatten().count();
    if given > 1 {
        let n = days.iter().flatten().last().and_then(|(n, _)| *n);
        return Err((n, "the row has two times; keep one of at, on and date".to_owned()));
    }
    let (n, text) = match days {
        [Some((n, text)), ..] => (n, forms.when(text).map_err(|message| (n, message))?),
        [_, Some((n, text)), _] | [_, _, Some((n, text))] => {
            (n, forms.day(text).map_err(|message| (n, message))?.to_string())
        }
        _ => return Err((None, "the row has no time; fill in at, on, or date and time".to_owned())),
    };
    let text = match value(Target::Time) {
        None => text,
        Some((n, _)) if text.len() > 10 => return Err((n, "the row has two times; keep one".to_owned())),
        Some((n, time)) => format!("{text} {}", forms.time(time).map_err(|message| (n, message))?),
    };
    let said = clock.read_past(&text).map_err(|message| (value(Target::Time).map_or(n, |(n, _)| n), message))?;
    Ok((said, n))
}

/// The value of a key.
fn field(layout: &ColumnLayout, key: &str, shape: &Shape, text: &str, clock: Clock) -> Result<Value, String> {
    let is_free = matches!(shape, Shape::Text) || *shape == Shape::List(Box::new(Shape::Text));
    let longest = if is_free { LONGEST_TEXT } else { LONGEST_WORD };
    if text.chars().count() > longest {
        return Err(format!("more than {longest} characters; shorten it"));
    }
    match shape {
        Shape::Date => layout.forms.day(text).map(Value::Date),
        Shape::Moment => typed(key, shape, &layout.forms.when(text)?, clock),
        shape => typed(key, shape, text, clock),
    }
}
