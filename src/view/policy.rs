//! A policy change as text: old and new values, next changes that move, and past days that count differently.

use std::collections::BTreeMap;

use chrono::NaiveDate;

use super::day::{short, short_day};
use super::table::{Cell, CellTable};
use super::{TextStyle, hanging, paragraph, unusable, words};
use crate::event::{At, Signal};
use crate::policy::{KeyStep, PolicyChange};
use crate::record::Value;
use crate::report::Report;
use crate::report::policy::{Counts, Moved, NextChange, Points, PolicyReport, Raised, Rejudged, Rescored};
use crate::schedule::{Because, State};
use crate::signal::Urgency;
use crate::text::{capitalized, count, visible};
use crate::word::Word;

/// The maximum number of rows printed of a table.
const MOST: usize = 40;

/// Renders the differences as text.
pub(crate) fn policy(report: &Report<PolicyReport>, revision: &str, look: TextStyle) -> String {
    let (body, today) = (&report.body, report.as_of.date());
    let mut out = unusable(look, &report.unusable);
    let commit = body.since_commit.as_ref().map(|id| id.chars().take(10).collect::<String>());
    let since = match commit.filter(|id| !revision.starts_with(id.as_str()) && !id.starts_with(revision)) {
        Some(id) => format!("{} ({id})", visible(revision)),
        None => visible(revision),
    };
    let values = count(body.changes.len() as i64, "value");
    out.push_str(&paragraph(look, &format!("Policy now, compared with {since}: {values} changed.")));
    out.push_str(&values_of(&body.changes, look));
    out.push_str(&signals(body, today, look));
    out.push_str(&next_changes(body, today, look));
    out.push_str(&past(body, today, look));
    out.push('\n');
    out.push_str(&paragraph(look, &report.caution));
    out
}

/// Lists the changed values below the heading of their section.
fn values_of(changes: &[PolicyChange], look: TextStyle) -> String {
    let (mut out, mut last) = (String::new(), "");
    for change in changes {
        let part = part(change.key.0.first().map_or("", |first| &first.key));
        if part != last {
            out.push_str(&format!("\n{part}\n"));
            last = part;
        }
        out.push_str(&hanging(look, &format!("  {}", value_of(change)), "    "));
    }
    out
}

/// Names a section of the policy.
fn part(key: &str) -> &'static str {
    match key {
        "phase" => "Phases of care",
        "windows" => "Hours to a change",
        "reporting" => "Household logs",
        "returns" => "Return from another hospital",
        "orders" => "Clinicians' orders",
        "score" | "rubric" => "Exit-site score",
        "signals" => "Signals",
        "teaching" | "curriculum" => "Teaching",
        "supply" => "Supplies",
        "audit" => "Audit",
        "alerts" => "Alerts",
        "review" => "Review today",
        "sheet" => "Household sheet",
        "record" => "Recording",
        "check" => "Check rules",
        _ => "Program",
    }
}

/// `Home: days from one change to the next: 2, now 3`
fn value_of(change: &PolicyChange) -> String {
    let steps = &change.key.0;
    let names: Vec<String> = steps.iter().filter_map(|step| step.row.as_deref()).map(visible).collect();
    let has_name = !names.is_empty();
    let is_row = steps.last().is_some_and(|step| step.row.is_some());
    let what = match steps.as_slice() {
        [first, KeyStep { key, .. }, rest @ ..] if first.key == "signals" && !rest.is_empty() => {
            let signal = Signal::from_word(key).map_or_else(|| visible(key), |signal| words::signal(signal).to_owned());
            let keys = rest.iter().map(|step| threshold(&step.key));
            [signal].into_iter().chain(keys).collect::<Vec<_>>().join(", ")
        }
        [first, rest @ ..] if first.key == "check" => {
            rest.iter().map(|step| visible(&step.key)).collect::<Vec<_>>().join(", ")
        }
        [first, KeyStep { key, .. }] if first.key == "score" && key == "rubric" => "rubric".to_owned(),
        _ if is_row => String::new(),
        _ => change.about.clone(),
    };
    let what =
        names.into_iter().chain([what].into_iter().filter(|what| !what.is_empty())).collect::<Vec<_>>().join(": ");
    let words = match (&change.was, &change.now) {
        (Some(was), Some(now)) if is_order(was, now) => format!("{what}: new order {}", shown(now)),
        (was, now) if is_row => match (was, now) {
            (None, Some(now)) => format!("{what}: added, {}", shown(now)),
            (Some(was), _) => format!("{what}: removed, was {}", shown(was)),
            (None, None) => what,
        },
        (was, now) => format!("{what}: {}, now {}", or_not_set(was), or_not_set(now)),
    };
    // The program chooses the names of rows.
    if has_name { words } else { capitalized(&words) }
}

/// Returns true if two lists contain the same texts in a different order.
fn is_order(was: &Value, now: &Value) -> bool {
    let sorted = |value: &Value| match value {
        Value::List(items) => {
            let mut texts: Vec<String> = items.iter().map(Value::to_string).collect();
            texts.sort();
            texts
        }
        _ => Vec::new(),
    };
    matches!(was, Value::List(items) if items.len() > 1) && sorted(was) == sorted(now)
}

/// Names the threshold of a signal with its unit.
fn threshold(key: &str) -> String {
    match key {
        "celsius" => "°C".to_owned(),
        "after_pod" => "after POD".to_owned(),
        "off" => "turned off because".to_owned(),
        key => visible(key).replace('_', " "),
    }
}

fn or_not_set(value: &Option<Value>) -> String {
    value.as_ref().map_or("not set".to_owned(), shown)
}

/// Formats a value in words.
fn shown(value: &Value) -> String {
    match value {
        Value::Text(text) => visible(text),
        Value::Flag(flag) => if *flag { "yes" } else { "no" }.to_owned(),
        Value::List(items) if items.is_empty() => "none".to_owned(),
        Value::List(items) if items.iter().all(|item| item.table().is_some()) => count(items.len() as i64, "row"),
        Value::List(items) => items.iter().map(shown).collect::<Vec<_>>().join(", "),
        Value::Table(values) => {
            let others = values.iter().filter(|(key, _)| !["name", "item"].contains(key));
            others.map(|(key, value)| pair(key, value)).collect::<Vec<_>>().join(", ")
        }
        value => value.to_string(),
    }
}

/// Formats a key of a row with its value.
fn pair(key: &str, value: &Value) -> String {
    let value = shown(value);
    match key {
        "every_days" if value == "1" => "daily".to_owned(),
        "every_days" => format!("every {value} days"),
        "on_weekdays" => format!("on {value}"),
        "look_days" => format!("staff look every {value} days"),
        "through_pod" => format!("through POD {value}"),
        key => format!("{} {value}", visible(key).replace('_', " ")),
    }
}

/// Lists the signals open under only one of the policies, those of today first.
fn signals(body: &PolicyReport, today: NaiveDate, look: TextStyle) -> String {
    let Some(all) = &body.signals else {
        return format!("\n{}", paragraph(look, "Signals: not known under one of the policies; see `exitsite check`."));
    };
    let is_open = |one: &&Rejudged| one.was == Raised::Open || one.now == Raised::Open;
    let mut out = String::new();
    let kinds = [
        ("Signals newly open, or open since a different time", Raised::Open),
        ("Signals no longer open", Raised::Ended),
    ];
    for (heading, is) in kinds {
        // A signal that stays open since a different time is not listed as no longer open.
        let wanted = |one: &&Rejudged| match is {
            Raised::Open => one.now == Raised::Open,
            _ => one.now != Raised::Open && twin(all, one, |other| other.now).is_none(),
        };
        let mut open: Vec<&Rejudged> = all.iter().filter(is_open).filter(wanted).collect();
        open.sort_by_key(|one| (one.urgency, one.since));
        if open.is_empty() {
            continue;
        }
        out.push_str(&format!("\n{heading}: {}\n", open.len()));
        for one in open.iter().take(MOST) {
            let before = twin(all, one, |other| other.was).filter(|_| one.now == Raised::Open);
            let before = before.map(|other| format!(", before: since {}", short(&other.since.into(), today)));
            let line = format!("  {}{}", signal(one, today), before.unwrap_or_default());
            out.push_str(&hanging(look, &line, "    "));
        }
        out.push_str(&more(open.len()));
    }
    if out.is_empty() {
        out = format!("\n{}", paragraph(look, "Open signals: unchanged."));
    }
    out
}

/// Returns the same signal of the same exit site, if it is open since a different time under one of the policies.
fn twin<'r>(all: &'r [Rejudged], one: &Rejudged, under: impl Fn(&Rejudged) -> Raised) -> Option<&'r Rejudged> {
    let is_same = |other: &&Rejudged| {
        (&other.patient, &other.exit, other.signal) == (&one.patient, &one.exit, one.signal) && other.since != one.since
    };
    all.iter().filter(is_same).find(|other| under(other) == Raised::Open)
}

/// `P-009 a: wide redness since Sat 18:40, needs review today`
fn signal(one: &Rejudged, today: NaiveDate) -> String {
    let exit = one.exit.as_ref().map(|exit| format!(" {}", visible(exit))).unwrap_or_default();
    let when = if one.urgency == Urgency::Today { "needs review today" } else { "needs review this week" };
    let since = short(&one.since.into(), today);
    let why = if one.now == Raised::Ended { ", now ended" } else { "" };
    format!("{}{exit}: {} since {since}, {when}{why}", visible(&one.patient), words::signal(one.signal))
}

/// Lists the exit sites whose next change moves, with both times.
fn next_changes(body: &PolicyReport, today: NaiveDate, look: TextStyle) -> String {
    let sites = count(body.exit_sites as i64, "exit site");
    if body.next_changes.is_empty() {
        return format!(
            "\n{}",
            paragraph(look, &format!("Next change: unchanged at {sites} with a schedule under both policies."))
        );
    }
    let row = |moved: &Moved| {
        vec![
            Cell::text(visible(&moved.patient)),
            Cell::text(visible(&moved.exit)),
            Cell::text(next(&moved.was, today)),
            Cell::text(next(&moved.now, today)),
        ]
    };
    let shown = body.next_changes.iter().take(MOST).map(row);
    let table = CellTable::of(&["patient", "exit", "was", "now"], shown).text_or_lines(look);
    let moved = body.next_changes.len();
    format!("\nNext change moves: {moved} of {sites}\n{table}{}", more(moved))
}

/// `overdue since Mon Nov 23`, `due today`, `next change Wed Nov 25`
fn next(one: &NextChange, today: NaiveDate) -> String {
    let clock = matches!(one.because, Some(Because::AfterShower | Because::Damage));
    let by = one.deadline.filter(|_| clock).map(|deadline| short(&deadline.into(), today));
    let day = one.due_on.map(|day| if day == today { "today".to_owned() } else { short_day(day, today) });
    let when = by.map(|by| format!("by {by}")).or(day).unwrap_or_default();
    let log = one.log_expected.map(|day| format!(", expected {}", short_day(day, today))).unwrap_or_default();
    match one.state {
        State::Overdue if one.because == Some(Because::LogLate) => format!("log overdue{log}"),
        State::Overdue => format!("overdue, due {when}"),
        State::Due | State::Upcoming => format!("due {when}"),
        State::AwaitingLog => {
            let due = Some(when).filter(|when| !when.is_empty()).map(|when| format!(", change due {when}"));
            format!("{}{log}{}", words::state(State::AwaitingLog), due.unwrap_or_default())
        }
        state => words::state(state).to_owned(),
    }
}

/// Describes how past days count under the current policy.
fn past(body: &PolicyReport, today: NaiveDate, look: TextStyle) -> String {
    let judges = body.changes.iter().filter(|change| change.judges_past_days);
    let mut parts: Vec<&str> = judges.map(|change| part(change.key.0.first().map_or("", |first| &first.key))).collect();
    parts.dedup();
    if parts.is_empty() {
        return format!("\n{}", paragraph(look, "Past days: no changed value affects them."));
    }
    let mut out = String::from("\nPast days\n");
    let parts = parts.join("; ");
    let mut say = |text: String| out.push_str(&hanging(look, &format!("  {text}"), "    "));
    say(format!("From now on, reports also apply the current values to past days: {parts}."));
    say(match body.missed.len() {
        0 => format!("Expected changes {} to {}: counts unchanged.", body.period.from, body.period.to),
        sites => format!(
            "Expected changes {} to {}: counts differ at {}.",
            body.period.from,
            body.period.to,
            count(sites as i64, "exit site")
        ),
    });
    for one in body.missed.iter().take(MOST) {
        let (was, now) = (counts(&one.was), counts(&one.now));
        say(format!("  {} {}: {was}; now {now}", visible(&one.patient), visible(&one.exit)));
    }
    if let Some(signals) = &body.signals {
        let ended = |one: &&Rejudged| one.was != Raised::Open && one.now != Raised::Open;
        let raised = signals.iter().filter(ended).filter(|one| one.was == Raised::No).count();
        let not = signals.iter().filter(ended).filter(|one| one.now == Raised::No).count();
        say(format!("Ended signals: {raised} newly raised, {not} no longer raised."));
    }
    match &body.scores {
        None => say("Scores: not known under one of the policies.".to_owned()),
        Some(scores) => scored(scores, today).into_iter().for_each(say),
    }
    out + &more(body.missed.len())
}

/// `14 expected: 12 on time, 1 late, 1 missed`
fn counts(counts: &Counts) -> String {
    let Counts { expected, on_time, late, missed } = counts;
    format!("{expected} expected: {on_time} on time, {late} late, {missed} missed")
}

/// Counts the records whose score or band changes, and lists the newest record of each exit site.
fn scored(scores: &[Rescored], today: NaiveDate) -> Vec<String> {
    let bands = scores.iter().filter(|one| one.was.band != one.now.band).count();
    let records = count(scores.len() as i64, "site record");
    let mut lines = vec![match scores.len() {
        0 => "Scores: unchanged.".to_owned(),
        _ => format!(
            "Scores: changed for {records}, {bands} of them with a different band. The newest of each exit site:"
        ),
    }];
    let mut newest: BTreeMap<(&str, &str), &Rescored> = BTreeMap::new();
    scores.iter().for_each(|one| _ = newest.insert((&one.patient, &one.exit), one));
    let line = |one: &Rescored| {
        let at: At = one.at;
        let (was, now) = (points(&one.was), points(&one.now));
        format!("  {} {}, {}: {was}; now {now}", visible(&one.patient), visible(&one.exit), short(&at, today))
    };
    lines.extend(newest.into_values().take(MOST).map(line));
    lines
}

/// `3, watch`, `2 to 6, incomplete`
fn points(points: &Points) -> String {
    let total = match points.total {
        Some(total) => total.to_string(),
        None => format!("{} to {}", points.total_min, points.total_max),
    };
    format!("{total}, {}", words::band(&points.band, &points.unscored))
}

fn more(all: usize) -> String {
    if all > MOST { format!("  … and {} more, in --json\n", all - MOST) } else { String::new() }
}
