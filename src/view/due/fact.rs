//! The facts of a row at three levels: the list line, the facts that affect the call, and all known facts.

use crate::report::due::{FindingInNote, LastContact, Row, SiteRow, UnusableRow};
use crate::schedule::{Because, Promise, Requirement, State};
use crate::signal::Urgency;
use crate::text::visible;
use crate::view::day::{clock, is_this_week, short_day, weekday};
use crate::view::teaching::move_home;
use crate::view::words;
use crate::word::Word;

use super::finding::{acted_on, acted_on_since, findings, needs_review_this_week, needs_review_today, person};
use super::reason::{also, last_change, late, log, not_on_file, of_change};

/// Returns the first line of a row: the first finding, the delay, the last contact.
pub(super) fn first(row: &Row) -> Vec<String> {
    first_with(row, acted_on)
}

/// Returns the first line of a row of which all is shown: the signals acted on have their times here, and are not repeated.
pub(super) fn first_in_full(row: &Row) -> Vec<String> {
    first_with(row, acted_on_since)
}

fn first_with(row: &Row, acted_on: impl Fn(&SiteRow, Urgency) -> Option<String>) -> Vec<String> {
    let Row::Site(site) = row else { return vec![super::reason(row)] };
    let mut parts = findings(site, needs_review_today);
    parts.truncate(1);
    if parts.is_empty() {
        parts.extend(acted_on(site, Urgency::Today));
    }
    // A shower or damage comes before a change that is due for another reason.
    parts.extend(reported(site));
    if is_change_told(site) {
        parts.push(of_change(site));
    }
    parts.extend(late(site));
    parts.extend(promise(site).filter(|_| !site.due.has_broken_promise()));
    parts.extend(contact(site, true));
    parts
}

/// Names the signals of today that were acted on, if another one was not: the first line has that one.
pub(super) fn acted_on_beside(row: &Row) -> Option<String> {
    let site = row.site().filter(|site| !findings(site, needs_review_today).is_empty())?;
    acted_on(site, Urgency::Today)
}

/// Describes a shower or damage, if a change is due for another reason.
pub(super) fn reported(site: &SiteRow) -> Vec<String> {
    site.due.also.iter().filter(|one| one.report.is_some()).map(|one| also(site, one)).collect()
}

/// Returns true if the first line gives the reason for the change: it is the reason for the row, or a change is overdue or
/// due.
fn is_change_told(site: &SiteRow) -> bool {
    let is_alone = findings(site, needs_review_today).is_empty() && acted_on(site, Urgency::Today).is_none();
    let is_now = matches!(site.due.state, State::Overdue | State::Due);
    is_alone && site.due.state != State::Upcoming || is_now && site.due.because != Some(Because::Interval)
}

/// Returns the facts that affect the call, except those of the first line.
pub(super) fn second(row: &Row) -> Vec<String> {
    let site = match row {
        Row::Site(site) => site,
        Row::Unusable(row) => return unreadable(row),
    };
    let mut parts: Vec<String> = findings(site, needs_review_today).into_iter().skip(1).collect();
    parts.extend(findings(site, needs_review_this_week));
    parts.extend(beside_signals(site));
    parts.extend(row.is_end_reported().then(|| end_reported(&site.patient)));
    parts
}

/// Describes the open signals of today in the readable records.
fn unreadable(row: &UnusableRow) -> Vec<String> {
    let open = row.signals.iter().filter(|signal| needs_review_today(signal));
    open.map(|signal| format!("needs review today: {}", words::signal(signal.name))).collect()
}

/// Returns the facts that affect the call, except signals.
pub(super) fn beside_signals(site: &SiteRow) -> Vec<String> {
    let is_to_tell = |one: &&Requirement| one.report.is_none() && one.hours_overdue.is_some();
    let mut parts: Vec<String> = site.due.also.iter().filter(is_to_tell).map(|one| also(site, one)).collect();
    parts.extend(promise(site).filter(|_| site.due.has_broken_promise()));
    parts.extend(clinical(site));
    parts.extend(site.move_home.as_ref().map(|home| move_home(home, site.date)));
    parts.extend(not_on_file(site).filter(|_| !is_change_told(site)));
    parts.extend(in_notes(site));
    parts.extend(not_known(site));
    parts.extend(ahead(site));
    parts
}

/// Returns all other known facts of a row.
pub(super) fn rest(row: &Row) -> Vec<String> {
    let site = match row {
        Row::Site(site) => site,
        Row::Unusable(row) => {
            let problem = &row.problem;
            return [&problem.place.to_string(), &problem.message, &problem.help].map(|text| visible(text)).to_vec();
        }
    };
    let due = &site.due;
    let mut parts = vec![format!("{}, POD {}", site.at.word().replace('-', " "), site.pod)];
    if due.last_change.is_some() || due.interval.is_some() {
        parts.push(last_change(site));
    }
    if due.log_expected.is_some() && due.because != Some(Because::LogLate) && due.state != State::AwaitingLog {
        parts.push(log(site));
    }
    parts.extend(
        due.also.iter().filter(|one| one.report.is_none() && one.hours_overdue.is_none()).map(|one| also(site, one)),
    );
    parts.extend([Urgency::Today, Urgency::ThisWeek].into_iter().filter_map(|urgency| acted_on_since(site, urgency)));
    if let Some(anchor) = &site.anchor {
        parts.push(format!("{} {}", words::anchor(anchor.state), weekday(&anchor.at, site.date)));
    }
    parts.extend(score(site));
    parts.extend(contact(site, false).filter(|_| contact(site, true).is_none()));
    if let Some(people) = &site.signed_off {
        let people: Vec<String> = people.iter().map(|code| person(site, code)).collect();
        parts.push(if people.is_empty() {
            "no one signed off".to_owned()
        } else {
            format!("signed off: {}", people.join(", "))
        });
    }
    parts.extend(site.intolerances.iter().map(|what| format!("does not tolerate {}", visible(what))));
    parts
}

/// Returns the facts that have their own sections on a page about one patient: signals acted on, infections and treatments.
pub(super) fn of_other_blocks(site: &SiteRow) -> Vec<String> {
    let signals = [Urgency::Today, Urgency::ThisWeek].into_iter().filter_map(|urgency| acted_on_since(site, urgency));
    signals.chain(clinical(site)).collect()
}

/// Returns true if a row due today shows nothing beyond its code, its deadline and a move home.
pub(super) fn is_plain(row: &Row) -> bool {
    let Row::Site(site) = row else { return false };
    let move_home = usize::from(site.move_home.is_some());
    second(row).len() == move_home && site.due.promise.is_none() && site.due.report.is_none()
}

fn score(site: &SiteRow) -> Option<String> {
    let score = site.score.as_ref()?;
    let range = || format!("{}–{}", score.total_min, score.total_max);
    let total = score.total.map_or_else(range, |total| total.to_string());
    Some(format!("score {total} {} {}", words::band(&score.band, &score.unscored), weekday(&score.at, site.date)))
}

/// Describes a promise: `promised by Mon 20:00, not reported`, `will change the dressing by Tue 13:30`.
fn promise(site: &SiteRow) -> Option<String> {
    let promise = site.due.promise.as_ref()?;
    let is_last = |contact: &&LastContact| contact.at == promise.at && !promise.broken;
    Some(match site.last_contact.as_ref().filter(is_last) {
        Some(contact) => {
            let by = words::until(&clock(site, &promise.expect_by.into()), promise.is_agreed);
            format!("{} {}{by}", person(site, &contact.with), words::outcome(contact.outcome))
        }
        None => promised(site, promise),
    })
}

/// Describes a promise: `promised by Mon 20:00, not reported`, `promised, no time given: by Wed 03:00`.
pub(in crate::view) fn promised(site: &SiteRow, promise: &Promise) -> String {
    let by = words::until(&clock(site, &promise.expect_by.into()), promise.is_agreed);
    if promise.broken { format!("promised{by}, not reported") } else { format!("promised{by}") }
}

/// Describes the last contact with its outcome. A promise already includes its contact; the list omits contacts older than a
/// week.
fn contact(site: &SiteRow, is_of_list: bool) -> Option<String> {
    let is_promise = |contact: &&LastContact| site.due.promise.as_ref().is_some_and(|promise| promise.at == contact.at);
    let contact = site.last_contact.as_ref().filter(|contact| !is_promise(contact))?;
    let is_old = !is_this_week(contact.at.date(), site.date);
    let when = clock(site, &contact.at);
    let to = contact.escalated_to.as_deref();
    let words = words::call(&person(site, &contact.with), &when, contact.outcome, to);
    (!is_of_list || !is_old).then_some(words)
}

/// Describes pending cultures, infections and treatments.
fn clinical(site: &SiteRow) -> Vec<String> {
    let day = |day| short_day(day, site.date);
    let is_signal =
        |name| site.signals.iter().flatten().any(|signal| signal.name == name && needs_review_this_week(signal));
    let culture = site.culture_pending.filter(|_| !is_signal(crate::event::Signal::CultureUnresulted));
    let mut parts: Vec<String> =
        culture.map(|taken| format!("culture pending since {}", day(taken))).into_iter().collect();
    for infection in &site.infections {
        let organisms = visible(&infection.organisms.join(", "));
        let grew = if organisms.is_empty() { String::new() } else { format!(" ({organisms})") };
        parts.push(format!("infection since {}{grew}", day(infection.onset)));
    }
    for treatment in &site.treatments {
        let until = treatment.until.map_or(String::new(), |until| format!(" through {}", day(until)));
        parts.push(format!("{}{until}", words::remedy(treatment.what)));
    }
    parts
}

/// Names the findings that only notes mention, each note once: `note of today 07:10 mentions smell, not recorded as a finding`.
fn in_notes(site: &SiteRow) -> Vec<String> {
    let is_together = |one: &FindingInNote, next: &FindingInNote| {
        one.file == next.file && !one.finding.is_for_a_clinician() && !next.finding.is_for_a_clinician()
    };
    let said = |all: &[FindingInNote]| {
        let one = all.first()?;
        let left = if one.finding.is_for_a_clinician() { "" } else { ", not recorded as a finding" };
        let found: Vec<String> = all.iter().map(words::noted).collect();
        Some(format!("note of {} mentions {}{left}", clock(site, &one.at), found.join(", ")))
    };
    site.findings_in_notes.chunk_by(is_together).filter_map(said).collect()
}

fn not_known(site: &SiteRow) -> Vec<String> {
    let signals = site.signals.is_none().then(|| "signals not known".to_owned());
    let hidden = site.not_known.iter().map(|what| format!("{} not known", what.word().replace('-', " ")));
    signals.into_iter().chain(hidden).collect()
}

/// Describes a reported end of support that is not recorded in patient.toml yet.
pub(in crate::view) fn end_reported(code: &str) -> String {
    format!("support reported ended: record it with `exitsite patient end {code}`")
}

fn ahead(site: &SiteRow) -> Option<String> {
    let files = site.ahead.as_ref().filter(|files| !files.is_empty())?;
    Some(format!("in the future: {}", visible(&files.join(", "))))
}
