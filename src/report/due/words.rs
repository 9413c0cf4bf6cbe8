//! Why a row is on the list, and what else to know before a call, as one says it on the telephone.

use chrono::NaiveDate;

use super::row::{Aside, LastChange, LastContact, OpenSignal, Row};
use crate::event::{Dressing, Event, Fact, Outcome, Shower, Water};
use crate::patient::{Exit, Patient};
use crate::policy::Interval;
use crate::report::{At, short_day};
use crate::schedule::{Because, Due, Report as Reported, Requirement, Schedule, State, Trouble};
use crate::signal::Urgency;
use crate::text;
use crate::timeline::Timeline;
use crate::word::Word;

/// The open signals of today with their clock, in words; `None` without any.
pub(super) fn of_today(row: &Row, today: NaiveDate) -> Option<String> {
    let of_today = row.signals.iter().flatten().filter(|signal| signal.urgency == Urgency::Today);
    let said: Vec<String> = of_today.map(|signal| open_signal(signal, today)).collect();
    (!said.is_empty()).then(|| said.join(", "))
}

fn open_signal(signal: &OpenSignal, today: NaiveDate) -> String {
    let answered = match (signal.is_answered, signal.is_news_answered) {
        (true, true) => ", answered",
        (true, false) => ", answered, but not what came since",
        (false, _) => "",
    };
    let (name, at) = (signal.name.word().replace('-', " "), signal.at_closed_exit());
    format!("{name}{at} since {}{answered}", signal.since.short(today))
}

impl OpenSignal {
    /// The words for an exit site that has no row of its own: ` at exit a (closed)`; else none.
    pub fn at_closed_exit(&self) -> String {
        self.closed_exit.as_ref().map(|exit| format!(" at exit {} (closed)", text::visible(exit))).unwrap_or_default()
    }
}

/// What else requires a change, each with its clock.
pub(super) fn also(schedule: &Schedule, timeline: &Timeline, due: &Due) -> Vec<String> {
    let (patient, today) = (schedule.patient, timeline.today);
    let say = |one: &Requirement| {
        let Some(report) = one.report else {
            let day = short_day(one.due_on, today);
            return match one.is_overdue(timeline.as_of) {
                true => format!("also overdue since {day}"),
                false if one.due_on <= today => "also due today".to_owned(),
                false => format!("next change {day}"),
            };
        };
        let when = At::of(&report.event.when, &patient.calendar).short(today);
        let by = At::Time(patient.calendar.on_the_wall(one.deadline, one.due_on)).short(today);
        let late = if one.is_overdue(timeline.as_of) { "was due" } else { "change due" };
        format!("also {} {when}, {late} by {by}", trouble(&report))
    };
    due.also.iter().map(say).collect()
}

/// Why, as one says it on the telephone.
pub(super) fn reason(schedule: &Schedule, timeline: &Timeline, due: &Due) -> String {
    let (patient, today) = (schedule.patient, timeline.today);
    let when = |event: &Event| At::of(&event.when, &patient.calendar).short(today);
    let changed = match due.last_change {
        Some(change) => format!("changed {}", ago(&LastChange::of(change, patient, today), today)),
        None => "no change on file".to_owned(),
    };
    let since = match due.order_unknown {
        true => "changed that day for another reason, order unknown",
        false => "not changed since",
    };
    match (due.because, due.report) {
        (Some(Because::AfterShower), Some(report)) => {
            format!("{} {}, {since}", bathed(report.event), when(report.event))
        }
        (Some(Because::Damage), Some(report)) => format!("{} {}, {since}", damage(&report), when(report.event)),
        (Some(Because::FirstChange), _) => format!("first change after {}", short_day(schedule.start(), today)),
        (Some(Because::UnknownBefore), _) => {
            format!("records begin {}, nothing known before", short_day(schedule.start(), today))
        }
        (Some(Because::Return), _) => {
            let back = due.due_on.map(|day| short_day(day, today)).unwrap_or_default();
            let ended: Vec<String> = due
                .ended_by_move
                .iter()
                .map(|report| format!("; before that: {} {}, not changed", trouble(report), when(report.event)))
                .collect();
            format!("back from elsewhere {back}, dressing not looked at yet{}", ended.concat())
        }
        (Some(_), _) if due.because == Some(Because::LogLate) || due.state == State::AwaitingLog => heard(due, today),
        (Some(_), _) => {
            let interval = due.due_on.and_then(|day| schedule.interval(day));
            let interval = interval.map(|(interval, phase)| interval_words(interval, phase)).unwrap_or_default();
            format!("{changed}, {interval}")
        }
        (None, _) => nothing_due(patient, schedule.exit, today),
    }
}

/// Until when a household has told, and when it tells again.
fn heard(due: &Due, today: NaiveDate) -> String {
    let through = due
        .heard_through
        .map_or("no log on file".to_owned(), |day| format!("log complete through {}", short_day(day, today)));
    let next = due.log_expected.map(|day| format!(", next expected {}", short_day(day, today))).unwrap_or_default();
    let from = due.heard_from.map(|day| format!(", heard from {}", short_day(day, today))).unwrap_or_default();
    format!("{through}{next}{from}")
}

fn interval_words(interval: &Interval, phase: &str) -> String {
    if phase == "order" { format!("{interval} by order") } else { interval.to_string() }
}

fn trouble(report: &Reported) -> String {
    match report.trouble {
        Trouble::Shower => bathed(report.event).to_owned(),
        _ => damage(report),
    }
}

/// The kind of water: a swim is no shower.
fn bathed(event: &Event) -> &'static str {
    match &event.fact {
        Fact::Shower(Shower { water: Some(Water::Bath), .. }) => "bathed",
        Fact::Shower(Shower { water: Some(Water::Pool), .. }) => "swam",
        Fact::Shower(Shower { water: Some(Water::Other), .. }) => "in water",
        _ => "showered",
    }
}

fn damage(report: &Reported) -> String {
    let state = |dressing: Dressing| dressing.word();
    match (report.trouble, &report.event.fact) {
        (Trouble::LeftDamaged(dressing), _) => format!("dressing left {}", state(dressing)),
        (Trouble::Damage(dressing), Fact::Shower(_)) => format!("dressing {} at a shower", state(dressing)),
        (Trouble::Damage(dressing), Fact::Trauma(_)) => format!("dressing {} at a pull", state(dressing)),
        (Trouble::Damage(dressing), _) => format!("dressing {}", state(dressing)),
        (Trouble::Shower, _) => "shower".to_owned(),
    }
}

fn nothing_due(patient: &Patient, exit: &Exit, today: NaiveDate) -> String {
    if let Some(ended) = patient.ended.as_ref().filter(|ended| ended.on <= today) {
        return format!("support ended {}, {}", short_day(ended.on, today), ended.why);
    }
    if let Some(until) = exit.until.filter(|until| *until <= today) {
        return format!("exit site closed {}", short_day(until, today));
    }
    if today < patient.start(exit) {
        return format!("begins {}", short_day(patient.start(exit), today));
    }
    match patient.days_elsewhere(today) {
        Some(days) => format!("elsewhere for {}", text::count(days, "day")),
        None => "nothing is due".to_owned(),
    }
}

/// What else to know before a call. Old contacts and what was said long ago are left to `show` and to a named patient.
pub(super) fn beside(row: &Row, due: &Due, also: Vec<String>, today: NaiveDate, exit: Option<&Exit>) -> Vec<Aside> {
    let mut asides: Vec<Aside> = also.into_iter().map(|words| Aside { words, is_brief: true }).collect();
    let mut say = |words: String, is_brief: bool| asides.push(Aside { words, is_brief });
    if let Some(exit) = exit {
        say(exit.at.word().to_owned(), true);
    }
    for signal in row.signals.iter().flatten().filter(|signal| signal.urgency != Urgency::Today) {
        say(open_signal(signal, today), !signal.is_answered);
    }
    if row.signals.is_none() {
        say("signals not known".to_owned(), true);
    }
    if let Some(change) =
        row.last_change.as_ref().filter(|_| due.because != Some(Because::Interval) || due.state == State::AwaitingLog)
    {
        say(format!("changed {}", day_ago(change, today)), true);
    }
    if due.missed_in_a_row > 0 {
        say(format!("{} missed in a row", due.missed_in_a_row), true);
    }
    if let Some(anchor) = &row.anchor {
        say(format!("anchor {} {}", anchor.state, anchor.at.day_words(today)), true);
    }
    if let Some(score) = &row.score {
        let total = match score.total {
            Some(total) => total.to_string(),
            None => format!("{}-{}", score.total_min, score.total_max),
        };
        say(format!("score {total} {} {}", score.band, score.at.day_words(today)), true);
    }
    for what in &row.not_known {
        say(format!("{what} not known"), true);
    }
    for what in row.intolerances.iter().flatten() {
        say(format!("does not tolerate {}", text::visible(what)), true);
    }
    if let Some(promise) = &row.promise {
        let by = promise.expect_by.parse().map(|by| At::Time(by).short(today)).unwrap_or_default();
        say(if promise.broken { format!("promised by {by}, not done") } else { format!("promised by {by}") }, true);
    }
    let is_the_promise = |contact: &LastContact| row.promise.as_ref().is_some_and(|promise| promise.at == contact.at);
    if let Some(contact) = row.last_contact.as_ref().filter(|contact| !is_the_promise(contact)) {
        let words = format!("contact {}: {}", contact.at.short(today), contact.outcome);
        say(words, contact.at.is_this_week(today));
    }
    if row.is_end_reported() {
        say(row.end_reported(), true);
    }
    if let Some(ahead) = row.ahead.as_ref().filter(|ahead| !ahead.is_empty()) {
        say(format!("in the future: {}", ahead.join(", ")), true);
    }
    asides
}

impl Row {
    /// Whether the last contact reported the end of support, which is not written yet.
    pub fn is_end_reported(&self) -> bool {
        let is_end = |contact: &LastContact| contact.outcome == Outcome::SupportEnded;
        self.state != State::None && self.last_contact.as_ref().is_some_and(is_end)
    }

    /// The words for it.
    pub fn end_reported(&self) -> String {
        format!("support reported ended: write it with `exitsite patient end {}`", self.patient)
    }
}

/// The day of the last change; from a week on also how many days ago.
fn day_ago(change: &LastChange, today: NaiveDate) -> String {
    let when = change.at.day_words(today);
    if change.days_ago < 7 { when } else { format!("{when}, {} days ago", change.days_ago) }
}

/// When the last change was; from a week on also how many days ago.
pub(super) fn ago(change: &LastChange, today: NaiveDate) -> String {
    let when = change.at.short(today);
    if change.days_ago < 7 { when } else { format!("{when}, {} days ago", change.days_ago) }
}
