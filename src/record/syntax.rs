//! Parses a file's text into values with their places, or translates the parser's error for people who do not program.

use chrono::{FixedOffset, NaiveDate, NaiveTime};
use toml::Spanned;
use toml::de::{DeTable, DeValue, Error};
use toml::value::{Datetime, Offset, Time};

use super::depth;
use super::form::{Entry, Moment, Spots, Value, Values};
use super::given::TableKeys;
use super::plain::Plain;

/// Parses a text.
///
/// # Errors
/// Not valid TOML (the parser's errors), or nested too deeply (no errors).
pub(super) fn parse(text: &str) -> Result<Values, Vec<Error>> {
    if depth::too_deep(text).is_some() {
        return Err(Vec::new());
    }
    match DeTable::parse_recoverable(text) {
        (table, errors) if errors.is_empty() => Ok(table_of(table.get_ref())),
        (_, errors) => Err(errors),
    }
}

impl Values {
    /// The keys and values of a file's text; `None` if it is not valid TOML.
    pub fn of(text: &str) -> Option<Values> {
        let mut plain = Plain::default();
        if plain.read(text) { Some(TableKeys::of(&plain, text).into()) } else { parse(text).ok() }
    }
}

fn table_of(table: &DeTable) -> Values {
    Values::from_entries(table.iter().map(|(key, value)| {
        let items = match value.get_ref() {
            DeValue::Array(items) => items.iter().map(Spanned::span).collect(),
            _ => Vec::new(),
        };
        let spots = Spots { key: key.span(), value: value.span(), items };
        (key.get_ref().to_string(), Entry { value: value_of(value.get_ref()), spots })
    }))
}

/// Converts a value. A number too large for an integer becomes the nearest float, which is rejected as a whole number.
fn value_of(value: &DeValue) -> Value {
    match value {
        DeValue::String(text) => Value::Text(text.to_string()),
        DeValue::Integer(number) => {
            let digits = number.as_str().replace('_', "");
            Value::Number(i64::from_str_radix(&digits, number.radix()).map_or(f64::INFINITY, |number| number as f64))
        }
        DeValue::Float(number) => Value::Number(number.as_str().replace('_', "").parse().unwrap_or(f64::NAN)),
        DeValue::Boolean(flag) => Value::Flag(*flag),
        // The parser has checked the calendar; a day that chrono cannot represent stays a text.
        DeValue::Datetime(time) => time_of(time).unwrap_or_else(|| Value::Text(time.to_string())),
        DeValue::Array(items) => Value::List(items.iter().map(|item| value_of(item.get_ref())).collect()),
        DeValue::Table(table) => Value::Table(table_of(table)),
    }
}

fn time_of(time: &Datetime) -> Option<Value> {
    let date = time.date.map(|date| NaiveDate::from_ymd_opt(date.year.into(), date.month.into(), date.day.into()));
    let minutes = time.offset.map(|offset| match offset {
        Offset::Z => 0,
        Offset::Custom { minutes } => i32::from(minutes),
    });
    Some(match (date, time.time) {
        (Some(date), None) => Value::Date(date?),
        (None, clock) => Value::Time(clock_of(clock?)?),
        (Some(date), Some(clock)) => {
            let offset = match minutes {
                Some(minutes) => Some(FixedOffset::east_opt(minutes * 60)?),
                None => None,
            };
            Value::Moment(Moment { wall: date?.and_time(clock_of(clock)?), offset })
        }
    })
}

/// Converts a time of day; a leap second (:60) is represented as in chrono, by the fraction of the second before.
fn clock_of(time: Time) -> Option<NaiveTime> {
    let (second, fraction) = (time.second.unwrap_or(0), time.nanosecond.unwrap_or(0));
    let (second, fraction) = if second == 60 { (59, fraction + LEAP) } else { (second, fraction) };
    NaiveTime::from_hms_nano_opt(time.hour.into(), time.minute.into(), second.into(), fraction)
}

/// The number of nanoseconds at which a fraction represents a leap second.
pub(super) const LEAP: u32 = 1_000_000_000;

/// The parser's words, with the fault and the remedy in plain words.
const PLAIN: &[(&str, &str, &str)] = &[
    ("basic string", NOT_CLOSED, CLOSE_IT),
    ("literal string", NOT_CLOSED, CLOSE_IT),
    (
        "must be quoted",
        "expected a text in quotes, a date, a number, true or false",
        "put words and codes in straight quotes, such as \"rn-07\"; write numbers and dates without quotes or units",
    ),
    ("key with no value", "the equals sign or the value is missing", "write key = value on one line"),
    (
        "unexpected key or value",
        "extra characters after the value",
        "write one value per line, with a decimal point, not a comma; a comment begins with #",
    ),
    ("unclosed", "a bracket is not closed", "add the missing ] or }"),
    ("duplicate key", "this key appears twice", "keep the correct one"),
    ("invalid date", "this date does not exist", "check the calendar; write it as 2026-11-23"),
    ("invalid time", "this is not a time", "write hours and minutes with a colon, such as 2026-11-23T18:40:00-06:00"),
    ("cannot be empty", "the key before the equals sign is missing", "write key = value"),
    ("invalid boolean", "expected true or false", "write true or false, without quotes"),
    (
        "escape",
        "a backslash has a special meaning inside double quotes",
        "leave the backslash out, or put the text in single quotes",
    ),
];

const NOT_CLOSED: &str = "the closing quote is missing";
const CLOSE_IT: &str = "add the same quote that opens it, on the same line";

/// The fault and the remedy, in plain words.
///
/// ```text
/// invalid basic string, expected `"`   ->   the closing quote is missing
/// ```
pub(super) fn plain(message: &str) -> (String, String) {
    // The parser's expectation does not help a reader, who would take it for the fault.
    let fault = message.split(", expected").next().unwrap_or(message);
    match PLAIN.iter().find(|(words, ..)| fault.contains(words)) {
        Some((_, fault, help)) => ((*fault).to_owned(), (*help).to_owned()),
        None => (
            format!("cannot read this: {message}"),
            "correct the marked place: key = value, text in quotes, dates and numbers without quotes".to_owned(),
        ),
    }
}

#[cfg(test)]
mod tests {
    use super::plain;

    fn check(message: &str, begins: &str) {
        assert!(plain(message).0.starts_with(begins), "{}", plain(message).0);
    }

    #[test]
    fn says_what_is_meant() {
        check("invalid basic string, expected `\"`", "the closing quote is missing");
        check("string values must be quoted, expected literal string", "expected a text");
        check("invalid date, expected day between 01 and 28", "this date does not exist");
        check("missing escaped value, expected `b`", "a backslash");
        check("something new", "cannot read this: something new");
    }
}
