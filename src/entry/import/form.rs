//! Dates and times in a spreadsheet's format, which the map describes in words: `month/day/year`, `hour:minute am/pm`.
//!
//! | in the form | stands for |
//! |---|---|
//! | `year` | four digits, or two: 26 is 2026 |
//! | `month` | its number, or its English name, abbreviated or full |
//! | `day` | the day of the month |
//! | `hour` | 0 to 23; with `am/pm` 1 to 12 |
//! | `minute`, `second` | two digits |
//! | `am/pm` | am or pm, in any case, with or without a space before it |
//!
//! Text between the words is literal. Adjacent numbers (`yearmonthday`) have all their digits. Without a form, a date
//! is 2026-11-23 and a time 18:40 or 6:40 pm. Words that depend on the day of the import, such as "yesterday", are not
//! accepted.

use chrono::{NaiveDate, NaiveTime};

use super::meant;
use crate::day::is_date_of_care;
use crate::entry::us_date::iso_day;
use crate::text::visible;

/// A part of a form.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum FormPart {
    Year,
    Month,
    Day,
    Hour,
    Minute,
    Second,
    AmPm,
    Space,
    Mark(char),
}

/// The words of a form.
const WORDS: [(&str, FormPart); 7] = [
    ("year", FormPart::Year),
    ("month", FormPart::Month),
    ("day", FormPart::Day),
    ("hour", FormPart::Hour),
    ("minute", FormPart::Minute),
    ("second", FormPart::Second),
    ("am/pm", FormPart::AmPm),
];

/// The English names of the months.
const MONTHS: [&str; 12] = [
    "january",
    "february",
    "march",
    "april",
    "may",
    "june",
    "july",
    "august",
    "september",
    "october",
    "november",
    "december",
];

/// The form of a date or of a time.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TimeForm {
    /// The text in the map.
    shown: String,
    parts: Vec<FormPart>,
}

/// The forms of a file.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Forms {
    /// The form of its dates.
    pub date: Option<TimeForm>,
    /// The form of its times.
    pub time: Option<TimeForm>,
}

/// The numbers of a date or time being parsed.
#[derive(Debug, Clone, Copy, Default)]
struct ReadNumbers {
    year: i32,
    month: u32,
    day: u32,
    hour: u32,
    minute: u32,
    second: u32,
    is_afternoon: Option<bool>,
}

impl TimeForm {
    /// The form of a date.
    ///
    /// # Errors
    /// It lacks year, month or day; the message shows forms with an example of each.
    pub fn of_date(text: &str) -> Result<TimeForm, String> {
        let is_one = |form: &TimeForm| form.has_once(&[FormPart::Year, FormPart::Month, FormPart::Day], &[]);
        TimeForm::read(text).filter(is_one).ok_or_else(|| {
            let near = meant::date(text).filter(|near| TimeForm::read(near).is_some_and(|form| is_one(&form)));
            let examples = "month/day/year (11/23/2026), day.month.year (23.11.2026), day month year (23 Nov 2026), year-month-day (2026-11-23)";
            format!("{}write year, month and day in words: {examples}", did_you_mean(near))
        })
    }

    /// The form of a time of day.
    ///
    /// # Errors
    /// It lacks hour or minute; the message shows forms with an example of each.
    pub fn of_time(text: &str) -> Result<TimeForm, String> {
        let is_one =
            |form: &TimeForm| form.has_once(&[FormPart::Hour, FormPart::Minute], &[FormPart::Second, FormPart::AmPm]);
        TimeForm::read(text).filter(is_one).ok_or_else(|| {
            let near = meant::time(text).filter(|near| TimeForm::read(near).is_some_and(|form| is_one(&form)));
            let examples = "hour:minute (18:40), hour:minute am/pm (6:40 pm), hourminute (1840)";
            format!("{}write hour and minute in words: {examples}", did_you_mean(near))
        })
    }

    /// Parses a form into its parts; `None` if it has a letter or digit outside the words.
    fn read(text: &str) -> Option<TimeForm> {
        let lower = text.trim().to_lowercase();
        let (mut parts, mut rest) = (Vec::new(), lower.as_str());
        while let Some(first) = rest.chars().next() {
            let word = WORDS.iter().find(|(word, _)| rest.starts_with(word));
            let (length, part) = match word {
                Some((word, part)) => (word.len(), *part),
                None if first.is_whitespace() => (rest.len() - rest.trim_start().len(), FormPart::Space),
                None if first.is_alphanumeric() || first == '%' => return None,
                None => (first.len_utf8(), FormPart::Mark(first)),
            };
            parts.push(part);
            rest = &rest[length..];
        }
        Some(TimeForm { shown: text.trim().to_owned(), parts })
    }

    /// Returns true if it has each of `needed` once, each of `possible` at most once, and no other word.
    fn has_once(&self, needed: &[FormPart], possible: &[FormPart]) -> bool {
        let count = |wanted: FormPart| self.parts.iter().filter(|part| **part == wanted).count();
        let is_known = |part: FormPart| needed.contains(&part) || possible.contains(&part);
        needed.iter().all(|part| count(*part) == 1)
            && possible.iter().all(|part| count(*part) <= 1)
            && WORDS.iter().all(|(_, part)| is_known(*part) || count(*part) == 0)
    }

    fn date(&self, text: &str) -> Option<NaiveDate> {
        read(&self.parts, text)?.date()
    }

    fn time(&self, text: &str) -> Option<NaiveTime> {
        read(&self.parts, text)?.time()
    }

    /// The form of a date followed by a time; the time is `hour:minute` if no form is given.
    fn and(&self, time: Option<&TimeForm>) -> TimeForm {
        let plain = TimeForm {
            shown: "hour:minute".to_owned(),
            parts: vec![FormPart::Hour, FormPart::Mark(':'), FormPart::Minute],
        };
        let time = time.unwrap_or(&plain);
        let parts = [self.parts.as_slice(), &[FormPart::Space], &time.parts].concat();
        TimeForm { shown: format!("{} {}", self.shown, time.shown), parts }
    }

    /// An example in this form: 2026-11-23 18:40.
    pub fn example(&self) -> String {
        let has_am_pm = self.parts.contains(&FormPart::AmPm);
        let write = |part: &FormPart| match part {
            FormPart::Year => "2026".to_owned(),
            FormPart::Month => "11".to_owned(),
            FormPart::Day => "23".to_owned(),
            FormPart::Hour if has_am_pm && self.is_tight(FormPart::Hour) => "06".to_owned(),
            FormPart::Hour if has_am_pm => "6".to_owned(),
            FormPart::Hour => "18".to_owned(),
            FormPart::Minute => "40".to_owned(),
            FormPart::Second => "00".to_owned(),
            FormPart::AmPm => "pm".to_owned(),
            FormPart::Space => " ".to_owned(),
            FormPart::Mark(mark) => mark.to_string(),
        };
        self.parts.iter().map(write).collect()
    }

    fn is_tight(&self, part: FormPart) -> bool {
        self.parts.iter().position(|known| *known == part).is_some_and(|at| is_tight(&self.parts, at))
    }
}

fn did_you_mean(form: Option<String>) -> String {
    form.map(|form| format!("did you mean \"{form}\"? ")).unwrap_or_default()
}

/// The form and an example of it.
impl std::fmt::Display for TimeForm {
    fn fmt(&self, out: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(out, "{}, such as {}", self.shown, self.example())
    }
}

/// Returns true if a part is a number.
fn is_number(part: &FormPart) -> bool {
    !matches!(part, FormPart::AmPm | FormPart::Space | FormPart::Mark(_))
}

/// Returns true if a number is adjacent to another one, so that it has all its digits.
fn is_tight(parts: &[FormPart], at: usize) -> bool {
    let is_number_at = |at: usize| parts.get(at).is_some_and(is_number);
    is_number_at(at + 1) || at.checked_sub(1).is_some_and(is_number_at)
}

/// Parses a text by the parts of a form; `None` if it does not match.
fn read(parts: &[FormPart], text: &str) -> Option<ReadNumbers> {
    let (mut read, mut rest) = (ReadNumbers::default(), text);
    for (at, part) in parts.iter().enumerate() {
        let is_tight = is_tight(parts, at);
        let one_or_two = if is_tight { 2..=2 } else { 1..=2 };
        match part {
            FormPart::Year => read.year = year(digits(&mut rest, if is_tight { 4..=4 } else { 2..=4 })?)?,
            FormPart::Month if !is_tight && rest.starts_with(char::is_alphabetic) => {
                (read.month, rest) = month(rest)?;
            }
            FormPart::Month => read.month = digits(&mut rest, one_or_two)?.parse().ok()?,
            FormPart::Day => read.day = digits(&mut rest, one_or_two)?.parse().ok()?,
            FormPart::Hour => read.hour = digits(&mut rest, one_or_two)?.parse().ok()?,
            FormPart::Minute => read.minute = digits(&mut rest, 2..=2)?.parse().ok()?,
            FormPart::Second => read.second = digits(&mut rest, 2..=2)?.parse().ok()?,
            FormPart::AmPm => {
                let (is_afternoon, behind) = am_pm(rest.trim_start())?;
                (read.is_afternoon, rest) = (Some(is_afternoon), behind);
            }
            FormPart::Space => {
                let behind = rest.trim_start();
                // "6:40pm" is "6:40 pm".
                let may_be_missing = parts.get(at + 1) == Some(&FormPart::AmPm);
                if behind.len() == rest.len() && !may_be_missing {
                    return None;
                }
                rest = behind;
            }
            FormPart::Mark(mark) => rest = rest.strip_prefix(*mark)?,
        }
    }
    rest.trim().is_empty().then_some(read)
}

/// Takes leading digits off a text: as many as there are, within these limits.
fn digits<'t>(text: &mut &'t str, length: std::ops::RangeInclusive<usize>) -> Option<&'t str> {
    let found = text.bytes().take(*length.end()).take_while(u8::is_ascii_digit).count();
    let (digits, behind) = text.split_at(found);
    *text = behind;
    length.contains(&found).then_some(digits)
}

/// The year of four digits, or of two.
fn year(digits: &str) -> Option<i32> {
    let year = digits.parse::<i32>().ok()?;
    match digits.len() {
        4 => Some(year),
        2 => Some(2000 + year),
        _ => None,
    }
}

/// The month whose name begins a text, and the rest of the text.
fn month(text: &str) -> Option<(u32, &str)> {
    let length = text.chars().take_while(|c| c.is_ascii_alphabetic()).count();
    let (name, behind) = text.split_at(length);
    let name = name.to_ascii_lowercase();
    let at = MONTHS.iter().position(|month| name.len() >= 3 && month.starts_with(name.as_str()))?;
    Some((at as u32 + 1, behind.strip_prefix('.').unwrap_or(behind)))
}

/// Returns whether a text begins with pm (true) or am (false), and the rest of the text.
fn am_pm(text: &str) -> Option<(bool, &str)> {
    let forms = [("a.m.", false), ("p.m.", true), ("am", false), ("pm", true)];
    let lower = text.get(..4.min(text.len())).or_else(|| text.get(..2))?.to_ascii_lowercase();
    let (form, is_afternoon) = forms.iter().find(|(form, _)| lower.starts_with(form))?;
    Some((*is_afternoon, text.get(form.len()..)?))
}

impl ReadNumbers {
    fn date(self) -> Option<NaiveDate> {
        NaiveDate::from_ymd_opt(self.year, self.month, self.day).filter(|day| is_date_of_care(*day))
    }

    fn time(self) -> Option<NaiveTime> {
        let hour = match self.is_afternoon {
            None => self.hour,
            Some(is_afternoon) if (1..=12).contains(&self.hour) => self.hour % 12 + if is_afternoon { 12 } else { 0 },
            Some(_) => return None,
        };
        NaiveTime::from_hms_opt(hour, self.minute, self.second)
    }
}

impl Forms {
    /// Parses a day.
    ///
    /// ```
    /// # use exitsite::entry::import::{Forms, TimeForm};
    /// let own = Forms::default();
    /// assert_eq!(own.day("2026-11-03").unwrap().to_string(), "2026-11-03");
    /// assert!(own.day("11/3/2026").unwrap_err().contains("Write 2026-11-23"));
    /// assert!(own.day("yesterday").is_err());
    /// let date = TimeForm::of_date("month/day/year").ok();
    /// let american = Forms { date, time: TimeForm::of_time("hour:minute am/pm").ok() };
    /// for day in ["11/3/2026", "11/03/26", "Nov/3/2026"] {
    ///     assert_eq!(american.day(day).unwrap().to_string(), "2026-11-03");
    /// }
    /// assert_eq!(american.when("11/3/2026 6:40 PM").unwrap(), "2026-11-03 18:40:00");
    /// assert_eq!(american.when("11/3/2026 12:05am").unwrap(), "2026-11-03 00:05:00");
    /// assert!(american.time("7:5 pm").unwrap_err().contains("hour:minute am/pm, such as 6:40 pm"));
    /// assert!(american.day("2026-11-03").unwrap_err().contains("month/day/year, such as 11/23/2026"));
    /// assert!(american.day("13/3/2026").is_err() && american.day("11/3/206").is_err());
    /// let together = Forms { date: TimeForm::of_date("yearmonthday").ok(), time: TimeForm::of_time("hourminute").ok() };
    /// assert_eq!(together.when("20261103 0640").unwrap(), "2026-11-03 06:40:00");
    /// let written_out = Forms { date: TimeForm::of_date("day month year").ok(), time: None };
    /// assert_eq!(written_out.day("3 Nov 26").unwrap(), written_out.day("3 november 2026").unwrap());
    /// // the message about an invalid form has the words, and the form that was probably meant
    /// assert!(TimeForm::of_date("mm/dd/yyyy").unwrap_err().starts_with("did you mean \"month/day/year\"?"));
    /// assert!(TimeForm::of_time("h:mm AM").unwrap_err().starts_with("did you mean \"hour:minute am/pm\"?"));
    /// assert!(TimeForm::of_date("month/day").unwrap_err().starts_with("write year, month and day in words: "));
    /// ```
    ///
    /// # Errors
    /// One sentence with the right form.
    pub fn day(&self, text: &str) -> Result<NaiveDate, String> {
        let shown = visible(text);
        match &self.date {
            Some(form) => form.date(text).ok_or_else(|| format!("\"{shown}\" is not a date in the form {form}")),
            None => iso_day(text).filter(|day| is_date_of_care(*day)).ok_or_else(|| {
                format!(
                    "\"{shown}\" is not a date. Write 2026-11-23, or give the form of the dates in a map: date_form = \"month/day/year\""
                )
            }),
        }
    }

    /// Parses a time of day as `Clock` reads it.
    ///
    /// # Errors
    /// One sentence with the right form.
    pub fn time(&self, text: &str) -> Result<String, String> {
        let shown = visible(text);
        match &self.time {
            Some(form) => match form.time(text) {
                Some(time) => Ok(time.to_string()),
                None => Err(format!("\"{shown}\" is not a time in the form {form}")),
            },
            None if text.starts_with(|c: char| c.is_ascii_digit()) => Ok(text.to_owned()),
            None => Err(format!("\"{shown}\" is not a time. Write 18:40, or leave it empty if the time is unknown")),
        }
    }

    /// Parses a day with an optional time, in the forms that `Clock` accepts.
    ///
    /// # Errors
    /// One sentence with the right form.
    pub fn when(&self, text: &str) -> Result<String, String> {
        let shown = visible(text);
        if let Some(date) = &self.date {
            if let Some(day) = date.date(text) {
                return Ok(day.to_string());
            }
            let both = date.and(self.time.as_ref());
            let moment = read(&both.parts, text).and_then(|read| Some(read.date()?.and_time(read.time()?)));
            return moment
                .map(|moment| moment.to_string())
                .ok_or_else(|| format!("\"{shown}\" is not a date and time in the form {both}"));
        }
        let day = text.get(..10).and_then(iso_day);
        let behind = text.get(10..).unwrap_or_default();
        let is_time =
            behind.strip_prefix(['T', ' ']).is_some_and(|time| time.starts_with(|c: char| c.is_ascii_digit()));
        match day {
            Some(_) if behind.is_empty() || is_time => Ok(text.to_owned()),
            _ => {
                Err(format!("\"{shown}\" is not a time. Write 2026-11-23T18:40, or 2026-11-23 if the time is unknown"))
            }
        }
    }
}
