//! Routine rows as codes: due today with the deadline, later by day, no log by the last day covered.

use std::collections::{BTreeMap, BTreeSet};

use chrono::NaiveDate;

use super::block::RowBlock;
use super::fact::{is_plain, reported};
use super::line::{code, lines};
use super::reason::{also, late, of_change};
use super::{heading, patients};
use crate::day::{Calendar, WallTime};
use crate::entry::Contacts;
use crate::policy::CarePlace;
use crate::report::due::{Row, SiteRow};
use crate::schedule::Because;
use crate::text::visible;
use crate::view::day::{clock, short, short_day};
use crate::view::teaching::signed_off;
use crate::view::{TextStyle, bold, contact, hanging};

/// Renders the rows due today: codes by place, and a separate line for each row with more facts.
pub(super) fn due_today(
    rows: &[&Row],
    title: &str,
    calendar: &Calendar,
    contacts: &Contacts,
    look: TextStyle,
) -> String {
    let (plain, others): (Vec<&Row>, Vec<&Row>) = rows.iter().partition(|row| is_plain(row));
    let sites: Vec<&SiteRow> = plain.iter().filter_map(|row| row.site()).collect();
    let usual = usual(sites.iter().filter_map(|site| site.due.deadline), calendar);
    let by = usual.map(|by| format!(" by {}", short(&by.into(), today(rows)))).unwrap_or_default();
    let mut out = format!("\n{}{by}\n", bold(title, look));
    for (place, word) in [(CarePlace::Home, "home"), (CarePlace::Inpatient, "ward"), (CarePlace::Elsewhere, "away")] {
        let here = plain.iter().filter(|row| row.site().is_some_and(|site| site.place == place));
        let codes: Vec<String> = here.map(|row| due_code(row, usual, contacts)).collect();
        if !codes.is_empty() {
            out.push_str(&hanging(look, &format!("  {word}  {}", codes.join(", ")), "        "));
        }
    }
    out + &lines(&others, false, contacts, look)
}

/// Returns the most common deadline among those in the program's time zone.
fn usual(deadlines: impl Iterator<Item = WallTime>, calendar: &Calendar) -> Option<WallTime> {
    let mut counted: BTreeMap<WallTime, usize> = BTreeMap::new();
    deadlines
        .filter(|deadline| is_on_clock(deadline, calendar))
        .for_each(|deadline| *counted.entry(deadline).or_default() += 1);
    counted.into_iter().max_by_key(|(_, count)| *count).map(|(deadline, _)| deadline)
}

fn is_on_clock(deadline: &WallTime, calendar: &Calendar) -> bool {
    deadline.0.with_timezone(&calendar.policy_zone()).naive_local() == deadline.0.naive_local()
}

/// Formats a code, with its deadline if it differs from the usual one, and its reason if it is not the interval.
fn due_code(row: &Row, usual: Option<WallTime>, contacts: &Contacts) -> String {
    let Some(site) = row.site() else { return code(row) };
    let clock = site
        .due
        .deadline
        .filter(|deadline| Some(*deadline) != usual)
        .map(|deadline| format!("by {}", clock(site, &deadline.into())));
    let reason = site.due.because.and_then(|because| match because {
        Because::Interval => None,
        Because::FirstChange => Some("first change".to_owned()),
        Because::UnknownBefore if site.changed_before.is_none() => Some("last change not known".to_owned()),
        _ => Some(of_change(site)),
    });
    let home = site.move_home.as_ref().map(|home| format!("{}, {}", home.on.format("home %b %-d"), signed_off(home)));
    named(row, contacts, clock.into_iter().chain(reason).chain(home))
}

/// Formats an overdue row for a handoff: `P-022  dressing wet since Mon 21:30, no change reported; overdue 7 h`.
pub(in crate::view) fn overdue_line(row: &Row) -> String {
    let Some(site) = row.site() else { return format!("{}  {}", visible(row.patient()), super::reason(row)) };
    let parts = [reported(site), vec![of_change(site)], late(site).into_iter().collect()].concat();
    let others = site.due.also.iter().filter(|one| one.report.is_none() && one.hours_overdue.is_some());
    let parts: Vec<String> = parts.into_iter().chain(others.map(|one| also(site, one))).collect();
    format!("{}  {}", code(row), parts.join("; "))
}

/// Renders changes by deadline for a handoff, each with its reason if it is not the interval: `by Wed 03:00: P-005, P-016`.
pub(in crate::view) fn due_by_deadline(rows: &[Row]) -> Vec<String> {
    let of_row = |row: &Row| {
        let Some(site) = row.site() else { return code(row) };
        match site.due.because {
            Some(Because::Interval) | None => code(row),
            Some(_) => format!("{} ({})", code(row), of_change(site)),
        }
    };
    let deadline = |row: &Row| row.site().and_then(|site| site.due.deadline);
    let line = |rows: &[Row]| {
        let by = rows.first().and_then(Row::site).and_then(|site| Some((site, site.due.deadline?)));
        let by = by.map(|(site, deadline)| format!("by {}: ", clock(site, &deadline.into()))).unwrap_or_default();
        format!("{by}{}", rows.iter().map(of_row).collect::<Vec<_>>().join(", "))
    };
    rows.chunk_by(|one, next| deadline(one) == deadline(next)).map(line).collect()
}

/// Formats a code, with the name and other facts in parentheses.
fn named(row: &Row, contacts: &Contacts, more: impl IntoIterator<Item = String>) -> String {
    let more: Vec<String> = contact::name(contacts, row.patient()).into_iter().chain(more).collect();
    if more.is_empty() { code(row) } else { format!("{} ({})", code(row), more.join("; ")) }
}

/// Renders later changes as codes by day.
pub(super) fn later(rows: &[&Row], contacts: &Contacts, look: TextStyle) -> String {
    let mut out = heading(RowBlock::Later, patients(rows), "", look);
    let mut by_day: BTreeMap<Option<NaiveDate>, Vec<String>> = BTreeMap::new();
    let (plain, others): (Vec<&Row>, Vec<&Row>) =
        rows.iter().partition(|row| is_plain(row) && row.site().is_some_and(|site| site.move_home.is_none()));
    for row in plain {
        by_day.entry(row.site().and_then(|site| site.due.due_on)).or_default().push(named(row, contacts, None));
    }
    for (day, codes) in by_day {
        let day = day.map(|day| short_day(day, today(rows))).unwrap_or_default();
        out.push_str(&hanging(look, &format!("  {day}  {}", codes.join(", ")), "    "));
    }
    out + &lines(&others, false, contacts, look)
}

/// Renders patients with nothing due as codes with the reason.
pub(super) fn none_due(block: RowBlock, rows: &[&Row], contacts: &Contacts, look: TextStyle) -> String {
    let sites = rows.iter().filter_map(|row| Some((row, row.site()?)));
    let codes: Vec<String> = sites.map(|(row, site)| named(row, contacts, [of_change(site)])).collect();
    format!("{}{}", heading(block, patients(rows), "", look), hanging(look, &format!("  {}", codes.join(", ")), "    "))
}

/// Renders the households that report by log and are not covered today, by the last day covered and the next log.
pub(super) fn no_log(rows: &[Row], contacts: &Contacts, look: TextStyle) -> String {
    let mut groups: BTreeMap<(bool, Option<NaiveDate>, NaiveDate), Vec<String>> = BTreeMap::new();
    // An overdue log has its own row.
    let is_late = |site: &&SiteRow| site.due.because == Some(Because::LogLate);
    for site in rows.iter().filter_map(Row::site).filter(|site| !is_late(site)) {
        if let Some(expected) = site.due.log_expected {
            let codes = groups.entry((expected >= site.today, site.due.heard_through, expected)).or_default();
            let name = contact::name(contacts, &site.patient).map(|name| format!(" ({name})"));
            let patient = format!("{}{}", visible(&site.patient), name.unwrap_or_default());
            if !codes.contains(&patient) {
                codes.push(patient);
            }
        }
    }
    if groups.is_empty() {
        return String::new();
    }
    let today = today(&rows.iter().collect::<Vec<_>>());
    let mut out = heading(RowBlock::NoLog, groups.values().flatten().collect::<BTreeSet<_>>().len(), "", look);
    for ((is_in_time, heard, expected), mut codes) in groups {
        codes.sort();
        let late = if is_in_time { "log not late yet" } else { "log overdue" };
        let last = heard.map_or("none on file".to_owned(), |day| format!("complete through {}", short_day(day, today)));
        let text = format!("  {late}: {last}, next expected {}: {}", short_day(expected, today), codes.join(", "));
        out.push_str(&hanging(look, &text, "    "));
    }
    out
}

/// Returns the care day of the rows.
fn today(rows: &[&Row]) -> NaiveDate {
    rows.iter().find_map(|row| row.site()).map(|site| site.date).unwrap_or_default()
}
