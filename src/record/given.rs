//! The keys of a table during reading, and their values with their places: of a file in the plain form, or of values in
//! any form.

use chrono::{NaiveDate, NaiveTime};

use super::form::{Entry, Moment, Spots, Value, Values};
use super::plain::{Plain, PlainSection, PlainValue, Scalar};
use crate::place::Span;

/// The keys of a table.
#[derive(Clone, Copy)]
pub(super) enum TableKeys<'a> {
    /// Those of values in any form.
    Values(&'a Values),
    /// Those of a section of a file in the plain form.
    Plain(PlainKeys<'a>),
}

/// The keys of a section of a file in the plain form.
#[derive(Clone, Copy)]
pub(super) struct PlainKeys<'a> {
    plain: &'a Plain,
    text: &'a str,
    section: usize,
}

/// A value during reading, with its place.
pub(super) struct Given<'a> {
    pub(super) value: GivenValue<'a>,
    pub(super) span: Span,
    /// The position of its key among those of its table, in the plain form.
    pub(super) position: Option<u32>,
}

/// The value itself.
#[derive(Clone, Copy)]
pub(super) enum GivenValue<'a> {
    Text(&'a str),
    Number(f64),
    Flag(bool),
    Date(NaiveDate),
    Time(NaiveTime),
    Moment(Moment),
    List(GivenList<'a>),
    Table(TableKeys<'a>),
}

/// A list.
#[derive(Clone, Copy)]
pub(super) enum GivenList<'a> {
    /// Items of values in any form, with the places that are known.
    Values(&'a [Value], &'a [Span]),
    /// Elements in brackets.
    Plain(&'a [PlainValue], PlainKeys<'a>),
    /// Rows with the name of this section.
    Rows(PlainKeys<'a>),
}

impl<'a> TableKeys<'a> {
    /// The keys of a text in the plain form.
    pub(super) fn of(plain: &'a Plain, text: &'a str) -> TableKeys<'a> {
        TableKeys::Plain(PlainKeys { plain, text, section: 0 })
    }

    /// The value of a key.
    pub(super) fn get(self, name: &str) -> Option<Given<'a>> {
        match self {
            TableKeys::Values(values) => values.entry(name).map(Given::of),
            TableKeys::Plain(keys) => keys.get(name),
        }
    }

    /// The place of a key; `table` is "" for a key of this table. Of rows, the first that has the key counts.
    pub(super) fn place(self, table: &str, name: &str) -> Option<Span> {
        let of_row = |row: Given<'a>| match row.value {
            GivenValue::Table(keys) => keys.place("", name),
            _ => None,
        };
        let place = match table {
            "" => self.get(name).map(|given| given.span),
            _ => self.get(table).and_then(|given| match given.items() {
                Some(rows) => rows.into_iter().find_map(of_row),
                None => of_row(given),
            }),
        };
        place.filter(|place| !place.is_empty())
    }

    /// Returns true if there is no key.
    pub(super) fn is_empty(self) -> bool {
        match self {
            TableKeys::Values(values) => values.is_empty(),
            TableKeys::Plain(keys) => keys.all().next().is_none(),
        }
    }

    /// Every key with its place and its value, in alphabetical order.
    pub(super) fn entries(self) -> Vec<(&'a str, Span, Given<'a>)> {
        match self {
            TableKeys::Values(values) => {
                let given =
                    |(key, entry): (&'a String, &'a Entry)| (key.as_str(), entry.spots.key.clone(), Given::of(entry));
                values.entries().map(given).collect()
            }
            TableKeys::Plain(keys) => {
                let mut all: Vec<_> = keys.all().collect();
                all.sort_by_key(|(name, ..)| *name);
                all
            }
        }
    }

    /// The number of keys, in the plain form.
    pub(super) fn count(self) -> Option<u32> {
        match self {
            TableKeys::Values(_) => None,
            TableKeys::Plain(keys) => u32::try_from(keys.plain.count(keys.section)).ok(),
        }
    }

    /// Every key whose name is not among the known ones, with its place, in alphabetical order.
    pub(super) fn unknown(self, known: &[&str]) -> Vec<(&'a str, Span)> {
        let all = self.entries().into_iter().filter(|(name, ..)| !known.contains(name));
        all.map(|(name, place, _)| (name, place)).collect()
    }
}

impl<'a> PlainKeys<'a> {
    fn word(self, span: &Span) -> &'a str {
        self.text.get(span.clone()).unwrap_or_default()
    }

    fn get(self, name: &str) -> Option<Given<'a>> {
        let (text, name) = (self.text.as_bytes(), name.as_bytes());
        let is_it = |span: &Span| span.len() == name.len() && text.get(span.clone()) == Some(name);
        let own = self.plain.entries(self.section);
        if let Some(place) = own.iter().position(|entry| is_it(&entry.key)) {
            let position = u32::try_from(place).ok();
            return own.get(place).map(|entry| Given { position, ..self.given(&entry.value) });
        }
        let headed = self.headed().find(|(_, section)| is_it(&section.name))?;
        let position = u32::try_from(own.len() + headed.0).ok();
        Some(Given { position, ..self.headed_value(headed).2 })
    }

    /// The sections below this one: those under headers, if it is the top level.
    fn headed(self) -> impl Iterator<Item = (usize, &'a PlainSection)> {
        self.plain.headed().take_while(move |_| self.section == 0)
    }

    /// Every key once, in file order.
    fn all(self) -> impl Iterator<Item = (&'a str, Span, Given<'a>)> {
        let own = self.plain.entries(self.section).iter();
        let own = own.map(move |entry| (self.word(&entry.key), entry.key.clone(), self.given(&entry.value)));
        let is_first = move |(n, section): &(usize, &PlainSection)| {
            let name = self.word(&section.name);
            !section.is_row
                || !self.headed().take_while(|(at, _)| at < n).any(|(_, other)| self.word(&other.name) == name)
        };
        own.chain(self.headed().filter(is_first).map(move |headed| self.headed_value(headed)))
    }

    /// The table, or the first of the rows, under a header.
    fn headed_value(self, (section, found): (usize, &'a PlainSection)) -> (&'a str, Span, Given<'a>) {
        let keys = PlainKeys { section, ..self };
        let value = match found.is_row {
            true => GivenValue::List(GivenList::Rows(keys)),
            false => GivenValue::Table(TableKeys::Plain(keys)),
        };
        (self.word(&found.name), found.name.clone(), Given { value, span: found.header.clone(), position: None })
    }

    fn given(self, value: &'a PlainValue) -> Given<'a> {
        let inside = value.span.start + 1..value.span.end.saturating_sub(1);
        let seen = match value.scalar {
            Scalar::Text => GivenValue::Text(self.word(&inside)),
            Scalar::Number(number) => GivenValue::Number(number),
            Scalar::Flag(flag) => GivenValue::Flag(flag),
            Scalar::Date(date) => GivenValue::Date(date),
            Scalar::Time(time) => GivenValue::Time(time),
            Scalar::Moment(moment) => GivenValue::Moment(moment),
            Scalar::List(first, end) => GivenValue::List(GivenList::Plain(self.plain.elements(first, end), self)),
        };
        Given { value: seen, span: value.span.clone(), position: None }
    }
}

impl<'a> Given<'a> {
    fn of(entry: &'a Entry) -> Given<'a> {
        let value = GivenValue::of(&entry.value, &entry.spots.items);
        Given { value, span: entry.spots.value.clone(), position: None }
    }

    /// The items of a list; `None` for any other value.
    pub(super) fn items(&self) -> Option<Vec<Given<'a>>> {
        let GivenValue::List(list) = self.value else { return None };
        Some(match list {
            GivenList::Values(items, places) => {
                let places = places.iter().chain(std::iter::repeat(&self.span));
                let given = |(value, span): (&'a Value, &Span)| Given {
                    value: GivenValue::of(value, &[]),
                    span: span.clone(),
                    position: None,
                };
                items.iter().zip(places).map(given).collect()
            }
            GivenList::Plain(elements, keys) => elements.iter().map(|element| keys.given(element)).collect(),
            GivenList::Rows(keys) => {
                let named = |n: usize| keys.plain.headed().find(|(at, _)| *at == n).map(|(_, found)| &found.name);
                let name = named(keys.section).map_or("", |name| keys.word(name));
                let rows = keys.plain.headed().filter(|(_, section)| keys.word(&section.name) == name);
                let given = |(section, found): (usize, &PlainSection)| Given {
                    value: GivenValue::Table(TableKeys::Plain(PlainKeys { section, ..keys })),
                    span: found.header.clone(),
                    position: None,
                };
                rows.map(given).collect()
            }
        })
    }
}

impl<'a> GivenValue<'a> {
    fn of(value: &'a Value, places: &'a [Span]) -> GivenValue<'a> {
        match value {
            Value::Text(text) => GivenValue::Text(text),
            Value::Number(number) => GivenValue::Number(*number),
            Value::Flag(flag) => GivenValue::Flag(*flag),
            Value::Date(date) => GivenValue::Date(*date),
            Value::Time(time) => GivenValue::Time(*time),
            Value::Moment(moment) => GivenValue::Moment(*moment),
            Value::List(items) => GivenValue::List(GivenList::Values(items, places)),
            Value::Table(values) => GivenValue::Table(TableKeys::Values(values)),
        }
    }
}

impl From<TableKeys<'_>> for Values {
    fn from(keys: TableKeys) -> Values {
        Values::from_entries(keys.entries().into_iter().map(|(name, key, given)| {
            let items = given.items().unwrap_or_default().into_iter().map(|item| item.span).collect();
            (name.to_owned(), Entry { spots: Spots { key, value: given.span.clone(), items }, value: given.into() })
        }))
    }
}

impl From<Given<'_>> for Value {
    fn from(given: Given) -> Value {
        match given.value {
            GivenValue::Text(text) => Value::Text(text.to_owned()),
            GivenValue::Number(number) => Value::Number(number),
            GivenValue::Flag(flag) => Value::Flag(flag),
            GivenValue::Date(date) => Value::Date(date),
            GivenValue::Time(time) => Value::Time(time),
            GivenValue::Moment(moment) => Value::Moment(moment),
            GivenValue::List(_) => Value::List(given.items().into_iter().flatten().map(Value::from).collect()),
            GivenValue::Table(keys) => Value::Table(keys.into()),
        }
    }
}
