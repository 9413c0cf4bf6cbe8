//! Converts a value of a record file to its expected type, or reports a problem with the correction.

use chrono::{NaiveDate, NaiveTime, Timelike};

use super::Table;
use super::given::{Given, GivenValue};
use super::syntax::LEAP;
use crate::day;
use crate::problem::Rule;
use crate::text::{self, either, nearest};
use crate::word::Word;

/// The largest whole number that a float represents exactly with all smaller ones.
const LARGEST_WHOLE: f64 = 9_007_199_254_740_992.0;

impl Table<'_> {
    pub(super) fn wrong_type<T>(&mut self, name: &str, given: &Given, expected: &str) -> Option<T> {
        let found = match given.value {
            GivenValue::Text(_) => "a text",
            GivenValue::Number(_) => "a number",
            GivenValue::Flag(_) => "true or false",
            GivenValue::Date(_) | GivenValue::Time(_) | GivenValue::Moment(_) => "a date or time",
            GivenValue::List(_) => "a list",
            GivenValue::Table(_) => "a table",
        };
        let (message, help) = (format!("`{name}` cannot be {found}"), format!("write {expected}"));
        self.add_of(Rule::WrongType, name, &given.span, message, help);
        None
    }

    pub(super) fn text_of<'v>(&mut self, name: &str, given: &Given<'v>) -> Option<&'v str> {
        match given.value {
            GivenValue::Text(text) => Some(text),
            _ => self.wrong_type(name, given, "a text in quotes"),
        }
    }

    pub(super) fn word_of<W: Word>(&mut self, name: &str, given: &Given) -> Option<W> {
        let word = self.text_of(name, given)?;
        if let Some(known) = W::from_word(word) {
            return Some(known);
        }
        let help = match nearest(word, W::WORDS.iter().copied()) {
            Some(known) => format!("did you mean \"{known}\"? Use {}", either(W::WORDS)),
            None => format!("use {}", either(W::WORDS)),
        };
        let shown = text::cut(&text::visible(word), 60);
        self.add_of(Rule::UnknownWord, name, &given.span, format!("\"{shown}\" is not a choice for `{name}`"), help);
        None
    }

    /// A whole number; `3.0` is 3.
    pub(super) fn whole_of(&mut self, name: &str, given: &Given) -> Option<i64> {
        match given.value {
            GivenValue::Number(number) if number.abs() > LARGEST_WHOLE => {
                let message = format!("`{name}` is too large");
                self.add_of(Rule::ImpossibleNumber, name, &given.span, message, "write the count");
                None
            }
            GivenValue::Number(number) if number.fract() == 0.0 => Some(number as i64),
            _ => self.wrong_type(name, given, "a whole number without quotes"),
        }
    }

    pub(super) fn number_of(&mut self, name: &str, given: &Given) -> Option<f64> {
        match given.value {
            GivenValue::Number(number) if number.is_finite() => Some(number),
            GivenValue::Number(_) => {
                let message = format!("`{name}` is not a finite number");
                let help = "write the measurement, or leave the key out";
                self.add_of(Rule::ImpossibleNumber, name, &given.span, message, help);
                None
            }
            _ => self.wrong_type(name, given, "a number without quotes"),
        }
    }

    pub(super) fn date_of(&mut self, name: &str, day: NaiveDate) -> NaiveDate {
        if !day::is_date_of_care(day) {
            let help = "dates run from 1990-01-01 to 2199-12-31; check the year";
            self.add(Rule::NotADateOfCare, name, format!("{day} is outside the range of dates"), help);
        }
        day
    }

    pub(super) fn time_of(&mut self, name: &str, time: NaiveTime) -> Option<NaiveTime> {
        let fraction = time.nanosecond();
        if !fraction.is_multiple_of(LEAP) {
            let message = format!("`{name}` has a fraction of a second");
            self.add(Rule::FractionOfSecond, name, message, "leave the fraction out");
        } else if fraction == LEAP {
            self.add(Rule::LeapSecond, name, format!("`{name}` has a leap second (:60)"), "write :59");
        }
        (fraction == 0).then_some(time)
    }
}
