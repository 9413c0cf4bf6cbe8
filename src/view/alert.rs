//! Alerts in words: a subject that can be read at a glance, and one line per alert with the code, the start time and the
//! command that shows more.
//! Messages may be read anywhere, so they contain findings only if the policy allows it, and never names.

use std::collections::BTreeSet;

use super::day::of_wall;
use super::words;
use crate::alert::{ActedOn, Alert, Matter, MatterKind, Memory, Message, OpenAlerts, Why};
use crate::day::{AsOf, Calendar, Instant, WallTime};
use crate::event::Signal;
use crate::schedule::Because;
use crate::score::CAUTION;
use crate::signal::{Observation, Review, Urgency};
use crate::text::{count, visible};

/// The context of a message.
#[derive(Debug, Clone, Copy)]
pub(crate) struct AlertWords<'a> {
    /// The calendar for times.
    pub calendar: &'a Calendar,
    /// The moment of the report.
    pub as_of: AsOf,
    /// True if messages may state findings.
    pub with_findings: bool,
    /// The alerts sent before this run.
    pub memory: &'a Memory,
}

/// A type of alert to count, with the words for its count.
type Counted = (fn(&Matter) -> bool, fn(&[&Matter]) -> String);

const COUNTED: [Counted; 11] = [
    (|matter| matches!(matter, Matter::NotJudged { .. }), |_| "no records could be checked".to_owned()),
    (|matter| matches!(matter, Matter::Policy { .. }), |_| "error in policy.toml".to_owned()),
    (|matter| matches!(matter, Matter::Unkept { .. }), |_| "alert state not saved".to_owned()),
    (|matter| matches!(matter, Matter::Quiet { .. }), |_| "no recent records".to_owned()),
    (|matter| matches!(matter, Matter::Unusable { .. }), |all| count(unreadable(all), "unreadable file")),
    (|matter| matches!(matter, Matter::Overdue { .. }), |all| count(all.len() as i64, "overdue alert")),
    (
        |matter| matches!(matter, Matter::Signal { urgency: Urgency::Today, .. }),
        |all| words::review(review(all), Urgency::Today),
    ),
    (
        |matter| matches!(matter, Matter::SignOff { .. }),
        |all| format!("{} moving home without sign-off", patients(all)),
    ),
    (
        |matter| matches!(matter, Matter::Supply { .. }),
        |all| format!("{} short", count(all.len() as i64, "supply item")),
    ),
    (|matter| matches!(matter, Matter::Signal { urgency: Urgency::ThisWeek, .. }) || is_log(matter), this_week),
    (|matter| matches!(matter, Matter::SupportEnded { .. }), |all| format!("support ended for {}", patients(all))),
];

/// Returns true for an overdue log: a signal of this week that is sent as an overdue alert.
fn is_log(matter: &Matter) -> bool {
    matches!(matter, Matter::Overdue { because: Some(Because::LogLate), .. })
}

/// Counts the signals of this week, and names the overdue logs that are among the overdue alerts instead; empty without
/// signals.
fn this_week(all: &[&Matter]) -> String {
    let (logs, signals): (Vec<&Matter>, Vec<&Matter>) = all.iter().copied().partition(|matter| is_log(matter));
    let logs = match logs.len() {
        0 => String::new(),
        1 => ", not counting 1 overdue log (an overdue alert)".to_owned(),
        n => format!(", not counting {n} overdue logs (overdue alerts)"),
    };
    match signals.is_empty() {
        true => String::new(),
        false => format!("{}{logs}", words::review(review(&signals), Urgency::ThisWeek)),
    }
}

fn patients(all: &[&Matter]) -> String {
    count(all.len() as i64, "patient")
}

/// Counts the unreadable files of all patients and of the program.
fn unreadable(all: &[&Matter]) -> i64 {
    let files = |matter: &&Matter| if let Matter::Unusable { files } = matter { files.len() } else { 0 };
    all.iter().map(files).sum::<usize>() as i64
}

/// Counts signals, as on every screen.
fn review(all: &[&Matter]) -> Review {
    Review::of(all.iter().map(|matter| match matter {
        Matter::Signal { acted_on, .. } => acted_on.as_ref().is_some_and(|acted| acted.is_of_all),
        _ => false,
    }))
}

/// Returns the counts of a message's alerts: "2 overdue alerts, 1 signal needs review today".
pub(crate) fn counted(message: &Message) -> String {
    let part = |(is, words): &Counted| {
        let all: Vec<&Matter> =
            message.alerts.iter().map(|(alert, _)| &alert.matter).filter(|matter| is(matter)).collect();
        (!all.is_empty()).then(|| words(&all)).filter(|words| !words.is_empty())
    };
    let parts: Vec<String> = COUNTED.iter().filter_map(part).collect();
    if parts.is_empty() { "nothing new".to_owned() } else { parts.join(", ") }
}

/// Returns a summary of the records read, alerted or not: "80 on file read, 3 patients overdue, 0 unreadable, newest record 2
/// h ago, commit abc1234".
pub(crate) fn heartbeat(open: &OpenAlerts, commit: Option<&str>, as_of: AsOf) -> String {
    let ago = |newest: Instant| format!("newest record {} h ago", (as_of.instant - newest).num_hours());
    let newest = open.newest.map_or("no record".to_owned(), ago);
    let commit =
        commit.map_or("no commit".to_owned(), |commit| format!("commit {}", commit.get(..7).unwrap_or(commit)));
    let OpenAlerts { on_file, unreadable, .. } = open;
    let overdue = overdue_on_file(open);
    let ended = match &open.reported_ended[..] {
        [] => String::new(),
        codes => {
            format!("; end of support reported, record it with `exitsite patient end`: {}", visible(&codes.join(" ")))
        }
    };
    format!("{on_file} on file read, {overdue}, {unreadable} unreadable, {newest}, {commit}{ended}")
}

/// Returns the number of patients with an overdue change, alerted or not: "3 patients overdue".
pub(crate) fn overdue_on_file(open: &OpenAlerts) -> String {
    let held = match open.held_by_promise.len() {
        0 => String::new(),
        n => format!(" ({n} held back by a promise)"),
    };
    format!("{} overdue{held}", count(open.overdue as i64, "patient"))
}

/// Names the overdue patients of whom no overdue alert is sent yet, and the reason: `2 more are overdue for less than 24 h:
/// P-031, P-037; no alert yet.`
pub(crate) fn not_alerted(open: &OpenAlerts) -> Vec<String> {
    let is_overdue = |alert: &Alert| matches!(alert.matter, Matter::Overdue { .. });
    let more = if open.alerts.iter().any(is_overdue) { " more" } else { "" };
    let line = |codes: &[String], why: &str| {
        let is = if codes.len() == 1 { "is" } else { "are" };
        let codes: Vec<String> = codes.iter().map(|code| visible(code)).collect();
        (!codes.is_empty())
            .then(|| format!("{}{more} {is} overdue {why}: {}; no alert yet.", codes.len(), codes.join(", ")))
    };
    let hours = format!("for less than {} h", open.after_hours);
    let promise = "with a promise that still holds";
    line(&open.not_yet, &hours).into_iter().chain(line(&open.held_by_promise, promise)).collect()
}

/// Formats a duration in hours, or in days from three days on, as on the due list.
fn duration(hours: i64) -> String {
    match hours {
        0 => "less than 1 h".to_owned(),
        1..72 => format!("{hours} h"),
        _ => count(hours / 24, "day"),
    }
}

impl AlertWords<'_> {
    /// Returns the text of a message: the counts, the overdue patients without an alert yet, the alerts, where to look, remarks, and the heartbeat.
    pub(crate) fn body(
        &self,
        message: &Message,
        not_alerted: &[String],
        remarks: &[String],
        heartbeat: Option<&str>,
    ) -> String {
        let mut out = counted(message);
        out.replace_range(..1, &out[..1].to_uppercase());
        out.push_str(".\n");
        not_alerted.iter().for_each(|line| out.push_str(&format!("{line}\n")));
        if !message.alerts.is_empty() {
            out.push('\n');
        }
        for (alert, why) in &message.alerts {
            out.push_str(&self.line(alert, *why));
            out.push('\n');
            if let Some(told) = self.told(alert) {
                out.push_str(&format!("    {told}\n"));
            }
        }
        let look = look_at(message);
        if !look.is_empty() {
            out.push_str(&format!(
                "\nWhere to look:\n{}",
                look.iter().map(|line| format!("  {line}\n")).collect::<String>()
            ));
        }
        for remark in remarks {
            out.push_str(&format!("\n{remark}\n"));
        }
        if let Some(heartbeat) = heartbeat {
            out.push_str(&format!("\nheartbeat: {heartbeat}\n"));
        }
        let version = env!("CARGO_PKG_VERSION");
        // Without a readable policy the program's zone is unknown.
        let zone = if self.calendar.policy_zone() == chrono_tz::UTC { " UTC" } else { "" };
        let as_of = format!("{}{zone}", self.minute(self.as_of.instant));
        out.trim_start().to_owned() + &format!("\nAs of {as_of}, exitsite {version}.\n{CAUTION}\n")
    }

    fn said(&self, evidence: &[Observation]) -> String {
        let today = self.calendar.today(self.as_of.instant);
        let mut facts: Vec<String> = evidence.iter().map(|what| words::observation(what, today)).collect();
        facts.dedup();
        facts.join("; ")
    }

    fn minute(&self, instant: Instant) -> String {
        let wall = self.calendar.on_the_wall(instant, self.calendar.today(instant));
        of_wall(WallTime(wall)).minute()
    }

    /// Returns the first sending of a signal of today, its recipients, and the record that acts on it; `None` if it was not
    /// sent before.
    /// `first sent 2026-11-24 06:30 to co@example.org, md@example.org; not acted on`
    fn told(&self, alert: &Alert) -> Option<String> {
        let Matter::Signal { urgency: Urgency::Today, signal, acted_on, .. } = &alert.matter else { return None };
        let sent = self.memory.sent_to(alert);
        let earliest = sent.first()?.first;
        let whom = |is_first: bool| -> Vec<String> {
            let sent = sent.iter().filter(|one| (one.first == earliest) == is_first);
            sent.map(|one| match one.first.filter(|_| !is_first) {
                Some(first) => format!("{} {}", visible(&one.whom), self.minute(first)),
                None => visible(&one.whom),
            })
            .collect()
        };
        let at = earliest.map_or("at an unknown time".to_owned(), |first| self.minute(first));
        let others = whom(false);
        let others = if others.is_empty() { String::new() } else { format!(", then to {}", others.join(", ")) };
        let acted = match acted_on {
            None => "not acted on".to_owned(),
            Some(acted @ ActedOn { is_of_all: true, .. }) => {
                self.acted(acted, *signal, |at| format!(" {}", self.minute(at)))
            }
            Some(ActedOn { at, .. }) => {
                format!("acted on {}; newer evidence not acted on", self.minute(*at))
            }
        };
        Some(format!("first sent {at} to {}{others}; {acted}", whom(true).join(", ")))
    }

    /// Describes the action on a signal. Without findings it names no action: a culture would be one.
    fn acted(&self, acted: &ActedOn, signal: Signal, on: impl Fn(Instant) -> String) -> String {
        match self.with_findings {
            true => words::act(acted.action.as_deref(), signal, |at| on(at.instant())),
            false => format!("acted on{}{}", on(acted.at), words::untold(acted.action.as_deref(), signal)),
        }
    }

    /// `P-014 a  overdue for 10 h, since 2026-11-23 20:40 (worse than when sent)`
    fn line(&self, alert: &Alert, why: Why) -> String {
        let mut who = alert.patient.as_deref().map_or("program".to_owned(), visible);
        if let Some(exit) = &alert.exit {
            who.push_str(&format!(" {}", visible(exit)));
        }
        let since = alert.since.map(|since| format!(", since {}", self.minute(since))).unwrap_or_default();
        let what = match &alert.matter {
            Matter::Overdue { hours, because } => {
                let because = because.filter(|_| self.with_findings).map(because_words).unwrap_or_default();
                format!("overdue for {}{because}{since}", duration(*hours))
            }
            Matter::Signal { signal, urgency, evidence, acted_on } => {
                let soon = if *urgency == Urgency::Today { "today" } else { "this week" };
                let acted_on = acted_on.as_ref().filter(|acted| acted.is_of_all);
                let acted_on = acted_on.map(|acted| format!(" ({})", self.acted(acted, *signal, |_| String::new())));
                let acted_on = acted_on.unwrap_or_default();
                let review = format!("needs review {soon}{acted_on}{since}");
                let code = alert.patient.as_deref().map(visible).unwrap_or_default();
                match self.with_findings {
                    true => format!("{}, {review}: {}", words::signal(*signal), self.said(evidence)),
                    false => format!("{review}: run exitsite show {code}"),
                }
            }
            Matter::Unusable { files } => {
                let named = if self.with_findings || alert.patient.is_none() {
                    format!(": {}", visible(&files.join(" ")))
                } else {
                    String::new()
                };
                format!("{} cannot be read{named}", count(files.len() as i64, "file"))
            }
            Matter::SignOff { home_on } => {
                format!("moves home on {home_on}; not enough caregivers will be signed off")
            }
            Matter::Supply { item } => match self.with_findings {
                true => format!("runs short of {}{since}", visible(item)),
                false => format!("supplies run short{since}"),
            },
            Matter::SupportEnded { on } => format!("support ended on {on}"),
            Matter::Quiet { hours: Some(hours) } => format!("no records entered for {hours} h{since}"),
            Matter::Quiet { hours: None } => "no records on file".to_owned(),
            Matter::Policy { first, errors } => {
                let more =
                    if *errors == 1 { String::new() } else { format!(" ({} in all)", count(*errors as i64, "error")) };
                let first = visible(&format!("{}: {}", first.place, first.message));
                format!("policy.toml has an error, so alerts that depend on it were not computed: {first}{more}")
            }
            Matter::Unkept { why } => {
                format!("alert state not saved, so alerts repeat each hour until it is: {}", visible(why))
            }
            Matter::NotJudged { why } => format!("no records could be checked: {}", visible(why)),
        };
        let late = alert.learnt_after_days().map(|days| format!("; reported {} late", count(days, "day")));
        let told = match why {
            Why::New => "",
            Why::Worse => " (worse than when sent)",
            Why::Again => " (sent before)",
        };
        format!("{who}  {what}{}{told}", late.unwrap_or_default())
    }
}

fn because_words(because: Because) -> &'static str {
    match because {
        Because::AfterShower => " after a shower",
        Because::Damage => " after the dressing was reported damaged",
        Because::Interval => " by the change interval",
        Because::FirstChange => " (first change)",
        Because::Return => " (first change after the return)",
        Because::UnknownBefore => " (last change not known)",
        Because::LogLate => " (log overdue)",
    }
}

/// Returns the commands that show more.
fn look_at(message: &Message) -> Vec<String> {
    let is_of = |whats: &[MatterKind]| {
        message.alerts.iter().filter(|(alert, _)| whats.contains(&alert.matter.what())).collect::<Vec<_>>()
    };
    let codes = |whats: &[MatterKind]| -> BTreeSet<String> {
        is_of(whats).into_iter().filter_map(|(alert, _)| alert.patient.as_deref().map(visible)).collect()
    };
    let mut lines = Vec::new();
    let places = [
        ("due", MatterKind::Overdue),
        ("signals", MatterKind::Signal),
        ("teaching", MatterKind::SignOff),
        ("supplies", MatterKind::Supply),
        ("show", MatterKind::SupportEnded),
    ];
    for (command, what) in places {
        let codes: Vec<String> = codes(&[what]).into_iter().collect();
        if !codes.is_empty() {
            lines.push(format!("exitsite {command} {}", codes.join(" ")));
        }
    }
    if !is_of(&[MatterKind::Unusable, MatterKind::Policy, MatterKind::NotJudged]).is_empty() {
        lines.push("exitsite check".to_owned());
    }
    lines
}
