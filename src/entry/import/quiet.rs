//! Logs that cover days without a change. Importing one turns unreported changes into missed ones, so a person confirms
//! that the log is complete.

use crate::day::{Instant, Period};
use crate::entry::Book;
use crate::event::Event;
use crate::schedule::{ChangeOutcome, Missed, Schedule};
use crate::text;
use crate::timeline::Timeline;

/// The number of missed changes at which a log is doubted. Common practice, no source.
const DOUBTED: i64 = 2;

/// The remark about changes that a complete log of these days would make missed; `None` if they are few.
pub(super) fn missed_by_the_log(book: &Book, events: &[Event], days: Period, now: Instant) -> Option<String> {
    let (patient, plan) = (book.patient.as_ref()?, book.program.plan()?);
    let timeline = Timeline::of(patient, events.to_vec(), now);
    let missed = |exit| {
        let schedule = Schedule { plan, patient, exit };
        Missed::of(&schedule, &timeline, days).count(ChangeOutcome::Missed)
    };
    let missed = patient.exits_open_between(days.from, days.to).map(missed).max()?;
    (missed >= DOUBTED).then(|| {
        format!(
            "According to this log of {}, {} from {} to {} were missed. If the household did not write everything down, import it with --incomplete.",
            patient.code,
            text::count(missed, "change"),
            days.from,
            days.to
        )
    })
}
