//! A record as keys and values, and its canonical form: `record`, `import` and scripts write the same bytes for the
//! same facts, so that a diff shows only changed facts.
//!
//! ```toml
//! kind = "change"
//! at = 2026-11-23T18:55:00-06:00
//! by = "p014-spouse"
//! source = "told"
//! reason = "after-shower"
//!
//! [left]
//! dressing = "intact"
//! ```
//!
//! Keys are in the order in which their reader asks for them, plain keys before tables, with an empty line before each
//! table. Left out on purpose: editing an existing file, which keeps its layout ([`super::Edit`]).

use std::collections::BTreeMap;
use std::fmt::Write;

use chrono::{FixedOffset, NaiveDate, NaiveDateTime, NaiveTime};
use toml_writer::{TomlKeyBuilder, TomlStringBuilder, TomlWrite};

use super::field::{Field, Shape};
use crate::day::{Calendar, Instant};
use crate::place::Span;
use crate::text::is_unprintable;

/// The value of a key.
#[derive(Debug, Clone, PartialEq)]
pub enum Value {
    /// A text or a word.
    Text(String),
    /// A number; `3` and `3.0` are the same.
    Number(f64),
    /// `true` or `false`.
    Flag(bool),
    /// A date.
    Date(NaiveDate),
    /// A time of day.
    Time(NaiveTime),
    /// A date with a time.
    Moment(Moment),
    /// A list.
    List(Vec<Value>),
    /// A table with its own keys.
    Table(Values),
}

/// A time as written in a record: the wall-clock time, with its UTC offset if one is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Moment {
    /// The wall-clock time.
    pub wall: NaiveDateTime,
    /// The offset from UTC, if it is written.
    pub offset: Option<FixedOffset>,
}

impl Moment {
    /// The instant, in the calendar's time zone if no offset is written; `None` for a time that the zone skips or
    /// repeats.
    pub fn instant(self, calendar: &Calendar) -> Option<Instant> {
        match self.offset {
            Some(offset) => self.wall.checked_sub_offset(offset).map(|utc| utc.and_utc()),
            None => calendar.instant(self.wall).ok(),
        }
    }
}

/// The spans of a key, its value and the items of its list; all empty if no file was read.
#[derive(Debug, Clone, Default)]
pub(super) struct Spots {
    pub(super) key: Span,
    pub(super) value: Span,
    pub(super) items: Vec<Span>,
}

/// A value with its place, which equality ignores.
#[derive(Debug, Clone)]
pub(super) struct Entry {
    pub(super) value: Value,
    pub(super) spots: Spots,
}

impl PartialEq for Entry {
    fn eq(&self, other: &Entry) -> bool {
        self.value == other.value
    }
}

/// Keys and values of one record. A key inside a table is dotted: `site.drainage`.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Values(BTreeMap<String, Entry>);

impl Values {
    pub(super) fn from_entries(entries: impl Iterator<Item = (String, Entry)>) -> Values {
        Values(entries.collect())
    }

    /// Every key of this table with its value and place, in alphabetical order.
    pub(super) fn entries(&self) -> impl Iterator<Item = (&String, &Entry)> {
        self.0.iter()
    }

    /// A key of this table with its value and place.
    pub(super) fn entry(&self, key: &str) -> Option<&Entry> {
        self.0.get(key)
    }

    /// Every key of this table with its value, in alphabetical order.
    pub(crate) fn iter(&self) -> impl Iterator<Item = (&str, &Value)> {
        self.0.iter().map(|(key, entry)| (key.as_str(), &entry.value))
    }

    /// The value of a key of this table; a dot in the key is literal.
    pub(crate) fn get_own(&self, key: &str) -> Option<&Value> {
        self.0.get(key).map(|entry| &entry.value)
    }

    /// These values, completed by those of `below`; a list of tables is one value.
    pub(crate) fn over(mut self, below: &Values) -> Values {
        for (key, entry) in &below.0 {
            match (self.0.get_mut(key).map(|own| &mut own.value), &entry.value) {
                (None, _) => _ = self.0.insert(key.clone(), entry.clone()),
                (Some(Value::Table(own)), Value::Table(below)) => *own = std::mem::take(own).over(below),
                _ => {}
            }
        }
        self
    }

    /// Drops the places, which refer to another text.
    pub(super) fn unplaced(&self) -> Values {
        let entry = |(key, entry): (&String, &Entry)| (key.clone(), Entry::from(entry.value.unplaced()));
        Values(self.0.iter().map(entry).collect())
    }

    pub(super) fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// The value of a key.
    pub fn get(&self, key: &str) -> Option<&Value> {
        match key.split_once('.') {
            None => self.0.get(key).map(|entry| &entry.value),
            Some((table, key)) => self.table(table)?.get(key),
        }
    }

    /// The table with a name.
    pub(super) fn table(&self, name: &str) -> Option<&Values> {
        self.0.get(name).and_then(|entry| entry.value.table())
    }

    /// The text of a key; `None` if its value is not a text.
    pub fn text(&self, key: &str) -> Option<&str> {
        match self.get(key) {
            Some(Value::Text(text)) => Some(text),
            _ => None,
        }
    }

    /// The day of a key; `None` if its value is not a date.
    pub fn date(&self, key: &str) -> Option<NaiveDate> {
        match self.get(key) {
            Some(Value::Date(day)) => Some(*day),
            _ => None,
        }
    }

    /// Sets a key.
    pub fn set(&mut self, key: &str, value: Value) {
        let Some((table, key)) = key.split_once('.') else {
            self.0.insert(key.to_owned(), value.into());
            return;
        };
        let held = &mut self.0.entry(table.to_owned()).or_insert(Value::Table(Values::default()).into()).value;
        if held.table().is_none() {
            *held = Value::Table(Values::default());
        }
        if let Value::Table(values) = held {
            values.set(key, value);
        }
    }

    /// Removes a key, and its table if that becomes empty.
    pub fn remove(&mut self, key: &str) -> Option<Value> {
        let Some((table, inner)) = key.split_once('.') else { return self.0.remove(key).map(|entry| entry.value) };
        let Some(Value::Table(values)) = self.0.get_mut(table).map(|entry| &mut entry.value) else { return None };
        let removed = values.remove(inner);
        if values.0.is_empty() {
            self.0.remove(table);
        }
        removed
    }

    /// Sets a key in one row of an array of tables; returns false if there is no such row.
    pub(super) fn set_in_row(&mut self, rows: &str, row: usize, key: &str, value: Value) -> bool {
        let Some(Value::List(items)) = self.0.get_mut(rows).map(|entry| &mut entry.value) else { return false };
        let Some(Value::Table(values)) = items.get_mut(row) else { return false };
        values.set(key, value);
        true
    }

    /// Appends a row to an array of tables.
    pub(super) fn push_row(&mut self, rows: &str, row: Values) {
        match &mut self.0.entry(rows.to_owned()).or_insert(Value::List(Vec::new()).into()).value {
            Value::List(items) => items.push(Value::Table(row)),
            other => *other = Value::List(vec![Value::Table(row)]),
        }
    }

    /// Drops tables without a key.
    pub(super) fn without_empty_tables(mut self) -> Values {
        self.0.retain(|_, entry| !entry.value.table().is_some_and(Values::is_empty));
        self
    }

    /// The rows of a list of tables.
    pub fn rows(&self, key: &str) -> Vec<&Values> {
        match self.get(key) {
            Some(Value::List(items)) => items.iter().filter_map(Value::table).collect(),
            _ => Vec::new(),
        }
    }

    /// Every key with its value, dotted inside a table; a list of tables is one value.
    pub fn keys(&self) -> Vec<(String, &Value)> {
        let mut keys = Vec::new();
        for (name, entry) in &self.0 {
            match &entry.value {
                Value::Table(values) => {
                    keys.extend(values.keys().into_iter().map(|(key, value)| (format!("{name}.{key}"), value)));
                }
                value => keys.push((name.clone(), value)),
            }
        }
        keys
    }

    /// The text of a record file, with its keys in the order of `fields`; other keys come last.
    ///
    /// ```
    /// # use exitsite::event::Kind;
    /// # use exitsite::record::{Value, Values};
    /// let mut values = Values::default();
    /// values.set("site.redness_mm", Value::Number(2.0));
    /// values.set("note", Value::Text("a \"dry\" site".into()));
    /// values.set("kind", Value::Text("assessment".into()));
    /// assert_eq!(
    ///     values.write(&Kind::Assessment.fields()),
    ///     "kind = \"assessment\"\nnote = \"a \\\"dry\\\" site\"\n\n[site]\nredness_mm = 2\n"
    /// );
    /// ```
    pub fn write(&self, fields: &[Field]) -> String {
        let mut out = String::new();
        self.write_into(&mut out, fields);
        out
    }

    fn write_into(&self, out: &mut String, fields: &[Field]) {
        let unknown = self.0.keys().filter(|key| !fields.iter().any(|field| field.name == **key));
        let order: Vec<(&str, &[Field])> = fields
            .iter()
            .map(|field| (field.name, inner_fields(field)))
            .chain(unknown.map(|key| (key.as_str(), [].as_slice())))
            .collect();
        let found = || order.iter().filter_map(|(key, fields)| Some((*key, *fields, &self.0.get(*key)?.value)));
        for (key, _, value) in found().filter(|(.., value)| !value.is_tables()) {
            _ = writeln!(out, "{} = {value}", written_key(key));
        }
        for (key, fields, value) in found() {
            let (header, tables): (String, Vec<&Values>) = match value {
                Value::Table(values) => (format!("[{}]", written_key(key)), vec![values]),
                Value::List(rows) if value.is_tables() => {
                    (format!("[[{}]]", written_key(key)), rows.iter().filter_map(Value::table).collect())
                }
                _ => continue,
            };
            for values in tables {
                _ = writeln!(out, "{}{header}", if out.is_empty() { "" } else { "\n" });
                values.write_into(out, fields);
            }
        }
    }
}

/// Returns true if two records have the same facts, regardless of writer and time of entry. A voided record has none.
pub fn says_the_same(one: &str, other: &str) -> bool {
    let facts = |text| {
        let mut values = Values::of(text)?;
        values.remove("entered");
        Some(values)
    };
    facts(one).is_some_and(|one| Some(one) == facts(other))
}

impl From<Value> for Entry {
    fn from(value: Value) -> Entry {
        Entry { value, spots: Spots::default() }
    }
}

impl Value {
    /// The value as a table.
    pub(crate) fn table(&self) -> Option<&Values> {
        if let Value::Table(values) = self { Some(values) } else { None }
    }

    fn unplaced(&self) -> Value {
        match self {
            Value::Table(values) => Value::Table(values.unplaced()),
            Value::List(items) => Value::List(items.iter().map(Value::unplaced).collect()),
            value => value.clone(),
        }
    }

    /// Returns true if it is written as tables below the plain keys.
    fn is_tables(&self) -> bool {
        match self {
            Value::Table(_) => true,
            Value::List(rows) => matches!(rows.first(), Some(Value::Table(_))),
            _ => false,
        }
    }
}

/// The value as written after the equals sign.
impl std::fmt::Display for Value {
    fn fmt(&self, out: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Value::Text(text) => out.write_str(&basic_string(text)),
            Value::Number(number) => write!(out, "{number}"),
            Value::Flag(flag) => write!(out, "{flag}"),
            Value::Date(date) => write!(out, "{date}"),
            Value::Time(time) => write!(out, "{}", time.format("%H:%M:%S")),
            Value::Moment(moment) => write!(out, "{moment}"),
            Value::List(items) => {
                let items: Vec<String> = items.iter().map(Value::to_string).collect();
                write!(out, "[{}]", items.join(", "))
            }
            Value::Table(values) => {
                let keys: Vec<String> =
                    values.0.iter().map(|(key, entry)| format!("{key} = {}", entry.value)).collect();
                write!(out, "{{ {} }}", keys.join(", "))
            }
        }
    }
}

/// The moment as written in a record: to the second, with its offset if it has one.
impl std::fmt::Display for Moment {
    fn fmt(&self, out: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(out, "{}", self.wall.format("%Y-%m-%dT%H:%M:%S"))?;
        self.offset.map_or(Ok(()), |offset| write!(out, "{offset}"))
    }
}

/// A text as a quoted string on one line. Bidirectional marks and line separators are escaped, so that no editor or
/// terminal reorders the record.
fn basic_string(text: &str) -> String {
    let mut out = String::new();
    // Writing to a string cannot fail.
    _ = out.value(TomlStringBuilder::new(text).as_basic());
    if !out.chars().any(is_unprintable) {
        return out;
    }
    let escaped = |c: char| if is_unprintable(c) { format!("\\u{:04X}", u32::from(c)) } else { c.to_string() };
    out.chars().map(escaped).collect()
}

pub(super) fn written_key(key: &str) -> String {
    let mut out = String::new();
    _ = out.key(TomlKeyBuilder::new(key).as_default());
    out
}

fn inner_fields(field: &Field) -> &[Field] {
    match &field.shape {
        Shape::Table(fields) | Shape::Rows(fields) => fields,
        _ => &[],
    }
}
