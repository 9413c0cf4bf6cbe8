//! A table of a record file, read key by key.

use chrono::{NaiveDate, NaiveTime};

use super::field::{Field, Shape};
use super::form::{Moment, Values};
use super::given::{Given, GivenValue, TableKeys};
use crate::place::{RecordText, Span};
use crate::privacy;
use crate::problem::{MOST_OF_ONE_RULE, Problem, Rule};
use crate::text::{self, either, nearest};
use crate::word::Word;

/// The possible and the likely range of a number.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limits {
    /// Values outside this range are errors.
    pub possible: (f64, f64),
    /// Values outside this range are unlikely.
    pub likely: (f64, f64),
    /// The unit, for messages.
    pub unit: &'static str,
}

impl Limits {
    /// A length on the skin: up to 300 mm is possible, over 60 mm unlikely. Common practice, no source.
    pub const MILLIMETERS: Limits = Limits { possible: (0.0, 300.0), likely: (0.0, 60.0), unit: "mm" };
    /// A body temperature: 25 to 45 °C is possible, outside 34 to 42.5 °C unlikely. Common practice, no source.
    pub(crate) const CELSIUS: Limits = Limits { possible: (25.0, 45.0), likely: (34.0, 42.5), unit: "°C" };
}

/// A table of one file during reading.
pub struct Table<'a> {
    pub(super) source: &'a RecordText,
    /// The keys; `None` while describing a shape.
    pub(super) keys: Option<TableKeys<'a>>,
    /// The keys of a file with defaults, which have no place in this file.
    pub(super) below: Option<&'a Values>,
    /// The place of a missing key.
    header: Span,
    name: &'static str,
    /// The shape, while describing one.
    fields: Vec<Field>,
    /// The names of the fields asked for, while reading a file.
    known: Vec<&'static str>,
    /// Those among them that the table has, by their position; a bit each.
    found: u64,
    next_is_needed: bool,
    pub(super) problems: Vec<Problem>,
}

impl<'a> Table<'a> {
    pub(super) fn of(source: &'a RecordText, keys: Option<TableKeys<'a>>, header: Span, name: &'static str) -> Self {
        Table {
            source,
            keys,
            below: None,
            header,
            name,
            fields: Vec::new(),
            known: Vec::with_capacity(16),
            found: 0,
            next_is_needed: false,
            problems: Vec::new(),
        }
    }

    /// Sets the keys that provide defaults.
    pub(super) fn over(mut self, below: Option<&'a Values>) -> Self {
        self.below = below;
        self
    }

    /// Makes the next field required: it is an error if it is missing.
    pub fn needed(&mut self) -> &mut Self {
        self.next_is_needed = true;
        self
    }

    /// A text.
    pub fn text(&mut self, name: &'static str, about: &'static str) -> Option<String> {
        let value = self.value(name, Shape::Text, about)?;
        let text = self.text_of(name, &value)?.to_owned();
        self.inspect(name, &text);
        Some(text)
    }

    /// Reports forbidden content of a free text.
    fn inspect(&mut self, name: &str, text: &str) {
        if text.chars().any(|c| text::is_unprintable(c) && !matches!(c, '\n' | '\r' | '\t')) {
            self.add(
                Rule::ControlCharacters,
                name,
                format!("`{name}` contains invisible characters"),
                "type the text again",
            );
        }
        if let Some(what) = privacy::find(text) {
            self.add(
                Rule::PrivateData,
                name,
                format!("`{name}` contains what looks like {what}"),
                "remove it; records contain codes, never the names or numbers of people",
            );
            // Problems go into logs, so the text is not quoted.
            if let Some(problem) = self.problems.last_mut() {
                problem.place.excerpt = None;
            }
        }
    }

    /// An identifier without spaces, which is not free text.
    pub fn id(&mut self, name: &'static str, about: &'static str) -> Option<String> {
        let value = self.value(name, Shape::Id, about)?;
        self.text_of(name, &value).map(str::to_owned)
    }

    /// One of a list of words.
    pub fn word<W: Word>(&mut self, name: &'static str, about: &'static str) -> Option<W> {
        let value = self.value(name, Shape::Words(W::WORDS), about)?;
        self.word_of(name, &value)
    }

    /// A list of words from a closed list.
    pub fn words<W: Word>(&mut self, name: &'static str, about: &'static str) -> Option<Vec<W>> {
        self.list(name, Shape::Words(W::WORDS), about, |table, value| table.word_of(name, value))
    }

    /// A list of texts.
    pub fn texts(&mut self, name: &'static str, about: &'static str) -> Option<Vec<String>> {
        self.texts_of(name, Shape::Text, about)
    }

    /// A list of ids, such as the steps of a curriculum.
    pub fn ids(&mut self, name: &'static str, about: &'static str) -> Option<Vec<String>> {
        self.texts_of(name, Shape::Id, about)
    }

    fn texts_of(&mut self, name: &'static str, shape: Shape, about: &'static str) -> Option<Vec<String>> {
        self.list(name, shape, about, |table, value| {
            let text = table.text_of(name, value)?.to_owned();
            table.inspect(name, &text);
            Some(text)
        })
    }

    /// A list of addresses, which belong to the program and are not private data.
    pub fn addresses(&mut self, name: &'static str, about: &'static str) -> Option<Vec<String>> {
        self.list(name, Shape::Text, about, |table, value| Some(table.text_of(name, value)?.to_owned()))
    }

    /// Returns true if the file has no key in this table.
    pub fn is_empty(&self) -> bool {
        self.keys.is_some_and(TableKeys::is_empty)
    }

    /// `true` or `false`.
    pub fn flag(&mut self, name: &'static str, about: &'static str) -> Option<bool> {
        let value = self.value(name, Shape::Flag, about)?;
        match value.value {
            GivenValue::Flag(flag) => Some(flag),
            _ => self.wrong_type(name, &value, "true or false, without quotes"),
        }
    }

    /// A whole number within limits, inclusive.
    pub fn whole(&mut self, name: &'static str, limits: (i64, i64), about: &'static str) -> Option<i64> {
        self.whole_or_else(Rule::ImpossibleNumber, name, limits, about)
    }

    /// A whole number within limits; a number outside them is a problem of `rule`.
    pub(crate) fn whole_or_else(
        &mut self,
        rule: Rule,
        name: &'static str,
        (least, most): (i64, i64),
        about: &'static str,
    ) -> Option<i64> {
        let value = self.value(name, Shape::Whole(least, most), about)?;
        let number = self.whole_of(name, &value)?;
        if (least..=most).contains(&number) {
            return Some(number);
        }
        let help = if least == most {
            format!("write {least}")
        } else {
            format!("write a whole number from {least} to {most}")
        };
        self.add(rule, name, format!("`{name}` cannot be {number}"), help);
        None
    }

    /// A whole number from 0 to 3650, or the given word.
    pub(crate) fn whole_or(
        &mut self,
        name: &'static str,
        word: &'static str,
        about: &'static str,
    ) -> Option<Option<i64>> {
        let value = self.value(name, Shape::WholeOr(word), about)?;
        match value.value {
            GivenValue::Text(text) if text == word => Some(None),
            GivenValue::Number(_) => match self.whole_of(name, &value)? {
                number @ 0..=3650 => Some(Some(number)),
                number => {
                    self.add(
                        Rule::ImpossibleNumber,
                        name,
                        format!("`{name}` cannot be {number}"),
                        format!("write a whole number from 0 to 3650, or \"{word}\""),
                    );
                    None
                }
            },
            _ => self.wrong_type(name, &value, &format!("a whole number, or \"{word}\"")),
        }
    }

    /// A number within limits; an unlikely one is used, with a warning.
    pub fn measure(&mut self, name: &'static str, limits: Limits, about: &'static str) -> Option<f64> {
        let value = self.value(name, Shape::Measure(limits.possible.0, limits.possible.1), about)?;
        let number = self.number_of(name, &value)?;
        let unit = limits.unit;
        let ((least, most), likely) = (limits.possible, limits.likely);
        if !(least..=most).contains(&number) {
            self.add(
                Rule::ImpossibleNumber,
                name,
                format!("`{name}` cannot be {number} {unit}").trim_end().to_owned(),
                // A value without a unit is a setting of the policy, which is not measured.
                match unit {
                    "" => format!("write a number from {least} to {most}"),
                    _ => format!("write a number from {least} to {most}, or leave the key out if it was not measured"),
                },
            );
            return None;
        }
        if !(likely.0..=likely.1).contains(&number) {
            self.add(
                Rule::UnlikelyNumber,
                name,
                format!("`{name}` of {number} {unit} is unlikely"),
                format!("the usual range is {} to {} {unit}; check for a wrong digit", likely.0, likely.1),
            );
        }
        Some(number)
    }

    /// A date.
    pub fn date(&mut self, name: &'static str, about: &'static str) -> Option<NaiveDate> {
        let value = self.value(name, Shape::Date, about)?;
        match value.value {
            GivenValue::Date(date) => Some(self.date_of(name, date)),
            _ => self.wrong_type(name, &value, "a date without quotes, such as 2026-11-23"),
        }
    }

    /// A time of day.
    pub(crate) fn time_of_day(&mut self, name: &'static str, about: &'static str) -> Option<NaiveTime> {
        let value = self.value(name, Shape::TimeOfDay, about)?;
        match value.value {
            GivenValue::Time(time) => self.time_of(name, time),
            _ => self.wrong_type(name, &value, "a time without quotes, such as 03:00:00"),
        }
    }

    /// A date with a time, with or without an offset.
    pub fn moment(&mut self, name: &'static str, about: &'static str) -> Option<Moment> {
        let value = self.value(name, Shape::Moment, about)?;
        let GivenValue::Moment(moment) = value.value else {
            return self.wrong_type(name, &value, "a date and time without quotes, such as 2026-11-23T18:40:00-06:00");
        };
        let wall = self.date_of(name, moment.wall.date()).and_time(self.time_of(name, moment.wall.time())?);
        Some(Moment { wall, ..moment })
    }

    /// Returns true if the file has this key in this table.
    pub fn has(&self, name: &str) -> bool {
        self.keys.is_some_and(|keys| keys.get(name).is_some())
    }

    /// Returns true while describing a shape rather than reading a file.
    pub(crate) fn is_description(&self) -> bool {
        self.keys.is_none()
    }

    /// Adds a problem at `name` of this table, or at its header if the key is missing.
    pub fn add(&mut self, rule: Rule, name: &str, message: impl Into<String>, help: impl Into<String>) {
        let span = self.span(name);
        self.add_of(rule, name, &span, message, help);
    }

    /// Adds a problem of `name` at one of its items.
    pub(super) fn add_of(
        &mut self,
        rule: Rule,
        name: &str,
        span: &Span,
        message: impl Into<String>,
        help: impl Into<String>,
    ) {
        let key = if self.name.is_empty() { name.to_owned() } else { format!("{}.{name}", self.name) };
        self.problems.push(self.source.problem(rule, span, message, help).of_key(key));
    }

    /// Adds a problem at a place of this file.
    pub(crate) fn add_at(&mut self, rule: Rule, span: &Span, message: impl Into<String>, help: impl Into<String>) {
        self.problems.push(self.source.problem(rule, span, message, help));
    }

    /// The problems of this table so far.
    pub fn problems(&self) -> &[Problem] {
        &self.problems
    }

    /// Drops the problems of this table so far for which `keep` returns false.
    pub(crate) fn retain_problems(&mut self, keep: impl FnMut(&Problem) -> bool) {
        self.problems.retain(keep);
    }

    /// Reads again without adding problems, which were reported by the first reading.
    pub fn quietly<T>(&mut self, read: impl FnOnce(&mut Self) -> T) -> T {
        let known = self.problems.len();
        let value = read(self);
        self.problems.truncate(known);
        value
    }

    /// The place of the value of `name`, or of the table's header.
    pub fn span(&self, name: &str) -> Span {
        let place = self.keys.and_then(|keys| keys.get(name)).map(|given| given.span);
        place.filter(|place| !place.is_empty()).unwrap_or_else(|| self.header())
    }

    /// The place of a value inside a table that was already read.
    pub(crate) fn span_inside(&self, table: &str, name: &str) -> Span {
        self.keys.and_then(|keys| keys.place(table, name)).unwrap_or_else(|| self.header())
    }

    /// The place of the table's header, or of the first key of the file.
    pub fn header(&self) -> Span {
        self.header.clone()
    }

    /// Forgets which keys were asked for, so that another reader can ask for all of them.
    pub(crate) fn forget_fields(&mut self) {
        self.fields.clear();
        self.known.clear();
        self.found = 0;
        self.problems.clear();
    }

    /// Uses `name` as the place of problems without a better one.
    pub(crate) fn point_at(&mut self, name: &str) {
        self.header = self.span(name);
    }

    /// Reports unknown keys, and moves all problems to `problems`.
    pub(super) fn finish(mut self, problems: &mut Vec<Problem>) {
        self.report_unknown_keys();
        problems.append(&mut self.problems);
    }

    pub(super) fn into_fields(self) -> Vec<Field> {
        self.fields
    }

    /// Reports unknown keys. Called once, after all fields were asked for.
    pub(crate) fn report_unknown_keys(&mut self) {
        let Some(keys) = self.keys else { return };
        if keys.count() == Some(self.found.count_ones()) {
            self.keys = None;
            return;
        }
        let mut all = keys.unknown(&self.known);
        // Only listed problems get a place and a suggestion, since a file can have tens of thousands.
        let uncounted = all.len().saturating_sub(MOST_OF_ONE_RULE);
        if uncounted > 0 {
            all.sort_by_key(|(_, place)| place.start);
            all.truncate(MOST_OF_ONE_RULE);
        }
        let mut unknown = Vec::new();
        for (name, place) in all {
            let help = match nearest(name, self.known.iter().copied()) {
                Some(known) => format!("did you mean `{known}`?"),
                None => format!("use {}", either(&self.known)),
            };
            let shown = text::cut(&text::visible(name), 60);
            unknown.push((name, place, format!("unknown key `{shown}`"), help));
        }
        for (name, span, message, help) in unknown {
            self.add_of(Rule::UnknownKey, name, &span, message, help);
        }
        self.problems.last_mut().filter(|_| uncounted > 0).into_iter().for_each(|last| last.more += uncounted);
        // A second call must not report them again.
        self.keys = None;
    }

    fn list<T>(
        &mut self,
        name: &'static str,
        shape: Shape,
        about: &'static str,
        mut item: impl FnMut(&mut Self, &Given<'a>) -> Option<T>,
    ) -> Option<Vec<T>> {
        let value = self.value(name, Shape::List(Box::new(shape)), about)?;
        match value.items() {
            Some(items) => Some(items.iter().filter_map(|value| item(self, value)).collect()),
            None => self.wrong_type(name, &value, "a list in brackets, such as [\"…\"]"),
        }
    }

    pub(super) fn value(&mut self, name: &'static str, shape: Shape, about: &'static str) -> Option<Given<'a>> {
        match self.keys {
            Some(keys) => self.lookup(keys, name, shape, about),
            None => {
                self.note_field(name, shape, about);
                None
            }
        }
    }

    /// The value of a key. A missing key takes the default, unless it is required here.
    pub(super) fn lookup(
        &mut self,
        keys: TableKeys<'a>,
        name: &'static str,
        shape: Shape,
        about: &'static str,
    ) -> Option<Given<'a>> {
        let is_needed = self.next_is_needed;
        self.note_field(name, shape, about);
        let given = keys.get(name);
        let position = given.as_ref().and_then(|given| given.position);
        self.found |= position.and_then(|position| 1_u64.checked_shl(position)).unwrap_or_default();
        if given.is_none() && is_needed {
            let place = if self.name.is_empty() { String::new() } else { format!(" in [{}]", self.name) };
            let message = format!("`{name}` is missing{place}");
            self.add(Rule::MissingKey, name, message, format!("add `{name}`: {about}"));
        }
        given.or_else(|| TableKeys::Values(self.below.filter(|_| !is_needed)?).get(name))
    }

    pub(super) fn note_field(&mut self, name: &'static str, shape: Shape, about: &'static str) {
        let is_needed = std::mem::take(&mut self.next_is_needed);
        match self.is_description() {
            true => self.fields.push(Field { name, shape, is_needed, about }),
            false => self.known.push(name),
        }
    }
}
