//! The time until which a promise counts if no time was agreed: the clock that runs, else the end of the care day.

use chrono::{Duration, NaiveDateTime};

use crate::day::Instant;
use crate::entry::{Book, Clock};
use crate::schedule::{Schedule, default_until};
use crate::timeline::Timeline;

/// The default time of a promise made in a call: the earliest of all exit sites; `None` if the policy is unreadable.
pub(super) fn until_at_call(book: &Book, call: Instant, now: Instant) -> Option<Instant> {
    let (plan, patient) = (book.program.plan()?, book.patient.as_ref()?);
    let timeline = Timeline::of(patient, book.events.clone(), now);
    let exits = patient.exits_followed(timeline.today);
    exits.into_iter().map(|exit| default_until(&Schedule { plan, patient, exit }, &timeline, call)).min()
}

/// A future time as it would be typed: `today 09:17`, `tomorrow 03:00`.
pub(super) fn typed_time(clock: Clock, until: Instant) -> String {
    let wall =
        |at: Instant| -> NaiveDateTime { clock.calendar.on_the_wall(at, clock.calendar.today(at)).naive_local() };
    let (now, until) = (wall(clock.now), wall(until));
    let time = until.format("%H:%M");
    match until.date() - now.date() {
        days if days == Duration::zero() => format!("today {time}"),
        days if days == Duration::days(1) => format!("tomorrow {time}"),
        _ => format!("{} {time}", until.date()),
    }
}
