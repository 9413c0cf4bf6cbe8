//! The state file: each alert sent, with its recipient, time and severity.
//!
//! ```text
//! { "exitsite_alert_state": 1, "checked": "2026-11-24T13:15:00Z", "told": [
//!   { "patient": "P-014", "exit": "a", "what": "overdue", "since": "2026-11-24T02:40:00Z", "whom": "vad@example.org",
//!     "at": "2026-11-24T13:15:00Z", "level": 1 } ] }
//! ```
//!
//! Left out on purpose: the text of a message, which can be rebuilt from the records.

use std::collections::BTreeMap;

use chrono::{Duration, Timelike};
use serde::{Deserialize, Serialize};

use super::{Alert, Matter, Message, Recipient, RecipientRole, Repeat, Why};
use crate::day::Instant;
use crate::event::Signal;

/// The version of the state file.
const VERSION: u64 = 1;

/// The key that identifies a state file.
const MARK: &str = "exitsite_alert_state";

/// The minutes by which a run may fall short of a full day and still count as a day later.
const SLACK_MINUTES: i64 = 15;

/// The minutes since the last run if its time is unknown.
const UNKNOWN_MINUTES: i64 = 60;

/// Hours in a week.
const WEEK_HOURS: i64 = 168;

/// The recipient name for a line on standard error.
const STANDARD_ERROR: &str = "standard error";

/// The key of a sent alert.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub(crate) struct AlertKey {
    /// The patient.
    pub patient: Option<String>,
    /// The exit site.
    pub exit: Option<String>,
    /// The matter.
    pub what: String,
    /// The time from which it is open.
    pub since: Option<Instant>,
    /// The recipient.
    pub whom: String,
}

/// The last time an alert was sent, with its severity at that time.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub(crate) struct LastSent {
    /// The time.
    pub at: Instant,
    /// The severity.
    pub level: i64,
    /// The time at which it was first sent; `None` if an older version of exitsite sent it.
    #[serde(default)]
    pub first: Option<Instant>,
}

/// An alert that was sent to a recipient.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct SentTo {
    /// The recipient's address.
    pub whom: String,
    /// The first time; `None` if an older version of exitsite sent it.
    pub first: Option<Instant>,
    /// The last time.
    pub last: Instant,
}

/// The sent alerts that are still open.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Memory {
    told: BTreeMap<AlertKey, LastSent>,
    /// True if the next run will not know the alerts of this one.
    is_unkept: bool,
    /// The last complete run before this one, if its time is known although nothing else was saved.
    last_run: Option<Instant>,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    exitsite_alert_state: u64,
    checked: Instant,
    told: Vec<SentRow>,
}

#[derive(Serialize, Deserialize)]
struct SentRow {
    #[serde(flatten)]
    key: AlertKey,
    #[serde(flatten)]
    told: LastSent,
}

impl Memory {
    /// Reads a state file.
    ///
    /// # Errors
    /// It is not a state file, or not of this version; the error is a short reason.
    pub(crate) fn read(text: &str) -> Result<Memory, String> {
        let value: serde_json::Value = serde_json::from_str(text).map_err(|_| "it is not JSON".to_owned())?;
        match value.get(MARK).and_then(serde_json::Value::as_u64) {
            Some(VERSION) => {}
            Some(_) => return Err("it was written by another version of exitsite".to_owned()),
            None => return Err("it was not written by exitsite".to_owned()),
        }
        let file: File = serde_json::from_value(value).map_err(|error| format!("it is damaged: {error}"))?;
        Ok(Memory { told: file.told.into_iter().map(|row| (row.key, row.told)).collect(), ..Memory::default() })
    }

    /// Returns true if a text that is not a valid state file may be replaced: an older, newer or damaged state file, an
    /// empty file, or broken JSON in a file with a JSON name.
    pub(crate) fn is_ours(text: &str, is_json_by_name: bool) -> bool {
        let text = text.trim();
        let is_json = || serde_json::from_str::<serde_json::Value>(text).is_ok();
        matches!(text, "" | "{}") || text.starts_with('{') && text.contains(MARK) || is_json_by_name && !is_json()
    }

    /// The text of the state file as of a run.
    pub(crate) fn text(&self, checked: Instant) -> String {
        let told = self.told.iter().map(|(key, told)| SentRow { key: key.clone(), told: *told }).collect();
        let file = File { exitsite_alert_state: VERSION, checked, told };
        // Strings and times only: serialization cannot fail.
        serde_json::to_string_pretty(&file).unwrap_or_default() + "\n"
    }

    /// Marks the state as not saved: the next run will know at most the time of the last run.
    pub(crate) fn goes_unkept(&mut self, last_run: Option<Instant>) {
        self.is_unkept = true;
        self.last_run = last_run;
    }

    /// Returns the reason to send an alert to a recipient now; `None` if it is not sent.
    ///
    /// If nothing is saved, each recipient gets the alerts that are new since the last run, and all except physicians get
    /// the rest in the first run of each clock hour. A run without knowledge of the last one treats itself as the first:
    /// a repeat is better than silence.
    pub(crate) fn why(&self, alert: &Alert, to: &Recipient, repeat_hours: i64, now: Instant) -> Option<Why> {
        let told_from = alert.told_from(to.role)?;
        if self.is_unkept && !self.tells_unkept(told_from, to.role, now) {
            return None;
        }
        let Some(told) = self.told.get(&key(alert, &to.address)) else { return Some(Why::New) };
        let hours = match alert.repeat {
            Repeat::Never => None,
            Repeat::Policy => Some(repeat_hours),
            Repeat::Weekly => Some(WEEK_HOURS),
        };
        match alert.level > told.level {
            true => Some(Why::Worse),
            false => hours.filter(|hours| told.is_over(*hours, now)).map(|_| Why::Again),
        }
    }

    fn tells_unkept(&self, told_from: Option<Instant>, role: RecipientRole, now: Instant) -> bool {
        // A clock that was ahead must not suppress an alert.
        let last_run = self.last_run.filter(|last| *last <= now);
        let before = last_run.unwrap_or(now - Duration::minutes(UNKNOWN_MINUTES));
        let hour = |at: Instant| (at.date_naive(), at.hour());
        let is_first_of_the_hour = last_run.is_none_or(|last| hour(last) != hour(now));
        is_first_of_the_hour && role != RecipientRole::Physician || told_from.is_some_and(|from| from > before)
    }

    /// Returns true if a line for standard error was not printed in the last `repeat_hours`, and remembers it as printed.
    /// Otherwise a program that mails the output would send the same line after each run.
    pub(crate) fn prints(&mut self, line: &str, repeat_hours: i64, now: Instant) -> bool {
        let key =
            AlertKey { patient: None, exit: None, what: line.to_owned(), since: None, whom: STANDARD_ERROR.to_owned() };
        let is_due = self.told.get(&key).is_none_or(|told| told.is_over(repeat_hours, now));
        // A line that is no longer printed is printed immediately when it recurs.
        self.told.retain(|known, _| known.whom != STANDARD_ERROR || *known == key);
        if is_due {
            self.told.insert(key, LastSent { at: now, level: 1, first: None });
        }
        is_due
    }

    /// Remembers that a message was accepted.
    pub(crate) fn tell(&mut self, message: &Message, now: Instant) {
        for (alert, _) in &message.alerts {
            let key = key(alert, &message.to.address);
            let first = self.told.get(&key).map_or(Some(now), |told| told.first);
            self.told.insert(key, LastSent { at: now, level: alert.level, first });
        }
    }

    /// Returns the recipients of an alert, earliest first.
    pub(crate) fn sent_to(&self, alert: &Alert) -> Vec<SentTo> {
        let is_of = |key: &AlertKey| key.whom != STANDARD_ERROR && *key == self::key(alert, &key.whom);
        let told = self.told.iter().filter(|(key, _)| is_of(key));
        let mut sent: Vec<SentTo> =
            told.map(|(key, told)| SentTo { whom: key.whom.clone(), first: told.first, last: told.at }).collect();
        sent.sort_by_key(|sent| sent.first.unwrap_or(sent.last));
        sent
    }

    /// Forgets alerts that are no longer open, so that a recurrence is new; keeps those of patients whose alerts are
    /// unknown.
    pub(crate) fn keep(&mut self, standing: &[Alert], is_not_known: impl Fn(&str) -> bool) {
        let is = |key: &AlertKey, alert: &Alert| *key == self::key(alert, &key.whom);
        self.told.retain(|key, _| {
            key.whom == STANDARD_ERROR
                || key.patient.as_deref().is_some_and(&is_not_known)
                || standing.iter().any(|alert| is(key, alert))
        });
    }
}

impl LastSent {
    /// Returns true if at least this many hours have passed.
    fn is_over(&self, hours: i64, now: Instant) -> bool {
        let slack = Duration::minutes(SLACK_MINUTES.min(hours * 15));
        // A clock that was ahead must not suppress an alert for years.
        now - self.at >= Duration::hours(hours) - slack || self.at > now
    }
}

/// The key of an alert. A signal of passing days is one alert until it ends, regardless of its start date.
fn key(alert: &Alert, whom: &str) -> AlertKey {
    let passes_days = |signal| matches!(signal, Signal::NotLookedAt | Signal::ChangesMissed | Signal::AwayLong);
    let is_of_days = matches!(alert.matter, Matter::Signal { signal, .. } if passes_days(signal));
    AlertKey {
        patient: alert.patient.clone(),
        exit: alert.exit.clone(),
        what: alert.what().to_owned(),
        since: alert.since.filter(|_| !is_of_days),
        whom: whom.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::Memory;
    use crate::alert::{Alert, Matter, Recipient, RecipientRole, Why, messages};

    #[test]
    fn what_is_written_is_read_again() {
        let now = "2026-11-24T13:15:00Z".parse().unwrap();
        let alert = Alert::of_program(Matter::Quiet { hours: Some(40) }, Some("2026-11-22T21:00:00Z".parse().unwrap()));
        let to = Recipient { address: "vad@example.org".to_owned(), role: RecipientRole::Coordinator };
        let other = Recipient { address: "else@example.org".to_owned(), ..to.clone() };
        let (alerts, recipients) = ([alert], [to]);
        let mut memory = Memory::default();
        for message in messages(&alerts, &recipients, &Memory::default(), 24, now) {
            memory.tell(&message, now);
        }
        let again = Memory::read(&memory.text(now)).unwrap();
        assert_eq!(again, memory);
        assert_eq!(again.why(&alerts[0], &recipients[0], 24, now), None);
        assert_eq!(again.why(&alerts[0], &other, 24, now), Some(Why::New));
    }

    #[test]
    fn the_same_line_is_printed_once_in_repeat_hours() {
        let at = |text: &str| format!("{text}:00Z").parse().unwrap();
        let mut memory = Memory::default();
        assert!(memory.prints("no answer", 24, at("2026-11-24T13:15")));
        memory.keep(&[], |_| false);
        assert!(!memory.prints("no answer", 24, at("2026-11-24T13:30")));
        assert!(memory.prints("refused", 24, at("2026-11-24T13:45")));
        assert!(memory.prints("no answer", 24, at("2026-11-24T14:00")));
        assert!(!memory.prints("no answer", 24, at("2026-11-25T12:30")));
        assert!(memory.prints("no answer", 24, at("2026-11-25T14:00")));
    }

    #[test]
    fn what_is_no_state_file_says_why() {
        let check = |text: &str, expected: &str| {
            let why = Memory::read(text).unwrap_err();
            assert!(why.starts_with(expected), "{text}: {why}");
        };
        check("", "it is not JSON");
        check("{\"exitsite_alert_state\": 1, \"checked\": \"2026-11-24T13", "it is not JSON");
        check("{}", "it was not written by exitsite");
        check("[1]", "it was not written by exitsite");
        check("{\"exitsite_alert_state\": 2, \"told\": []}", "it was written by another version");
        check("{\"exitsite_alert_state\": 1, \"told\": []}", "it is damaged");
    }

    #[test]
    fn the_work_of_somebody_else_is_known() {
        for (text, is_json_by_name, is_ours) in [
            ("", false, true),
            ("{}\n", true, true),
            ("{\"exitsite_alert_state\": 2, \"told\": []}", false, true),
            ("{\"exitsite_alert_state\": 1, \"checked\": \"2026-11-24T13", false, true),
            ("{\"half\":", true, true),
            ("{\"half\":", false, false),
            ("{\"name\": \"another program\"}", true, false),
            ("schema = 1\n", false, false),
            ("The key is exitsite_alert_state.\n", false, false),
        ] {
            assert_eq!(Memory::is_ours(text, is_json_by_name), is_ours, "{text}");
        }
    }
}
