//! The morning list: one line of counts, then the rows in blocks, worst first; routine changes as codes.
//!
//! ```text
//! Tue Nov 24 07:15 CST · 25 patients on file: 9 overdue, 7 due today, 9 later · 1 signal needs review today
//!
//! LOOK OR CHANGE NOW (1 patient)
//! P-022  home  spouse  dressing wet since Mon 21:30, no change reported; overdue 7 h; called spouse Mon 21:40: advised
//!
//! DUE TODAY (3 patients) by Wed 03:00
//!   home  P-016, P-041 (by 03:00 -07:00)
//!   ward  P-005
//! ```

mod block;
mod code;
mod fact;
mod finding;
mod line;
mod page;
mod reason;

pub(crate) use page::{due_mark, due_page};

pub(super) use code::{due_by_deadline, overdue_line};
pub(super) use fact::{end_reported, promised};
pub(super) use finding::at_closed_exit;
pub(super) use reason::{lasting, reason, reported_late, schedule_reason};

use std::cmp::Reverse;
use std::collections::BTreeSet;

use super::{TextStyle, bold, hanging, not_known_words, off_words, paragraph, unusable};
use crate::day::Calendar;
use crate::entry::Contacts;
use crate::event::Signal;
use crate::report::due::{Census, DueReport, Row, SiteRow};
use crate::report::{At, Report, Unusable, contacts};
use crate::schedule::{Because, State};
use crate::signal::{Review, Urgency};
use crate::text::{count, visible};

use block::RowBlock;

/// The text if no row is listed. Signals that are not known may be open.
fn none_shown(body: &DueReport) -> &'static str {
    match body.signals_not_known.is_empty() {
        true => "None of them is overdue or due today, or has a known open signal.",
        false => "None of them is overdue or due today. Signals may be open: not all of them are known.",
    }
}

/// Renders the due list of the rows that pass `is_shown`.
/// With `named`, the number of all patients on file, the list is of patients asked for by code: each row shows all known facts,
/// not only those selected for the morning list.
pub(crate) fn due(
    report: &Report<DueReport>,
    calendar: &Calendar,
    is_shown: impl Fn(&Row) -> bool,
    named: Option<usize>,
    contacts: &Contacts,
    look: TextStyle,
) -> String {
    let (body, in_full) = (&report.body, named.is_some());
    let mut out = unusable(look, &unnamed(report));
    if body.rows.is_empty() {
        out.push_str("No patients on file: patients/ is missing or empty.\n");
        return out;
    }
    out.push_str(&hanging(look, &counts(report, calendar, named), "  "));
    let shown: Vec<&Row> = body.rows.iter().filter(|row| is_shown(row)).collect();
    for block in RowBlock::ALL {
        let rows: Vec<&Row> = shown.iter().copied().filter(|row| RowBlock::of(row) == block).collect();
        out.push_str(&match block {
            RowBlock::NoLog if !in_full => code::no_log(&body.rows, contacts, look),
            _ if rows.is_empty() => String::new(),
            RowBlock::DueToday if !in_full => {
                code::due_today(&rows, &due_today(&rows, &body.rows), calendar, contacts, look)
            }
            RowBlock::Later if !in_full => code::later(&rows, contacts, look),
            RowBlock::Away | RowBlock::Ended if !in_full => code::none_due(block, &rows, contacts, look),
            _ => {
                format!(
                    "\n{}\n{}",
                    bold(&title_of(block, &rows, &body.rows), look),
                    line::lines(&rows, in_full, contacts, look)
                )
            }
        });
    }
    out.push('\n');
    if shown.is_empty() {
        out.push_str(&paragraph(look, none_shown(body)));
    }
    for line in closing_lines(body, &shown) {
        out.push_str(&hanging(look, &line, "  "));
    }
    out.push_str(&paragraph(look, &report.caution));
    out
}

/// Returns the lines below the list: moves home of patients not listed, and signals turned off or not known.
fn closing_lines(body: &DueReport, shown: &[&Row]) -> Vec<String> {
    let is_shown = |patient: &str| shown.iter().any(|row| row.patient() == patient);
    let others = body.rows.iter().filter_map(Row::site).filter(|site| !is_shown(&site.patient));
    let home = others.clone().filter_map(|site| {
        Some(format!("{} {}.", visible(&site.patient), super::teaching::move_home(site.move_home.as_ref()?, site.date)))
    });
    let mut lines: Vec<String> = home.collect();
    lines.dedup();
    lines.extend(in_notes(others.clone()));
    lines.extend(off_words(&body.off));
    lines.extend(not_known_words(&body.signals_not_known));
    lines
}

/// Names the patients without a row of whom only a note mentions a finding: `Findings in notes since yesterday, not recorded as
/// findings: P-014 (smell).`
fn in_notes<'r>(others: impl Iterator<Item = &'r SiteRow>) -> Option<String> {
    let mut named: Vec<String> = Vec::new();
    for site in others.filter(|site| !site.findings_in_notes.is_empty()) {
        let found: Vec<String> = site.findings_in_notes.iter().map(super::words::noted).collect();
        let name = format!("{} ({})", visible(&site.patient), found.join(", "));
        if !named.contains(&name) {
            named.push(name);
        }
    }
    let patients = named.join(", ");
    (!named.is_empty()).then(|| format!("Findings in notes since yesterday, not recorded as findings: {patients}."))
}

/// Returns the unreadable files that no row names.
fn unnamed(report: &Report<DueReport>) -> Vec<Unusable> {
    let is_in_row = |row: &Row, file: &str| matches!(row, Row::Unusable(row) if row.problem.place.file == file);
    let has_row = |file: &&Unusable| report.body.rows.iter().any(|row| is_in_row(row, &file.file));
    report.unusable.iter().filter(|file| !has_row(file)).cloned().collect()
}

/// Renders a blank line and a heading with its count.
fn heading(block: RowBlock, patients: usize, more: &str, look: TextStyle) -> String {
    format!("\n{}{more}\n", bold(&titled(block, patients), look))
}

/// Formats a heading with its count in patients, as in the census: `OVERDUE (5 patients)`.
fn titled(block: RowBlock, patients: usize) -> String {
    format!("{} ({})", block.heading(), count(patients as i64, "patient"))
}

/// Formats the heading of a block, with the figures of the census.
fn title_of(block: RowBlock, rows: &[&Row], all: &[Row]) -> String {
    match block {
        RowBlock::Overdue => overdue(rows, all),
        RowBlock::DueToday => due_today(rows, all),
        _ => titled(block, patients(rows)),
    }
}

/// Formats the heading of the overdue block. Patients who need a look or a change now are listed above:
/// `OVERDUE (5 of 9 patients)`.
fn overdue(rows: &[&Row], all: &[Row]) -> String {
    let is_overdue = |row: &&Row| row.state() == State::Overdue;
    let (here, everybody) = (patients(rows), patients(&all.iter().filter(is_overdue).collect::<Vec<_>>()));
    match here < everybody {
        true => format!("{} ({here} of {})", RowBlock::Overdue.heading(), count(everybody as i64, "patient")),
        false => titled(RowBlock::Overdue, here),
    }
}

/// Formats the heading of the block of changes due today, so that its figures are those of the census. A patient who is due
/// but needs a look now is listed above, and one who is overdue at another exit site is counted as overdue:
/// `DUE TODAY (6 of 7 patients)`.
fn due_today(rows: &[&Row], all: &[Row]) -> String {
    let state = |patient: &str| all.iter().filter(|row| row.patient() == patient).map(Row::state).min();
    let is_due = |row: &&Row| state(row.patient()) == Some(State::Due);
    let due: Vec<&Row> = rows.iter().copied().filter(is_due).collect();
    let (here, everybody) = (patients(&due), patients(&all.iter().filter(is_due).collect::<Vec<_>>()));
    let of = if here < everybody { format!("{here} of ") } else { String::new() };
    format!("{} ({of}{})", RowBlock::DueToday.heading(), count(everybody as i64, "patient"))
}

/// Counts the patients of the rows, each once regardless of the number of exit sites.
fn patients(rows: &[&Row]) -> usize {
    rows.iter().map(|row| row.patient()).collect::<BTreeSet<_>>().len()
}

/// Renders the time, the census, and the patient to call first.
fn counts(report: &Report<DueReport>, calendar: &Calendar, named: Option<usize>) -> String {
    let zone = calendar.policy_zone();
    let at = match report.as_of {
        At::Time(time) => time.with_timezone(&zone).format("%a %b %-d %H:%M %Z").to_string(),
        At::Day(day) => day.format("%a %b %-d").to_string(),
    };
    let body = &report.body;
    // A rejected contacts file hides no signal.
    let hides_nothing = report.unusable.iter().all(|one| one.file == contacts::FILE);
    let is_complete = hides_nothing && body.signals_not_known.is_empty();
    let of = named.filter(|all| *all > body.census.on_file);
    format!("{at} · {}{}", census_of(&body.census, of, is_complete), call_first(&body.rows))
}

/// Names the patient with the most dangerous finding not acted on, whom the order by deadline may hide: `, most urgent P-011:
/// pus, fever`.
fn call_first(rows: &[Row]) -> String {
    let findings = |row: &Row| -> Vec<Signal> {
        let urgent = row.signals().filter(|signal| finding::needs_review_today(signal));
        urgent.map(|signal| signal.name).filter(|name| name.is_clinical_finding_of_today()).collect()
    };
    let all = rows.iter().map(|row| (findings(row), row.patient())).filter(|(findings, _)| !findings.is_empty());
    // Ties go to the first on the list.
    let danger = |(findings, _): &(Vec<Signal>, &str)| (findings.first().copied(), Reverse(findings.len()));
    all.min_by_key(danger).map_or(String::new(), |(findings, patient)| {
        let mut names: Vec<&str> = findings.iter().map(|name| super::words::signal(*name)).collect();
        names.dedup();
        format!(", most urgent {}: {}", visible(patient), names.join(", "))
    })
}

/// Renders the census: `25 patients on file: 9 overdue, 1 away (P-031 41 days) · 4 signals need review today (2 acted on, 2 not)`.
/// Without `is_complete`, the number of signals is a minimum.
pub(crate) fn census(census: &Census, is_complete: bool) -> String {
    census_of(census, None, is_complete)
}

/// Renders the census of some of the patients on file: `2 of 25 patients on file: 1 overdue, 1 later`.
fn census_of(census: &Census, all: Option<usize>, is_complete: bool) -> String {
    let states = State::ALL.iter().filter(|state| **state != State::None);
    let states = states.map(|state| (census.in_state(*state), super::words::state(*state).to_owned()));
    let since = |days: i64| if days == 0 { "since today".to_owned() } else { count(days, "day") };
    let away: Vec<String> =
        census.away.iter().map(|away| format!("{} {}", visible(&away.patient), since(away.days))).collect();
    let idle = [
        (census.elsewhere, format!("away ({})", away.join(", "))),
        (census.ended_this_month, "ended this month".to_owned()),
        (census.ended_before, "ended before".to_owned()),
        (census.with_nothing_due(), "with nothing due".to_owned()),
    ];
    let parts = states.chain(idle).filter(|(count, _)| *count > 0);
    let parts: Vec<String> = parts.map(|(count, what)| format!("{count} {what}")).collect();
    let review = match census.signals_today {
        Review { open: 0, .. } => String::new(),
        review if is_complete => format!(" · {}", super::words::review(review, Urgency::Today)),
        review => format!(" · at least {}", super::words::review(review, Urgency::Today)),
    };
    let states = if parts.is_empty() { "no one".to_owned() } else { parts.join(", ") };
    let on_file = all.unwrap_or(census.on_file);
    let some = all.map(|_| format!("{} of ", census.on_file)).unwrap_or_default();
    format!("{some}{} on file: {states}{review}", count(on_file as i64, "patient"))
}

/// Renders a patient's rows for a call, each fact once.
pub(super) fn rows(rows: &[Row], look: TextStyle) -> String {
    line::lines_of_call(&rows.iter().collect::<Vec<_>>(), look)
}

/// Returns the facts of a row other than its reason, for a page about one patient. Signals and infections have their own
/// sections there, and the last change is not repeated.
pub(super) fn asides(row: &Row) -> Vec<String> {
    let Row::Site(site) = row else { return fact::second(row) };
    let mut facts = [fact::reported(site), fact::beside_signals(site), fact::rest(row)].concat();
    let (elsewhere, change) = (fact::of_other_blocks(site), reason::last_change(site));
    let is_change_said = reason(row).contains(&change);
    facts.retain(|fact| !elsewhere.contains(fact) && (*fact != change || !is_change_said));
    facts
}

/// Describes a row's state in a few words.
pub(super) fn state(row: &Row) -> String {
    let Row::Site(site) = row else { return "cannot be read".to_owned() };
    match (site.due.state, site.due.because) {
        (State::Upcoming, _) => {
            site.due.due_on.map_or("later".to_owned(), |day| format!("on {}", super::day::short_day(day, site.date)))
        }
        (State::Due, Some(Because::AfterShower | Because::Damage)) => {
            let by = site.due.deadline.map(|deadline| deadline.0.format("%H:%M").to_string());
            format!("due by {}", by.unwrap_or_default())
        }
        (State::Overdue, Some(Because::LogLate)) => "log overdue".to_owned(),
        (State::Overdue | State::Due, _) => reason::late(site).unwrap_or_default(),
        // Nothing due is no all-clear.
        (State::None, _) if row.has_signal_of_today() => {
            format!("{}; needs review today", super::words::state(State::None))
        }
        (state, _) => super::words::state(state).to_owned(),
    }
}
