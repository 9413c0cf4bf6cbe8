//! The reason why a row is on the list, in words for a phone call.

use crate::event::{At, Kind, Water};
use crate::policy::CarePlace;
use crate::report::due::{Row, SiteRow, UnusableRow};
use crate::schedule::{Because, ChangeTrigger, Due, LastChange, Requirement, State, Trouble};
use crate::signal::Urgency;
use crate::text::{count, visible};
use crate::view::day::{clock, short_day, weekday};

use super::finding::{acted_on, findings, needs_review_today};

/// Returns the signals of today, then the reason for the change.
pub(in crate::view) fn reason(row: &Row) -> String {
    match row {
        Row::Site(site) => {
            let mut parts = findings(site, needs_review_today);
            parts.extend(acted_on(site, Urgency::Today));
            parts.push(of_change(site));
            parts.join("; ")
        }
        Row::Unusable(row) => unreadable(row),
    }
}

/// Returns the reason from the schedule alone.
pub(in crate::view) fn schedule_reason(row: &Row) -> String {
    row.site().map_or_else(|| reason(row), of_change)
}

/// Names the unreadable file in a nurse's words, and the fact that is unknown without it.
fn unreadable(row: &UnusableRow) -> String {
    let Some(record) = row.record() else { return format!("cannot be read: {}", visible(&row.problem.message)) };
    let today = row.date.unwrap_or(record.date);
    let time = record.time.map(|time| time.format(" %H:%M").to_string()).unwrap_or_default();
    let day = short_day(record.date, today);
    format!("{} of {day}{time} cannot be read, next change not known: run `exitsite check`", record.kind)
}

/// Returns the reason why a change is due, or why none is.
pub(super) fn of_change(site: &SiteRow) -> String {
    let (due, today) = (&site.due, site.date);
    let Some(because) = due.because else { return nothing_due(site) };
    match (because, &due.report) {
        (Because::AfterShower | Because::Damage, Some(report)) => unanswered(report, due.order_unknown, site),
        (Because::FirstChange, _) => format!("first change after {}", short_day(site.begins, today)),
        (Because::UnknownBefore, _) => {
            let begins = short_day(site.begins, today);
            match site.changed_before {
                None => format!("records begin {begins}, last change not known"),
                Some(day) => format!(
                    "changed {}, before the records begin ({begins}), so the schedule leaves it out: set last_change_before = {day} in patient.toml",
                    short_day(day, today)
                ),
            }
        }
        (Because::Return, _) => {
            let back = due.due_on.map(|day| weekday(&At::Day(day), today)).unwrap_or_default();
            let ended = due.ended_by_move.iter();
            let ended = ended
                .map(|one| format!("; before that: {} {}, {}", trouble(one), clock(site, &one.at), no_change(site)));
            format!("back since {back}, dressing not checked yet{}", ended.collect::<String>())
        }
        (because, _) if because == Because::LogLate || due.state == State::AwaitingLog => log(site),
        _ => last_change(site),
    }
}

/// Returns the words for a change that is not on file: a ward records its changes, a household reports them.
pub(super) fn no_change(site: &SiteRow) -> &'static str {
    if site.place == CarePlace::Inpatient { "no change recorded" } else { "no change reported" }
}

/// Counts the consecutive due changes not on file. A household that did not report differs from a complete log without them.
pub(super) fn not_on_file(site: &SiteRow) -> Option<String> {
    let how = match (site.due.heard_through, site.place) {
        (Some(_), _) => "missing from the log",
        (None, CarePlace::Inpatient) => "not recorded",
        (None, _) => "not reported",
    };
    let missed = site.due.missed_in_a_row;
    (missed > 0).then(|| format!("{missed} {how}"))
}

/// Describes the last change and the interval: `changed Fri 07:37, every 2 days, 1 not reported`.
pub(super) fn last_change(site: &SiteRow) -> String {
    let due = &site.due;
    let changed = due.last_change.as_ref();
    let changed = changed.map_or("no change on file".to_owned(), |change| format!("changed {}", ago(change, site)));
    let by = if due.phase.as_deref() == Some("order") { " by order" } else { "" };
    let interval = due.interval.as_ref().map(|interval| format!(", {interval}{by}")).unwrap_or_default();
    let missed = not_on_file(site).map(|missed| format!(", {missed}")).unwrap_or_default();
    format!("{changed}{interval}{missed}")
}

/// Describes a shower or damage without a change since: `dressing wet since Mon 21:30, no change reported`.
fn unanswered(report: &ChangeTrigger, order_unknown: bool, site: &SiteRow) -> String {
    let (what, when) = (trouble(report), clock(site, &report.at));
    let (since, before) = match report.trouble {
        Trouble::Shower => ("", "the shower"),
        _ => ("since ", "that"),
    };
    match order_unknown {
        true => format!("{what} {when}; changed that day, unclear if before or after {before}"),
        false => format!("{what} {since}{when}, {}", no_change(site)),
    }
}

/// Describes another requirement with its deadline.
pub(super) fn also(site: &SiteRow, one: &Requirement) -> String {
    let is_overdue = one.hours_overdue.is_some();
    let Some(report) = &one.report else {
        let day = short_day(one.due_on, site.date);
        return match one.hours_overdue {
            Some(hours) => format!("scheduled change overdue {}, due {day}", lasting(hours)),
            None if one.due_on <= site.today => {
                let by = clock(site, &one.deadline.into());
                if site.today < site.date {
                    format!("scheduled change due by {by}")
                } else {
                    "scheduled change due today".to_owned()
                }
            }
            None => format!("scheduled change {day}"),
        };
    };
    let by = clock(site, &one.deadline.into());
    let late = if is_overdue { "change was due" } else { "change due" };
    format!("{}, {late} by {by}", unanswered(report, one.order_unknown, site))
}

/// Describes how late or how soon a change is: `overdue 7 h`, `change by 08:20`.
pub(super) fn late(site: &SiteRow) -> Option<String> {
    let due = &site.due;
    match due.state {
        State::Overdue if due.because == Some(Because::LogLate) => None,
        State::Overdue => Some(format!("overdue {}", lasting(due.hours_overdue.unwrap_or(0)))),
        State::Due if due.report.is_some() => due.deadline.map(|deadline| {
            let by = clock(site, &deadline.into());
            format!("change by {}", by.strip_prefix("today ").unwrap_or(&by))
        }),
        // After midnight the care day is still the day before.
        State::Due if site.today < site.date => {
            due.deadline.map(|deadline| format!("due by {}", clock(site, &deadline.into())))
        }
        State::Due => Some("due today".to_owned()),
        State::Upcoming => due.due_on.map(|day| format!("next change {}", short_day(day, site.date))),
        State::AwaitingLog | State::None | State::Unusable => None,
    }
}

/// Describes the first shower or damage without a change, overdue or not: `overdue 7 h`, `by 09:17`.
pub(in crate::view) fn reported_late(site: &SiteRow) -> Option<String> {
    let due = &site.due;
    let first = due.deadline.filter(|_| due.report.is_some()).map(|deadline| (deadline, due.hours_overdue));
    let also = due.also.iter().filter(|one| one.report.is_some()).map(|one| (one.deadline, one.hours_overdue));
    let (deadline, hours) = first.into_iter().chain(also).min_by_key(|(deadline, _)| *deadline)?;
    Some(match hours {
        Some(hours) => format!("overdue {}", lasting(hours)),
        None => {
            let by = clock(site, &deadline.into());
            format!("by {}", by.strip_prefix("today ").unwrap_or(&by))
        }
    })
}

/// Formats a duration in hours, or in days from three days on.
pub(in crate::view) fn lasting(hours: i64) -> String {
    if hours < 72 { format!("{hours} h") } else { format!("{} d", hours / 24) }
}

/// Describes the last day covered by a log and the day of the next one; for an overdue log, the time without any report.
pub(super) fn log(site: &SiteRow) -> String {
    let Due { heard_through, heard_from, log_expected, .. } = &site.due;
    let is_call = site.due.heard_by_call == Some(true);
    let day = |day| short_day(day, site.date);
    if site.due.because == Some(Because::LogLate) {
        // A call in which nothing was reported ends no silence: the row names it as the last contact.
        let is_silence_known = !is_call || heard_from <= heard_through;
        let heard = (*heard_from).max(*heard_through).map(|last| (site.today - last).num_days());
        let silent = match heard.filter(|days| *days > 0 && is_silence_known) {
            Some(days) => format!("no report for {}: ", count(days, "day")),
            None if heard.is_none() => format!("no report since records began {}: ", day(site.begins)),
            None => String::new(),
        };
        let log = heard_through.map_or("no log on file".to_owned(), |last| format!("no log since {}", day(last)));
        let expected = log_expected.map(|next| format!(", expected {}", day(next))).unwrap_or_default();
        return format!("{silent}{log}{expected}");
    }
    let through = heard_through.map_or("none on file".to_owned(), |last| format!("complete through {}", day(last)));
    let next = log_expected.map(|next| format!(", next expected {}", day(next))).unwrap_or_default();
    let what = if is_call { "call" } else { "report" };
    let from = heard_from.map(|last| format!(", last {what} {}", day(last))).unwrap_or_default();
    format!("log {through}{next}{from}")
}

/// Names a shower or damage: `showered`, `dressing wet at a shower`.
fn trouble(report: &ChangeTrigger) -> String {
    match (report.trouble, report.kind) {
        (Trouble::Shower, _) => bathed(report.water).to_owned(),
        (Trouble::LeftDamaged(dressing), _) => format!("dressing left {dressing}"),
        (Trouble::Damage(dressing), Kind::Shower) => format!("dressing {dressing} at a shower"),
        (Trouble::Damage(dressing), Kind::Trauma) => format!("dressing {dressing} at a pull"),
        (Trouble::Damage(dressing), _) => format!("dressing {dressing}"),
    }
}

/// Names the kind of water: a swim is not a shower.
fn bathed(water: Option<Water>) -> &'static str {
    match water {
        Some(Water::Bath) => "bathed",
        Some(Water::Pool) => "swam",
        Some(Water::Other) => "in water",
        Some(Water::Shower) | None => "showered",
    }
}

fn nothing_due(site: &SiteRow) -> String {
    let today = site.date;
    if let Some(ended) = &site.ended {
        return format!("support ended {}, {}", short_day(ended.on, today), ended.why);
    }
    if let Some(until) = site.closed_on {
        return format!("exit closed {}", short_day(until, today));
    }
    if site.today < site.begins {
        return format!("begins {}", short_day(site.begins, today));
    }
    match site.days_elsewhere {
        Some(0) => "away since today".to_owned(),
        Some(days) => format!("away for {}", count(days, "day")),
        None => "nothing is due".to_owned(),
    }
}

/// Formats the time of the last change, from a week on with the number of days ago.
fn ago(change: &LastChange, site: &SiteRow) -> String {
    if change.days_ago < 7 {
        clock(site, &change.at)
    } else {
        format!("{}, {} days ago", weekday(&change.at, site.date), change.days_ago)
    }
}
