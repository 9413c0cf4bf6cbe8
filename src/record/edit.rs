//! Edits an existing file: changed keys are written in the canonical form of the records, and everything else, comments
//! and layout included, stays as it is, byte for byte.
//!
//! A new key is inserted in field order, and so is a new table, with an empty line before it. So a file in canonical
//! form ([`Values::write`]) stays canonical. Line endings become those of the records, and a file ends with one. The
//! result is parsed again: if its values are not the expected ones, the edit is refused.

use super::field::{Field, Shape};
use super::form::{Value, Values};
use super::layout::{Home, Layout, Spot, TOP, TableForm};
use crate::problem::Failure;

/// A file's text during an edit.
#[derive(Debug, Clone)]
pub struct Edit {
    text: String,
    values: Values,
    fields: Vec<Field>,
}

impl Edit {
    /// Parses a text whose keys are ordered by `fields`; `None` if it is not valid TOML.
    ///
    /// ```
    /// # use exitsite::event::Kind;
    /// # use exitsite::record::{Edit, Value};
    /// let text = "kind = 'assessment' # by telephone\nby = \"rn-07\"\n\n[site]\nredness_mm = 12 # measured twice\n";
    /// let mut edit = Edit::of(text, Kind::Assessment.fields()).unwrap();
    /// edit.set("site.redness_mm", &Value::Number(2.0)).unwrap();
    /// edit.set("site.drainage", &Value::Text("none".into())).unwrap();
    /// edit.set("note", &Value::Text("dry".into())).unwrap();
    /// assert_eq!(
    ///     edit.text(),
    ///     "kind = 'assessment' # by telephone\nby = \"rn-07\"\nnote = \"dry\"\n\n\
    ///      [site]\ndrainage = \"none\"\nredness_mm = 2 # measured twice\n"
    /// );
    /// ```
    pub fn of(text: &str, fields: Vec<Field>) -> Option<Edit> {
        let mut text = text.strip_prefix('\u{feff}').unwrap_or(text).replace("\r\n", "\n");
        if !text.is_empty() && !text.ends_with('\n') {
            text.push('\n');
        }
        Values::of(&text).map(|values| Edit { text, values, fields })
    }

    /// The current text.
    pub fn text(&self) -> &str {
        &self.text
    }

    /// The keys and values of the current text.
    pub fn values(&self) -> &Values {
        &self.values
    }

    fn layout(&self) -> Layout<'_> {
        Layout { text: &self.text, values: &self.values }
    }

    /// Sets the value of a key. A key inside a table is a dotted path: `table.key`.
    ///
    /// # Errors
    /// It cannot be inserted into the layout of the file.
    pub fn set(&mut self, key: &str, value: &Value) -> Result<(), Failure> {
        let (table, name) = parts(key);
        self.put(Home { name: table, row: None }, name, value)
    }

    /// Sets a key in one element of an array of tables. Rows count from 0.
    ///
    /// # Errors
    /// It cannot be inserted into the layout of the file, or there is no such row.
    pub fn set_in_row(&mut self, rows: &str, row: usize, key: &str, value: &Value) -> Result<(), Failure> {
        self.put(Home { name: rows, row: Some(row) }, key, value)
    }

    /// Removes a key, and its table if that becomes empty. A comment on its line stays.
    ///
    /// # Errors
    /// It cannot be removed without changing the layout of the file.
    pub fn clear(&mut self, key: &str) -> Result<(), Failure> {
        let (table, name) = parts(key);
        let home = Home { name: table, row: None };
        let layout = self.layout();
        let Some(spot) = layout.spot(home, name) else { return Ok(()) };
        let whole = layout.spot(TOP, table).filter(|_| spot.form == TableForm::Inside).unwrap_or(spot.clone());
        if self.holds_a_comment(&whole) {
            return Err(no_place(key));
        }
        let mut text = self.text.clone();
        match spot.form {
            TableForm::Inside if layout.inside(home).len() == 1 => self.cut_line(&mut text, &whole),
            TableForm::Inside => cut_inside(&mut text, layout, home, &spot),
            TableForm::Line | TableForm::Pointed => {
                self.cut_line(&mut text, &spot);
                if let Some(header) = layout.header(home).filter(|_| layout.inside(home).len() == 1) {
                    cut_empty_table(&mut text, header.start);
                }
            }
        }
        let mut expected = self.values.clone();
        expected.remove(key);
        self.accept(text, expected, key)
    }

    /// Appends a row to an array of tables.
    ///
    /// # Errors
    /// It cannot be inserted into the layout of the file.
    pub fn append(&mut self, rows: &str, row: &Values) -> Result<(), Failure> {
        let layout = self.layout();
        let mut expected = self.values.clone();
        expected.push_row(rows, row.clone());
        let mut text = self.text.clone();
        match layout.last_in_brackets(rows) {
            Some(last) => text.insert_str(last, &format!(", {}", Value::Table(row.clone()))),
            None => {
                let mut block = Values::default();
                block.set(rows, Value::List(vec![Value::Table(row.clone())]));
                self.insert_block(&mut text, layout, rows, &block.write(&self.fields));
            }
        }
        self.accept(text, expected, rows)
    }

    fn put(&mut self, home: Home, key: &str, value: &Value) -> Result<(), Failure> {
        let whole = if home.name.is_empty() { key.to_owned() } else { format!("{}.{key}", home.name) };
        let layout = self.layout();
        let mut expected = self.values.clone();
        let is_known = match home.row {
            None => {
                expected.set(&whole, value.clone());
                true
            }
            Some(row) => expected.set_in_row(home.name, row, key, value.clone()),
        };
        if !is_known {
            return Err(no_place(&whole));
        }
        let mut text = self.text.clone();
        let pointed = || layout.inside(home).iter().any(|spot| spot.form == TableForm::Pointed);
        if let Some(spot) = layout.spot(home, key) {
            if self.holds_a_comment(&spot) {
                return Err(no_place(&whole));
            }
            text.replace_range(spot.value.clone(), &value.to_string());
        } else if let Some(braces) = layout.braces(home) {
            let last = layout.inside(home).last().map(|spot| spot.value.end);
            let (at, between) = last.map_or((braces.start + 1, " "), |end| (end, ", "));
            let behind = if last.is_none() && !text[at..].starts_with(' ') { " " } else { "" };
            text.insert_str(at, &format!("{between}{} = {value}{behind}", written(key)));
        } else if home == TOP || pointed() || layout.header(home).is_some() {
            self.insert_line(&mut text, layout, home, key, value);
        } else {
            let mut block = Values::default();
            block.set(&whole, value.clone());
            self.insert_block(&mut text, layout, home.name, &block.write(&self.fields));
        }
        self.accept(text, expected, &whole)
    }

    /// Returns true if a value contains a comment, as a multi-line list can, which would be lost.
    fn holds_a_comment(&self, spot: &Spot) -> bool {
        let written = &self.text[spot.value.clone()];
        let marks = |text: &str| text.matches('#').count();
        let value = Values::of(&format!("key = {written}")).and_then(|mut values| values.remove("key"));
        written.contains('\n') && marks(written) > value.map_or(0, |value| marks(&value.to_string()))
    }

    /// Accepts the new text if it has the expected values.
    fn accept(&mut self, text: String, expected: Values, key: &str) -> Result<(), Failure> {
        let values = Values::of(&text).ok_or_else(|| no_place(key))?;
        if values.clone().without_empty_tables() != expected.without_empty_tables() {
            return Err(no_place(key));
        }
        (self.text, self.values) = (text, values);
        Ok(())
    }

    /// Inserts a key on its own line, after those that precede it in field order.
    fn insert_line(&self, text: &mut String, layout: Layout, home: Home, key: &str, value: &Value) {
        let header = layout.header(home);
        let is_pointed = home != TOP && header.is_none();
        let fields = self.inner(home.name);
        let line = match is_pointed {
            true => format!("{}.{} = {value}\n", written(home.name), written(key)),
            false => format!("{} = {value}\n", written(key)),
        };
        let own = rank(fields, key);
        // At the top level, dotted keys are among the plain ones.
        let neighbors = layout.inside(home);
        let before = neighbors.iter().rfind(|spot| rank(fields, spot.key) <= own);
        let at = match (before, neighbors.first(), header) {
            (Some(spot), ..) => line_end(text, spot.value.end),
            (None, Some(first), _) => line_start(text, first.start),
            (None, None, Some(header)) => line_end(text, header.end),
            (None, None, None) => 0,
        };
        text.insert_str(at, &line);
    }

    /// Inserts a table under its own header, after those that precede it in field order.
    fn insert_block(&self, text: &mut String, layout: Layout, name: &str, block: &str) {
        let own = rank(&self.fields, name);
        let headers = layout.headers();
        let before = headers.iter().rposition(|header| rank(&self.fields, header.name) <= own);
        let next = headers.get(before.map_or(0, |before| before + 1));
        let Some(next) = next else {
            let space = if text.is_empty() || text.ends_with("\n\n") { "" } else { "\n" };
            text.push_str(&format!("{space}{block}"));
            return;
        };
        let at = comment_above(text, line_start(text, next.span.start));
        let space = if at == 0 || text[..at].ends_with("\n\n") { "" } else { "\n" };
        text.insert_str(at, &format!("{space}{block}\n"));
    }

    fn inner(&self, table: &str) -> &[Field] {
        if table.is_empty() {
            return &self.fields;
        }
        match self.fields.iter().find(|field| field.name == table).map(|field| &field.shape) {
            Some(Shape::Table(fields) | Shape::Rows(fields)) => fields,
            _ => &[],
        }
    }

    /// Removes the line of a key; a comment after the value stays.
    fn cut_line(&self, text: &mut String, spot: &Spot) {
        let (start, end) = (line_start(text, spot.start), line_end(text, spot.value.end));
        let comment = text[spot.value.end..end].trim_start().to_owned();
        text.replace_range(start..end, &comment);
    }
}

/// Splits a dotted name into table and key.
fn parts(key: &str) -> (&str, &str) {
    key.split_once('.').unwrap_or(("", key))
}

/// The position of a key in writing order; unknown keys come last.
fn rank(fields: &[Field], key: &str) -> usize {
    fields.iter().position(|field| field.name == key).unwrap_or(fields.len())
}

fn written(key: &str) -> String {
    super::form::written_key(key)
}

fn line_start(text: &str, at: usize) -> usize {
    text[..at].rfind('\n').map_or(0, |at| at + 1)
}

/// The offset after the line ending.
fn line_end(text: &str, at: usize) -> usize {
    text[at..].find('\n').map_or(text.len(), |end| at + end + 1)
}

/// The start of the comment directly above a line.
fn comment_above(text: &str, mut at: usize) -> usize {
    while at > 0 {
        let above = line_start(text, at - 1);
        if !text[above..at].trim_start().starts_with('#') {
            break;
        }
        at = above;
    }
    at
}

/// Removes one of several keys from braces, with the comma that is no longer needed.
fn cut_inside(text: &mut String, layout: Layout, home: Home, spot: &Spot) {
    let all = layout.inside(home);
    let next = all.iter().find(|other| other.start > spot.start);
    let last = all.iter().rfind(|other| other.start < spot.start);
    match (next, last) {
        (Some(next), _) => text.replace_range(spot.start..next.start, ""),
        (None, Some(last)) => text.replace_range(last.value.end..spot.value.end, ""),
        (None, None) => {}
    }
}

/// Removes a header that has only empty lines below it, with the empty line above it; a header with a comment stays. A
/// comment directly above the next header belongs to that header.
fn cut_empty_table(text: &mut String, start: usize) {
    let start = line_start(text, start);
    let header = line_end(text, start);
    let mut next = header;
    while next < text.len() && !text[next..].trim_start_matches([' ', '\t']).starts_with('[') {
        next = line_end(text, next);
    }
    let body = if next < text.len() { comment_above(text, next).max(header) } else { next };
    if text[start..header].contains('#') || !text[header..body].trim().is_empty() {
        return;
    }
    let above = if text[..start].ends_with("\n\n") { start - 1 } else { start };
    text.replace_range(above..header, "");
}

fn no_place(key: &str) -> Failure {
    Failure::new(format!(
        "Cannot change `{key}` without changing the layout of the file. Nothing was written. Change it in an editor, then run `exitsite check`."
    ))
}
