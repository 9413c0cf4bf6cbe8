//! Dates as people write them, US-style (`12/15/2026`, `Nov 28`) or with the year first. [`super::Clock`] reads them.

use chrono::{Datelike, NaiveDate};

/// The clarity of a US-style date.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum UsDate {
    /// Month and day cannot be confused: `12/15/2026`, `Nov 28`.
    Clear,
    /// The day could be the month: `3/4/2026`.
    Ambiguous,
}

impl UsDate {
    /// The clarity of a typed time; `None` if its date is not US-style.
    ///
    /// ```
    /// # use exitsite::entry::UsDate;
    /// assert_eq!(UsDate::of("12/15/2026 18:40"), Some(UsDate::Clear));
    /// assert_eq!(UsDate::of("Nov 3"), Some(UsDate::Clear));
    /// assert_eq!(UsDate::of("5/5/2026"), Some(UsDate::Clear));
    /// assert_eq!(UsDate::of("3/4/2026"), Some(UsDate::Ambiguous));
    /// assert_eq!(UsDate::of("2026-12-15"), None);
    /// ```
    pub fn of(text: &str) -> Option<UsDate> {
        let first = text.split_whitespace().next()?;
        if first.parse::<chrono::Month>().is_ok() {
            return Some(UsDate::Clear);
        }
        let mut numbers = first.split('/').map(|number| number.parse::<u32>().ok());
        let (month, day) = (numbers.next()??, numbers.next()??);
        Some(if day <= 12 && day != month { UsDate::Ambiguous } else { UsDate::Clear })
    }
}

/// Replaces a leading month name by its number: `nov 28 18:30` becomes `11/28 18:30`. Four digits after the day are a
/// year if they can be one.
pub(super) fn by_numbers(text: &str) -> String {
    let words: Vec<&str> = text.split_whitespace().collect();
    let [month, day, rest @ ..] = words.as_slice() else { return text.to_owned() };
    let day = day.trim_end_matches(',');
    let is_day = matches!(day.len(), 1 | 2) && day.bytes().all(|b| b.is_ascii_digit());
    let Some(month) = month.parse::<chrono::Month>().ok().filter(|_| is_day) else { return text.to_owned() };
    let is_year = |word: &&&str| word.len() == 4 && word.parse().is_ok_and(|year: u32| (1900..2100).contains(&year));
    let year = rest.first().filter(is_year);
    let (year, rest) = match year {
        Some(year) => (format!("/{year}"), &rest[1..]),
        None => (String::new(), rest),
    };
    format!("{}/{day}{year} {}", month.number_from_month(), rest.join(" "))
}

/// Parses a date written 2026-11-23, with all its digits.
pub(super) fn iso_day(text: &str) -> Option<NaiveDate> {
    let is_of_the_form =
        |(at, byte): (usize, u8)| if matches!(at, 4 | 7) { byte == b'-' } else { byte.is_ascii_digit() };
    let is_one = text.len() == 10 && text.bytes().enumerate().all(is_of_the_form);
    is_one.then(|| text.parse().ok()).flatten()
}

/// Parses a US-style date in numbers: `11/23/2026`, `11/23/26`, or `11/23`, whose year is `None`.
pub(super) fn us_day(word: &str) -> Option<(Option<i32>, u32, u32)> {
    let parts: Vec<&str> = word.split('/').collect();
    let is_number = |part: &&str| (1..=4).contains(&part.len()) && part.bytes().all(|b| b.is_ascii_digit());
    let numbers: Vec<u32> = parts.iter().filter(|part| is_number(part)).filter_map(|part| part.parse().ok()).collect();
    let (year, month, day) = match (numbers.as_slice(), parts.as_slice()) {
        ([month, day], [_, _]) => (None, *month, *day),
        ([month, day, year], [.., written]) if written.len() == 2 || written.len() == 4 => {
            (Some(i32::try_from(*year).ok()? + if written.len() == 2 { 2000 } else { 0 }), *month, *day)
        }
        _ => return None,
    };
    NaiveDate::from_ymd_opt(year.unwrap_or(2000), month, day).map(|_| (year, month, day))
}

/// The last such day up to today, or the next one from today on.
pub(super) fn near_year(today: NaiveDate, month: u32, day: u32, is_past: bool) -> Result<NaiveDate, String> {
    let of_year = |years: i32| NaiveDate::from_ymd_opt(today.year() + years, month, day);
    let years = if is_past { [of_year(0), of_year(-1)] } else { [of_year(0), of_year(1)] };
    let mut near = years.into_iter().flatten().filter(|date| if is_past { *date <= today } else { *date >= today });
    near.next().ok_or_else(|| format!("{month}/{day} needs a year, such as {month}/{day}/{}.", today.year()))
}
