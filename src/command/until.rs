//! A promise without a time: until when it counts, as the question about the time says it.

use chrono::{Duration, NaiveDateTime};

use crate::day::Instant;
use crate::entry::{Book, Clock};
use crate::schedule::{DefaultFrom, Schedule, default_promise};
use crate::timeline::Timeline;

/// The effect of Enter at the time of a promise made in a call: no time is written, and the promise counts until the
/// earliest default of all exit sites.
pub(super) fn no_time_given(book: &Book, call: Instant, clock: Clock) -> String {
    let Some((until, from)) = default(book, call, clock.now) else { return "no time was given".to_owned() };
    let at = typed_time(clock, until);
    let counts = match from {
        DefaultFrom::Clock => format!("it counts until {at}, when the clock runs out"),
        DefaultFrom::Call => format!("the clock has run out, so it counts from the call, until {at}"),
        DefaultFrom::EndOfDay => format!("it counts until {at}, the end of the care day"),
    };
    format!("no time was given; {counts}")
}

/// The default time of a promise, with its origin; `None` if the policy is unreadable.
fn default(book: &Book, call: Instant, now: Instant) -> Option<(Instant, DefaultFrom)> {
    let (plan, patient) = (book.program.plan()?, book.patient.as_ref()?);
    let timeline = Timeline::of(patient, book.events.clone(), now);
    let exits = patient.exits_followed(timeline.today);
    exits.into_iter().map(|exit| default_promise(&Schedule { plan, patient, exit }, &timeline, call)).min()
}

/// A future time as it would be typed: `today 09:17`, `tomorrow 03:00`.
fn typed_time(clock: Clock, until: Instant) -> String {
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
