//! The places of a file's keys and tables, so that one can be edited without changing the layout of the rest.
//!
//! ```toml
//! site = { drainage = "none" }        # a table in braces
//! found.dressing = "intact"           # a dotted key
//! [left]                              # a table under its own header
//! anchor = "in-place"
//! ```
//!
//! The parser provides the place of each value; the first character there shows how the value is written.

use super::form::{Entry, Value, Values};
use crate::place::Span;

/// A table of a file. The top level has no name; each row of an array of tables is a table.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Home<'k> {
    /// The name; empty for the top level.
    pub(super) name: &'k str,
    /// The row in an array of tables.
    pub(super) row: Option<usize>,
}

/// The top level of the file.
pub(super) const TOP: Home = Home { name: "", row: None };

/// The form in which a table, and so a key in it, is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum TableForm {
    /// Keys on their own lines, at the top level or below the header of their table.
    Line,
    /// Dotted keys on their own lines at the top level.
    Pointed,
    /// Keys inside braces.
    Inside,
}

/// One key with its value.
#[derive(Debug, Clone)]
pub(super) struct Spot<'l> {
    /// The key, without its table.
    pub(super) key: &'l str,
    /// The form of its table.
    pub(super) form: TableForm,
    /// The start of the key.
    pub(super) start: usize,
    /// Its value.
    pub(super) value: &'l Span,
}

/// `[name]` or `[[name]]`.
#[derive(Debug, Clone)]
pub(super) struct Header<'l> {
    /// The table.
    pub(super) name: &'l str,
    /// Its place.
    pub(super) span: &'l Span,
}

/// A text and its values with their places.
#[derive(Debug, Clone, Copy)]
pub(super) struct Layout<'l> {
    pub(super) text: &'l str,
    pub(super) values: &'l Values,
}

impl<'l> Layout<'l> {
    /// The key of a table.
    pub(super) fn spot(self, home: Home, key: &str) -> Option<Spot<'l>> {
        self.inside(home).into_iter().find(|spot| spot.key == key)
    }

    /// The keys of a table, in file order; for the top level, those that are not tables under a header.
    pub(super) fn inside(self, home: Home) -> Vec<Spot<'l>> {
        let (keys, form) = match home {
            TOP => (Some(self.values), TableForm::Line),
            home => (self.keys(home), self.place(home).map_or(TableForm::Line, |place| self.form(place))),
        };
        let entries = keys.into_iter().flat_map(Values::entries).filter(|(_, entry)| self.is_value(entry));
        let spot = |(key, entry): (&'l String, &'l Entry)| Spot {
            key,
            form,
            start: entry.spots.key.start,
            value: &entry.spots.value,
        };
        let mut spots: Vec<Spot> = entries.map(spot).collect();
        spots.sort_by_key(|spot| spot.start);
        spots
    }

    /// All headers, in file order.
    pub(super) fn headers(self) -> Vec<Header<'l>> {
        let places = |entry: &'l Entry| match &entry.value {
            Value::Table(_) => std::slice::from_ref(&entry.spots.value),
            Value::List(items) if items.iter().all(|item| item.table().is_some()) => entry.spots.items.as_slice(),
            _ => &[],
        };
        let named =
            |(name, entry): (&'l String, &'l Entry)| places(entry).iter().map(move |span| Header { name, span });
        let mut headers: Vec<Header> =
            self.values.entries().flat_map(named).filter(|header| self.begins(header.span, '[')).collect();
        headers.sort_by_key(|header| header.span.start);
        headers
    }

    /// The header of a table.
    pub(super) fn header(self, home: Home) -> Option<&'l Span> {
        self.place(home).filter(|place| self.begins(place, '['))
    }

    /// The braces of an inline table.
    pub(super) fn braces(self, home: Home) -> Option<&'l Span> {
        self.place(home).filter(|place| self.begins(place, '{'))
    }

    /// The end of the last row of an array of tables written in brackets.
    pub(super) fn last_in_brackets(self, name: &str) -> Option<usize> {
        let rows = &self.values.entry(name)?.spots.items;
        rows.last().filter(|row| self.begins(row, '{')).map(|row| row.end)
    }

    /// The keys of a table.
    fn keys(self, home: Home) -> Option<&'l Values> {
        match (&self.values.entry(home.name)?.value, home.row) {
            (Value::List(rows), Some(row)) => rows.get(row)?.table(),
            (value, None) => value.table(),
            _ => None,
        }
    }

    /// The place of a table: its header, its braces, or its name in a dotted key.
    fn place(self, home: Home) -> Option<&'l Span> {
        self.keys(home)?;
        let spots = &self.values.entry(home.name)?.spots;
        home.row.map_or(Some(&spots.value), |row| spots.items.get(row))
    }

    fn form(self, place: &Span) -> TableForm {
        match self.text[place.start..].chars().next() {
            Some('[') => TableForm::Line,
            Some('{') => TableForm::Inside,
            _ => TableForm::Pointed,
        }
    }

    fn begins(self, place: &Span, mark: char) -> bool {
        self.text[place.start..].starts_with(mark)
    }

    /// Returns true if a value is written after an equals sign.
    fn is_value(self, entry: &Entry) -> bool {
        match &entry.value {
            Value::Table(_) => self.begins(&entry.spots.value, '{'),
            // A row under its own header has the place of its list.
            Value::List(_) => entry.spots.items.first().is_none_or(|row| row.start != entry.spots.value.start),
            _ => true,
        }
    }
}
