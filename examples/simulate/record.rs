//! One event in the canonical form of a record file, and the name that its file has.
//!
//! Left out on purpose: reading. What is written here is remembered by whoever wrote it.

use std::borrow::Cow;
use std::fmt::Write;

use chrono::{DateTime, Datelike, Days, FixedOffset, NaiveDate, Timelike};

/// A word or a text of a record.
pub(crate) type Text = Cow<'static, str>;

/// A moment with the offset that the patient's zone had.
pub(crate) type Moment = DateTime<FixedOffset>;

/// Keys and values in the order in which they are written.
pub(crate) type Fields = Vec<(&'static str, Value)>;

/// What a key of a record takes.
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

/// When something happened: a moment, or only the day.
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

/// A text that was put together.
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

    /// The moment, where it is known.
    pub(crate) fn moment(self) -> Option<Moment> {
        match self {
            When::On(_) => None,
            When::At(moment) => Some(moment),
        }
    }
}

impl Event {
    /// An event with nothing but who, when and from where.
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

    /// The word that a key holds: of the head with "", of a table with its name.
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

    /// The date that a key of the head holds.
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

    /// The year folder and the file name, the `n`th of its minute.
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

    /// The whole file.
    pub(crate) fn to_toml(&self) -> String {
        let mut toml = format!("kind = \"{}\"\n", self.kind);
        match self.when {
            When::At(moment) => write_field(&mut toml, "at", &Value::Moment(moment)),
            When::On(day) => write_field(&mut toml, "on", &Value::Date(day)),
        }
        let _ = write!(toml, "by = \"{}\"\nsource = \"{}\"\n", self.by, self.source);
        if let Some(exit) = self.exit {
            let _ = writeln!(toml, "exit = \"{exit}\"");
        }
        write_fields(&mut toml, &self.fields);
        if let Some(note) = self.note {
            let _ = writeln!(toml, "note = \"{note}\"");
        }
        for (name, fields) in &self.tables {
            let _ = write!(toml, "\n[{name}]\n");
            write_fields(&mut toml, fields);
        }
        if let Some((at, by)) = &self.entered {
            toml.push_str("\n[entered]\n");
            write_field(&mut toml, "at", &Value::Moment(*at));
            let _ = writeln!(toml, "by = \"{by}\"");
        }
        for (header, fields) in [("[[amended]]", &self.amended), ("[void]", &self.void)] {
            if let Some(fields) = fields {
                let _ = write!(toml, "\n{header}\n");
                write_fields(&mut toml, fields);
            }
        }
        toml
    }
}

fn write_fields(toml: &mut String, fields: &Fields) {
    for (key, value) in fields {
        write_field(toml, key, value);
    }
}

fn write_field(toml: &mut String, key: &str, value: &Value) {
    let _ = match value {
        Value::Text(text) => writeln!(toml, "{key} = \"{text}\""),
        Value::Texts(texts) => {
            let listed: Vec<String> = texts.iter().map(|text| format!("\"{text}\"")).collect();
            writeln!(toml, "{key} = [{}]", listed.join(", "))
        }
        Value::Flag(flag) => writeln!(toml, "{key} = {flag}"),
        Value::Whole(number) => writeln!(toml, "{key} = {number}"),
        Value::Tenths(tenths) => writeln!(toml, "{key} = {}.{}", tenths / 10, tenths % 10),
        Value::Date(date) => writeln!(toml, "{key} = {date}"),
        Value::Moment(moment) => writeln!(toml, "{key} = {}", moment.format("%Y-%m-%dT%H:%M:%S%:z")),
    };
}
