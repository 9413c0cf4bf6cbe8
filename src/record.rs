//! One record file's text as a table that is read field by field: the only door to TOML.
//!
//! A reader asks a [`Table`] for each key that it knows, with the key's type, limits and description. The keys that it
//! asked for define the file: any other key is unknown, and the JSON Schema, the flags of the commands and the columns of
//! a table are generated from the same list ([`Shape`]). A problem never stops the reading; all problems of a file are
//! found in one run.
//!
//! ```toml
//! kind = "shower"
//! at = 2026-11-23T18:40:00-06:00
//! by = "p014-spouse"
//! dressing_after = "wet"
//! ```
//!
//! Left out on purpose: serde. It stops at the first fault of a file and loses the place of a missing key.

pub(crate) mod declare;
mod depth;
mod facts;
mod edit;
mod field;
mod form;
mod given;
mod layout;
mod nested;
mod syntax;
mod table;
mod value;

pub(crate) use declare::fields;
pub use declare::{Key, Read, Record};
pub use depth::DEEPEST;
pub use edit::Edit;
pub use facts::facts;
pub use field::{Field, Shape, leaves};
pub use form::{Moment, Value, Values, says_the_same};
pub use table::{Limits, Spans, Table};

use crate::place::RecordText;
use crate::problem::{Problem, Rule};

/// Reads one file's text through `reader`, which asks for its fields.
///
/// Returns `None` if the text is not valid TOML, or if `reader` does; the problems give the reasons.
pub fn read<T>(
    source: &RecordText,
    problems: &mut Vec<Problem>,
    reader: impl FnOnce(&mut Table) -> Option<T>,
) -> Option<T> {
    read_over(source, None, problems, reader)
}

/// A file's keys, as defaults for other files.
#[derive(Debug)]
pub struct Below(Values);

impl Below {
    /// The keys of a text; `None` if it is not valid TOML.
    pub fn of(text: &str) -> Option<Below> {
        Values::of(text).map(|values| Below(values.unplaced()))
    }
}

/// Reads one file's text with another as defaults: an optional key that is missing has the value of the default.
pub fn read_over<T>(
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
        Ok(values) => read_placed((&values, below), source, problems, reader),
        Err(errors) => {
            let found = errors.iter().map(|error| {
                let (message, help) = syntax::plain(error.message());
                source.problem(Rule::Syntax, &error.span().unwrap_or(0..0), message, help)
            });
            // One mistake can cause several parse errors on its line.
            let mut found: Vec<Problem> = found.collect();
            found.dedup_by_key(|problem| problem.place.line);
            problems.append(&mut found);
            None
        }
    }
}

/// Reads values that are not in a file yet through `reader`; `source` is the file that they will be in.
///
/// Returns `None` if `reader` does; the problems give the reasons, each with its key.
pub fn read_values<T>(
    values: &Values,
    source: &RecordText,
    problems: &mut Vec<Problem>,
    reader: impl FnOnce(&mut Table) -> Option<T>,
) -> Option<T> {
    read_placed((&values.unplaced(), None), source, problems, reader)
}

fn read_placed<T>(
    (values, below): (&Values, Option<&Below>),
    source: &RecordText,
    problems: &mut Vec<Problem>,
    reader: impl FnOnce(&mut Table) -> Option<T>,
) -> Option<T> {
    let mut table = Table::of(source, Some(values), 0..0, "").over(below.map(|below| &below.0));
    let value = reader(&mut table);
    table.finish(problems);
    value
}

/// Returns the fields that `reader` asks for, without a file.
pub fn describe<T>(reader: impl FnOnce(&mut Table) -> T) -> Vec<Field> {
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

/// Finds the two versions that an unresolved merge left in the file, if any.
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
