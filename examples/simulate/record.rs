//! One event in the canonical form of a record file, and its file name.
//!
//! The form is the library's: typed, imported and simulated records are identical to the byte. Left out on purpose:
//! reading. The simulator keeps its events in memory.

use std::borrow::Cow;
use std::fmt::Write;
use std::sync::LazyLock;

use chrono::{DateTime, Datelike, Days, FixedOffset, NaiveDate, Timelike};
use exitsite::event::Kind;
use exitsite::record::{self, Field, Values};
use exitsite::word::Word;

/// A word or a text of a record.
pub(crate) type Text = Cow<'static, str>;

/// An instant with the patient's UTC offset at that time.
pub(crate) type Moment = DateTime<FixedOffset>;

/// Keys and values in the order of the file.
pub(crate) type Fields = Vec<(&'static str, Value)>;

/// The value of a key.
#[derive(Clone, PartialEq)]
pub(crate) enum Value {
    Text(Text),
    Texts(Vec<Text>),
    Flag(bool),
    Whole(i64),
    Tenths(i64),
    Date(NaiveDate),
    Moment(Moment),
}

/// The time of an event: an instant, or only the day.
#[derive(Clone, Copy, PartialEq)]
pub(crate) enum When {
    At(Moment),
    On(NaiveDate),
}

/// One event of a patient or of staff.
#[derive(Clone)]
pub(crate) struct Event {
    pub(crate) kind: &'static str,
    pub(crate) when: When,
    pub(crate) by: String,
    pub(crate) source: &'static str,
    pub(crate) exit: Option<&'static str>,
    pub(crate) fields: Fields,
    pub(crate) note: Option<&'static str>,
    pub(crate) tables: Vec<(&'static str, Fields)>,
    pub(crate) entered: Option<(Moment, String)>,
    pub(crate) amended: Option<Fields>,
    pub(crate) void: Option<Fields>,
}

/// A word of the records.
pub(crate) fn word(word: &'static str) -> Value {
    Value::Text(Cow::Borrowed(word))
}

/// A text built at run time.
pub(crate) fn text(text: impl Into<String>) -> Value {
    Value::Text(Cow::Owned(text.into()))
}

/// A list of words.
pub(crate) fn words(words: &[&'static str]) -> Value {
    Value::Texts(words.iter().map(|word| Cow::Borrowed(*word)).collect())
}

impl When {
    /// The care day, which begins at 03:00.
    pub(crate) fn care_day(self) -> NaiveDate {
        match self {
            When::On(day) => day,
            When::At(moment) if moment.hour() < 3 => moment.date_naive() - Days::new(1),
            When::At(moment) => moment.date_naive(),
        }
    }

    /// The wall date, which names the file.
    pub(crate) fn date(self) -> NaiveDate {
        match self {
            When::On(day) => day,
            When::At(moment) => moment.date_naive(),
        }
    }

    /// The instant; `None` if only the day is known.
    pub(crate) fn moment(self) -> Option<Moment> {
        match self {
            When::On(_) => None,
            When::At(moment) => Some(moment),
        }
    }
}

impl Event {
    /// An event with only its kind, time, author and source.
    pub(crate) fn new(kind: &'static str, when: When, by: &str, source: &'static str) -> Event {
        Event {
            kind,
            when,
            by: by.to_owned(),
            source,
            exit: None,
            fields: Vec::new(),
            note: None,
            tables: Vec::new(),
            entered: None,
            amended: None,
            void: None,
        }
    }

    /// The word under a key: at the top level if `table` is "", otherwise in that table.
    pub(crate) fn word(&self, table: &str, key: &str) -> Option<&str> {
        let fields = match table {
            "" => &self.fields,
            _ => self.tables.iter().find(|(name, _)| *name == table).map(|(_, fields)| fields)?,
        };
        fields.iter().find(|(name, _)| *name == key).and_then(|(_, value)| match value {
            Value::Text(text) => Some(text.as_ref()),
            _ => None,
        })
    }

    /// The date under a top-level key.
    pub(crate) fn date(&self, key: &str) -> Option<NaiveDate> {
        self.fields.iter().find(|(name, _)| *name == key).and_then(|(_, value)| match value {
            Value::Date(date) => Some(*date),
            _ => None,
        })
    }

    /// The care day of the event.
    pub(crate) fn care_day(&self) -> NaiveDate {
        self.when.care_day()
    }

    /// The year folder and the file name; `n` is the event's number within its minute.
    pub(crate) fn file(&self, n: usize) -> String {
        let mut name = format!("{}/{}", self.when.date().year(), self.when.date());
        if let Some(moment) = self.when.moment() {
            let _ = write!(name, "T{:02}{:02}", moment.hour(), moment.minute());
        }
        let _ = write!(name, "-{}", self.kind);
        if n > 1 {
            let _ = write!(name, "-{n}");
        }
        name + ".toml"
    }

    /// The whole file in the canonical form.
    pub(crate) fn to_toml(&self) -> String {
        let mut values = Values::default();
        values.set("kind", kept(&word(self.kind)));
        match self.when {
            When::At(moment) => values.set("at", kept(&Value::Moment(moment))),
            When::On(day) => values.set("on", kept(&Value::Date(day))),
        }
        values.set("by", kept(&text(self.by.clone())));
        values.set("source", kept(&word(self.source)));
        for (key, said) in [("exit", self.exit), ("note", self.note)] {
            if let Some(said) = said {
                values.set(key, kept(&word(said)));
            }
        }
        self.fields.iter().for_each(|(key, value)| values.set(key, kept(value)));
        for (name, fields) in &self.tables {
            fields.iter().for_each(|(key, value)| values.set(&format!("{name}.{key}"), kept(value)));
        }
        if let Some((at, by)) = &self.entered {
            values.set("entered.at", kept(&Value::Moment(*at)));
            values.set("entered.by", kept(&text(by.clone())));
        }
        for (key, value) in self.void.iter().flatten() {
            values.set(&format!("void.{key}"), kept(value));
        }
        if let Some(fields) = &self.amended {
            let mut row = Values::default();
            fields.iter().for_each(|(key, value)| row.set(key, kept(value)));
            values.set("amended", record::Value::List(vec![record::Value::Table(row)]));
        }
        let shape = SHAPES.iter().find(|(kind, _)| kind.word() == self.kind).map(|(_, fields)| fields.as_slice());
        values.write(shape.unwrap_or_default())
    }
}

/// The fields of each kind, in the order of the file.
static SHAPES: LazyLock<Vec<(Kind, Vec<Field>)>> =
    LazyLock::new(|| Kind::ALL.iter().map(|kind| (*kind, kind.fields())).collect());

/// Converts a value to the library's type.
fn kept(value: &Value) -> record::Value {
    match value {
        Value::Text(text) => record::Value::Text(text.to_string()),
        Value::Texts(texts) => {
            record::Value::List(texts.iter().map(|text| record::Value::Text(text.to_string())).collect())
        }
        Value::Flag(flag) => record::Value::Flag(*flag),
        Value::Whole(number) => record::Value::Number(*number as f64),
        Value::Tenths(tenths) => record::Value::Number(*tenths as f64 / 10.0),
        Value::Date(date) => record::Value::Date(*date),
        Value::Moment(moment) => {
            record::Value::Moment(record::Moment { wall: moment.naive_local(), offset: Some(*moment.offset()) })
        }
    }
}
