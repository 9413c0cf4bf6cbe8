//! The words of a household's sheet in one language: data, `sheet/en.toml` of the records or the one built in.
//!
//! English is the list of the keys: a language has each of them, as many answers to each question, and no other key.

use std::collections::BTreeMap;

use chrono::{Datelike, NaiveDate};
use serde_json::Value;

use crate::policy::Weekday;
use crate::problem::Failure;
use crate::record::facts;
use crate::report::sheet::Span;
use crate::text::{either, visible};

/// The languages built in: code and words.
const BUILT_IN: [(&str, &str); 2] = [
    ("en", include_str!("../../../records-template/sheet/en.toml")),
    ("es", include_str!("../../../records-template/sheet/es.toml")),
];

/// The key of a remark for whoever prints the sheet, which a language need not have.
const TO_CHECK: &str = "to_check";

/// The lists that a program may make longer or shorter.
const ANY_LENGTH: [&str; 1] = ["call.now"];

/// The words of one language.
#[derive(Debug, Clone)]
pub(crate) struct Language {
    /// Its code, `en`.
    pub code: String,
    words: BTreeMap<String, Value>,
}

impl Language {
    /// The path of a language's file in the records; `None` if no language has such a code.
    pub(crate) fn file(code: &str) -> Option<String> {
        let is_plain = !code.is_empty() && code.len() <= 20;
        let is_plain = is_plain && code.bytes().all(|b| b.is_ascii_alphanumeric() || b == b'-');
        is_plain.then(|| format!("sheet/{code}.toml"))
    }

    /// The language of a code: from the text of its file, or the one built in.
    ///
    /// # Errors
    /// No such language is known, or its file is not complete; one sentence.
    pub(crate) fn read(code: &str, text: Option<&str>) -> Result<Language, Failure> {
        let built_in = BUILT_IN.iter().find(|(known, _)| *known == code).map(|(_, text)| *text);
        let Some(text) = text.or(built_in) else {
            let known: Vec<&str> = BUILT_IN.iter().map(|(code, _)| *code).collect();
            let code = visible(code);
            return Err(Failure::new(format!(
                "no sheet/{code}.toml. Use --language {}, or copy sheet/en.toml and translate it",
                either(&known)
            )));
        };
        let words = words(text).ok_or_else(|| Failure::new(format!("sheet/{code}.toml is no TOML")))?;
        let english = words_of_english();
        let has_all = english.iter().find(|(key, value)| !words.get(*key).is_some_and(|own| fits(key, own, value)));
        if let Some((key, value)) = has_all {
            let as_many =
                value.as_array().map_or("a text".to_owned(), |list| format!("a list of {} texts", list.len()));
            return Err(Failure::new(format!(
                "sheet/{code}.toml: `{key}` is missing or not {as_many}; sheet/en.toml has it"
            )));
        }
        if let Some(key) = words.keys().find(|key| *key != TO_CHECK && !english.contains_key(*key)) {
            return Err(Failure::new(format!("sheet/{code}.toml: unknown key `{}`", visible(key))));
        }
        Ok(Language { code: code.to_owned(), words })
    }

    /// A remark for whoever prints the sheet.
    pub(crate) fn to_check(&self) -> Option<&str> {
        self.words.get(TO_CHECK)?.as_str()
    }

    /// The text of a key.
    pub(super) fn say(&self, key: &str) -> &str {
        self.words.get(key).and_then(Value::as_str).unwrap_or_default()
    }

    /// The text of a key with values in the place of the words in braces.
    pub(super) fn fill(&self, key: &str, values: &[(&str, &str)]) -> String {
        let fill = |text: String, (name, value): &(&str, &str)| text.replace(&format!("{{{name}}}"), value);
        values.iter().fold(self.say(key).to_owned(), fill)
    }

    /// The texts of a key.
    pub(super) fn list(&self, key: &str) -> Vec<&str> {
        self.words.get(key).and_then(Value::as_array).into_iter().flatten().filter_map(Value::as_str).collect()
    }

    fn month_name(&self, day: NaiveDate) -> &str {
        self.list("page.months").get(day.month0() as usize).copied().unwrap_or_default()
    }

    /// "November 2026".
    pub(super) fn month(&self, day: NaiveDate) -> String {
        self.fill("page.month", &[("month", self.month_name(day)), ("year", &day.year().to_string())])
    }

    /// "November 3".
    pub(super) fn date(&self, day: NaiveDate) -> String {
        self.fill("page.date", &[("month", self.month_name(day)), ("day", &day.day().to_string())])
    }

    /// "Tue 3".
    pub(super) fn weekday_and_day(&self, day: NaiveDate) -> String {
        format!("{} {}", self.weekday(day.weekday().num_days_from_monday() as usize), day.day())
    }

    fn weekday(&self, from_monday: usize) -> &str {
        self.list("page.weekdays").get(from_monday).copied().unwrap_or_default()
    }

    /// How often the dressing is changed, "every 2 days".
    fn often(&self, span: &Span) -> String {
        match span.every_days {
            Some(1) => self.say("often.daily").to_owned(),
            Some(n) => self.fill("often.days", &[("n", &n.to_string())]),
            None if span.weekdays.is_empty() => String::new(),
            None => {
                let place = |day: &Weekday| Weekday::ALL.iter().position(|known| known == day).unwrap_or_default();
                let days: Vec<&str> = span.weekdays.iter().map(|day| self.weekday(place(day))).collect();
                self.fill("often.weekdays", &[("list", &days.join(", "))])
            }
        }
    }

    /// Spans of a month, "daily through November 14, every 2 days from November 15".
    pub(super) fn spans(&self, from: NaiveDate, to: NaiveDate, spans: &[Span]) -> String {
        let one = |span: &Span| {
            let often = self.often(span);
            let key = match (span.from == from, span.to == to) {
                (true, true) if often.is_empty() => "often.always",
                (true, true) => return often,
                (true, false) => "often.through",
                (false, true) => "often.from",
                (false, false) => "often.between",
            };
            let days = [self.date(span.from), self.date(span.to)];
            self.fill(key, &[("often", &often), ("from", &days[0]), ("to", &days[1])]).trim().to_owned()
        };
        spans.iter().map(one).collect::<Vec<_>>().join(", ")
    }
}

fn words(text: &str) -> Option<BTreeMap<String, Value>> {
    let value = |(key, written): (String, String)| Some((key, serde_json::from_str(&written).ok()?));
    Some(facts(text)?.into_iter().filter_map(value).collect())
}

fn words_of_english() -> BTreeMap<String, Value> {
    BUILT_IN.first().and_then(|(_, text)| words(text)).unwrap_or_default()
}

/// Returns true if a language's value is of the form of the English one: a text, or a list of as many texts.
fn fits(key: &str, own: &Value, english: &Value) -> bool {
    match (own, english) {
        (Value::Array(own), Value::Array(english)) => {
            own.iter().all(Value::is_string) && (ANY_LENGTH.contains(&key) || own.len() == english.len())
        }
        (own, english) => own.is_string() && english.is_string(),
    }
}

#[cfg(test)]
mod tests {
    use super::{BUILT_IN, Language};

    #[test]
    fn each_language_built_in_is_complete() {
        for (code, _) in BUILT_IN {
            assert_eq!(Language::read(code, None).unwrap().code, code);
        }
    }

    #[test]
    fn a_language_that_is_not_complete_is_refused_with_the_key() {
        let english = BUILT_IN[0].1;
        let read = |text: &str| Language::read("fr", Some(text)).unwrap_err().0;
        assert!(read(&english.replace("notes = ", "note = ")).contains("`page.notes` is missing"));
        assert!(
            read(&english.replace("\"none\", \"some\", \"bad\"", "\"none\""))
                .contains("`answer.pain` is missing or not a list of 3")
        );
        assert!(read(&format!("x = 'y'\n{english}")).contains("unknown key `x`"));
        assert!(read("x = ").contains("is no TOML"));
        assert!(Language::read("fr", None).unwrap_err().0.contains("Use --language en or es"));
        assert!(Language::read("fr", Some(&english.replace("\"the site is bleeding\",\n", ""))).is_ok());
        assert_eq!(Language::file("../en"), None);
    }
}
