//! A record as keys and values, and the one form in which it is written: `record`, `import` and whatever the program
//! scripts give the same bytes for the same facts, so that a diff shows what was learned and nothing else.
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
//! Keys stand in the order in which their reader asks for them, plain ones before tables, an empty line before each table.
//! Left out on purpose: editing a file that is there. That keeps the layout which somebody gave it ([`super::Edit`]).

use std::collections::BTreeMap;
use std::fmt::Write;

use chrono::{FixedOffset, NaiveDate, NaiveTime};
use toml::de::{DeTable, DeValue};
use toml::value::{Datetime, Offset};
use toml_writer::{TomlKeyBuilder, TomlStringBuilder, TomlWrite};

use super::field::{Field, Shape};
use super::table::Moment;
use crate::text::is_unprintable;

/// What a key of a record holds.
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
    /// A table with keys of its own.
    Table(Values),
}

/// Keys and values of one record. A key inside a table is named with a point: `site.drainage`.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Values(BTreeMap<String, Value>);

impl Values {
    /// The keys and values of a file's text; none if it is no TOML.
    pub fn of(text: &str) -> Option<Values> {
        DeTable::parse(text).ok().and_then(|table| values_of(table.get_ref()))
    }

    /// The value of a key.
    pub fn get(&self, key: &str) -> Option<&Value> {
        match key.split_once('.') {
            None => self.0.get(key),
            Some((table, key)) => match self.0.get(table) {
                Some(Value::Table(values)) => values.get(key),
                _ => None,
            },
        }
    }

    /// The text of a key, where it holds one.
    pub fn text(&self, key: &str) -> Option<&str> {
        match self.get(key) {
            Some(Value::Text(text)) => Some(text),
            _ => None,
        }
    }

    /// The day of a key, where it holds one.
    pub fn date(&self, key: &str) -> Option<NaiveDate> {
        match self.get(key) {
            Some(Value::Date(day)) => Some(*day),
            _ => None,
        }
    }

    /// Gives a key a value.
    pub fn set(&mut self, key: &str, value: Value) {
        match key.split_once('.') {
            None => _ = self.0.insert(key.to_owned(), value),
            Some((table, key)) => match self.0.entry(table.to_owned()).or_insert(Value::Table(Values::default())) {
                Value::Table(values) => values.set(key, value),
                other => *other = Value::Table(Values([(key.to_owned(), value)].into())),
            },
        }
    }

    /// Takes a key out, and its table where nothing else stands in it.
    pub fn remove(&mut self, key: &str) -> Option<Value> {
        let Some((table, inner)) = key.split_once('.') else { return self.0.remove(key) };
        let Some(Value::Table(values)) = self.0.get_mut(table) else { return None };
        let removed = values.remove(inner);
        if values.0.is_empty() {
            self.0.remove(table);
        }
        removed
    }

    /// Gives a key in a row of a list of tables a value; whether there is such a row.
    pub(super) fn set_in_row(&mut self, rows: &str, row: usize, key: &str, value: Value) -> bool {
        let Some(Value::List(items)) = self.0.get_mut(rows) else { return false };
        match items.get_mut(row) {
            Some(Value::Table(values)) => {
                values.set(key, value);
                true
            }
            _ => false,
        }
    }

    /// Puts a row behind those of a list of tables.
    pub(super) fn push_row(&mut self, rows: &str, row: Values) {
        match self.0.entry(rows.to_owned()).or_insert(Value::List(Vec::new())) {
            Value::List(items) => items.push(Value::Table(row)),
            other => *other = Value::List(vec![Value::Table(row)]),
        }
    }

    /// The same, where a table without a key is none.
    pub(super) fn without_empty_tables(mut self) -> Values {
        self.0.retain(|_, value| !matches!(value, Value::Table(values) if values.0.is_empty()));
        self
    }

    /// The rows of a list of tables.
    pub fn rows(&self, key: &str) -> Vec<&Values> {
        match self.0.get(key) {
            Some(Value::List(items)) => items.iter().filter_map(Value::table).collect(),
            _ => Vec::new(),
        }
    }

    /// Every key with its value, those inside a table under its name; a list of tables is one value.
    pub fn keys(&self) -> Vec<(String, &Value)> {
        let mut keys = Vec::new();
        for (name, value) in &self.0 {
            match value {
                Value::Table(values) => {
                    keys.extend(values.keys().into_iter().map(|(key, value)| (format!("{name}.{key}"), value)));
                }
                value => keys.push((name.clone(), value)),
            }
        }
        keys
    }

    /// The text of a record file, its keys in the order of `fields`; keys that are not among them come last.
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
        let found = || order.iter().filter_map(|(key, fields)| Some((*key, *fields, self.0.get(*key)?)));
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

/// Whether two records say the same, whoever wrote them when. One that was voided says nothing any more.
pub fn says_the_same(one: &str, other: &str) -> bool {
    let facts = |text| {
        let mut values = Values::of(text)?;
        values.remove("entered");
        Some(values)
    };
    facts(one).is_some_and(|one| Some(one) == facts(other))
}

impl Value {
    /// The table that it is.
    fn table(&self) -> Option<&Values> {
        if let Value::Table(values) = self { Some(values) } else { None }
    }

    /// Whether it stands as tables of its own, below the plain keys.
    fn is_tables(&self) -> bool {
        match self {
            Value::Table(_) => true,
            Value::List(rows) => matches!(rows.first(), Some(Value::Table(_))),
            _ => false,
        }
    }
}

/// As it stands behind the equals sign.
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
                let keys: Vec<String> = values.0.iter().map(|(key, value)| format!("{key} = {value}")).collect();
                write!(out, "{{ {} }}", keys.join(", "))
            }
        }
    }
}

/// As it stands in a record: to the second, with its offset where one is written.
impl std::fmt::Display for Moment {
    fn fmt(&self, out: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(out, "{}", self.wall.format("%Y-%m-%dT%H:%M:%S"))?;
        self.offset.map_or(Ok(()), |offset| write!(out, "{offset}"))
    }
}

/// A text in quotes on one line, whatever it holds. Bidirectional marks and line separators are escaped, so that nothing
/// in an editor or on a terminal reorders the record.
fn basic_string(text: &str) -> String {
    let mut out = String::new();
    // Writing into a text cannot fail.
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

fn values_of(table: &DeTable) -> Option<Values> {
    let value = |(key, value): (&toml::Spanned<_>, &toml::Spanned<DeValue>)| {
        let key: &std::borrow::Cow<str> = key.get_ref();
        Some((key.to_string(), value_of(value.get_ref())?))
    };
    table.iter().map(value).collect::<Option<_>>().map(Values)
}

fn value_of(value: &DeValue) -> Option<Value> {
    Some(match value {
        DeValue::String(text) => Value::Text(text.to_string()),
        DeValue::Integer(number) => {
            Value::Number(i64::from_str_radix(&number.as_str().replace('_', ""), number.radix()).ok()? as f64)
        }
        DeValue::Float(number) => Value::Number(number.as_str().replace('_', "").parse().ok()?),
        DeValue::Boolean(flag) => Value::Flag(*flag),
        DeValue::Datetime(time) => moment_of(time)?,
        DeValue::Array(items) => {
            Value::List(items.iter().map(|item| value_of(item.get_ref())).collect::<Option<Vec<_>>>()?)
        }
        DeValue::Table(table) => Value::Table(values_of(table)?),
    })
}

fn moment_of(time: &Datetime) -> Option<Value> {
    let date = time.date.and_then(|date| NaiveDate::from_ymd_opt(date.year.into(), date.month.into(), date.day.into()));
    let clock = time.time.and_then(|time| {
        NaiveTime::from_hms_opt(time.hour.into(), time.minute.into(), time.second.unwrap_or(0).into())
    });
    let minutes = time.offset.map(|offset| match offset {
        Offset::Z => 0,
        Offset::Custom { minutes } => i32::from(minutes),
    });
    let offset = minutes.and_then(|minutes| FixedOffset::east_opt(minutes * 60));
    match (date, clock) {
        (Some(date), Some(clock)) => Some(Value::Moment(Moment { wall: date.and_time(clock), offset })),
        (Some(date), None) => Some(Value::Date(date)),
        (None, Some(clock)) => Some(Value::Time(clock)),
        (None, None) => None,
    }
}
