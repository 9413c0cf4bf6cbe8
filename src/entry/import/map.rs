//! A map from a spreadsheet's columns, words and date forms to those of the records.
//!
//! ```toml
//! date_form = "month/day/year"           # the words are those of `form.rs`
//! time_form = "hour:minute am/pm"
//! ignore = ["Initials of reader"]        # columns that are skipped
//!
//! [constants]                            # values for the entire file, for empty or missing cells
//! patient = "P-014"
//!
//! [columns]                              # the spreadsheet's columns with their fields
//! "Date" = "date"
//! "Who changed" = "by"
//!
//! [words."Who changed"]                  # a column's own words, and the records' words; "" means an empty cell
//! "wife" = "p014-spouse"
//!
//! [[row]]                                # a line can have several records: one for each [[row]] that applies
//! kind = "change"
//! when_column = "Changed"                # it applies if this cell is filled in and is not a no
//!
//! [row.columns]
//! "Drainage" = "site.drainage"
//!
//! [row.constants]
//! reason = "scheduled"
//! ```
//!
//! Without any `[[row]]` each line is one record, whose kind is a column, a constant or `--kind`. A column that is
//! neither named here nor ignored is a fault, so that nothing written down is dropped silently.

use super::form::{Forms, TimeForm};
use super::target::Target;
use crate::event::Kind;
use crate::place::{RecordText, Span};
use crate::problem::{Problem, Rule};
use crate::record::{self, Table};

/// A name in the spreadsheet and its target.
pub(super) type Named = (String, Target);

/// A map as read from its file.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Map {
    /// The forms of dates and times.
    pub(super) forms: Forms,
    /// Columns that are skipped.
    pub(super) ignored: Vec<String>,
    /// The fields of the columns.
    pub(super) columns: Vec<Named>,
    /// Values for the entire file.
    pub(super) constants: Vec<(Target, String)>,
    /// A column's words: column, word in lower case, the records' word.
    pub(super) words: Vec<(String, String, String)>,
    /// The records of one line.
    pub(super) blocks: Vec<MapBlock>,
}

/// One record of a line.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct MapBlock {
    pub(super) kind: Kind,
    pub(super) when_column: Option<String>,
    pub(super) columns: Vec<Named>,
    pub(super) constants: Vec<(Target, String)>,
}

impl Map {
    /// Reads a map file; `None` if it cannot be used, with the reasons added to `problems`.
    pub fn read(source: &RecordText, problems: &mut Vec<Problem>) -> Option<Map> {
        let map = record::read(source, problems, |table| Some(Map::read_table(table)));
        problems.retain(|problem| problem.makes_unusable());
        for problem in problems.iter_mut().filter(|problem| problem.rule == Rule::TooDeep) {
            problem.help = "a map is at most three levels deep; check the brackets and dots here".to_owned();
        }
        map.filter(|_| problems.is_empty())
    }

    fn read_table(table: &mut Table) -> Map {
        let date = table.text("date_form", "the form of the dates, such as month/day/year");
        let time = table.text("time_form", "the form of the times, such as hour:minute am/pm");
        let ignored = table.texts("ignore", "columns that are skipped").unwrap_or_default();
        let forms = Forms {
            date: form(table, "date_form", date, TimeForm::of_date),
            time: form(table, "time_form", time, TimeForm::of_time),
        };
        let general = constants(table, None);
        let common = columns(table, None);
        let words =
            table.map("words", "a column's own words, and the records' words", |table| Some(table.every_text()));
        let words = words.unwrap_or_default().into_iter().flat_map(|(column, _, words)| {
            let lower = |word: String| word.trim().to_lowercase();
            words.into_iter().map(move |(word, _, meant)| (column.clone(), lower(word), meant))
        });
        let words = words.collect();
        let blocks = table.rows("row", "one record of a line", |table| {
            let kind = table.needed().word::<Kind>("kind", "the kind of this record");
            let when_column = table.text("when_column", "it applies if this cell is filled in and is not a no");
            let (columns, constants) = (columns(table, kind), constants(table, kind));
            Some(MapBlock { kind: kind?, when_column, columns, constants })
        });
        Map { forms, ignored, columns: common, constants: general, words, blocks: blocks.unwrap_or_default() }
    }
}

fn form(
    table: &mut Table,
    key: &str,
    text: Option<String>,
    read: impl Fn(&str) -> Result<TimeForm, String>,
) -> Option<TimeForm> {
    match read(&text?) {
        Ok(form) => Some(form),
        Err(sentence) => {
            table.add(Rule::UnknownWord, key, format!("`{key}` is not a form"), sentence);
            None
        }
    }
}

fn columns(table: &mut Table, kind: Option<Kind>) -> Vec<Named> {
    let about = "the spreadsheet's columns with their fields";
    let named =
        table.table("columns", about, |table| targets(table.every_text(), table, kind, |name, field| (field, name)));
    named.unwrap_or_default().into_iter().map(|(target, name)| (name, target)).collect()
}

fn constants(table: &mut Table, kind: Option<Kind>) -> Vec<(Target, String)> {
    let about = "values for the entire file, for empty or missing cells";
    table
        .table("constants", about, |table| targets(table.every_text(), table, kind, |field, value| (field, value)))
        .unwrap_or_default()
}

/// Parses pairs whose field name is the first element returned by `sides`.
fn targets(
    pairs: Vec<(String, Span, String)>,
    table: &mut Table,
    kind: Option<Kind>,
    sides: impl Fn(String, String) -> (String, String),
) -> Vec<(Target, String)> {
    let mut read = Vec::new();
    for (key, span, text) in pairs {
        let (field, other) = sides(key, text);
        match Target::read(&field, kind) {
            Ok(target) => read.push((target, other)),
            Err((message, help)) => table.add_at(Rule::UnknownWord, &span, message, help),
        }
    }
    read
}
