//! An open signal as a finding: the observation, the observer, and the time.

use chrono::{NaiveDate, NaiveTime};

use crate::day::WallTime;
use crate::event::{At, Signal, Source};
use crate::report::due::{OpenSignal, Sighting, SiteRow};
use crate::schedule::{Because, ChangeTrigger, Trouble};
use crate::signal::{Observation, Urgency};
use crate::text::visible;
use crate::view::day::{clock, is_of_days, of_wall, short, short_day, wall};
use crate::view::words;

/// The number of findings, the first ones, of a record that was acted on.
const FINDINGS_ACTED_ON: usize = 2;

/// Returns the findings of the selected signals, each record once: `redness 12 mm, serous drainage: spouse, Sat 18:40`.
pub(super) fn findings(site: &SiteRow, is_taken: impl Fn(&OpenSignal) -> bool) -> Vec<String> {
    let mut said: Vec<String> = Vec::new();
    let taken: Vec<&OpenSignal> = site.signals.iter().flatten().filter(|signal| is_taken(signal)).collect();
    // The pus of a record names its findings already.
    let is_told = |signal: &OpenSignal| {
        signal.later_score.is_some() && taken.iter().any(|one| is_of_site(one.name) && is_of_one_record(signal, one))
    };
    for signal in taken.iter().filter(|signal| !is_told(signal) && !is_said_by_schedule(site, signal)) {
        let words = finding(site, signal);
        if !said.contains(&words) {
            said.push(words);
        }
    }
    said
}

/// Describes one signal by its finding, or else by its name and the time it opened.
fn finding(site: &SiteRow, signal: &OpenSignal) -> String {
    let at = at_closed_exit(signal);
    let at_time = |at| clock(site, &of_wall(at));
    let new = match words::worse(&signal.worse, signal.observed.as_ref(), at_time, site.date) {
        Some(worse) => format!(", {worse}"),
        None if signal.is_answered && !signal.is_news_answered => ", new since it was acted on".to_owned(),
        None => String::new(),
    };
    match (&signal.seen, &signal.observed) {
        (Some(seen), Some(Observation::ChangeBy(code))) => {
            format!("changed by {}, not signed off, {}", person(site, code), clock(site, &seen.at))
        }
        (_, Some(observation)) if is_of_days(observation) => words::observation(observation, site.date),
        // The result is the news, not the day of the swab.
        (Some(seen), Some(observation @ Observation::Grew { .. })) => {
            format!("{}, {}{new}", words::observation(observation, site.date), person(site, &seen.by))
        }
        (Some(seen), _) => format!("{}{at}: {}{new}", observed(site, signal, seen), seen_by(site, seen)),
        (None, _) => {
            format!("{}{at} since {}{new}", words::signal(signal.name), since(signal, site))
        }
    }
}

/// Formats the start of a signal; the day alone if days that passed show it.
fn since(signal: &OpenSignal, site: &SiteRow) -> String {
    match signal.observed.as_ref().is_some_and(is_of_days) {
        true => short(&At::Day(signal.since.0.date_naive()), site.date),
        false => wall(signal.since, site.date),
    }
}

/// Describes the findings of the record, or the single observation if it has none.
fn observed(site: &SiteRow, signal: &OpenSignal, seen: &Sighting) -> String {
    let found = seen.site.as_ref().map(words::findings).filter(|found| !found.is_empty());
    let of_score = is_of_score(signal.name);
    let label = || words::signal(signal.name);
    match (found, &signal.observed) {
        (Some(found), _) if of_score => format!("{} ({})", found.join(", "), label()),
        (Some(found), _) if is_of_site(signal.name) => found.join(", "),
        (_, Some(observation)) => words::observation(observation, site.date),
        (_, None) => label().to_owned(),
    }
}

/// Returns true if the total of the site findings shows a signal.
fn is_of_score(signal: Signal) -> bool {
    matches!(signal, Signal::ScoreReview | Signal::ScoreWithGrowth)
}

/// Returns true if site findings show a signal.
fn is_of_site(signal: Signal) -> bool {
    matches!(signal, Signal::Pus | Signal::RednessWide | Signal::SwellingTunnel | Signal::BleedingAtSite)
}

/// Formats the person and the time of a record: `spouse, Sat 18:40`.
fn seen_by(site: &SiteRow, seen: &Sighting) -> String {
    let how = match seen.source {
        Source::Image => ", from a picture",
        Source::Log => ", from a log",
        Source::Seen | Source::Told => "",
    };
    // The writer of a call saw nothing.
    let told = seen.told_by.as_ref().map(|told| match told.as_str() {
        "other" => "told by another person, ".to_owned(),
        told => format!("told by {}, ", person(site, told)),
    });
    format!("{}{}, {}{how}", told.unwrap_or_default(), person(site, &seen.by), clock(site, &seen.at))
}

/// Names a person by the recorded relation, else by the code.
pub(super) fn person(site: &SiteRow, code: &str) -> String {
    let caregiver = site.caregivers.iter().find(|caregiver| caregiver.code == code);
    let relation = caregiver.and_then(|caregiver| caregiver.relation.as_deref());
    visible(relation.unwrap_or(code))
}

/// Returns true if the reason for the change already states the signal: damage, an overdue log, missed changes.
fn is_said_by_schedule(site: &SiteRow, signal: &OpenSignal) -> bool {
    let due = &site.due;
    let also = due.also.iter().filter_map(|one| one.report);
    let is_same = |report: ChangeTrigger| {
        report.trouble != Trouble::Shower && signal.seen.as_ref().is_some_and(|seen| seen.at == report.at)
    };
    match signal.name {
        Signal::WaterAtSite => due.report.into_iter().chain(also).any(is_same),
        Signal::LogLate => due.because == Some(Because::LogLate),
        Signal::ChangesMissed => due.missed_in_a_row > 0,
        _ => false,
    }
}

/// Names a closed exit site without a row of its own: ` at exit a (closed)`; otherwise empty.
pub(in crate::view) fn at_closed_exit(signal: &OpenSignal) -> String {
    signal.closed_exit.as_ref().map(|exit| format!(" at exit {} (closed)", visible(exit))).unwrap_or_default()
}

/// Returns true if the signal is one of today and not acted on.
pub(super) fn needs_review_today(signal: &OpenSignal) -> bool {
    signal.urgency == Urgency::Today && !signal.is_news_answered
}

/// Returns true if the signal is one of this week and not acted on.
pub(super) fn needs_review_this_week(signal: &OpenSignal) -> bool {
    signal.urgency == Urgency::ThisWeek && !signal.is_acted_on()
}

/// Lists the open signals that were acted on, each with the action: `redness 12 mm (told md-3), line pulled (assessed)`.
pub(super) fn acted_on(site: &SiteRow, urgency: Urgency) -> Option<String> {
    named_acted_on(site, urgency, |_| String::new(), |_| String::new())
}

/// Lists the open signals that were acted on, each with the time it opened and the day of the action.
pub(super) fn acted_on_since(site: &SiteRow, urgency: Urgency) -> Option<String> {
    let day = |at: WallTime| match at.0.date_naive() {
        today if today == site.date => " today".to_owned(),
        day => format!(" {}", short_day(day, site.date)),
    };
    named_acted_on(site, urgency, |signal| format!(" since {}", since(signal, site)), day)
}

fn named_acted_on(
    site: &SiteRow,
    urgency: Urgency,
    since: impl Fn(&OpenSignal) -> String,
    on: impl Fn(WallTime) -> String,
) -> Option<String> {
    let is_acted_on = |signal: &&OpenSignal| {
        signal.urgency == urgency && !needs_review_today(signal) && !needs_review_this_week(signal)
    };
    let acted_on = site.signals.iter().flatten().filter(is_acted_on);
    let all: Vec<(&OpenSignal, String)> = acted_on.map(|signal| (signal, about(site, signal, &since, &on))).collect();
    let mut names: Vec<String> = Vec::new();
    let mut group = |(n, (signal, about)): (usize, &(&OpenSignal, String))| {
        let is_same = |(other, words): &&(&OpenSignal, String)| words == about && is_of_one_record(signal, other);
        // The first signal of a record names all that were acted on alike.
        if is_found(signal) && all[..n].iter().any(|one| is_same(&one)) {
            return;
        }
        let alike: Vec<&OpenSignal> = all.iter().filter(is_same).map(|(signal, _)| *signal).collect();
        names.push(format!("{}{about}", label(site, signal, &alike)));
    };
    all.iter().enumerate().for_each(&mut group);
    (!names.is_empty()).then(|| names.join(", "))
}

/// Formats the exit site if closed, the start, and the action: ` since Nov 17 10:35 (told md-3 Nov 17)`.
fn about(
    site: &SiteRow,
    signal: &OpenSignal,
    since: impl Fn(&OpenSignal) -> String,
    on: impl Fn(WallTime) -> String,
) -> String {
    let ended = words::and_treatment_ended(signal.treatment_ended.as_ref(), site.date);
    // What was told before the pus is no news of it.
    let is_before_pus = |at: WallTime| signal.later_score.as_ref().is_some_and(|score| at < score.at);
    let on = |at: WallTime| match is_before_pus(at) {
        true => format!(" {}", short_day(at.0.date_naive(), site.date)),
        false => on(at),
    };
    let act = words::act(signal.latest_action.as_ref(), signal.name, on);
    format!("{}{} ({act}{ended})", at_closed_exit(signal), since(signal))
}

/// Returns true if site findings or their total show a signal.
fn is_found(signal: &OpenSignal) -> bool {
    (is_of_score(signal.name) || is_of_site(signal.name))
        && signal.seen.as_ref().is_some_and(|seen| seen.site.is_some())
}

/// Returns true if site findings of one record show both signals.
fn is_of_one_record(one: &OpenSignal, other: &OpenSignal) -> bool {
    is_found(one) && is_found(other) && one.seen == other.seen
}

/// Names a signal that was acted on, with those of its record that were acted on alike: the findings of the latest record, each
/// once; of an earlier record, or of one whose findings are named elsewhere in the row, only its own.
fn label(site: &SiteRow, signal: &OpenSignal, alike: &[&OpenSignal]) -> String {
    let found = signal.seen.as_ref().filter(|_| is_found(signal)).and_then(|seen| seen.site.as_ref());
    let found = found.map(words::findings).unwrap_or_default();
    let is_alike = |other: &OpenSignal| alike.iter().any(|one| std::ptr::eq(*one, other));
    let mut others = site.signals.iter().flatten().filter(|other| !is_alike(other) && is_found(other));
    let is_elsewhere = |other: &OpenSignal| match (&signal.seen, &other.seen) {
        (Some(seen), Some(of)) if seen == of => is_of_site(other.name) || alike.iter().all(|one| is_of_score(one.name)),
        (Some(seen), Some(of)) => order(&of.at) > order(&seen.at) && signal.exit == other.exit,
        _ => false,
    };
    let own: Vec<String> = alike
        .iter()
        .filter(|one| is_of_site(one.name))
        .filter_map(|one| one.observed.as_ref())
        .map(|what| words::observation(what, site.date))
        .collect();
    if found.is_empty() || others.any(is_elsewhere) {
        return if own.is_empty() { words::signal(signal.name).to_owned() } else { own.join(", ") };
    }
    // The rest is in `due PATIENT` and `show`.
    let named = found.into_iter().enumerate().filter(|(n, words)| *n < FINDINGS_ACTED_ON || own.contains(words));
    named.map(|(_, words)| words).collect::<Vec<_>>().join(", ")
}

/// Returns the sort key of a record; one without a time comes at the end of its day.
fn order(at: &At) -> (NaiveDate, bool, Option<NaiveTime>) {
    match at {
        At::Time(time) => (time.date_naive(), false, Some(time.time())),
        At::Day(day) => (*day, true, None),
    }
}
