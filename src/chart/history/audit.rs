//! The files of an audit: those of its days, and rare kinds however old.

use chrono::NaiveDate;

use super::History;
use crate::day::{AsOf, Period, after};
use crate::event::{Kind, Traits};

impl History<'_> {
    /// Opens every file from a day to the end of the charts, later ones that can act on a signal, the changes and logs
    /// around the days of the charts, the files for supplies on the last day, and every infection and checkoff.
    pub(in crate::chart) fn open_for_audit(
        &mut self,
        first: NaiveDate,
        charts: Period,
        items: &[&str],
        own_use_days: i64,
        as_of: AsOf,
    ) {
        let newest = after(as_of.instant.date_naive());
        self.open_where(None, |name| {
            let Traits { is_rare, acts, .. } = name.kind.traits();
            // A log covers its days whenever it was read in.
            let has_been = name.date <= newest || name.kind == Kind::Log || !as_of.is_given;
            let is_inside = name.date <= after(charts.to);
            is_rare || name.date >= first && has_been && (is_inside || acts.is_some())
        });
        self.open_changes_around(charts.from, charts.to, as_of);
        let calendar = self.calendar;
        let end = AsOf { instant: calendar.end(charts.to).min(as_of.instant), is_given: true };
        self.open_supplies(items, own_use_days, end);
    }
}
