//! `exitsite handoff`

use std::path::PathBuf;

use chrono::Duration;

use super::query::Query;
use super::{Context, Outcome, ReadingFlags};
use crate::ask;
use crate::day::Instant;
use crate::entry::{Clock, Said};
use crate::folder::write_outside;
use crate::problem::Failure;
use crate::report::handoff::{HOURS_AHEAD, Shift};
use crate::text;
use crate::view;

/// The maximum length of a handoff, in days.
const MOST_DAYS: i64 = 31;

/// Hand off to the next shift: events since its start, and what is due next
///
/// Lists the records, calls with their outcomes, signals that rose, were acted on or ended, records entered late or
/// corrected, and for the next 12 hours promises and changes due, with their deadlines. Signals of today not yet acted
/// on come first.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// Start of the handoff: 19:00, "yesterday 19:00", 2026-11-23T19:00; default: 12 hours before
    #[arg(long, value_name = "TIME")]
    since: Option<String>,

    /// Write one page to sign, on US Letter or A4, to this file; replaces only a page written by this command
    #[arg(long, value_name = "FILE", conflicts_with = "json")]
    html: Option<PathBuf>,

    #[command(flatten)]
    asking: ReadingFlags,
}

pub(super) fn run(args: &Args, context: &Context) -> Result<Outcome, Failure> {
    let query = context.query(&args.asking)?;
    let calendar = query.program.calendar();
    let since = since(args.since.as_deref(), &query)?;
    let shift = Shift { since, is_given: args.since.is_some(), until: query.as_of.instant };
    let answer = ask::handoff(&query.program, query.as_of, shift);
    let Some(file) = &args.html else {
        return Ok(query.answer("handoff", answer, |report| view::handoff(report, &calendar, context.look)));
    };
    let report = query.report("handoff", answer);
    let path = context.surroundings.here.join(file);
    write_outside(&path, &view::handoff_page(&report, &calendar), Some(&view::handoff_mark()))?;
    Ok(Outcome::report(format!("Wrote {}: a page to sign.\n", text::path(file)), &report.unusable))
}

/// The start of the handoff, read in the policy's time zone.
fn since(typed: Option<&str>, query: &Query) -> Result<Instant, Failure> {
    let (calendar, now) = (query.program.calendar(), query.as_of.instant);
    let Some(typed) = typed else { return Ok(now - Duration::hours(HOURS_AHEAD)) };
    let clock = Clock { now, calendar: &calendar };
    let failure = |sentence: String| Failure::new(format!("--since: {sentence}"));
    let instant = match clock.past(typed).map_err(failure)? {
        Said::At(moment) => moment.instant(&calendar).unwrap_or(now),
        Said::On(day) => calendar.start(day),
    };
    let shown = text::visible(typed);
    if instant >= now {
        return Err(failure(format!(
            "\"{shown}\" is not before the end of the shift. Type when the shift began, such as 19:00."
        )));
    }
    if now - instant > Duration::days(MOST_DAYS) {
        return Err(failure(format!(
            "\"{shown}\" is more than {MOST_DAYS} days ago. `exitsite history --from DATE` lists the records since then."
        )));
    }
    Ok(instant)
}
