//! Expected changes, showers, and what changes found.

use super::{Picture, Section, between};
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
        None => "No day of the period is covered by the records and expects a change, so there is no share.".to_owned(),
        Some(share) => format!(
            "On {} of {} days nothing regular was past due: {:.1} %, between {} when it is counted that changes of one patient are alike. {} of {} were under 90 %.",
            thousands(dated.in_date as i64),
            thousands(dated.days as i64),
            share * 100.0,
            between(&clustered(&dated.share)),
            changes.patients_under_90,
            count(changes.patients as i64, "patient")
        ),
    };
    let ends = match changes.all.unreported {
        0 => "Nothing is unreported.".to_owned(),
        n => format!(
            "{} not told yet: on time would be {} if all of them were missed, and {} if all were met.",
            count(n as i64, "expected change"),
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
    // The last ones, and not those before there was anybody.
    let first = chart.points.len().saturating_sub(13);
    let points = chart.points[first..].iter().skip_while(|point| point.days == 0);
    Section::new("Expected changes")
        .say(meaning)
        .say(ends)
        .say("Days in date: of the covered days of the period before today, those on whose end no change was past due. It stands first, since extra changes make extra successes among the changes on time. On time: of those on time, late and missed. Limits: 95 %, Wilson, on the days ÷ the design effect. A month has limits from 10 patients on.")
        .show(&["phase", "days", "in date", "95 %"], phases().map(dated_row))
        .show(
            &["phase", "expected", "on time", "95 %", "late", "missed", "not told"],
            phases().map(on_time_row),
        )
        .show(&["month", "patients", "days", "in date", "limits", ""], points.map(point))
        .draw(Picture::OnTime)
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
        0 => "No shower whose time for a change is over is on file.".to_owned(),
        n => format!(
            "Of {} {} were followed by a change in time and {} were not; of {} that is not known.",
            count(n as i64, "shower"),
            showers.in_time,
            showers.late,
            showers.time_unknown
        ),
    };
    let moved = match showers.ended_by_move {
        0 => String::new(),
        n => format!(" {} more ended with a move elsewhere while there was time for a change.", thousands(n as i64)),
    };
    Section::new("Showers, anchors and dressings")
        .say(meaning + &moved)
        .say("A shower counts at each exit site that is open that day, and not while there is still time. Not known: a time is not on file, nobody has told what happened since, or a change says nothing of what it found.")
        .show(&["share", "known", "so", "value", "95 %", "not known"], rows)
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
