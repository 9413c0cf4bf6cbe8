//! The facts to know before a call, apart from the reason for it.

use chrono::NaiveDate;

use super::reason::{days_ago, open_signal, trouble};
use crate::report::due::{Row, SiteRow};
use crate::schedule::{Because, Promise, Requirement, State};
use crate::signal::Urgency;
use crate::text::visible;
use crate::view::day::{is_this_week, short, short_day, weekday};
use crate::word::Word;

/// A fact to know before a call.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(in crate::view) struct Aside {
    /// In words.
    pub(in crate::view) words: String,
    /// Whether it is worth a place on the morning list; the rest is said where a patient is named.
    pub(in crate::view) is_brief: bool,
    /// Whether it is a signal.
    pub(in crate::view) is_signal: bool,
}

/// The facts to know before a call. Old contacts are left to a named patient.
pub(in crate::view) fn asides(row: &Row) -> Vec<Aside> {
    match row {
        Row::Site(site) => of_site(site, row.is_end_reported()),
        Row::Unusable(row) => [row.problem.place.to_string(), row.problem.help.clone()].map(brief).into(),
    }
}

fn brief(words: String) -> Aside {
    Aside { words, is_brief: true, is_signal: false }
}

fn of_site(site: &SiteRow, is_end_reported: bool) -> Vec<Aside> {
    let (due, today) = (&site.due, site.today);
    let mut asides: Vec<Aside> = due.also.iter().map(|one| brief(also(one, today))).collect();
    if site.exits > 1 {
        asides.push(brief(site.at.word().to_owned()));
    }
    for signal in site.signals.iter().flatten().filter(|signal| signal.urgency != Urgency::Today) {
        asides.push(Aside { words: open_signal(signal, today), is_brief: !signal.is_answered, is_signal: true });
    }
    let mut say = |words: String| asides.push(brief(words));
    if site.signals.is_none() {
        say("signals not known".to_owned());
    }
    let is_said = due.because == Some(Because::Interval) && due.state != State::AwaitingLog;
    if let Some(change) = due.last_change.as_ref().filter(|_| !is_said) {
        say(format!("changed {}", days_ago(weekday(&change.at, today), change)));
    }
    if due.missed_in_a_row > 0 {
        say(format!("{} missed in a row", due.missed_in_a_row));
    }
    if let Some(anchor) = &site.anchor {
        say(format!("anchor {} {}", anchor.state, weekday(&anchor.at, today)));
    }
    if let Some(score) = &site.score {
        let range = || format!("{}-{}", score.total_min, score.total_max);
        let total = score.total.map_or_else(range, |total| total.to_string());
        say(format!("score {total} {} {}", score.band, weekday(&score.at, today)));
    }
    for what in &site.not_known {
        say(format!("{} not known", what.word().replace('-', " ")));
    }
    for what in &site.intolerances {
        say(format!("does not tolerate {}", visible(what)));
    }
    if let Some(promise) = &due.promise {
        say(promised(promise, today));
    }
    let is_the_promise = |at| due.promise.as_ref().is_some_and(|promise| promise.at == at);
    if let Some(contact) = site.last_contact.as_ref().filter(|contact| !is_the_promise(contact.at)) {
        let words = format!("contact {}: {}", short(&contact.at, today), contact.outcome);
        asides.push(Aside { is_brief: is_this_week(contact.at.date(), today), ..brief(words) });
    }
    if is_end_reported {
        asides.push(brief(end_reported(&site.patient)));
    }
    if let Some(ahead) = site.ahead.as_ref().filter(|ahead| !ahead.is_empty()) {
        asides.push(brief(format!("in the future: {}", ahead.join(", "))));
    }
    asides
}

/// A promise: `promised by Mon 20:00, not done`.
pub(in crate::view) fn promised(promise: &Promise, today: NaiveDate) -> String {
    let by = short(&promise.expect_by.into(), today);
    if promise.broken { format!("promised by {by}, not done") } else { format!("promised by {by}") }
}

/// The words for a reported end of support that is not written yet.
pub(in crate::view) fn end_reported(code: &str) -> String {
    format!("support reported ended: write it with `exitsite patient end {code}`")
}

/// Another requirement with its clock.
fn also(one: &Requirement, today: NaiveDate) -> String {
    let is_overdue = one.hours_overdue.is_some();
    let Some(report) = &one.report else {
        let day = short_day(one.due_on, today);
        return match is_overdue {
            true => format!("also overdue since {day}"),
            false if one.due_on <= today => "also due today".to_owned(),
            false => format!("next change {day}"),
        };
    };
    let by = short(&one.deadline.into(), today);
    let late = if is_overdue { "was due" } else { "change due" };
    format!("also {} {}, {late} by {by}", trouble(report), short(&report.at, today))
}
