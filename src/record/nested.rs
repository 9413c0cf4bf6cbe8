//! Tables inside a table: with fixed keys, as a list of rows, or with keys chosen by the program.

use super::given::{GivenValue, TableKeys};
use super::{Shape, Table, Value, Values};
use crate::place::Span;

impl<'a> Table<'a> {
    /// A table with fixed keys.
    pub fn table<T>(
        &mut self,
        name: &'static str,
        about: &'static str,
        reader: impl FnOnce(&mut Table) -> T,
    ) -> Option<T> {
        let Some(keys) = self.keys else {
            let mut inner = Table::of(self.source, None, 0..0, name);
            let value = reader(&mut inner);
            self.note_field(name, Shape::Table(inner.into_fields()), about);
            return Some(value);
        };
        let value = self.lookup(keys, name, Shape::Table(Vec::new()), about)?;
        match value.value {
            GivenValue::Table(keys) => {
                let below = self.below.and_then(|below| below.table(name));
                Some(self.inside(name, (keys, below), &value.span, reader))
            }
            _ => self.wrong_type(name, &value, &format!("a table: [{name}] on a line of its own, its keys below")),
        }
    }

    /// An array of tables; skips rows for which `reader` returns `None`.
    pub fn rows<T>(
        &mut self,
        name: &'static str,
        about: &'static str,
        mut reader: impl FnMut(&mut Table) -> Option<T>,
    ) -> Option<Vec<T>> {
        let Some(keys) = self.keys else {
            let mut inner = Table::of(self.source, None, 0..0, name);
            let value = reader(&mut inner);
            self.note_field(name, Shape::Rows(inner.into_fields()), about);
            return Some(value.into_iter().collect());
        };
        let value = self.lookup(keys, name, Shape::Rows(Vec::new()), about)?;
        let help = format!("rows: [[{name}]] on a line of its own for each");
        let Some(rows) = value.items() else { return self.wrong_type(name, &value, &help) };
        let mut read = Vec::new();
        for row in &rows {
            match row.value {
                GivenValue::Table(keys) => read.extend(self.inside(name, (keys, None), &row.span, &mut reader)),
                _ => _ = self.wrong_type::<()>(name, row, &help),
            }
        }
        Some(read)
    }

    /// A table with keys chosen by the program; `reader` reads each value as a table.
    pub fn map<T>(
        &mut self,
        name: &'static str,
        about: &'static str,
        mut reader: impl FnMut(&mut Table) -> Option<T>,
    ) -> Option<Vec<(String, Span, T)>> {
        let Some(keys) = self.keys else {
            let mut inner = Table::of(self.source, None, 0..0, name);
            let value = reader(&mut inner);
            self.note_field(name, Shape::Map(Box::new(Shape::Table(inner.into_fields()))), about);
            return Some(value.into_iter().map(|value| (String::new(), 0..0, value)).collect());
        };
        let value = self.lookup(keys, name, Shape::Map(Box::new(Shape::Text)), about)?;
        let GivenValue::Table(keys) = value.value else {
            return self.wrong_type(name, &value, &format!("a table: [{name}] on a line of its own, its keys below"));
        };
        let mut read = Vec::new();
        for (key, place, given) in keys.entries() {
            match given.value {
                GivenValue::Table(keys) => {
                    let value = self.inside(name, (keys, None), &place, &mut reader);
                    read.extend(value.map(|value| (key.to_owned(), place, value)));
                }
                _ => _ = self.wrong_type::<()>(name, &given, "a table in braces, such as { … = … }"),
            }
        }
        Some(read)
    }

    /// A table from words chosen by the program to whole numbers.
    pub fn numbers(&mut self, name: &'static str, about: &'static str) -> Option<Vec<(String, i64)>> {
        let value = self.value(name, Shape::Map(Box::new(Shape::Whole(0, 99))), about)?;
        let GivenValue::Table(keys) = value.value else {
            return self.wrong_type(name, &value, "a table in braces, such as { none = 0, serous = 1 }");
        };
        let entries = keys.entries().into_iter();
        Some(entries.filter_map(|(key, _, given)| Some((key.to_owned(), self.whole_of(name, &given)?))).collect())
    }

    /// Every key of this table, with any name, with its text; numbers, true and false as written.
    pub(crate) fn every_text(&mut self) -> Vec<(String, Span, String)> {
        let Some(keys) = self.keys.take() else { return Vec::new() };
        let mut read = Vec::new();
        for (key, _, given) in keys.entries() {
            let place = given.span.clone();
            let text = match given.value {
                GivenValue::Text(text) => text.to_owned(),
                GivenValue::List(_) | GivenValue::Table(_) => {
                    _ = self.wrong_type::<()>(key, &given, "a text in quotes");
                    continue;
                }
                _ => Value::from(given).to_string(),
            };
            read.push((key.to_owned(), place, text));
        }
        read
    }

    fn inside<T>(
        &mut self,
        name: &'static str,
        (keys, below): (TableKeys<'a>, Option<&'a Values>),
        place: &Span,
        reader: impl FnOnce(&mut Table) -> T,
    ) -> T {
        let line = self.source.text.get(place.start..).and_then(|rest| rest.find('\n')).unwrap_or(0);
        // Without a place it is not from this file, but from no file or from the defaults.
        let header = if place.is_empty() { self.header() } else { place.start..place.end.min(place.start + line) };
        let mut inner = Table::of(self.source, Some(keys), header, name).over(below);
        let value = reader(&mut inner);
        inner.finish(&mut self.problems);
        value
    }
}
