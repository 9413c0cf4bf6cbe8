//! Parses a time of day as people type it: `18:40`, `1840`, `6:40pm`, `6pm`. Used by [`super::Clock`].

use chrono::{FixedOffset, NaiveTime, Timelike};

/// Parses a time of day, `18:40`, `1840`, `6:40pm`, `6pm`, and the UTC offset after it.
pub(super) fn time(word: &str) -> Option<(NaiveTime, Option<FixedOffset>)> {
    let (clock, offset) = match word.find(['+', '-', 'z']) {
        Some(at) => (&word[..at], Some(offset(&word[at..])?)),
        None => (word, None),
    };
    let (clock, afternoon) = match (clock.strip_suffix("am"), clock.strip_suffix("pm")) {
        (Some(clock), _) => (clock, Some(false)),
        (_, Some(clock)) => (clock, Some(true)),
        _ => (clock, None),
    };
    let on_the_hour = afternoon.filter(|_| clock.len() <= 2).map(|_| format!("{clock}:00"));
    let clock = on_the_hour.as_deref().unwrap_or(clock);
    let time = if clock.len() == 4 && !clock.contains(':') {
        time_of([clock.get(..2)?, clock.get(2..)?, "00"])?
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

fn twelve_hours(time: NaiveTime, is_afternoon: bool) -> Option<NaiveTime> {
    let hour = time.hour();
    (1..=12).contains(&hour).then(|| time.with_hour(hour % 12 + if is_afternoon { 12 } else { 0 }))?
}

fn offset(text: &str) -> Option<FixedOffset> {
    if text == "z" { FixedOffset::east_opt(0) } else { text.parse().ok() }
}
