//! The due days of a household as an RFC 5545 calendar: one all-day event each, without findings or names.
//! Left out on purpose: the patient's code, and anything else that a phone could show to a bystander.

use chrono::{DateTime, NaiveDate, Utc};

use super::language::Language;
use crate::report::sheet::MonthLog;
use crate::schedule::DayPlan;

/// The maximum number of octets in a line, excluding the line end.
const LINE: usize = 75;

/// The mark near the beginning of such a calendar, by which exitsite recognizes it.
pub(crate) const CALENDAR_MARK: &str = "PRODID:-//exitsite//";

/// Renders the calendar of the due days from today on; `stamp` is the time of creation.
pub(crate) fn calendar(log: &MonthLog, language: &Language, stamp: DateTime<Utc>) -> String {
    let mut lines = vec![
        "BEGIN:VCALENDAR".to_owned(),
        "VERSION:2.0".to_owned(),
        format!("{CALENDAR_MARK}{}//EN", env!("CARGO_PKG_VERSION")),
        "CALSCALE:GREGORIAN".to_owned(),
        "METHOD:PUBLISH".to_owned(),
        format!("X-WR-CALNAME:{}", escaped(language.say("calendar.name"))),
    ];
    for day in due_days(log) {
        lines.extend([
            "BEGIN:VEVENT".to_owned(),
            format!("UID:{}-{:016x}@exitsite.invalid", day.format("%Y%m%d"), of_the_household(&log.patient)),
            format!("DTSTAMP:{}", stamp.format("%Y%m%dT%H%M%SZ")),
            format!("DTSTART;VALUE=DATE:{}", day.format("%Y%m%d")),
            format!("DTEND;VALUE=DATE:{}", crate::day::after(day).format("%Y%m%d")),
            format!("SUMMARY:{}", escaped(language.say("calendar.event"))),
            "CLASS:PRIVATE".to_owned(),
            "TRANSP:TRANSPARENT".to_owned(),
            "END:VEVENT".to_owned(),
        ]);
    }
    lines.push("END:VCALENDAR".to_owned());
    lines.iter().map(|line| folded(line)).collect()
}

/// Returns the days on which a change is due at any exit site, each once.
pub(crate) fn due_days(log: &MonthLog) -> Vec<NaiveDate> {
    let days = log.exits.iter().flat_map(|exit| &exit.days);
    let due = days.filter(|day| day.plan == Some(DayPlan::ChangeDue) && day.day >= log.made_on);
    let mut due: Vec<NaiveDate> = due.map(|day| day.day).collect();
    due.sort();
    due.dedup();
    due
}

/// Returns a stable hash that distinguishes households (FNV-1a).
fn of_the_household(code: &str) -> u64 {
    code.bytes().fold(0xcbf2_9ce4_8422_2325, |hash, byte| (hash ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3))
}

/// Escapes a value of type TEXT.
fn escaped(text: &str) -> String {
    text.replace('\\', "\\\\").replace(';', "\\;").replace(',', "\\,").replace('\n', "\\n")
}

/// Folds a line at character boundaries and adds its line end; continuation lines begin with a space.
fn folded(line: &str) -> String {
    let (mut out, mut taken) = (String::new(), 0);
    for c in line.chars() {
        if taken + c.len_utf8() > LINE {
            out.push_str("\r\n ");
            taken = 1;
        }
        out.push(c);
        taken += c.len_utf8();
    }
    out + "\r\n"
}

#[cfg(test)]
mod tests {
    use super::{escaped, folded};

    #[test]
    fn long_lines_are_folded_between_characters() {
        let long = folded(&format!("SUMMARY:{}", "é".repeat(80)));
        assert!(long.split("\r\n").all(|line| line.len() <= 75), "{long:?}");
        assert_eq!(long.replace("\r\n ", "").trim_end(), format!("SUMMARY:{}", "é".repeat(80)));
        assert_eq!(escaped("a, b; c\\"), "a\\, b\\; c\\\\");
    }
}
