//! The supplies of a household, with the changes that used them.

use super::History;
use crate::day::{AsOf, after, before, plus};
use crate::event::{Fact, Kind, Tally};

impl History<'_> {
    /// Opens the supplies back to the last count of each item, and the changes since the earliest of those counts; at
    /// least those of the last `own_use_days`. However long the records are, they are read back to the last count.
    pub(in crate::chart) fn open_supplies(&mut self, items: &[&str], own_use_days: i64, as_of: AsOf) {
        let calendar = self.calendar;
        let newest = after(as_of.instant.date_naive());
        let mut since = plus(calendar.today(as_of.instant), -own_use_days);
        let mut uncounted = items.to_vec();
        let mut first_count = None;
        'years: for year in self.years() {
            for name in self.year(&year).into_iter().rev() {
                // Events of two days can be in a different order than their names.
                if uncounted.is_empty() && first_count.is_some_and(|count| name.date < before(count)) {
                    break 'years;
                }
                let is_ahead = as_of.is_given && name.date > newest;
                if name.kind != Kind::Supply || is_ahead {
                    continue;
                }
                let Some(event) = self.open(name) else { continue };
                if event.void.is_none()
                    && event.exists(calendar, as_of.instant)
                    && let Fact::Supply(supply) = &event.fact
                    && matches!(supply.tally, Tally::Counted(_))
                    && uncounted.contains(&supply.item.as_str())
                {
                    uncounted.retain(|item| *item != supply.item);
                    first_count = Some(name.date);
                }
            }
        }
        since = first_count.map_or(since, |count| since.min(before(count)));
        self.open_where(Some(since), |name| name.kind == Kind::Change && (!as_of.is_given || name.date <= newest));
    }
}
