//! The due list for a person: worst first, the reason beside each name, the households not heard from, the census.

mod aside;
mod reason;

pub(super) use aside::{asides, end_reported, promised};
pub(super) use reason::{at_closed_exit, reason};

use std::collections::BTreeMap;

use chrono::NaiveDate;

use super::day::short_day;
use super::{Look, hanging, not_known_words, off_words, paragraph, table, unusable};
use crate::report::due::{Census, DueReport, Row};
use crate::report::{Report, Unusable};
use crate::schedule::{Because, State};
use crate::text::{count, visible};
use crate::word::Word;

/// The due list, of the rows that `is_shown` takes. `today` is the care day in the policy's zone.
///
/// With `in_full` each row says all that is known, not only what is worth a place on the morning list.
pub(crate) fn due(
    report: &Report<DueReport>,
    today: NaiveDate,
    is_shown: impl Fn(&Row) -> bool,
    in_full: bool,
    look: Look,
) -> String {
    let body = &report.body;
    let shown: Vec<&Row> = body.rows.iter().filter(|row| is_shown(row)).collect();
    // The file that a row names need not be named again; a patient's others are.
    let is_in_row = |row: &Row, file: &str| matches!(row, Row::Unusable(row) if row.problem.place.file == file);
    let has_row = |file: &&Unusable| body.rows.iter().any(|row| is_in_row(row, &file.file));
    let others: Vec<Unusable> = report.unusable.iter().filter(|file| !has_row(file)).cloned().collect();
    let mut out = unusable(look, &others);
    if body.rows.is_empty() {
        out.push_str("No patients on file: patients/ is missing or empty.\n");
        return out;
    }
    if shown.is_empty() {
        out.push_str("Nobody is overdue or due.\n");
    } else {
        let rows = shown.iter().map(|row| cells(row, in_full)).collect();
        out.push_str(&table(look, &["patient", "state", "why"], rows));
    }
    out.push('\n');
    out.push_str(&not_heard_from(&body.rows, today, look));
    out.push_str(&hanging(look, &format!("{}.", census(&body.census)), "  "));
    for line in [off_words(&body.off), not_known_words(&body.signals_not_known)].into_iter().flatten() {
        out.push_str(&hanging(look, &line, "  "));
    }
    out.push_str(&paragraph(look, &report.caution));
    out
}

/// The census: `25 on file: 9 overdue, 1 elsewhere (P-031 for 41 days)`.
pub(crate) fn census(census: &Census) -> String {
    let states = State::ALL.iter().filter(|state| **state != State::None);
    let states = states.map(|state| (census.in_state(*state), state.word().replace("awaiting-log", "awaiting a log")));
    let away: Vec<String> =
        census.away.iter().map(|away| format!("{} for {}", away.patient, count(away.days, "day"))).collect();
    let idle = [
        (census.elsewhere, format!("elsewhere ({})", away.join(", "))),
        (census.ended_this_month, "ended this month".to_owned()),
        (census.ended_before, "ended before".to_owned()),
        (census.with_nothing_due(), "with nothing due".to_owned()),
    ];
    let parts = states.chain(idle).filter(|(count, _)| *count > 0);
    let parts: Vec<String> = parts.map(|(count, what)| format!("{count} {what}")).collect();
    format!("{} on file: {}", census.on_file, if parts.is_empty() { "nobody".to_owned() } else { parts.join(", ") })
}

/// A row as cells: who, state, why.
pub(super) fn cells(row: &Row, in_full: bool) -> Vec<String> {
    let exit = row.exit().map(|exit| format!(" {}", visible(exit))).unwrap_or_default();
    vec![format!("{}{exit}", visible(row.patient())), state(row), why(row, in_full)]
}

/// A row's state in a few words.
pub(super) fn state(row: &Row) -> String {
    let Row::Site(site) = row else { return "unusable".to_owned() };
    let due = &site.due;
    match (due.state, due.because) {
        (State::Upcoming | State::AwaitingLog | State::None, _) if row.has_signal_of_today() => {
            "review today".to_owned()
        }
        (State::Overdue, _) => format!("overdue {}", lasting(due.hours_overdue.unwrap_or(0))),
        (State::Due, Some(Because::AfterShower | Because::Damage)) => {
            let by = due.deadline.map(|deadline| deadline.0.format("%H:%M").to_string());
            format!("due by {}", by.unwrap_or_default())
        }
        (State::Due, _) => "due today".to_owned(),
        (State::Upcoming, _) => {
            due.due_on.map_or("upcoming".to_owned(), |day| format!("on {}", short_day(day, site.today)))
        }
        (State::AwaitingLog, _) => "awaiting log".to_owned(),
        (State::None | State::Unusable, _) => due.state.to_string(),
    }
}

/// Hours, or days from three days on.
fn lasting(hours: i64) -> String {
    if hours < 72 { format!("{hours} h") } else { format!("{} d", hours / 24) }
}

fn why(row: &Row, in_full: bool) -> String {
    let asides = asides(row);
    let said = asides.iter().filter(|aside| in_full || aside.is_brief).map(|aside| aside.words.as_str());
    let said = said.collect::<Vec<_>>().join(" · ");
    let reason = reason(row);
    if said.is_empty() { reason } else { format!("{reason}\n{said}") }
}

/// The households that report by log and are not covered today, grouped by the last day covered and the next log.
fn not_heard_from(rows: &[Row], today: NaiveDate, look: Look) -> String {
    let mut groups: BTreeMap<(Option<NaiveDate>, NaiveDate), Vec<&str>> = BTreeMap::new();
    for site in rows.iter().filter_map(Row::site) {
        if let Some(expected) = site.due.log_expected {
            let codes = groups.entry((site.due.heard_through, expected)).or_default();
            if codes.last() != Some(&site.patient.as_str()) {
                codes.push(&site.patient);
            }
        }
    }
    let mut out = String::new();
    for ((heard, expected), mut codes) in groups {
        codes.sort();
        let since = heard.map_or("on file".to_owned(), |day| format!("since {}", short_day(day, today)));
        let line = format!("No log {since}, next expected {}: {}", short_day(expected, today), codes.join(" "));
        out.push_str(&hanging(look, &line, "  "));
    }
    out
}
