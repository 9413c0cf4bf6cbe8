//! One value of a record file as what it should be, or a problem that says what to write.

use std::borrow::Cow;

use chrono::{NaiveDate, NaiveTime};
use toml::Spanned;
use toml::de::DeValue;

use super::Table;
use crate::day;
use crate::problem::Rule;
use crate::text::{self, either, nearest};
use crate::word::Word;

impl Table<'_> {
    pub(super) fn wrong_type<T>(&mut self, name: &str, value: &Spanned<DeValue>, expected: &str) -> Option<T> {
        let found = match value.get_ref() {
            DeValue::String(_) => "a text",
            DeValue::Integer(_) | DeValue::Float(_) => "a number",
            DeValue::Boolean(_) => "true or false",
            DeValue::Datetime(_) => "a date or time",
            DeValue::Array(_) => "a list",
            DeValue::Table(_) => "a table",
        };
        let problem = self.source.problem(
            Rule::WrongType,
            &value.span(),
            format!("`{name}` cannot be {found}"),
            format!("write {expected}"),
        );
        self.problems.push(problem);
        None
    }

    pub(super) fn text_of<'v>(&mut self, name: &str, value: &'v Spanned<DeValue<'v>>) -> Option<Cow<'v, str>> {
        match value.get_ref() {
            DeValue::String(text) => Some(Cow::Borrowed(text)),
            _ => self.wrong_type(name, value, "a text in quotes"),
        }
    }

    pub(super) fn word_of<W: Word>(&mut self, name: &str, value: &Spanned<DeValue>) -> Option<W> {
        let word = self.text_of(name, value)?;
        if let Some(known) = W::from_word(&word) {
            return Some(known);
        }
        let help = match nearest(&word, W::WORDS.iter().copied()) {
            Some(known) => format!("did you mean \"{known}\"? It takes {}", either(W::WORDS)),
            None => format!("it takes {}", either(W::WORDS)),
        };
        let shown = text::cut(&text::visible(&word), 60);
        let problem =
            self.source.problem(Rule::UnknownWord, &value.span(), format!("\"{shown}\" is no word for `{name}`"), help);
        self.problems.push(problem);
        None
    }

    pub(super) fn whole_of(&mut self, name: &str, value: &Spanned<DeValue>) -> Option<i64> {
        let DeValue::Integer(number) = value.get_ref() else {
            return self.wrong_type(name, value, "a whole number without quotes");
        };
        let digits = number.as_str().replace('_', "");
        i64::from_str_radix(&digits, number.radix()).ok().or_else(|| {
            let problem = self.source.problem(
                Rule::ImpossibleNumber,
                &value.span(),
                format!("`{name}` cannot be so large a number"),
                "write what was counted",
            );
            self.problems.push(problem);
            None
        })
    }

    pub(super) fn number_of(&mut self, name: &str, value: &Spanned<DeValue>) -> Option<f64> {
        match value.get_ref() {
            DeValue::Integer(_) => self.whole_of(name, value).map(|number| number as f64),
            DeValue::Float(number) => match number.as_str().replace('_', "").parse() {
                Ok(number) if f64::is_finite(number) => Some(number),
                _ => {
                    let problem = self.source.problem(
                        Rule::ImpossibleNumber,
                        &value.span(),
                        format!("`{name}` is no number that can be measured"),
                        "write what was measured, or leave the key out",
                    );
                    self.problems.push(problem);
                    None
                }
            },
            _ => self.wrong_type(name, value, "a number without quotes"),
        }
    }

    pub(super) fn date_of(&mut self, name: &str, date: &toml::value::Date) -> Option<NaiveDate> {
        let Some(day) = NaiveDate::from_ymd_opt(i32::from(date.year), u32::from(date.month), u32::from(date.day))
        else {
            self.add(
                Rule::Syntax,
                name,
                format!("there is no {date}"),
                "look at the calendar and write the day it was",
            );
            return None;
        };
        if !day::is_date_of_care(day) {
            self.add(
                Rule::NotADateOfCare,
                name,
                format!("{day} is no date of care"),
                "dates run from 1990-01-01 to 2199-12-31; look at the year",
            );
        }
        Some(day)
    }

    pub(super) fn time_of(&mut self, name: &str, time: &toml::value::Time) -> Option<NaiveTime> {
        if time.nanosecond.is_some_and(|fraction| fraction > 0) {
            self.add(
                Rule::FractionOfSecond,
                name,
                format!("`{name}` has a fraction of a second"),
                "leave the fraction out",
            );
            return None;
        }
        let second = time.second.unwrap_or(0);
        if second == 60 {
            self.add(Rule::LeapSecond, name, format!("`{name}` has a second of 60"), "write :59");
            return None;
        }
        let read = NaiveTime::from_hms_opt(u32::from(time.hour), u32::from(time.minute), u32::from(second));
        if read.is_none() {
            self.add(
                Rule::Syntax,
                name,
                format!("there is no time {time}"),
                "write hours from 00 to 23 and minutes from 00 to 59",
            );
        }
        read
    }
}
