//! The missed changes as text: the totals, then one row per exit site with a strip of its changes, worst first.

use std::cmp::Reverse;

use super::table::{Cell, CellTable};
use super::{TextStyle, paragraph, unusable};
use crate::report::Report;
use crate::report::missed::{Figures, MissedReport, MissedRow};
use crate::schedule::{ChangeOutcome, Expectation};
use crate::text::{count, visible};

/// The legend of a strip.
const LEGEND: &str = "Changes, oldest first: + on time, L late, M missing from a complete record, N no change reported, ? waiting for the log, o open (can still be done).";

/// The definitions of the columns.
const COLUMNS: &str = "Dressing current: reported days that ended with no regular change past due. On time: of those on time, late and missed; in parentheses, the range if all changes not reported were missed or on time. Gap: longest time between two changes in days, not counting days not reported. Not rep.: days not reported. Changes due after a shower or damage are not in this table; `exitsite due` lists them.";

/// Renders the missed changes.
pub(crate) fn missed(report: &Report<MissedReport>, look: TextStyle) -> String {
    let mut out = unusable(look, &report.unusable);
    let (body, period) = (&report.body, report.body.period);
    if body.rows.is_empty() {
        out.push_str(&format!("No exit site was open from {} to {}.\n", period.from, period.to));
        return out;
    }
    out.push_str(&paragraph(look, &format!("{} to {}: {}", period.from, period.to, sum(&body.rows))));
    out.push_str(&paragraph(look, LEGEND));
    out.push('\n');
    let mut rows: Vec<&MissedRow> = body.rows.iter().collect();
    rows.sort_by_key(|row| {
        row.figures.answer().map(|figures| Reverse((figures.missed, figures.late, figures.unreported)))
    });
    let heads = ["patient", "current", "on time", "missed", "gap", "not rep.", "changes"];
    out.push_str(&CellTable::of(&heads, rows.into_iter().map(|row| cells(row, look))).text(look));
    out.push('\n');
    out.push_str(&paragraph(look, COLUMNS));
    out.push_str(&paragraph(look, &report.caution));
    out
}

/// Describes the totals over all exit sites in a sentence or two.
fn sum(rows: &[MissedRow]) -> String {
    let known: Vec<&Figures> = rows.iter().filter_map(|row| row.figures.answer()).collect();
    let total = |of: fn(&Figures) -> i64| known.iter().map(|figures| of(figures)).sum::<i64>();
    let expected = total(|figures| figures.expected);
    let (missed, late) = (total(|figures| figures.missed), total(|figures| figures.late));
    let sites = known.iter().filter(|figures| figures.missed > 0).count() as i64;
    let mut words = format!("{missed} of {} missed", count(expected, "expected change"));
    if missed > 0 {
        words.push_str(&format!(" at {}", count(sites, "exit site")));
    }
    words.push_str(&format!(", {late} late."));
    let silent = total(|figures| figures.not_reported_on.len() as i64);
    if silent > 0 {
        let others = if silent < missed { "; the others are missing from a complete record" } else { "" };
        words.push_str(&format!(" For {silent} of the {missed} missed, no change was reported{others}."));
    }
    let unreported = total(|figures| figures.unreported);
    if unreported > 0 {
        words.push_str(&format!(" {} not reported yet: waiting for the log.", count(unreported, "more change")));
    }
    let unreadable = rows.len() - known.len();
    if unreadable > 0 {
        words.push_str(&format!(" {} cannot be counted: unreadable record.", count(unreadable as i64, "exit site")));
    }
    words
}

fn cells(row: &MissedRow, look: TextStyle) -> Vec<Cell> {
    let who = row.exit.as_ref().map_or(row.patient.clone(), |exit| format!("{} {}", row.patient, visible(exit)));
    let Some(figures) = row.figures.answer() else {
        let missing = [(); 5].map(|()| Cell::Missing);
        return [Cell::Text(who)].into_iter().chain(missing).chain([Cell::text("cannot read")]).collect();
    };
    let ends = match (figures.share.if_all_missed, figures.share.if_all_met) {
        (Some(least), Some(most)) if figures.unreported > 0 => {
            // Only the last column wraps.
            let space = if look.width < 80 { "\n" } else { " " };
            format!("{space}({:.0}-{:.0})", least * 100.0, most * 100.0)
        }
        _ => String::new(),
    };
    vec![
        Cell::Text(who),
        Cell::share(figures.days_in_date.share, 0),
        Cell::Figure(format!("{}{ends}", Cell::share(figures.share.share.value, 0))),
        Cell::Count(figures.missed),
        figures.longest_gap_days.map_or(Cell::Missing, Cell::Count),
        if figures.days_not_covered > 0 { Cell::Count(figures.days_not_covered) } else { Cell::Missing },
        Cell::Text(figures.changes.iter().map(|change| letter(change, figures)).collect()),
    ]
}

fn letter(change: &Expectation, figures: &Figures) -> char {
    match change.outcome {
        ChangeOutcome::Missed if figures.not_reported_on.contains(&change.due_on) => 'N',
        ChangeOutcome::OnTime => '+',
        ChangeOutcome::Late => 'L',
        ChangeOutcome::Missed => 'M',
        ChangeOutcome::Unreported => '?',
        ChangeOutcome::Open => 'o',
    }
}
