//! Dates and times as a spreadsheet writes them, in a form that the map names: `M/D/YYYY`, `h:mm a`.
//!
//! | in the form | stands for |
//! |---|---|
//! | `YYYY`, `YY` | the year, in four digits or two (26 is 2026) |
//! | `MM`, `M` | the month as a number; `MMM` its English name, short or whole |
//! | `DD`, `D` | the day of the month |
//! | `HH`, `H` | the hour from 0 to 23 |
//! | `hh`, `h`, with `a` | the hour from 1 to 12, and am or pm |
//! | `mm`, `ss` | minutes, seconds |
//!
//! Without a form, a date is written 2026-11-23 and a time 18:40 or 6:40 pm; nothing that depends on the day of the import, as
//! "yesterday" does, is taken from a file.

use chrono::{NaiveDate, NaiveTime};

use crate::day::is_date_of_care;
use crate::text::visible;

/// What stands in a form, and what the parser calls it; longer ones first.
const PARTS: [(&str, &str); 13] = [
    ("YYYY", "%Y"),
    ("YY", "%y"),
    ("MMM", "%B"),
    ("MM", "%m"),
    ("M", "%m"),
    ("DD", "%d"),
    ("D", "%d"),
    ("HH", "%H"),
    ("H", "%H"),
    ("hh", "%I"),
    ("h", "%I"),
    ("mm", "%M"),
    ("ss", "%S"),
];

/// The form of a date or of a time.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Form {
    /// As it stands in the map.
    shown: String,
    /// As the parser reads it.
    parsed: String,
}

/// The forms of a file.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Forms {
    /// Of its dates.
    pub date: Option<Form>,
    /// Of its times.
    pub time: Option<Form>,
}

impl Form {
    /// The form of a date.
    ///
    /// # Errors
    /// It does not give year, month and day.
    pub fn of_date(text: &str) -> Result<Form, String> {
        let form = Form::read(text);
        let example = NaiveDate::from_ymd_opt(2026, 11, 23).unwrap_or_default();
        match form.date(&example.format(&form.parsed).to_string()) {
            Some(date) if date == example => Ok(form),
            _ => Err("a date's form gives year, month and day, as M/D/YYYY, DD.MM.YY or D MMM YYYY".to_owned()),
        }
    }

    /// The form of a time of day.
    ///
    /// # Errors
    /// It does not give the hour without doubt, and the minute.
    pub fn of_time(text: &str) -> Result<Form, String> {
        let form = Form::read(text);
        let example = NaiveTime::from_hms_opt(18, 40, 0).unwrap_or_default();
        match form.time(&example.format(&form.parsed).to_string()) {
            Some(time) if time == example => Ok(form),
            _ => Err("a time's form gives hour and minute, as HH:mm, or h:mm a with am and pm".to_owned()),
        }
    }

    fn read(text: &str) -> Form {
        let mut parsed = String::new();
        let mut rest = text;
        while let Some(first) = rest.chars().next() {
            let part = PARTS.iter().find(|(part, _)| rest.starts_with(part));
            let (taken, meant) = match part {
                Some((part, meant)) => (part.len(), (*meant).to_owned()),
                None if first == 'a' => (1, "%p".to_owned()),
                None if first == '%' => (1, "%%".to_owned()),
                None => (first.len_utf8(), first.to_string()),
            };
            parsed.push_str(&meant);
            rest = &rest[taken..];
        }
        Form { shown: text.to_owned(), parsed }
    }

    fn date(&self, text: &str) -> Option<NaiveDate> {
        NaiveDate::parse_from_str(text, &self.parsed).ok().filter(|day| is_date_of_care(*day))
    }

    fn time(&self, text: &str) -> Option<NaiveTime> {
        NaiveTime::parse_from_str(text, &self.parsed).ok()
    }
}

impl Forms {
    /// A day.
    ///
    /// ```
    /// # use exitsite::entry::import::{Form, Forms};
    /// let own = Forms::default();
    /// assert_eq!(own.day("2026-11-03").unwrap().to_string(), "2026-11-03");
    /// assert!(own.day("11/3/2026").unwrap_err().contains("write 2026-11-23"));
    /// assert!(own.day("yesterday").is_err());
    /// let american = Forms { date: Form::of_date("M/D/YYYY").ok(), time: Form::of_time("h:mm a").ok() };
    /// assert_eq!(american.day("11/3/2026").unwrap().to_string(), "2026-11-03");
    /// assert_eq!(american.when("11/3/2026 6:40 PM").unwrap(), "2026-11-03 18:40:00");
    /// assert!(american.day("2026-11-03").unwrap_err().contains("M/D/YYYY"));
    /// assert!(american.day("13/3/2026").is_err());
    /// assert!(american.day("11/3/26").is_err());
    /// let written_out = Forms { date: Form::of_date("D MMM YY").ok(), time: None };
    /// assert_eq!(written_out.day("3 Nov 26").unwrap(), written_out.day("3 november 26").unwrap());
    /// assert!(Form::of_date("MM/DD").is_err() && Form::of_time("h:mm").is_err());
    /// ```
    ///
    /// # Errors
    /// One sentence that says how to write it.
    pub fn day(&self, text: &str) -> Result<NaiveDate, String> {
        let shown = visible(text);
        match &self.date {
            Some(form) => form.date(text).ok_or_else(|| format!("\"{shown}\" is no date of the form {}", form.shown)),
            None => own_day(text).ok_or_else(|| {
                format!("\"{shown}\" is no date; write 2026-11-23, or name the form of the dates in a map: date_form")
            }),
        }
    }

    /// A time of day, as it is typed.
    ///
    /// # Errors
    /// One sentence that says how to write it.
    pub fn time(&self, text: &str) -> Result<String, String> {
        let shown = visible(text);
        match &self.time {
            Some(form) => match form.time(text) {
                Some(time) => Ok(time.to_string()),
                None => Err(format!("\"{shown}\" is no time of the form {}", form.shown)),
            },
            None if text.starts_with(|c: char| c.is_ascii_digit()) => Ok(text.to_owned()),
            None => Err(format!("\"{shown}\" is no time; write 18:40, or leave it empty where only the day is known")),
        }
    }

    /// A day with or without a time, as it is typed.
    ///
    /// # Errors
    /// One sentence that says how to write it.
    pub fn when(&self, text: &str) -> Result<String, String> {
        let shown = visible(text);
        if let Some(date) = &self.date {
            if let Some(day) = date.date(text) {
                return Ok(day.to_string());
            }
            let time = self.time.clone().unwrap_or_else(|| Form::read("HH:mm"));
            let both = format!("{} {}", date.parsed, time.parsed);
            let read = chrono::NaiveDateTime::parse_from_str(text, &both).ok();
            let read = read.filter(|moment| is_date_of_care(moment.date()));
            return read
                .map(|moment| moment.to_string())
                .ok_or_else(|| format!("\"{shown}\" is no time of the form {} {}", date.shown, time.shown));
        }
        let day = text.get(..10).and_then(own_day);
        let behind = text.get(10..).unwrap_or_default();
        let is_time =
            behind.strip_prefix(['T', ' ']).is_some_and(|time| time.starts_with(|c: char| c.is_ascii_digit()));
        match day {
            Some(_) if behind.is_empty() || is_time => Ok(text.to_owned()),
            _ => Err(format!(
                "\"{shown}\" is no time; write 2026-11-23T18:40, or 2026-11-23 where only the day is known"
            )),
        }
    }
}

fn own_day(text: &str) -> Option<NaiveDate> {
    (text.len() == 10).then(|| NaiveDate::parse_from_str(text, "%Y-%m-%d").ok())?
}
