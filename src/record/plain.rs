//! The plain form of a record, read in one pass into buffers that the next file uses again: bare keys, one value on a
//! line, tables under headers of one name. No tree is built and no text is copied.
//!
//! ```toml
//! kind = "change"                     # a comment
//! at = 2026-11-23T18:55:00-06:00
//! about = ["log", "supplies"]
//!
//! [site]
//! redness_mm = 2.5
//!
//! [[amended]]
//! by = "co-1"
//! ```
//!
//! Left out on purpose: every other form (escapes, texts over several lines, tables in braces, dotted keys) and every
//! fault. Such a text is left to the TOML parser, so that there is one authority on what is valid.

use chrono::{FixedOffset, NaiveDate, NaiveTime};

use super::form::Moment;
use crate::place::Span;

/// The maximum number of keys, headers and items of lists in the plain form: each key is compared with the others.
const MOST: usize = 256;

/// The maximum number of digits of a whole number, all of which a float represents exactly.
const MOST_DIGITS: usize = 15;

/// A value without its text.
#[derive(Debug, Clone, Copy)]
pub(super) enum Scalar {
    /// A text in quotes, without escapes.
    Text,
    Number(f64),
    Flag(bool),
    Date(NaiveDate),
    Time(NaiveTime),
    Moment(Moment),
    /// A list: its first element and the one after its last.
    List(usize, usize),
}

/// A value with its place.
#[derive(Debug, Clone)]
pub(super) struct PlainValue {
    pub(super) scalar: Scalar,
    pub(super) span: Span,
}

/// A key with its value.
#[derive(Debug, Clone)]
pub(super) struct PlainEntry {
    pub(super) key: Span,
    pub(super) value: PlainValue,
}

/// The top level, a table under `[name]`, or a row under `[[name]]`.
#[derive(Debug, Clone, Default)]
pub(super) struct PlainSection {
    /// The name in the header; empty for the top level.
    pub(super) name: Span,
    /// The header; empty for the top level.
    pub(super) header: Span,
    pub(super) is_row: bool,
    /// Its first entry and the one after its last.
    entries: Span,
}

/// A text in the plain form.
#[derive(Debug, Default)]
pub(super) struct Plain {
    /// The top level, then the others in file order.
    sections: Vec<PlainSection>,
    entries: Vec<PlainEntry>,
    elements: Vec<PlainValue>,
    /// The number of names in headers.
    names: usize,
}

impl Plain {
    /// Reads a text; returns false if it is not in the plain form, or not valid.
    pub(super) fn read(&mut self, text: &str) -> bool {
        self.sections.clear();
        self.entries.clear();
        self.elements.clear();
        self.names = 0;
        self.sections.push(PlainSection::default());
        self.read_lines(text.as_bytes()).is_some()
    }

    /// The sections under headers, in file order, each with its number.
    pub(super) fn headed(&self) -> impl Iterator<Item = (usize, &PlainSection)> {
        self.sections.iter().enumerate().skip(1)
    }

    /// The entries of a section.
    pub(super) fn entries(&self, section: usize) -> &[PlainEntry] {
        self.sections.get(section).and_then(|section| self.entries.get(section.entries.clone())).unwrap_or_default()
    }

    /// The number of keys of a section; a table, or all rows of one name, are one key of the top level.
    pub(super) fn count(&self, section: usize) -> usize {
        self.entries(section).len() + if section == 0 { self.names } else { 0 }
    }

    /// The elements of a list.
    pub(super) fn elements(&self, first: usize, end: usize) -> &[PlainValue] {
        self.elements.get(first..end).unwrap_or_default()
    }

    fn read_lines(&mut self, text: &[u8]) -> Option<()> {
        let mut at = blanks(text, 0);
        while let Some(byte) = text.get(at) {
            let end = match byte {
                b'\n' | b'#' => at,
                b'[' => self.read_header(text, at)?,
                _ => self.read_entry(text, at)?,
            };
            at = blanks(text, end_of_line(text, end)?);
            if self.entries.len() + self.sections.len() + self.elements.len() > MOST {
                return None;
            }
        }
        Some(())
    }

    /// Reads `[name]` or `[[name]]`; returns its end.
    fn read_header(&mut self, text: &[u8], start: usize) -> Option<usize> {
        let is_row = text.get(start + 1) == Some(&b'[');
        let brackets = if is_row { 2 } else { 1 };
        let name = bare_key(text, start + brackets)?;
        let end = name.end + brackets;
        text.get(name.end..end)?.iter().all(|byte| *byte == b']').then_some(())?;
        let is_same = |span: &Span| text[span.clone()] == text[name.clone()];
        let is_taken = |(_, other): (usize, &PlainSection)| is_same(&other.name) && !(is_row && other.is_row);
        if self.headed().any(is_taken) || self.entries(0).iter().any(|entry| is_same(&entry.key)) {
            return None;
        }
        let is_known = is_row && self.headed().any(|(_, other)| is_same(&other.name));
        self.names += usize::from(!is_known);
        let begun = self.entries.len();
        self.sections.push(PlainSection { name, header: start..end, is_row, entries: begun..begun });
        Some(end)
    }

    /// Reads `key = value`; returns its end.
    fn read_entry(&mut self, text: &[u8], start: usize) -> Option<usize> {
        let key = bare_key(text, start)?;
        let equals = blanks(text, key.end);
        (text.get(equals) == Some(&b'=')).then_some(())?;
        let section = self.sections.last_mut()?;
        let before = self.entries.get(section.entries.clone())?;
        if before.iter().any(|other| text[other.key.clone()] == text[key.clone()]) {
            return None;
        }
        section.entries.end += 1;
        let value = self.read_value(text, blanks(text, equals + 1))?;
        let end = value.span.end;
        self.entries.push(PlainEntry { key, value });
        Some(end)
    }

    fn read_value(&mut self, text: &[u8], start: usize) -> Option<PlainValue> {
        if text.get(start) != Some(&b'[') {
            return single(text, start);
        }
        let first = self.elements.len();
        let mut at = blanks(text, start + 1);
        while text.get(at) != Some(&b']') {
            let element = single(text, at)?;
            at = blanks(text, element.span.end);
            self.elements.push(element);
            match text.get(at)? {
                b',' => at = blanks(text, at + 1),
                b']' => {}
                _ => return None,
            }
        }
        Some(PlainValue { scalar: Scalar::List(first, self.elements.len()), span: start..at + 1 })
    }
}

/// The first place from `at` on that is neither a space nor a tab.
fn blanks(text: &[u8], mut at: usize) -> usize {
    while matches!(text.get(at), Some(b' ' | b'\t')) {
        at += 1;
    }
    at
}

/// The start of the next line; `None` if something other than a comment follows.
fn end_of_line(text: &[u8], at: usize) -> Option<usize> {
    let mut at = blanks(text, at);
    if text.get(at) == Some(&b'#') {
        while text.get(at).is_some_and(|byte| is_printed(*byte)) {
            at += 1;
        }
    }
    match text.get(at) {
        None => Some(at),
        Some(b'\n') => Some(at + 1),
        Some(_) => None,
    }
}

/// Returns true unless it is a control character; a tab is none.
fn is_printed(byte: u8) -> bool {
    (byte >= b' ' && byte != 0x7f) || byte == b'\t'
}

fn bare_key(text: &[u8], start: usize) -> Option<Span> {
    let is_bare = |byte: &u8| byte.is_ascii_alphanumeric() || matches!(byte, b'_' | b'-');
    let length = text.get(start..)?.iter().take_while(|byte| is_bare(byte)).count();
    (length > 0).then_some(start..start + length)
}

/// A value that is neither a list nor a table.
fn single(text: &[u8], start: usize) -> Option<PlainValue> {
    let rest = text.get(start..)?;
    if let Some(quote @ (b'"' | b'\'')) = rest.first() {
        let is_inside = |byte: &u8| byte != quote && is_printed(*byte) && (*byte != b'\\' || *quote == b'\'');
        let length = rest.iter().skip(1).take_while(|byte| is_inside(byte)).count();
        // Two quotes may begin a text over several lines.
        let is_closed = rest.get(length + 1) == Some(quote) && (length > 0 || rest.get(2) != Some(quote));
        return is_closed.then_some(PlainValue { scalar: Scalar::Text, span: start..start + length + 2 });
    }
    let ends = |byte: &u8| matches!(byte, b' ' | b'\t' | b'\n' | b',' | b']' | b'#');
    let length = rest.iter().take_while(|byte| !ends(byte)).count();
    let word = &rest[..length];
    let scalar = match word {
        b"true" => Scalar::Flag(true),
        b"false" => Scalar::Flag(false),
        [_, _, _, _, b'-', ..] => date_or_moment(word)?,
        [_, _, b':', ..] => Scalar::Time(clock(word)?),
        _ => Scalar::Number(number(word)?),
    };
    Some(PlainValue { scalar, span: start..start + length })
}

/// `12`, `-3` or `36.6`.
fn number(word: &[u8]) -> Option<f64> {
    let (digits, is_negative) = match word {
        [b'-', digits @ ..] => (digits, true),
        digits => (digits, false),
    };
    let point = digits.iter().position(|byte| *byte == b'.').unwrap_or(digits.len());
    let (whole, fraction) = (&digits[..point], digits.get(point + 1..));
    let is_number = |digits: &[u8]| (1..=MOST_DIGITS).contains(&digits.len()) && digits.iter().all(u8::is_ascii_digit);
    // A zero in front is not valid, and a whole zero has no sign.
    let is_usual = whole.first() != Some(&b'0') || (whole.len() == 1 && (fraction.is_some() || !is_negative));
    if !is_number(whole) || !fraction.is_none_or(is_number) || !is_usual {
        return None;
    }
    std::str::from_utf8(word).ok()?.parse().ok()
}

/// `2026-11-23`, `2026-11-23T18:40:00`, or the same with `Z` or an offset.
fn date_or_moment(word: &[u8]) -> Option<Scalar> {
    let (day, rest) = word.split_at_checked(10)?;
    let [_, _, _, _, b'-', _, _, b'-', _, _] = day else { return None };
    let date =
        NaiveDate::from_ymd_opt(i32::try_from(decimal(&day[..4])?).ok()?, decimal(&day[5..7])?, decimal(&day[8..])?)?;
    let [b'T', rest @ ..] = rest else { return rest.is_empty().then_some(Scalar::Date(date)) };
    let (time, zone) = rest.split_at_checked(8)?;
    let offset = match zone {
        [] => None,
        [b'Z'] => Some(FixedOffset::east_opt(0)?),
        [sign @ (b'+' | b'-'), hours @ ..] => {
            let [h1, h2, b':', m1, m2] = *hours else { return None };
            let (hours, minutes) = (decimal(&[h1, h2])?, decimal(&[m1, m2])?);
            if hours > 23 || minutes > 59 {
                return None;
            }
            let seconds = i32::try_from(hours * 3600 + minutes * 60).ok()?;
            Some(FixedOffset::east_opt(if *sign == b'+' { seconds } else { -seconds })?)
        }
        _ => return None,
    };
    Some(Scalar::Moment(Moment { wall: date.and_time(clock(time)?), offset }))
}

/// `18:40:00`; a leap second is not in the plain form.
fn clock(word: &[u8]) -> Option<NaiveTime> {
    let [h1, h2, b':', m1, m2, b':', s1, s2] = *word else { return None };
    NaiveTime::from_hms_opt(decimal(&[h1, h2])?, decimal(&[m1, m2])?, decimal(&[s1, s2])?)
}

/// A number of digits alone.
fn decimal(digits: &[u8]) -> Option<u32> {
    let add = |sum: u32, byte: &u8| byte.is_ascii_digit().then(|| sum * 10 + u32::from(byte - b'0'));
    digits.iter().try_fold(0, add)
}

#[cfg(test)]
mod tests;
