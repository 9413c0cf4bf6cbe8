//! Correction of a record on file: amending it, voiding it, or filling in an empty field. Author, time, reason and
//! former values are kept.
//!
//! ```toml
//! [[amended]]
//! was = "redness_mm = 12; note not given"
//! at = 2026-11-24T07:15:00-06:00
//! by = "co-1"
//! why = "read from the wrong line"
//! ```
//!
//! Left out on purpose: asking and writing. A text goes in; the new text and its differences come out.

use chrono::NaiveDate;

use super::draft::Draft;
use super::key::Key;
use crate::day::Calendar;
use crate::event::{EventName, Kind};
use crate::place::RecordText;
use crate::privacy;
use crate::problem::Failure;
use crate::record::{Edit, Moment, Value, Values};
use crate::text::{quoted, temperature, visible};
use crate::word::Word;

/// The author, time and reason of a correction.
#[derive(Debug, Clone, PartialEq)]
pub struct Stamp {
    /// The time.
    pub at: Moment,
    /// The author's code.
    pub by: String,
    /// The reason.
    pub why: String,
}

/// A changed key.
#[derive(Debug, Clone, PartialEq)]
pub struct Changed {
    /// The shortest unambiguous name of the key.
    pub key: String,
    /// Its value before; `None` if it had none.
    pub was: Option<Value>,
    /// Its value now; `None` if it has none.
    pub is: Option<Value>,
}

/// A record with its new text.
#[derive(Debug, Clone, PartialEq)]
pub struct Corrected {
    /// The full text of the file.
    pub text: String,
    /// The changed keys, in the order of the fields.
    pub changed: Vec<Changed>,
}

/// A record on file that can be corrected.
#[derive(Debug, Clone)]
pub struct Standing {
    /// Its path.
    pub file: String,
    /// Its kind.
    pub kind: Kind,
    /// Its values.
    pub values: Values,
    edit: Edit,
}

impl Standing {
    /// Reads a record for correction.
    ///
    /// # Errors
    /// Its text is not valid TOML, which has to be corrected by hand first.
    pub fn of(source: &RecordText, name: EventName) -> Result<Standing, Failure> {
        let named = |values: &Values| values.text("kind").and_then(Kind::from_word).unwrap_or(name.kind);
        let read = Values::of(&source.text).map(|values| (named(&values), values));
        let taken = read.and_then(|(kind, values)| {
            let edit = Edit::of(&source.text, kind.fields())?;
            Some(Standing { file: source.file.clone(), kind, values, edit })
        });
        taken.ok_or_else(|| {
            Failure::new(format!(
                "Cannot read {}. Correct it in an editor first; `exitsite check {}` shows where.",
                source.file,
                quoted(&source.file)
            ))
        })
    }

    /// The sentence that it is already voided, if it is.
    pub fn voided(&self) -> Option<String> {
        self.values.get("void")?;
        let part = |key: &str| self.values.get(&format!("void.{key}"));
        let text = |key: &str| part(key).map(|value| visible(&plain(value)));
        let on = match part("at") {
            Some(Value::Moment(at)) => {
                let offset = at.offset.map(|offset| format!(" ({offset})")).unwrap_or_default();
                format!(" on {}{offset}", at.wall.format("%Y-%m-%d %H:%M"))
            }
            _ => String::new(),
        };
        let by = text("by").map(|by| format!(" by {by}")).unwrap_or_default();
        let why = text("why").map(|why| format!(": {why}")).unwrap_or_default();
        Some(format!("{} was already voided{on}{by}{why}", self.file))
    }

    /// The record with keys set or removed, and a row with author, time, reason and former values.
    ///
    /// # Errors
    /// It is voided, nothing changes, or a key cannot be inserted into the layout of the file.
    pub fn amended(&self, wished: &[(String, Option<Value>)], stamp: &Stamp) -> Result<Corrected, Failure> {
        let mut edit = self.edit.clone();
        for (key, value) in wished {
            match value {
                Some(value) if self.values.get(key) != Some(value) => edit.set(key, value)?,
                Some(_) => {}
                None => edit.clear(key)?,
            }
        }
        self.with_row(edit, stamp)
    }

    /// The record with an edited text, and the same row.
    ///
    /// # Errors
    /// It is voided, the text is not valid TOML or unchanged, or it changes a table that only the commands write.
    pub fn rewritten(&self, text: &str, stamp: &Stamp) -> Result<Corrected, Failure> {
        let edit = Edit::of(text, self.kind.fields()).ok_or_else(|| {
            Failure::new("Cannot read this as TOML. Check the quotes, brackets and equals signs. Nothing was written.")
        })?;
        let after = edit.values();
        for table in ["entered", "amended", "void"] {
            if self.values.get(table) != after.get(table) {
                return Err(Failure::new(format!(
                    "Only the commands write [{table}]. Leave it as it was. Nothing was written."
                )));
            }
        }
        if let Some(key) = ["kind", "at", "on"].into_iter().find(|key| self.values.get(key) != after.get(key)) {
            return Err(self.anew(key));
        }
        self.with_row(edit, stamp)
    }

    fn with_row(&self, mut edit: Edit, stamp: &Stamp) -> Result<Corrected, Failure> {
        if let Some(sentence) = self.voided() {
            return Err(Failure::new(format!("{sentence}. A voided record cannot be amended: write a new one.")));
        }
        let changed = self.changed(edit.values());
        if changed.is_empty() {
            return Err(Failure::new(format!("{}: no change. Nothing was written.", self.file)));
        }
        let was: Vec<String> = changed.iter().map(Changed::was_words).collect();
        let mut row = Values::default();
        row.set("was", Value::Text(was.join("; ")));
        stamp.keys().into_iter().for_each(|(key, value)| row.set(key, value));
        edit.append("amended", &row)?;
        Ok(Corrected { text: edit.text().to_owned(), changed })
    }

    /// The record marked as voided.
    ///
    /// # Errors
    /// It is already voided, or the table cannot be inserted into the layout of the file.
    pub fn void(&self, stamp: &Stamp, replaced_by: Option<&str>) -> Result<Corrected, Failure> {
        if let Some(sentence) = self.voided() {
            return Err(Failure::new(format!("{sentence}. Nothing was written.")));
        }
        let mut edit = self.edit.clone();
        if let Some(name) = replaced_by {
            edit.set("void.replaced_by", &Value::Text(name.to_owned()))?;
        }
        for (key, value) in stamp.keys() {
            edit.set(&format!("void.{key}"), &value)?;
        }
        Ok(Corrected { text: edit.text().to_owned(), changed: Vec::new() })
    }

    /// The record with an empty field filled in. That is not an amendment, since the value was unknown before.
    ///
    /// # Errors
    /// The record is voided, or the field already has a value; the message then has the command that amends it.
    pub fn filled(&self, filling: &[(&str, Value)]) -> Result<Corrected, Failure> {
        if let Some(sentence) = self.voided() {
            return Err(Failure::new(format!("{sentence}. Nothing was written.")));
        }
        let is_other = |(key, value): &&(&str, Value)| self.values.get(key).is_some_and(|known| known != value);
        let is_new = |(key, value): &&(&str, Value)| self.values.get(key) != Some(value);
        if filling.iter().any(|filled| is_other(&filled)) || !filling.iter().any(|filled| is_new(&filled)) {
            let says: Vec<String> = filling
                .iter()
                .filter_map(|(key, _)| Some(format!("{key} = {}", plain(self.values.get(key)?))))
                .collect();
            return Err(Failure::new(format!(
                "{} already says {}. If that is wrong: {}",
                self.file,
                visible(&says.join(", ")),
                self.amend_line(filling)
            )));
        }
        let mut edit = self.edit.clone();
        for (key, value) in filling.iter().filter(is_new) {
            edit.set(key, value)?;
        }
        let changed = self.changed(edit.values());
        Ok(Corrected { text: edit.text().to_owned(), changed })
    }

    /// The care day of the record; `None` if it has no time.
    pub fn day(&self, calendar: &Calendar) -> Option<NaiveDate> {
        match (self.values.get("at"), self.values.get("on")) {
            (Some(Value::Moment(moment)), _) => Some(calendar.care_day(moment.wall)),
            (_, Some(Value::Date(day))) => Some(*day),
            _ => None,
        }
    }

    /// The failure of amending a key that defines the record, with the commands for a new record.
    pub fn anew(&self, key: &str) -> Failure {
        let code = self.file.split('/').nth(1).unwrap_or("PATIENT");
        let what = match key {
            "at" => "time",
            "on" => "day",
            key => key,
        };
        Failure::new(format!(
            "An amendment cannot change `{key}`. Write a new record with `exitsite record {} {code}`, then void this one: `exitsite void {} --by CODE --why \"the {what} was wrong\" --replaced-by NEW-FILE`",
            self.kind,
            quoted(&self.file)
        ))
    }

    fn amend_line(&self, wished: &[(&str, Value)]) -> String {
        let sets: Vec<String> =
            wished.iter().map(|(key, value)| format!(" --set {key}={}", quoted(&plain(value)))).collect();
        format!("`exitsite amend {}{} --by CODE --why \"…\"`", quoted(&self.file), sets.concat())
    }

    /// The keys whose values differ from the record's, in the order of the fields.
    fn changed(&self, after: &Values) -> Vec<Changed> {
        let mut changed = Vec::new();
        for key in Draft::keys(self.kind).into_iter().map(|(key, ..)| key).chain(self.unknown(after)) {
            let (was, is) = (self.values.get(&key), after.get(&key));
            if was != is {
                let key = Key::of(self.kind, &key).short();
                changed.push(Changed { key, was: was.cloned(), is: is.cloned() });
            }
        }
        changed
    }

    /// Keys of the text that are unknown for the kind.
    fn unknown(&self, after: &Values) -> Vec<String> {
        let known: Vec<String> = Draft::keys(self.kind).into_iter().map(|(key, ..)| key).collect();
        let keys = self.values.keys().into_iter().chain(after.keys()).map(|(key, _)| key);
        let mut unknown: Vec<String> = keys.filter(|key| !known.contains(key)).collect();
        unknown.sort();
        unknown.dedup();
        unknown
    }
}

impl Stamp {
    /// Its keys, in writing order.
    fn keys(&self) -> [(&'static str, Value); 3] {
        [("at", Value::Moment(self.at)), ("by", Value::Text(self.by.clone())), ("why", Value::Text(self.why.clone()))]
    }
}

impl Changed {
    /// Its former value as kept in the record: `redness_mm = 12`, `note not given`. A person's name or number is not
    /// kept, since its removal is the purpose of such an amendment.
    fn was_words(&self) -> String {
        let Some(was) = &self.was else { return format!("{} not given", self.key) };
        match privacy::find(&was.to_string()) {
            Some(what) => format!("{} held {what}", self.key),
            None => format!("{} = {was}", self.key),
        }
    }

    /// Both values: `redness_mm: 12 -> 2`.
    pub fn words(&self) -> String {
        let said = |value: &Option<Value>| in_words(&self.key, value.as_ref());
        format!("{}: {} -> {}", self.key, said(&self.was), said(&self.is))
    }
}

/// A value as it is shown: a temperature on both scales, since °C is stored whichever was typed.
pub fn in_words(key: &str, value: Option<&Value>) -> String {
    match value {
        Some(Value::Number(celsius)) if key.rsplit('.').next() == Some("temperature_c") => temperature(*celsius),
        Some(value) => visible(&plain(value)),
        None => "not given".to_owned(),
    }
}

/// A value as it is typed.
pub fn plain(value: &Value) -> String {
    match value {
        Value::Text(text) => text.clone(),
        Value::Flag(true) => "yes".to_owned(),
        Value::Flag(false) => "no".to_owned(),
        Value::List(items) => items.iter().map(plain).collect::<Vec<_>>().join(", "),
        value => value.to_string(),
    }
}
