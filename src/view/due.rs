//! The due list for a person: worst first, the reason beside each name, the households not heard from, the census.

use std::collections::BTreeMap;

use chrono::NaiveDate;

use super::{Look, hanging, not_known_words, off_words, paragraph, table, unusable};
use crate::report::due::{DueReport, Row};
use crate::report::{Report, Unusable, short_day};
use crate::schedule::{Because, State};
use crate::text::visible;

/// The due list, of the rows that `is_shown` takes. `today` is the care day in the policy's zone.
///
/// With `in_full` each row says all that is known, not only what is worth a place on the morning list.
pub fn due(
    report: &Report<DueReport>,
    today: NaiveDate,
    is_shown: impl Fn(&Row) -> bool,
    in_full: bool,
    look: Look,
) -> String {
    let body = &report.body;
    let shown: Vec<&Row> = body.rows.iter().filter(|row| is_shown(row)).collect();
    // The file that a row names need not be named again; a patient's others are.
    let has_row = |file: &Unusable| {
        body.rows.iter().any(|row| {
            row.state == State::Unusable && row.beside.first().is_some_and(|place| is_at(&place.words, &file.file))
        })
    };
    let others: Vec<Unusable> = report.unusable.iter().filter(|file| !has_row(file)).cloned().collect();
    let mut out = unusable(look, &others);
    if body.rows.is_empty() {
        out.push_str("No patients on file: patients/ is missing or empty.\n");
        return out;
    }
    if shown.is_empty() {
        out.push_str("Nobody is overdue or due.\n");
    } else {
        let rows = shown.iter().map(|row| cells(row, today, in_full)).collect();
        out.push_str(&table(look, &["patient", "state", "why"], rows));
    }
    out.push('\n');
    out.push_str(&not_heard_from(&body.rows, today, look));
    out.push_str(&hanging(look, &format!("{}.", body.census.words), "  "));
    for line in [off_words(&body.off), not_known_words(&body.signals_not_known)].into_iter().flatten() {
        out.push_str(&hanging(look, &line, "  "));
    }
    out.push_str(&paragraph(look, &report.caution));
    out
}

/// Whether a place, a file with or without a line, is in that file.
fn is_at(place: &str, file: &str) -> bool {
    place.strip_prefix(file).is_some_and(|line| line.is_empty() || line.starts_with(':'))
}

/// A row as cells: who, state, why.
pub(super) fn cells(row: &Row, today: NaiveDate, in_full: bool) -> Vec<String> {
    vec![who(row), state(row, today), why(row, in_full)]
}

fn who(row: &Row) -> String {
    match &row.exit {
        Some(exit) => format!("{} {}", row.patient, visible(exit)),
        None => visible(&row.patient),
    }
}

/// A row's state in a few words.
pub(super) fn state(row: &Row, today: NaiveDate) -> String {
    let by = || row.deadline.as_ref().and_then(|deadline| deadline.get(11..16)).unwrap_or_default().to_owned();
    match (row.state, row.because) {
        (State::Upcoming | State::AwaitingLog | State::None, _) if row.has_signal_of_today() => {
            "review today".to_owned()
        }
        (State::Overdue, _) => format!("overdue {}", lasting(row.hours_overdue.unwrap_or(0))),
        (State::Due, Some(Because::AfterShower | Because::Damage)) => format!("due by {}", by()),
        (State::Due, _) => "due today".to_owned(),
        (State::Upcoming, _) => row.due_on.map_or("upcoming".to_owned(), |day| format!("on {}", short_day(day, today))),
        (State::AwaitingLog, _) => "awaiting log".to_owned(),
        (State::None, _) => "none".to_owned(),
        (State::Unusable, _) => "unusable".to_owned(),
    }
}

/// Hours, or days from three days on.
fn lasting(hours: i64) -> String {
    if hours < 72 { format!("{hours} h") } else { format!("{} d", hours / 24) }
}

fn why(row: &Row, in_full: bool) -> String {
    let asides = row.beside.iter().filter(|aside| in_full || aside.is_brief).map(|aside| aside.words.as_str());
    let asides = asides.collect::<Vec<_>>().join(" · ");
    if asides.is_empty() { row.reason.clone() } else { format!("{}\n{asides}", row.reason) }
}

/// The households that report by log and are not covered today, grouped by the last day covered and the next log.
fn not_heard_from(rows: &[Row], today: NaiveDate, look: Look) -> String {
    let mut groups: BTreeMap<(Option<NaiveDate>, NaiveDate), Vec<&str>> = BTreeMap::new();
    for row in rows {
        if let Some(expected) = row.log_expected {
            let codes = groups.entry((row.heard_through, expected)).or_default();
            if codes.last() != Some(&row.patient.as_str()) {
                codes.push(&row.patient);
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
