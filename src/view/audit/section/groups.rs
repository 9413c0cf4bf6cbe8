//! The rate by patient group.

use crate::report::audit::{AuditReport, GroupRate};
use crate::text::visible;
use crate::view::table::Cell;

/// Returns one row per group; none if no grouping was requested.
pub(super) fn rows(report: &AuditReport) -> impl Iterator<Item = Vec<Cell>> {
    report.groups.iter().map(|group: &GroupRate| {
        let rate = &group.per_1000_device_days;
        vec![
            Cell::text(visible(&group.value)),
            Cell::count(group.patients),
            Cell::count(group.events),
            Cell::Count(group.device_days),
            Cell::number(rate.rate, 2),
            Cell::Limits(rate.low, rate.high, 2),
        ]
    })
}
