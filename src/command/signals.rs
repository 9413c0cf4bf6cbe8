//! `exitsite signals`

use super::{Context, Outcome, ReadingFlags};
use crate::ask;
use crate::problem::Failure;
use crate::view;

/// List findings that need review, with evidence and follow-up
///
/// A signal marks something in the records that needs review; it is not a diagnosis of infection.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// Only these patients
    #[arg(value_name = "PATIENT")]
    patients: Vec<String>,

    /// Also list signals that have ended
    #[arg(long)]
    all: bool,

    /// Only signals of today not acted on for this many hours or more, longest wait first; for a screen on the ward
    #[arg(long, value_name = "HOURS", value_parser = super::due::hours, conflicts_with = "all")]
    waiting: Option<u16>,

    #[command(flatten)]
    asking: ReadingFlags,
}

pub(super) fn run(args: &Args, context: &Context) -> Result<Outcome, Failure> {
    let query = context.query(&args.asking)?;
    let mut signals = ask::signals(&query.program, &query.codes(&args.patients)?, query.as_of, args.all);
    if let Some(hours) = args.waiting {
        signals.0 = signals.0.waiting(i64::from(hours), query.as_of.instant);
    }
    let calendar = query.program.calendar();
    Ok(query.answer("signals", signals, |report| view::signals(report, &calendar, context.look)))
}
