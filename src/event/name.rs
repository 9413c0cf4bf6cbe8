//! The file name as the index: `DATE[Thhmm]-KIND[-N].toml`.
//!
//! Date and time are the wall-clock time of the record, never converted; seconds are truncated.

use std::fmt::Write;

use chrono::{Datelike, NaiveDate, NaiveTime, Timelike};

use super::Kind;
use crate::word::Word;

/// The event's day, time and kind as its file name gives them.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct EventName {
    /// The wall-clock date.
    pub date: NaiveDate,
    /// The wall-clock minute; `None` if only the day is known.
    pub time: Option<NaiveTime>,
    /// The kind.
    pub kind: Kind,
    /// 1, or the number at the end of the name.
    pub n: u16,
}

impl EventName {
    /// Parses a file name; `None` if it does not match the pattern.
    ///
    /// ```
    /// # use exitsite::event::EventName;
    /// for name in ["2026-11-23T1840-shower.toml", "2026-11-24-inspection.toml", "2026-11-24T0910-assessment-2.toml"] {
    ///     assert_eq!(EventName::read(name).unwrap().to_string(), name);
    /// }
    /// for name in [
    ///     "2026-11-23t1840-shower.toml", "2026-11-31-shower.toml", "2026-11-23T2460-shower.toml", "2026-11-23-bath.toml",
    ///     "2026-11-23-shower-1.toml", "2026-11-23-shower-02.toml", "2026-11-23-shower-1000.toml", "2026-11-23-shower.TOML",
    /// ] {
    ///     assert_eq!(EventName::read(name), None, "{name}");
    /// }
    /// ```
    pub fn read(name: &str) -> Option<Self> {
        let stem = name.strip_suffix(".toml").filter(|stem| stem.is_ascii())?;
        let (date, rest) = (stem.get(..10)?, stem.get(10..)?);
        let date = fixed_digits(date, "dddd-dd-dd").then(|| {
            NaiveDate::from_ymd_opt(date[..4].parse().ok()?, date[5..7].parse().ok()?, date[8..].parse().ok()?)
        })??;
        let (time, rest) = match rest.strip_prefix('T') {
            None => (None, rest),
            Some(rest) => (Some(hour_and_minute(rest.get(..4)?)?), rest.get(4..)?),
        };
        let rest = rest.strip_prefix('-')?;
        let (kind, n) = match rest.split_once('-') {
            None => (rest, 1),
            Some((kind, n)) if !n.starts_with('0') && n.bytes().all(|b| b.is_ascii_digit()) => (kind, n.parse().ok()?),
            Some(_) => return None,
        };
        let is_plain = !rest.contains('-');
        (is_plain || (2..=999).contains(&n)).then_some(EventName { date, time, kind: Kind::from_word(kind)?, n })
    }

    /// The path of the event's file, in the folder of its year in the folder `owner`.
    pub(crate) fn path(&self, owner: &str) -> String {
        let mut path = String::with_capacity(owner.len() + 48);
        // Writing to a string cannot fail.
        _ = write!(path, "{owner}/{:04}/{self}", self.date.year());
        path
    }

    /// The folder of the event's year.
    pub fn year(&self) -> String {
        format!("{:04}", self.date.year())
    }
}

impl std::fmt::Display for EventName {
    fn fmt(&self, out: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(out, "{}", self.date)?;
        if let Some(time) = self.time {
            write!(out, "T{:02}{:02}", time.hour(), time.minute())?;
        }
        write!(out, "-{}", self.kind.word())?;
        if self.n > 1 {
            write!(out, "-{}", self.n)?;
        }
        out.write_str(".toml")
    }
}

fn hour_and_minute(text: &str) -> Option<NaiveTime> {
    fixed_digits(text, "dddd").then(|| NaiveTime::from_hms_opt(text[..2].parse().ok()?, text[2..].parse().ok()?, 0))?
}

/// Returns true for the path of an event file in the records: `patients/CODE/YEAR/NAME.toml`, or the same below `staff`.
pub(crate) fn is_event_path(path: &str) -> bool {
    let [top, _, year, file] = path.split('/').collect::<Vec<_>>()[..] else { return false };
    ["patients", "staff"].contains(&top) && is_year(year) && file.ends_with(".toml") && !file.starts_with(['.', '#'])
}

/// Returns true if `name` is a year folder.
pub(crate) fn is_year(name: &str) -> bool {
    fixed_digits(name, "dddd")
}

/// Returns true if `text` matches `form`, in which `d` is any digit and every other character is literal.
fn fixed_digits(text: &str, form: &str) -> bool {
    text.len() == form.len()
        && text.bytes().zip(form.bytes()).all(|(b, f)| if f == b'd' { b.is_ascii_digit() } else { b == f })
}
