//! A record being assembled: its keys as they are typed, and the keys still missing.

use std::sync::Arc;

use super::moment::{Clock, Said};
use super::owner::Owner;
use super::typed::entered;
use crate::day::{Calendar, Instant};
use crate::event::{Event, EventName, Kind, SiteField};
use crate::place::RecordText;
use crate::problem::Problem;
use crate::record::{Field, Shape, Value, Values, leaves};
use crate::text::{a, in_sentences};
use crate::word::Word;

/// A new record of one kind.
#[derive(Debug, Clone)]
pub struct Draft {
    /// Its kind.
    pub kind: Kind,
    /// The keys and values so far.
    pub values: Values,
    fields: Vec<Field>,
}

impl Draft {
    /// An empty record of a kind, with source `seen`.
    pub fn new(kind: Kind) -> Draft {
        let mut values = Values::default();
        values.set("kind", Value::Text(kind.word().to_owned()));
        values.set("source", Value::Text("seen".to_owned()));
        Draft { kind, values, fields: kind.fields() }
    }

    /// The keys that a user types, in writing order: those of the kind, and person, source and note, but neither the
    /// time nor the keys that the commands write themselves.
    pub fn keys(kind: Kind) -> Vec<(String, Shape, &'static str)> {
        let is_typed = |key: &str| {
            let is_of_the_commands = ["entered.", "void."].iter().any(|table| key.starts_with(table));
            !is_of_the_commands
                && !["kind", "at", "on"].contains(&key)
                && (key != "exit" || kind.traits().concerns_one_exit)
        };
        let fields = kind.fields();
        let leaves = leaves(&fields).into_iter().filter(|(key, _)| is_typed(key));
        leaves.map(|(key, field)| (key, field.shape.clone(), field.about)).collect()
    }

    /// Sets its time.
    ///
    /// # Errors
    /// One sentence that says what to type instead.
    pub(crate) fn set_when(&mut self, text: &str, clock: Clock) -> Result<(), String> {
        self.happened(clock.past(text)?);
        Ok(())
    }

    /// Sets the writer and the time of writing, now.
    pub fn entered(&mut self, by: &str, clock: Clock) {
        self.values.set("entered.at", Value::Moment(clock.moment()));
        self.values.set("entered.by", Value::Text(by.to_owned()));
    }

    /// Sets its time.
    pub fn happened(&mut self, said: Said) {
        ["at", "on"].iter().for_each(|key| _ = self.values.remove(key));
        match said {
            Said::At(moment) => self.values.set("at", Value::Moment(moment)),
            Said::On(day) => self.values.set("on", Value::Date(day)),
        }
    }

    /// Sets a key from typed text.
    ///
    /// # Errors
    /// One sentence that says what to type instead.
    pub fn set(&mut self, key: &str, text: &str, clock: Clock) -> Result<(), String> {
        let value = match leaves(&self.fields).iter().find(|(name, _)| name == key) {
            Some((_, field)) => entered(key, &field.shape, text, clock)?,
            None => return Err(in_sentences(&[&format!("{} record has no {key}", a(self.kind.word()))])),
        };
        self.values.set(key, value);
        Ok(())
    }

    /// Sets every finding of the site without a value to its zero: all nine assessed, none present.
    pub(crate) fn none_noted(&mut self) {
        for (field, value) in none_noted() {
            let key = format!("site.{}", field.word());
            if self.values.get(&key).is_none() {
                self.values.set(&key, value);
            }
        }
    }

    /// The required keys that are missing, each with its meaning.
    pub fn missing(&self) -> Vec<(String, &'static str)> {
        let mut missing = Vec::new();
        for field in &self.fields {
            match &field.shape {
                Shape::Table(inner) if self.values.get(field.name).is_some() => {
                    let is_missing = |inner: &&Field| {
                        inner.is_needed && self.values.get(&format!("{}.{}", field.name, inner.name)).is_none()
                    };
                    let lacking = inner.iter().filter(is_missing);
                    missing.extend(lacking.map(|inner| (format!("{}.{}", field.name, inner.name), inner.about)));
                }
                _ if field.is_needed && self.values.get(field.name).is_none() => {
                    missing.push((field.name.to_owned(), field.about));
                }
                _ => {}
            }
        }
        let tallies = ["received", "counted", "lost"];
        if self.kind == Kind::Supply && tallies.iter().all(|key| self.values.get(key).is_none()) {
            missing.push(("counted".to_owned(), "the count on hand, or received, or lost"));
        }
        missing
    }

    /// Returns true if it has a key besides those common to all kinds.
    pub(crate) fn says_something(&self) -> bool {
        let common = ["kind", "at", "on", "by", "source", "exit", "note"];
        self.values.keys().iter().any(|(key, _)| !common.contains(&key.as_str()) && !key.starts_with("entered."))
    }

    /// Returns true for a change without any finding of the site; a body temperature is none.
    pub(crate) fn is_change_without_site(&self) -> bool {
        self.kind == Kind::Change && !self.has_of(&["site"])
    }

    /// Returns true if it has the state of a dressing or an anchor, as found or as left.
    pub(crate) fn has_dressing_or_anchor(&self) -> bool {
        self.has_of(&["found", "left"])
    }

    fn has_of(&self, tables: &[&str]) -> bool {
        let is_of = |key: &str| key.split_once('.').is_some_and(|(table, _)| tables.contains(&table));
        let is_finding = |key: &str| is_of(key) && key != "site.temperature_c";
        tables.iter().any(|table| self.values.get(table).is_some())
            || self.values.keys().iter().any(|(key, _)| is_finding(key) && self.values.get(key).is_some())
    }

    /// Its moment; `None` if it has none, or if a clock change makes it ambiguous.
    pub fn instant(&self, clock: Clock) -> Option<Instant> {
        match self.values.get("at") {
            Some(Value::Moment(moment)) => clock.instant(*moment),
            _ => None,
        }
    }

    /// Its file name, with the first number of its minute; `None` while it has no time.
    pub fn name(&self) -> Option<EventName> {
        use chrono::Timelike;
        let (date, time) = match (self.values.get("at"), self.values.get("on")) {
            (Some(Value::Moment(moment)), _) => (moment.wall.date(), Some(moment.wall.time().with_second(0)?)),
            (_, Some(Value::Date(day))) => (*day, None),
            _ => return None,
        };
        Some(EventName { date, time, kind: self.kind, n: 1 })
    }

    /// The event that the record would be under a number of its minute, read from its values; adds its problems to
    /// `problems`.
    pub fn event(&self, owner: &Owner, n: u16, calendar: &Calendar, problems: &mut Vec<Problem>) -> Option<Event> {
        let name = EventName { n, ..self.name()? };
        let source = Arc::new(RecordText { file: owner.file(name), text: self.text() });
        Event::of_values(&self.values, &source, name, calendar, problems)
    }

    /// The record with an edited text.
    ///
    /// # Errors
    /// The text is not valid TOML, or has another kind; one sentence.
    pub(crate) fn with_text(&self, text: &str) -> Result<Draft, String> {
        let values =
            Values::of(text).ok_or("Cannot read this as TOML. Check the quotes, brackets and equals signs.")?;
        match values.text("kind") {
            Some(kind) if kind == self.kind.word() => Ok(Draft { values, ..self.clone() }),
            _ => Err(format!("`kind` must stay \"{}\".", self.kind)),
        }
    }

    /// The full text of the file.
    pub fn text(&self) -> String {
        self.values.write(&self.fields)
    }
}

/// The nine findings of the site, each with the value for absent.
fn none_noted() -> Vec<(SiteField, Value)> {
    let zero = |field: &SiteField| match field {
        SiteField::Amount | SiteField::TemperatureC => None,
        field if field.is_flag() => Some(Value::Flag(false)),
        field if field.words().is_some() => Some(Value::Text("none".to_owned())),
        _ => Some(Value::Number(0.0)),
    };
    SiteField::ALL.iter().filter_map(|field| Some((*field, zero(field)?))).collect()
}
