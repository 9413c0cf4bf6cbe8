//! Every record of a patient or a staff member, even if patient.toml is unreadable.

use super::history::Reader;
use crate::day::{AsOf, Calendar};
use crate::event::{Event, EventName, Kind};
use crate::folder::CodeFolder;
use crate::problem::Problem;
use crate::program::Program;

impl Program {
    /// Returns every readable event in the folder of a patient or a staff member, in order. The problems of its names and
    /// files are added to `problems`.
    pub(crate) fn all_events(&self, own: &CodeFolder, calendar: &Calendar, problems: &mut Vec<Problem>) -> Vec<Event> {
        self.events_where(own, calendar, problems, |_| true)
    }

    /// Returns the checkoffs of a staff member in order, as of an instant, and the problems of their files.
    pub(crate) fn staff_checkoffs(&self, code: &str, as_of: AsOf) -> (Vec<Event>, Vec<Problem>) {
        let (own, calendar) = (self.folder.staff_member(code), self.calendar());
        let mut problems = Vec::new();
        let is_checkoff = |name: &EventName| name.kind == Kind::Teaching;
        let mut events = self.events_where(&own, &calendar, &mut problems, is_checkoff);
        events.retain(|event| event.void.is_none() && event.exists(&calendar, as_of.instant));
        (events, problems)
    }

    fn events_where(
        &self,
        own: &CodeFolder,
        calendar: &Calendar,
        problems: &mut Vec<Problem>,
        is_wanted: impl Fn(&EventName) -> bool,
    ) -> Vec<Event> {
        problems.extend(own.problems.iter().cloned());
        let (mut events, mut reader) = (Vec::new(), Reader::of(&self.folder));
        for year in &own.years {
            let listing = self.folder.year(&own.path, year);
            problems.extend(listing.problems);
            let wanted: Vec<EventName> = listing.events.into_iter().filter(&is_wanted).collect();
            events.reserve(wanted.len());
            let mut rest = wanted.as_slice();
            while !rest.is_empty() {
                let (together, others) = rest.split_at(reader.fetch(own, rest));
                events.extend(together.iter().filter_map(|name| reader.read(own, *name, calendar, problems)));
                rest = others;
            }
        }
        events.sort_by_cached_key(Event::order);
        events
    }
}
