//! Tables inside a table: one of its own keys, a list of rows, or one whose keys the program chooses.

use toml::de::{DeTable, DeValue};

use super::{Shape, Table};
use crate::place::Span;

impl<'a> Table<'a> {
    /// A table of its own keys.
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
        match value.get_ref() {
            DeValue::Table(keys) => {
                let below = match self.below.and_then(|below| below.get(name)).map(|value| value.get_ref()) {
                    Some(DeValue::Table(below)) => Some(below),
                    _ => None,
                };
                Some(self.inside(name, (keys, below), value.span(), reader))
            }
            _ => self.wrong_type(name, value, &format!("a table: [{name}] on a line of its own, its keys below")),
        }
    }

    /// A list of tables; those that `reader` can make nothing of are left out.
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
        let DeValue::Array(rows) = value.get_ref() else {
            return self.wrong_type(name, value, &help);
        };
        let mut read = Vec::new();
        for row in rows.iter() {
            match row.get_ref() {
                DeValue::Table(keys) => read.extend(self.inside(name, (keys, None), row.span(), &mut reader)),
                _ => _ = self.wrong_type::<()>(name, row, &help),
            }
        }
        Some(read)
    }

    /// A table whose keys the program chooses, each value read by `reader` under a table of the same name.
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
        let DeValue::Table(entries) = value.get_ref() else {
            return self.wrong_type(name, value, &format!("a table: [{name}] on a line of its own, its keys below"));
        };
        let mut read = Vec::new();
        for (key, value) in entries.iter() {
            match value.get_ref() {
                DeValue::Table(keys) => {
                    let value = self.inside(name, (keys, None), key.span(), &mut reader);
                    read.extend(value.map(|value| (key.get_ref().to_string(), key.span(), value)));
                }
                _ => _ = self.wrong_type::<()>(name, value, "a table in braces, such as { … = … }"),
            }
        }
        Some(read)
    }

    /// A table from words that the program chooses to whole numbers.
    pub fn numbers(&mut self, name: &'static str, about: &'static str) -> Option<Vec<(String, i64)>> {
        let value = self.value(name, Shape::Map(Box::new(Shape::Whole(0, 99))), about)?;
        let DeValue::Table(entries) = value.get_ref() else {
            return self.wrong_type(name, value, "a table in braces, such as { none = 0, serous = 1 }");
        };
        Some(
            entries
                .iter()
                .filter_map(|(key, value)| Some((key.get_ref().to_string(), self.whole_of(name, value)?)))
                .collect(),
        )
    }

    /// Every key of this table, whatever the program calls it, with its text; a number, true or false as it is written.
    pub fn every_text(&mut self) -> Vec<(String, Span, String)> {
        let Some(keys) = self.keys.take() else { return Vec::new() };
        let mut read = Vec::new();
        for (key, value) in keys.iter() {
            let text = match value.get_ref() {
                DeValue::String(text) => text.to_string(),
                DeValue::Boolean(flag) => flag.to_string(),
                DeValue::Integer(number) => number.as_str().to_owned(),
                DeValue::Float(number) => number.as_str().to_owned(),
                DeValue::Datetime(time) => time.to_string(),
                _ => {
                    _ = self.wrong_type::<()>(key.get_ref(), value, "a text in quotes");
                    continue;
                }
            };
            read.push((key.get_ref().to_string(), value.span(), text));
        }
        read
    }

    fn inside<T>(
        &mut self,
        name: &'static str,
        (keys, below): (&'a DeTable<'a>, Option<&'a DeTable<'a>>),
        header: Span,
        reader: impl FnOnce(&mut Table) -> T,
    ) -> T {
        let is_below = self.is_below || !self.has(name);
        let line = self.source.text.get(header.start..).and_then(|rest| rest.find('\n')).unwrap_or(0);
        let header = if is_below { self.header() } else { header.start..header.end.min(header.start + line) };
        let mut inner = Table::of(self.source, Some(keys), header, name).over(below);
        inner.is_below = is_below;
        let value = reader(&mut inner);
        self.spans.append(&mut inner.spans);
        inner.finish(&mut self.problems);
        value
    }
}
