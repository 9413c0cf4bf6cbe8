//! A promise later than the clock of a shower or damage.

use chrono::Duration;

use super::Walk;
use crate::day::Instant;
use crate::entry::Book;
use crate::report::At;
use crate::schedule::{Because, Due, Schedule};
use crate::timeline::Timeline;
use crate::view::entry::day_and_time;

impl Walk<'_> {
    /// The warning that a promise misses a clock, with the time of the next alert; `None` if it meets every clock.
    pub(super) fn promised_late(&self, book: &Book, until: Instant) -> Option<String> {
        let (plan, patient) = (self.program.plan()?, book.patient.as_ref()?);
        let now = self.terminal.now();
        let timeline = Timeline::of(patient, book.events.clone(), now);
        let at = |at: Instant| {
            day_and_time(&At::Time(patient.calendar.on_the_wall(at, patient.calendar.today(at))), timeline.today)
        };
        let mut late: Option<(Instant, Instant)> = None;
        for exit in patient.exits_followed(timeline.today) {
            let due = Due::of(&Schedule { plan, patient, exit }, &timeline);
            let first = due.deadline.zip(due.because).filter(|_| due.report.is_some());
            let also = due.also.iter().filter(|one| one.is_reported()).map(|one| (one.deadline, one.because));
            for (deadline, because) in first.into_iter().chain(also) {
                let deadline = deadline.instant();
                let hours = match because {
                    Because::AfterShower => plan.windows.after_shower_hours,
                    _ => plan.windows.after_damage_hours,
                };
                let again = deadline.max(now + Duration::hours(hours));
                let limit = if deadline <= now { again } else { deadline };
                if until > limit && late.is_none_or(|(known, _)| deadline < known) {
                    late = Some((deadline, again.min(until)));
                }
            }
        }
        let (deadline, again) = late?;
        let is = if deadline <= now { "was" } else { "is" };
        Some(format!(
            "The policy says the change {is} due by {}, but it is promised for {}. The alert repeats at {}.",
            at(deadline),
            at(until),
            at(again)
        ))
    }
}
