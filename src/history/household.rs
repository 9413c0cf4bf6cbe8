//! What is opened to say who is taught and what is left: checkoffs, and supplies with the changes that used them.

use super::History;
use crate::day::{AsOf, Calendar, after, before, plus};
use crate::event::{Event, Fact, Kind, Tally};
use crate::folder::{CodeFolder, Folder};
use crate::problem::Problem;

impl History<'_> {
    /// Opens every file of a kind, however old; nothing else.
    pub fn open_each(&mut self, kind: Kind) {
        for year in self.years() {
            for name in self.year(&year) {
                if name.kind == kind {
                    self.open(name);
                }
            }
        }
    }

    /// Opens the supplies back to the last count of each item, and the changes since the first of those counts; at least
    /// those of the last `own_use_days`. However long the records are, a household that counts is read back to its count.
    pub fn open_supplies(&mut self, items: &[&str], own_use_days: i64, as_of: AsOf) {
        let calendar = self.calendar;
        let newest = after(as_of.instant.date_naive());
        let mut since = plus(calendar.today(as_of.instant), -own_use_days);
        let mut uncounted = items.to_vec();
        let mut first_count = None;
        'years: for year in self.years() {
            for name in self.year(&year).into_iter().rev() {
                // By their times, events of two days can stand in another order than by their names.
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
        for year in self.years() {
            if year.as_str() < since.format("%Y").to_string().as_str() {
                break;
            }
            for name in self.year(&year).into_iter().filter(|name| name.kind == Kind::Change && name.date >= since) {
                if !as_of.is_given || name.date <= newest {
                    self.open(name);
                }
            }
        }
    }
}

/// The checkoffs of one of the staff in order, as of a moment, and what is wrong among their files.
pub fn staff_checkoffs(
    folder: &Folder,
    own: &CodeFolder,
    calendar: &Calendar,
    as_of: AsOf,
) -> (Vec<Event>, Vec<Problem>) {
    let mut problems = own.problems.clone();
    let mut events = Vec::new();
    for year in &own.years {
        let listing = folder.year(&own.path, year);
        problems.extend(listing.problems);
        for name in listing.events.into_iter().filter(|name| name.kind == Kind::Teaching) {
            let source = folder.read(&format!("{}/{year}/{name}", own.path), &mut problems);
            events.extend(source.and_then(|source| Event::read(&source, name, calendar, &mut problems)));
        }
    }
    events.retain(|event| event.void.is_none() && event.exists(calendar, as_of.instant));
    events.sort_by_cached_key(Event::order);
    (events, problems)
}
