//! A time with a part of the day, as people say it: `last night at 9`, `this morning 8`, `tonight`. Rewritten as the day
//! and the 24-hour time that [`super::Clock`] reads; a part that could mean two times is asked about.

use chrono::{NaiveTime, Timelike};

use super::time_of_day::{hours, time};
use crate::text::{cut, visible};

/// A part of the day.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum DayPart {
    Morning,
    Afternoon,
    Evening,
    /// The evening of the day, and the hours after midnight.
    Night,
}

impl DayPart {
    fn read(word: &str) -> Option<DayPart> {
        match word {
            "morning" => Some(DayPart::Morning),
            "afternoon" => Some(DayPart::Afternoon),
            "evening" => Some(DayPart::Evening),
            "night" => Some(DayPart::Night),
            _ => None,
        }
    }

    /// Returns true for an hour of this part before midnight.
    fn has(self, hour: u32) -> bool {
        match self {
            DayPart::Morning => (1..12).contains(&hour),
            DayPart::Afternoon => (12..19).contains(&hour),
            DayPart::Evening => (16..24).contains(&hour),
            DayPart::Night => (18..24).contains(&hour),
        }
    }
}

/// Returns true if a text names a part of a day, so that its time was worked out and is read back in full.
///
/// ```
/// # use exitsite::entry::is_by_day_part;
/// assert!(is_by_day_part("last night at 9") && is_by_day_part("Tonight 21:00") && is_by_day_part("mon morning 8"));
/// assert!(!is_by_day_part("yesterday 21:00") && !is_by_day_part("2026-11-23"));
/// ```
pub fn is_by_day_part(text: &str) -> bool {
    text.to_lowercase().split_whitespace().any(|word| word == "tonight" || DayPart::read(word).is_some())
}

/// A time without `at`, and with a part of the day replaced by the day and the time: `yesterday 21:00`.
///
/// # Errors
/// The part of the day could mean two times, or has no time; one sentence that says what to type instead.
pub(super) fn in_full(text: &str, is_ahead: bool) -> Result<String, String> {
    let lower = text.trim().to_lowercase();
    let mut words: Vec<&str> = lower.split_whitespace().filter(|word| *word != "at").collect();
    if let [.., "12", "noon" | "midnight"] = words.as_slice() {
        words.remove(words.len() - 2);
    }
    let (day, part, rest) = match words.as_slice() {
        ["midnight"] => return Ok(if is_ahead { "tomorrow 00:00" } else { "00:00" }.to_owned()),
        [.., "midnight"] => {
            return Err(format!(
                "\"{}\" could be the start or the end of the day. Type the date that begins then, such as \"2026-11-24 00:00\".",
                cut(&visible(text.trim()), 60)
            ));
        }
        ["tonight", rest @ ..] => ("today", DayPart::Night, rest),
        ["last", "night", rest @ ..] => ("yesterday", DayPart::Night, rest),
        ["this", part, rest @ ..] if DayPart::read(part).is_some_and(|part| part != DayPart::Night) => {
            ("today", DayPart::read(part).unwrap_or(DayPart::Morning), rest)
        }
        [day, part, rest @ ..] if DayPart::read(part).is_some() && !matches!(*day, "last" | "this") => {
            (*day, DayPart::read(part).unwrap_or(DayPart::Morning), rest)
        }
        _ if words.len() < lower.split_whitespace().count() => return Ok(words.join(" ")),
        _ => return Ok(text.to_owned()),
    };
    let typed = cut(&visible(text.trim()), 60);
    if rest.is_empty() {
        let alone = if is_ahead { "" } else { ", or only the date if the time is unknown" };
        return Err(format!("\"{typed}\" has no time. Type it with one, such as \"{typed} at 9\"{alone}."));
    }
    let Some(times) = times(&rest.concat()) else { return Ok(text.to_owned()) };
    let fits =
        |time: &&NaiveTime| part.has(time.hour()) || day == "yesterday" && part == DayPart::Night && time.hour() < 6;
    let spelled = |time: &NaiveTime| match (day, part, time.hour()) {
        ("yesterday", DayPart::Night, 0..6) => format!("today {}", time.format("%H:%M")),
        ("today", DayPart::Night, 0..6) => format!("tomorrow {}", time.format("%H:%M")),
        _ => format!("{day} {}", time.format("%H:%M")),
    };
    match times.iter().filter(fits).collect::<Vec<_>>().as_slice() {
        // Five is late afternoon or early morning; the latter is typed in full.
        [time] if time.hour() != 5 || times.len() == 1 => Ok(spelled(time)),
        _ => {
            let other = |time: &NaiveTime| time.with_hour((time.hour() + 12) % 24);
            let both: Vec<NaiveTime> =
                times[..1].iter().flat_map(|time| [Some(*time), other(time)]).flatten().collect();
            let both: Vec<String> = both.iter().map(|time| format!("\"{}\"", spelled(time))).collect();
            Err(format!("\"{typed}\" could be more than one time. Type {}.", both.join(" or ")))
        }
    }
}

/// The times of day that a typed time could be: 9 and 9:30 in either half of the day; `None` if it is no time.
fn times(typed: &str) -> Option<Vec<NaiveTime>> {
    if let Some(hours) = hours(typed) {
        return Some(hours.into_iter().filter_map(|hour| NaiveTime::from_hms_opt(hour, 0, 0)).collect());
    }
    let (time, None) = time(typed)? else { return None };
    let is_exact = typed.ends_with(['a', 'p', 'm']) || typed.starts_with('0') || time.hour() > 12;
    let other = time.with_hour((time.hour() + 12) % 24).filter(|_| !is_exact);
    Some([Some(time), other].into_iter().flatten().collect())
}

#[cfg(test)]
mod tests {
    use super::in_full;

    #[test]
    fn a_part_of_a_day_is_the_day_and_the_time_in_full() {
        for (typed, full) in [
            ("last night at 9", "yesterday 21:00"),
            ("Last night 9:30", "yesterday 21:30"),
            ("last night 9 pm", "yesterday 21:00"),
            ("last night at 21:15", "yesterday 21:15"),
            ("last night at 12", "today 00:00"),
            ("last night 1:30", "today 01:30"),
            ("last night at 2", "today 02:00"),
            ("last night 5 am", "today 05:00"),
            ("tonight at 9", "today 21:00"),
            ("this morning 8", "today 08:00"),
            ("this morning at 8:15", "today 08:15"),
            ("this afternoon 3", "today 15:00"),
            ("this evening at 7", "today 19:00"),
            ("yesterday morning 8", "yesterday 08:00"),
            ("tomorrow morning at 8", "tomorrow 08:00"),
            ("mon night at 9", "mon 21:00"),
            ("yesterday at 9", "yesterday 9"),
            ("at 18:40", "18:40"),
            ("at noon", "noon"),
            ("yesterday 12 noon", "yesterday noon"),
            ("yesterday afternoon at noon", "yesterday 12:00"),
            ("Midnight", "00:00"),
            ("12 midnight", "00:00"),
            ("yesterday 18:40", "yesterday 18:40"),
            ("last night at x", "last night at x"),
            ("this night 9", "this night 9"),
        ] {
            assert_eq!(in_full(typed, false).as_deref(), Ok(full), "{typed}");
        }
    }

    #[test]
    fn midnight_ahead_is_the_next_and_with_a_day_it_could_be_either_end() {
        assert_eq!(in_full("at midnight", true).as_deref(), Ok("tomorrow 00:00"));
        for typed in ["yesterday midnight", "tonight at midnight", "2026-11-23 12 midnight"] {
            assert!(in_full(typed, false).unwrap_err().contains("start or the end"), "{typed}");
        }
    }

    #[test]
    fn a_part_that_could_be_two_times_is_asked_about() {
        for (typed, said) in [
            ("last night", "has no time"),
            ("tonight", "has no time"),
            ("this morning", "has no time"),
            ("last night at 5", "could be more than one"),
            ("last night 09:30", "could be more than one"),
            ("last night 14:00", "could be more than one"),
            ("last night 9 am", "could be more than one"),
            ("this morning 14:00", "could be more than one"),
            ("this morning 12", "could be more than one"),
            ("this afternoon 9", "could be more than one"),
            ("tonight at 1", "could be more than one"),
            ("mon night 01:30", "could be more than one"),
        ] {
            assert!(in_full(typed, false).unwrap_err().contains(said), "{typed}");
        }
    }
}
