//! Parses a time of day as people type it: `18:40`, `1840`, `6:40pm`, `640p`, `6pm`. Used by [`super::Clock`].

use chrono::{FixedOffset, NaiveTime, Timelike};

use crate::text::visible;

/// Parses a time of day, `18:40`, `1840`, `640`, `6:40pm`, `640p`, `6pm`, `noon`, and the UTC offset after it.
pub(super) fn time(word: &str) -> Option<(NaiveTime, Option<FixedOffset>)> {
    if word == "noon" {
        return NaiveTime::from_hms_opt(12, 0, 0).map(|noon| (noon, None));
    }
    let (clock, offset) = match word.find(['+', '-', 'z']) {
        Some(at) => (&word[..at], Some(offset(&word[at..])?)),
        None => (word, None),
    };
    let suffix = |long, short| clock.strip_suffix(long).or_else(|| clock.strip_suffix(short));
    let (clock, afternoon) = match (suffix("am", "a"), suffix("pm", "p")) {
        (Some(clock), _) => (clock, Some(false)),
        (_, Some(clock)) => (clock, Some(true)),
        _ => (clock, None),
    };
    let on_the_hour = afternoon.filter(|_| clock.len() <= 2).map(|_| format!("{clock}:00"));
    let clock = on_the_hour.as_deref().unwrap_or(clock);
    let time = if matches!(clock.len(), 3 | 4) && !clock.contains(':') {
        let minutes = clock.len() - 2;
        time_of([clock.get(..minutes)?, clock.get(minutes..)?, "00"])?
    } else {
        let mut parts = clock.split(':');
        let (hour, minute, second) = (parts.next()?, parts.next()?, parts.next().unwrap_or("00"));
        parts.next().is_none().then(|| time_of([hour, minute, second])).flatten()?
    };
    let time = match afternoon {
        None => time,
        Some(is_afternoon) => twelve_hours(time, is_afternoon)?,
    };
    Some((time, offset))
}

/// Parses an hour of one or two digits, and minutes and seconds of two: `7:5` could be five past or fifty past.
fn time_of([hour, minute, second]: [&str; 3]) -> Option<NaiveTime> {
    let is_whole =
        |text: &str, lengths: &[usize]| lengths.contains(&text.len()) && text.bytes().all(|b| b.is_ascii_digit());
    let is_one = is_whole(hour, &[1, 2]) && is_whole(minute, &[2]) && is_whole(second, &[2]);
    is_one.then(|| NaiveTime::from_hms_opt(hour.parse().ok()?, minute.parse().ok()?, second.parse().ok()?)).flatten()
}

/// Asks which half of the day an hour alone means: `8` is 08:00 or 20:00; a day may stand before it.
pub(super) fn bare_hour(text: &str, is_day: impl Fn(&str) -> bool) -> Option<String> {
    let typed = text.trim();
    let (day, hour) = typed.rsplit_once(char::is_whitespace).unwrap_or(("", typed));
    let times = hours(hour).filter(|_| day.is_empty() || is_day(day))?;
    // Two digits from 10 to 12 are clear with am or pm only.
    let half = |hour: u32| match hour {
        10 | 11 if times.len() > 1 => "am",
        12 if times.len() > 1 => "pm",
        _ => "",
    };
    let quoted = |hour: &u32| match day {
        "" => format!("{hour:02}:00{}", half(*hour)),
        day => format!("\"{} {hour:02}:00{}\"", visible(day.trim()), half(*hour)),
    };
    let either: Vec<String> = times.iter().map(quoted).collect();
    let why = if either.len() > 1 { "could be more than one time" } else { "is not a time" };
    Some(format!("\"{}\" {why}. Type {}.", visible(typed), either.join(" or ")))
}

/// The hours that a bare number could be: 8 is 8 or 20, 20 is 20; `None` if it is none.
pub(super) fn hours(word: &str) -> Option<Vec<u32>> {
    let hour: u32 = word.parse().ok().filter(|_| word.len() <= 2 && word.bytes().all(|b| b.is_ascii_digit()))?;
    match hour {
        1..=11 => Some(vec![hour, hour + 12]),
        12 => Some(vec![12, 0]),
        0 | 13..=23 => Some(vec![hour]),
        _ => None,
    }
}

fn twelve_hours(time: NaiveTime, is_afternoon: bool) -> Option<NaiveTime> {
    let hour = time.hour();
    (1..=12).contains(&hour).then(|| time.with_hour(hour % 12 + if is_afternoon { 12 } else { 0 }))?
}

fn offset(text: &str) -> Option<FixedOffset> {
    if text == "z" { FixedOffset::east_opt(0) } else { text.parse().ok() }
}
