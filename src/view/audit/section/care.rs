//! Expected changes, showers, and findings at changes.

use super::{Picture, Section};
use crate::report::audit::{AuditReport, Found, OnTimePoint, PhaseChanges, PhaseShare};
use crate::surveillance::share::Share;
use crate::text::{count, thousands, visible};
use crate::view::table::Cell;

pub(super) fn changes(report: &AuditReport) -> Section {
    let (changes, chart) = (&report.changes, &report.charts.on_time);
    let dated = &changes.all.days_in_date;
    let all = PhaseChanges { phase: "all".to_owned(), done: changes.all };
    let phases = || [&all].into_iter().chain(&changes.by_phase);
    let meaning = match dated.share.value {
        None => "No covered day of the period expects a change, so there is no proportion.".to_owned(),
        Some(share) => format!(
            "On {} of {} exit-site-days no regular change was past due: {:.1} % (95 % limits {}, allowing for clustering within patients, design effect {}). {} of {} {} below 90 %.",
            thousands(dated.in_date as i64),
            thousands(dated.days as i64),
            share * 100.0,
            clustered(&dated.share),
            Cell::number(dated.share.design_effect, 2),
            changes.patients_under_90,
            count(changes.patients as i64, "patient"),
            if changes.patients_under_90 == 1 { "was" } else { "were" }
        ),
    };
    let judged = thousands(changes.all.expected as i64);
    let ends = match changes.all.unreported {
        0 => format!("Expected changes: judged {judged}, not reported 0."),
        n => format!(
            "Expected changes: judged {judged}, not reported {}. The proportion on time would be {} if all of the latter were missed, and {} if all were on time.",
            thousands(n as i64),
            Cell::share(changes.all.share.if_all_missed, 1),
            Cell::share(changes.all.share.if_all_met, 1)
        ),
    };
    let point = |point: &OnTimePoint| {
        vec![
            Cell::text(point.month.to_string()),
            Cell::count(point.patients),
            Cell::count(point.days),
            Cell::share(point.share, 1),
            Cell::share_limits(point.low, point.high, 1),
            if point.beyond { Cell::text("outside") } else { Cell::Empty },
        ]
    };
    // The most recent months, without those before the first patient.
    let first = chart.points.len().saturating_sub(13);
    let points = chart.points[first..].iter().skip_while(|point| point.days == 0);
    Section::new("Expected changes")
        .say(meaning)
        .say(ends)
        .say("Days current: covered exit-site-days of the period before today (each open exit site on each day) that ended with no change past due. This measure comes first because extra changes inflate the proportion on time. Judged: on time, late or missed; on time is their proportion. Limits: 95 % Wilson, on the exit-site-days ÷ design effect.")
        .say(month_limits(report))
        .show(&["phase", "exit-site-days", "current", "95 %"], phases().map(dated_row))
        .show(
            &["phase", "judged", "on time", "95 %", "late", "missed", "not reported"],
            phases().map(on_time_row),
        )
        .show(&["month", "patients", "exit-site-days", "current", "control limits", ""], points.map(point))
        .draw(Picture::OnTime)
}

/// The basis of the limits of a month.
fn month_limits(report: &AuditReport) -> String {
    let center = report.charts.on_time.center.map_or(String::new(), |center| {
        format!(" around {}, the share of all months of the chart", Cell::Share(center, 1))
    });
    format!(
        "Control limits of a month: three standard errors{center}, widened by the design effect; given from 10 patients on. The table has the last 13 months at most."
    )
}

fn dated_row(phase: &PhaseChanges) -> Vec<Cell> {
    let days = &phase.done.days_in_date;
    vec![
        Cell::Text(visible(&phase.phase)),
        Cell::count(days.days),
        Cell::share(days.share.value, 1),
        clustered(&days.share),
    ]
}

fn on_time_row(phase: &PhaseChanges) -> Vec<Cell> {
    let done = &phase.done;
    let on_time = &done.share.share;
    vec![
        Cell::Text(visible(&phase.phase)),
        Cell::count(done.expected),
        Cell::share(on_time.value, 1),
        clustered(on_time),
        Cell::count(done.late),
        Cell::count(done.missed),
        Cell::count(done.unreported),
    ]
}

fn clustered(share: &Share) -> Cell {
    Cell::share_limits(share.clustered_low, share.clustered_high, 1)
}

pub(super) fn showers_and_dressings(report: &AuditReport) -> Section {
    let showers = &report.after_shower;
    let shower = PhaseShare {
        phase: String::new(),
        known: showers.in_time + showers.late,
        yes: showers.in_time,
        share: showers.share,
    };
    let mut rows = share_rows("showers followed in time", &shower, showers.time_unknown, &showers.by_phase);
    rows.extend(found_rows("anchor found in place", &report.anchor_in_place));
    rows.extend(found_rows("dressing found intact", &report.dressing_intact));
    let meaning = match showers.showers {
        0 => "No shower with a closed change window is on file.".to_owned(),
        n => format!(
            "Of {}, {} followed by a timely change and {} not; for {} it is not known.{}",
            count(n as i64, "shower"),
            were(showers.in_time),
            were(showers.late),
            thousands(showers.time_unknown as i64),
            match showers.time_unknown {
                0 => String::new(),
                _ => format!(
                    " Followed in time: {} if none of the unknown were, {} if all were.",
                    Cell::share(showers.if_none_followed, 1),
                    Cell::share(showers.if_all_followed, 1)
                ),
            }
        ),
    };
    let moved = match showers.ended_by_move {
        0 => String::new(),
        n => format!(
            " {} more are excluded because the patient moved away before the window closed.",
            thousands(n as i64)
        ),
    };
    Section::new("Showers, anchors and dressings")
        .say(meaning + &moved)
        .say("A shower counts once per exit site open that day, after its change window has closed. Not known: a time is missing, no report covers the day, or the change does not record the finding.")
        .show(&["measure", "known", "yes", "proportion", "95 %", "not known"], rows)
}

/// A count with its verb.
fn were(n: u64) -> String {
    format!("{} {}", thousands(n as i64), if n == 1 { "was" } else { "were" })
}

fn found_rows(name: &str, found: &Found) -> Vec<Vec<Cell>> {
    let whole = PhaseShare { phase: String::new(), known: found.known, yes: found.yes, share: found.share };
    share_rows(name, &whole, found.unknown, &found.by_phase)
}

fn share_rows(name: &str, all: &PhaseShare, unknown: u64, by_phase: &[PhaseShare]) -> Vec<Vec<Cell>> {
    let row = |name: Cell, one: &PhaseShare, unknown: Cell| {
        vec![
            name,
            Cell::count(one.known),
            Cell::count(one.yes),
            Cell::share(one.share.value, 1),
            clustered(&one.share),
            unknown,
        ]
    };
    let phases = by_phase.iter().map(|one| row(Cell::Part(visible(&one.phase)), one, Cell::Empty));
    [row(Cell::text(name), all, Cell::count(unknown))].into_iter().chain(phases).collect()
}
