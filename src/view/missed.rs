//! The missed intervals for a person: a row for each exit site, with a strip of what became of each expected change.

use super::{Look, paragraph, percent, table_of_numbers, unusable};
use crate::report::Report;
use crate::report::missed::{MissedReport, Row};
use crate::schedule::Outcome;
use crate::text::{count, visible};

/// What the letters of a strip mean.
const LEGEND: &str = "Each letter is one expected change, oldest first: + on time, L late, M missed, ? unreported (nobody has told yet), o open. In date: days on whose end nothing regular was past due, of the days that are covered. On time: of those on time, late and missed; in brackets if all unreported were missed or met. Gap: the longest between two changes, less the days not reported.";

/// The missed intervals.
pub fn missed(report: &Report<MissedReport>, look: Look) -> String {
    let mut out = unusable(look, &report.unusable);
    let period = report.body.period;
    out.push_str(&format!("Expected changes from {} to {}\n\n", period.from, period.to));
    if report.body.rows.is_empty() {
        out.push_str("No exit site was open in this period.\n");
        return out;
    }
    let heads = ["patient", "in date", "on time", "missed", "gap", "changes"];
    out.push_str(&table_of_numbers(look, &heads, report.body.rows.iter().map(|row| cells(row, look)).collect(), 1..4));
    out.push('\n');
    out.push_str(&paragraph(look, LEGEND));
    out.push_str(&paragraph(look, &report.caution));
    out
}

fn cells(row: &Row, look: Look) -> Vec<String> {
    let who = row.exit.as_ref().map_or(row.patient.clone(), |exit| format!("{} {}", row.patient, visible(exit)));
    let Some(figures) = row.figures.answer() else {
        return [&who, "-", "-", "-", "-", "not known"].map(str::to_owned).to_vec();
    };
    let ends = match (figures.share.if_all_missed, figures.share.if_all_met) {
        (Some(least), Some(most)) if figures.unreported > 0 => {
            format!(" ({:.0}-{:.0})", least * 100.0, most * 100.0)
        }
        _ => String::new(),
    };
    let gap = figures.longest_gap_days.map_or("-".to_owned(), |days| format!("{days} d"));
    let gap = match figures.days_not_covered {
        days @ 1.. => format!("{gap}, {} not reported", count(days, "day")),
        _ => gap,
    };
    // Only the last column wraps.
    let gap = if look.width < 80 { gap.replace(", ", ",\n").replace(" not ", "\nnot\n") } else { gap };
    vec![
        who,
        percent(figures.days_in_date.share),
        format!("{}{ends}", percent(figures.share.share.value)),
        figures.missed.to_string(),
        gap,
        figures.changes.iter().map(|change| letter(change.outcome)).collect(),
    ]
}

fn letter(outcome: Outcome) -> char {
    match outcome {
        Outcome::OnTime => '+',
        Outcome::Late => 'L',
        Outcome::Missed => 'M',
        Outcome::Unreported => '?',
        Outcome::Open => 'o',
    }
}
