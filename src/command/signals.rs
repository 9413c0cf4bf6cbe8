//! `exitsite signals`

use super::{Asking, Desk, Outcome};
use crate::problem::Failure;
use crate::report::{Report, signals};
use crate::view;

/// What in the records somebody should look at now, why, since when, and whether it was answered
///
/// A signal is something in the records to look at; it is not a finding of infection.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// Only these patients
    #[arg(value_name = "PATIENT")]
    patients: Vec<String>,

    /// Also the signals that have ended
    #[arg(long)]
    all: bool,

    #[command(flatten)]
    asking: Asking,
}

pub(super) fn run(args: &Args, desk: &Desk) -> Result<Outcome, Failure> {
    let program = desk.program(&args.asking)?;
    let as_of = desk.as_of(&program, &args.asking)?;
    let codes = program.codes(&args.patients)?;
    let (body, unusable) = signals::report(&program, &codes, as_of, args.all);
    let report = Report::of("signals", as_of, &program.calendar(), unusable, body);
    let text = if args.asking.json { view::json(&report) } else { view::signals(&report, desk.look) };
    Ok(Outcome::report(text, &report.unusable))
}
