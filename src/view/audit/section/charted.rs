//! The tables of charts: infections by month, and the gaps between them, each with the basis of its limits.

use chrono::NaiveDate;

use crate::audit::Month;
use crate::report::audit::{Basis, BetweenPoint, ControlChart, CountPoint, Gaps};
use crate::text::{capitalized, count, thousands};
use crate::view::table::Cell;

/// The most months, or gaps, in a table: the last ones.
pub(super) const MOST_ROWS: usize = 13;

/// The last gaps, and the one that is still open.
pub(super) fn gaps(chart: &ControlChart<BetweenPoint, NaiveDate, Gaps>) -> Vec<Vec<Cell>> {
    let row = |point: &BetweenPoint| {
        let is_short = chart.center.is_some_and(|center| (point.device_days as f64) < center);
        let says = match (point.beyond, is_short) {
            _ if point.device_days == 0 => Cell::text("under one day, not judged"),
            (false, _) => Cell::Empty,
            (true, true) => Cell::text("outside, short"),
            (true, false) => Cell::text("outside, long"),
        };
        vec![Cell::Day(point.onset), Cell::Count(point.device_days), says]
    };
    let first = chart.points.len().saturating_sub(MOST_ROWS);
    let open = chart.of_kind.since_last.filter(|_| !chart.points.is_empty());
    let open = open.map(|days| vec![Cell::text("none since"), Cell::Count(days), Cell::Empty]);
    chart.points[first..].iter().map(row).chain(open).collect()
}

/// The months have a lower limit only where so many infections are expected that none would be unusual.
fn has_lower(chart: &ControlChart<CountPoint, Month, Basis>) -> bool {
    chart.points.iter().rev().take(MOST_ROWS).any(|point| point.low.is_some_and(|low| low > 0.0))
}

pub(super) fn limits_heading(chart: &ControlChart<CountPoint, Month, Basis>) -> &'static str {
    if has_lower(chart) { "control limits" } else { "upper control limit" }
}

/// The center and the basis of the limits of a month.
pub(super) fn month_limits(chart: &ControlChart<CountPoint, Month, Basis>) -> String {
    let shown = chart.points.len().min(MOST_ROWS);
    let Some(center) = chart.center else {
        return "Months: no limits: no infection on file to set them by.".to_owned();
    };
    let from = if chart.of_kind.from_baseline { "the policy's baseline" } else { "all that is on file" };
    let sides = if has_lower(chart) { "0.135 % of such months on each side" } else { "0.135 % of such months" };
    format!(
        "{} of a month, per 1,000 device-days: a rate beyond it comes by chance in at most {sides} (exact Poisson) at the rate of {from}, {center:.2} per 1,000. The table has the last {}.",
        capitalized(limits_heading(chart)),
        count(shown as i64, "month")
    )
}

/// The limits of a gap.
pub(super) fn gap_limits(chart: &ControlChart<BetweenPoint, NaiveDate, Gaps>) -> Option<String> {
    let (center, high) = chart.center.zip(chart.high).filter(|_| !chart.points.is_empty())?;
    let from = if chart.of_kind.from_baseline { "the policy's baseline" } else { "all that is on file" };
    let low = match chart.low {
        Some(low) => format!("under {} or over", whole(low)),
        None => "over".to_owned(),
    };
    let table = match chart.points.len() {
        all if all > MOST_ROWS => format!(" The table has the last {MOST_ROWS} of {all} gaps."),
        _ => String::new(),
    };
    let not_judged = if chart.low.is_none() { "; the lower limit is under one day and not used" } else { "" };
    Some(format!(
        "Gaps: at the rate of {from} half are under {} device-days, and 0.135 % {low} {}{not_judged}.{table}",
        whole(center),
        whole(high)
    ))
}

fn whole(days: f64) -> String {
    thousands(days.round() as i64)
}

/// The last months of the chart.
pub(super) fn months(chart: &ControlChart<CountPoint, Month, Basis>) -> Vec<Vec<Cell>> {
    let row = |point: &CountPoint| {
        vec![
            Cell::text(point.month.to_string()),
            Cell::count(point.events),
            Cell::Count(point.device_days),
            Cell::number(point.rate, 2),
            if has_lower(chart) { Cell::Limits(point.low, point.high, 2) } else { Cell::number(point.high, 2) },
            if point.beyond { Cell::text("outside") } else { Cell::Empty },
        ]
    };
    chart.points.iter().rev().take(MOST_ROWS).rev().map(row).collect()
}
