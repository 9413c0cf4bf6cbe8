//! The texts of a household's sheet in one language: data, from `sheet/en.toml` in the records or the built-in file.
//! English defines the keys: every language must have the same keys and as many answers to each question.

use std::collections::BTreeMap;

use chrono::{Datelike, NaiveDate};
use serde_json::Value;

use crate::policy::Weekday;
use crate::problem::Failure;
use crate::record::facts;
use crate::report::sheet::DaySpan;
use crate::text::{either, visible};

/// The built-in languages: code and file.
const BUILT_IN: [(&str, &str); 2] = [
    ("en", include_str!("../../../records-template/sheet/en.toml")),
    ("es", include_str!("../../../records-template/sheet/es.toml")),
];

/// The optional key of a remark for the person who prints the sheet.
const TO_CHECK: &str = "to_check";

/// The keys that a program's own file may lack, since it may be older: the built-in text of the language is used, if any.
const NEWER: [&str; 3] = ["how.moved_weekdays", "how.moved_ask", "page.no_room"];

/// The lists that a program may make longer or shorter.
const ANY_LENGTH: [&str; 1] = ["call.now"];

/// The texts of one language.
#[derive(Debug, Clone)]
pub(crate) struct Language {
    /// The language code, such as `en`.
    pub code: String,
    words: BTreeMap<String, Value>,
}

impl Language {
    /// Returns the path of a language's file in the records; `None` if the code is not valid.
    pub(crate) fn file(code: &str) -> Option<String> {
        let is_plain = !code.is_empty() && code.len() <= 20;
        let is_plain = is_plain && code.bytes().all(|b| b.is_ascii_alphanumeric() || b == b'-');
        is_plain.then(|| format!("sheet/{code}.toml"))
    }

    /// Reads the language of a code, from the text of its file or the built-in one.
    ///
    /// # Errors
    /// Unknown language, or an invalid or incomplete file.
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
        let mut words = words(text).ok_or_else(|| Failure::new(format!("sheet/{code}.toml is not valid TOML")))?;
        let english = words_of_english();
        let built_in = built_in.and_then(self::words).unwrap_or_default();
        for key in NEWER.iter().filter(|key| built_in.contains_key(**key)) {
            words.entry((*key).to_owned()).or_insert_with(|| built_in[*key].clone());
        }
        let is_newer = |key: &String| !words.contains_key(key) && NEWER.contains(&key.as_str());
        let has_all = english
            .iter()
            .find(|(key, value)| !is_newer(key) && !words.get(*key).is_some_and(|own| fits(key, own, value)));
        if let Some((key, value)) = has_all {
            let as_many =
                value.as_array().map_or("a text".to_owned(), |list| format!("a list of {} texts", list.len()));
            return Err(Failure::new(format!(
                "sheet/{code}.toml: `{key}` is missing or not {as_many}. See sheet/en.toml"
            )));
        }
        if let Some(key) = words.keys().find(|key| *key != TO_CHECK && !english.contains_key(*key)) {
            return Err(Failure::new(format!("sheet/{code}.toml: unknown key `{}`", visible(key))));
        }
        Ok(Language { code: code.to_owned(), words })
    }

    /// Returns the remark for the person who prints the sheet.
    pub(crate) fn to_check(&self) -> Option<&str> {
        self.words.get(TO_CHECK)?.as_str()
    }

    /// Returns the text of a key.
    pub(super) fn say(&self, key: &str) -> &str {
        self.words.get(key).and_then(Value::as_str).unwrap_or_default()
    }

    /// Returns the text of a key, with values substituted for the names in braces.
    pub(super) fn fill(&self, key: &str, values: &[(&str, &str)]) -> String {
        let fill = |text: String, (name, value): &(&str, &str)| text.replace(&format!("{{{name}}}"), value);
        values.iter().fold(self.say(key).to_owned(), fill)
    }

    /// Returns the list of texts of a key.
    pub(super) fn list(&self, key: &str) -> Vec<&str> {
        self.words.get(key).and_then(Value::as_array).into_iter().flatten().filter_map(Value::as_str).collect()
    }

    fn month_name(&self, day: NaiveDate) -> &str {
        self.list("page.months").get(day.month0() as usize).copied().unwrap_or_default()
    }

    /// Formats a month: "November 2026".
    pub(super) fn month(&self, day: NaiveDate) -> String {
        self.fill("page.month", &[("month", self.month_name(day)), ("year", &day.year().to_string())])
    }

    /// Formats a date: "November 3".
    pub(super) fn date(&self, day: NaiveDate) -> String {
        self.fill("page.date", &[("month", self.month_name(day)), ("day", &day.day().to_string())])
    }

    /// Formats a weekday and day: "Tue 3".
    pub(super) fn weekday_and_day(&self, day: NaiveDate) -> String {
        format!("{} {}", self.weekday(day.weekday().num_days_from_monday() as usize), day.day())
    }

    fn weekday(&self, from_monday: usize) -> &str {
        self.list("page.weekdays").get(from_monday).copied().unwrap_or_default()
    }

    /// Formats the interval of a span: "every 2 days".
    fn often(&self, span: &DaySpan) -> String {
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

    /// Formats the spans of a month: "daily through November 14, every 2 days from November 15".
    pub(super) fn spans(&self, from: NaiveDate, to: NaiveDate, spans: &[DaySpan]) -> String {
        let one = |span: &DaySpan| {
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

/// Returns true if a value has the form of the English one: a text, or a list of as many texts.
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
        assert!(read("x = ").contains("is not valid TOML"));
        assert!(Language::read("fr", None).unwrap_err().0.contains("Use --language en or es"));
        assert!(Language::read("fr", Some(&english.replace("\"the site is bleeding\",\n", ""))).is_ok());
        // A file from before a key was added has the built-in text of its language, or none.
        let older = english.replace("moved_weekdays = ", "# ").replace("no_room = ", "# ");
        for (code, expected) in [("en", "No column for: {list}. Write it in the notes."), ("fr", "")] {
            assert_eq!(Language::read(code, Some(&older)).unwrap().say("page.no_room"), expected);
        }
        assert_eq!(Language::file("../en"), None);
    }
}
