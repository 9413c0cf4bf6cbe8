//! The states that the tool must report for a patient on the morning in question, computed day by day from the planted
//! events.
//!
//! It uses the invented course and events and never reads a file, so that it is independent of the tool. Left out on
//! purpose: signals, scores, supplies and teaching.

use chrono::{NaiveDate, TimeDelta};
use serde_json::{Value, json};

use crate::course::{Course, Exit, Place, days_between, moment_in, shift};
use crate::entry::Planted;
use crate::record::{Event, Moment};

/// The time of `as_of` on that morning, in minutes after midnight.
pub(crate) const ASKED_AT: i64 = 7 * 60 + 15;

/// The expected state of an exit site.
#[derive(Clone, PartialEq)]
pub(crate) struct Expected {
    pub(crate) state: &'static str,
    pub(crate) because: &'static str,
    pub(crate) due_on: Option<NaiveDate>,
}

/// The state with nothing due: support has ended, the exit site has closed, or the patient is elsewhere.
const NOTHING: Expected = Expected { state: "none", because: "", due_on: None };

/// An event with the file that holds it.
pub(crate) type Filed = (String, Event);

/// Returns a patient's part of the truth file, and the states of the exit sites with a row in `due`.
pub(crate) fn tell(course: &Course, filed: &[Filed], planted: &Planted) -> (Value, Vec<Expected>) {
    let counting: Vec<&Filed> = filed.iter().filter(|(_, event)| event.void.is_none()).collect();
    let mut states = Vec::new();
    let mut rows = Vec::new();
    for exit in &course.exits {
        let is_closed = exit.until.is_some_and(|until| until < course.morning);
        let expected = if is_closed { NOTHING } else { Question { course, exit, events: &counting }.answer() };
        let mut row = row(course, exit, &counting, planted, &expected);
        row["has_row"] = json!(!is_closed);
        rows.push(row);
        if !is_closed {
            states.push(expected);
        }
    }
    let prefix = format!("patients/{}/", course.code);
    let showers: Vec<String> = planted.showers_without_change.iter().map(|file| prefix.clone() + file).collect();
    let patient = json!({
        "patient": course.code,
        "planted": course.plan.name,
        "implanted": course.implanted,
        "ended": course.ended.map(|(on, _)| on),
        "events": filed.len(),
        "voided": filed.len() - counting.len(),
        "infections": filed.iter().filter(|(_, event)| event.kind == "infection").count(),
        "showers_without_change": showers,
        "exits": rows,
    });
    (patient, states)
}

fn row(course: &Course, exit: &Exit, events: &[&Filed], planted: &Planted, expected: &Expected) -> Value {
    let is_this = |number: usize| course.exits[number].id == exit.id;
    let last = events.iter().rev().find(|(_, event)| event.kind == "change" && concerns(event, exit));
    let missed: Vec<NaiveDate> = planted.missed.iter().filter(|it| is_this(it.0)).map(|it| it.1).collect();
    let late = planted.late.iter().filter(|it| is_this(it.0));
    let wet = planted.wet_without_change.iter().filter(|it| is_this(it.0));
    json!({
        "exit": exit.id,
        "last_change": last.map(|(file, event)| json!({
            "care_day": event.care_day(),
            "at": event.when.moment().map(|at| at.to_rfc3339()),
            "file": format!("patients/{}/{file}", course.code),
        })),
        "missed": missed,
        "late": late.map(|(_, due, done)| json!({"due_on": due, "done_on": done})).collect::<Vec<_>>(),
        "wet_without_change": wet.map(|(_, file)| format!("patients/{}/{file}", course.code)).collect::<Vec<_>>(),
        "state": expected.state,
        "because": (!expected.because.is_empty()).then_some(expected.because),
        "due_on": expected.due_on,
    })
}

fn concerns(event: &Event, exit: &Exit) -> bool {
    event.exit.is_none_or(|id| id == exit.id)
}

/// The events that count, for the state of one exit site.
struct Question<'a> {
    course: &'a Course,
    exit: &'a Exit,
    events: &'a [&'a Filed],
}

/// A shower or an open dressing without a change since.
struct Unanswered {
    because: &'static str,
    due_on: NaiveDate,
    deadline: Moment,
}

impl Question<'_> {
    fn answer(&self) -> Expected {
        let today = self.course.morning;
        if !self.course.is_followed(today) || self.course.place(today) == Place::Elsewhere || today < self.exit.from {
            return NOTHING;
        }
        let (due, because) = self.next_change();
        let unanswered = self.unanswered();
        if self.is_unheard(today) && due <= today && because != "return" && unanswered.is_none() {
            return self.awaiting_log(due);
        }
        match unanswered {
            Some(it) if it.deadline < self.end_of(due) || self.is_unheard(today) => {
                let state = if self.now() > it.deadline { "overdue" } else { "due" };
                Expected { state, because: it.because, due_on: Some(it.due_on) }
            }
            _ => {
                let is_over = self.now() >= self.end_of(due);
                let state = if is_over { "overdue" } else { ["upcoming", "due"][usize::from(due <= today)] };
                Expected { state, because, due_on: Some(due) }
            }
        }
    }

    fn now(&self) -> Moment {
        moment_in(self.course.zone, self.course.morning, ASKED_AT)
    }

    fn end_of(&self, day: NaiveDate) -> Moment {
        moment_in(self.course.zone_on(day), shift(day, 1), 180)
    }

    fn changes(&self) -> impl Iterator<Item = &Event> {
        self.events.iter().map(|(_, event)| event).filter(|event| event.kind == "change" && concerns(event, self.exit))
    }

    /// The day of the next regular change, and the reason.
    fn next_change(&self) -> (NaiveDate, &'static str) {
        let start = self.exit.from.max(self.course.records_from);
        let (last, because) = match self.changes().map(Event::care_day).max() {
            Some(day) => (day, "interval"),
            None if start == self.exit.from => (start, "first-change"),
            None => match self.course.last_change_before {
                Some(day) => (day, "interval"),
                None => return (start, "unknown-before"),
            },
        };
        let due_after = |last: NaiveDate| {
            let mut days = last.iter_days().skip(1).take(800);
            days.find(|day| self.course.is_due(self.exit, last, *day)).unwrap_or(last)
        };
        let away = last.iter_days().take_while(|day| *day <= self.course.morning);
        match away.filter(|day| self.course.place(*day) == Place::Elsewhere).last() {
            Some(last_away) => (due_after(last_away), "return"),
            None => (due_after(last), because),
        }
    }

    fn is_unheard(&self, day: NaiveDate) -> bool {
        self.course.place(day) == Place::Home && self.course.is_by_log(day)
    }

    /// The state while no log is on file: waiting for 35 days after the last covered day, then overdue.
    fn awaiting_log(&self, due: NaiveDate) -> Expected {
        let logs = self.events.iter().filter(|(_, event)| event.kind == "log");
        let logged = logs.filter_map(|(_, event)| event.date("through")).max();
        let days = self.course.records_from.iter_days().take_while(|day| *day < self.course.morning);
        let away = days.filter(|day| !self.is_unheard(*day)).last();
        let heard = logged.max(away).unwrap_or(self.course.records_from);
        let expected = shift(heard, 35);
        match self.now() < self.end_of(expected) {
            true => Expected { state: "awaiting-log", because: "interval", due_on: Some(due) },
            false => Expected { state: "overdue", because: "log-late", due_on: Some(expected) },
        }
    }

    /// The requirement of a shower or open dressing without a change since; of several, the one with the earliest
    /// deadline.
    fn unanswered(&self) -> Option<Unanswered> {
        let last_day = self.changes().map(Event::care_day).max().unwrap_or(self.exit.from);
        let recent = self.events.iter().map(|(_, event)| event).filter(|event| event.care_day() >= last_day);
        recent.filter_map(|event| self.unanswered_by(event)).min_by_key(|it| it.deadline)
    }

    fn unanswered_by(&self, event: &Event) -> Option<Unanswered> {
        let is_shower = event.kind == "shower";
        let reports = |key| event.word("", key).is_some_and(|dressing| dressing != "intact");
        let is_open =
            matches!(event.kind, "inspection" | "trauma") && concerns(event, self.exit) && reports("dressing");
        if !(is_shower || is_open) || self.changes().any(|change| answers(change, event, is_shower)) {
            return None;
        }
        let mut days_since = event.care_day().iter_days().take_while(|day| *day <= self.course.morning);
        if days_since.any(|day| self.course.place(day) == Place::Elsewhere) {
            return None;
        }
        Some(Unanswered {
            because: if is_shower { "after-shower" } else { "damage" },
            due_on: event.care_day(),
            deadline: event.when.moment().map_or(self.end_of(event.care_day()), |at| at + TimeDelta::hours(2)),
        })
    }
}

/// True if a change meets the requirement of a shower or, if `is_shower` is false, of an open dressing.
fn answers(change: &Event, event: &Event, is_shower: bool) -> bool {
    let by_reason = match change.word("", "reason") {
        None => true,
        Some("after-shower") => is_shower,
        Some("wet" | "soiled" | "lifting" | "site-concern") => !is_shower,
        Some(_) => false,
    };
    match (change.when.moment(), event.when.moment()) {
        (Some(changed), Some(happened)) => changed >= happened,
        _ if change.care_day() == event.care_day() => by_reason,
        _ => days_between(event.care_day(), change.care_day()) > 0,
    }
}
