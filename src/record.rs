//! Reads the text of a record file field by field, as a table; the only module that uses TOML.
//!
//! A reader asks a [`Table`] for each key that it knows, with the key's type, limits and meaning. The requested keys
//! are the shape of the file: any other key is unknown, and the JSON Schema, the flags of the commands and the columns
//! of a table are generated from the same list ([`Shape`]). A problem never stops the reading; one run finds all
//! problems of a file.
//!
//! ```toml
//! kind = "shower"
//! at = 2026-11-23T18:40:00-06:00
//! by = "p014-spouse"
//! dressing_after = "wet"
//! ```
//!
//! Left out on purpose: serde, which stops at the first fault of a file and loses the place of a missing key.

pub(crate) mod declare;
mod depth;
mod facts;
mod edit;
mod field;
mod form;
mod given;
mod layout;
mod nested;
mod plain;
mod syntax;
mod table;
mod value;

use std::cell::Cell;

pub(crate) use declare::fields;
pub use declare::{FieldType, Read, Record};
pub use depth::DEEPEST;
pub use edit::Edit;
pub use facts::facts;
pub use field::{Field, Shape, leaves};
pub use form::{Moment, Value, Values, says_the_same};
pub use table::{Limits, Table};

use given::TableKeys;
use plain::Plain;

use crate::place::{RecordText, Span};
use crate::problem::{Problem, Rule};

/// Reads one file's text through `reader`, which asks for its fields.
///
/// Returns `None` if the text is not valid TOML, or `reader` cannot use it; the reasons are added to the problems.
pub fn read<T>(
    source: &RecordText,
    problems: &mut Vec<Problem>,
    reader: impl FnOnce(&mut Table) -> Option<T>,
) -> Option<T> {
    read_over(source, None, problems, reader)
}

/// The keys of a file that provides defaults for others.
#[derive(Debug)]
pub struct Below(Values);

impl Below {
    /// Parses the keys of a text; `None` if it is not valid TOML.
    pub fn of(text: &str) -> Option<Below> {
        Values::of(text).map(|values| Below(values.unplaced()))
    }
}

/// Reads one file's text with defaults from another: an optional key that it lacks takes the default.
pub(crate) fn read_over<T>(
    source: &RecordText,
    below: Option<&Below>,
    problems: &mut Vec<Problem>,
    reader: impl FnOnce(&mut Table) -> Option<T>,
) -> Option<T> {
    let mut plain = PLAIN.take();
    let value = match plain.read(&source.text) {
        true => read_placed((TableKeys::of(&plain, &source.text), below), source, problems, reader),
        false => read_any(source, below, problems, reader),
    };
    PLAIN.set(plain);
    value
}

thread_local! {
    /// The buffers of a text in the plain form, used again for the next one.
    static PLAIN: Cell<Plain> = Cell::new(Plain::default());
}

/// The place of a key's value in a text that can be read; `table` is "" for the top level. Empty if the key is missing.
///
/// It parses the text again: most records are read without a question about a place.
pub(crate) fn place(text: &str, table: &str, key: &str) -> Span {
    let mut plain = PLAIN.take();
    let place = match plain.read(text) {
        true => TableKeys::of(&plain, text).place(table, key),
        false => syntax::parse(text).ok().and_then(|values| TableKeys::Values(&values).place(table, key)),
    };
    PLAIN.set(plain);
    place.unwrap_or_default()
}

/// Reads a text that is not in the plain form.
fn read_any<T>(
    source: &RecordText,
    below: Option<&Below>,
    problems: &mut Vec<Problem>,
    reader: impl FnOnce(&mut Table) -> Option<T>,
) -> Option<T> {
    if let Some(problem) = conflict_markers(source).or_else(|| too_deep(source)) {
        problems.push(problem);
        return None;
    }
    match syntax::parse(&source.text) {
        Ok(values) => read_placed((TableKeys::Values(&values), below), source, problems, reader),
        Err(errors) => {
            let found = errors.iter().map(|error| {
                let (message, help) = syntax::plain(error.message());
                source.problem(Rule::Syntax, &error.span().unwrap_or(0..0), message, help)
            });
            // One fault can cause several parser errors on its line.
            let mut found: Vec<Problem> = found.collect();
            found.dedup_by_key(|problem| problem.place.line);
            problems.append(&mut found);
            None
        }
    }
}

/// Reads values that are not in a file yet through `reader`; `source` is their future file.
///
/// Returns `None` if `reader` cannot use them; the reasons are added to the problems, each with its key.
pub(crate) fn read_values<T>(
    values: &Values,
    source: &RecordText,
    problems: &mut Vec<Problem>,
    reader: impl FnOnce(&mut Table) -> Option<T>,
) -> Option<T> {
    read_placed((TableKeys::Values(&values.unplaced()), None), source, problems, reader)
}

fn read_placed<T>(
    (keys, below): (TableKeys, Option<&Below>),
    source: &RecordText,
    problems: &mut Vec<Problem>,
    reader: impl FnOnce(&mut Table) -> Option<T>,
) -> Option<T> {
    let mut table = Table::of(source, Some(keys), 0..0, "").over(below.map(|below| &below.0));
    let value = reader(&mut table);
    table.finish(problems);
    value
}

/// The fields that `reader` asks for, determined without a file.
pub(crate) fn describe<T>(reader: impl FnOnce(&mut Table) -> T) -> Vec<Field> {
    let nothing = RecordText { file: String::new(), text: String::new() };
    let mut table = Table::of(&nothing, None, 0..0, "");
    reader(&mut table);
    table.into_fields()
}

fn too_deep(source: &RecordText) -> Option<Problem> {
    let span = depth::too_deep(&source.text)?;
    let message = format!("tables or lists are nested more than {DEEPEST} levels deep");
    Some(source.problem(Rule::TooDeep, &span, message, "this is not a record; move the file out of the records"))
}

/// The problem of an unresolved merge in the file, if there is one.
fn conflict_markers(source: &RecordText) -> Option<Problem> {
    let markers: [&[u8]; 5] = [b"<<<<<<< ", b"=======\n", b"=======\r\n", b">>>>>>> ", b"||||||| "];
    let mut at = 0;
    for line in source.text.as_bytes().split_inclusive(|byte| *byte == b'\n') {
        if markers.iter().any(|marker| line.starts_with(marker)) {
            let span = at..at + line.trim_ascii_end().len();
            return Some(source.problem(
                Rule::ConflictMarkers,
                &span,
                "an unresolved merge: two versions in this file",
                "keep the correct lines, delete the marker lines <<<<<<<, ======= and >>>>>>>, then commit",
            ));
        }
        at += line.len();
    }
    None
}
