//! `exitsite supplies`

use super::{Asking, Desk, Outcome};
use crate::problem::Failure;
use crate::report::{Report, supplies};
use crate::view;

/// What each household has left, the day it runs out, and by when to order
///
/// Left is what was last counted, plus what came since, less what was lost and what the changes at home used. What was
/// never counted is not known.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// Only these patients
    #[arg(value_name = "PATIENT")]
    patients: Vec<String>,

    #[command(flatten)]
    asking: Asking,
}

pub(super) fn run(args: &Args, desk: &Desk) -> Result<Outcome, Failure> {
    let program = desk.program(&args.asking)?;
    let as_of = desk.as_of(&program, &args.asking)?;
    let codes = program.codes(&args.patients)?;
    let (body, unusable) = supplies::report(&program, &codes, as_of, !args.patients.is_empty());
    let calendar = program.calendar();
    let report = Report::of("supplies", as_of, &calendar, unusable, body);
    let text = match args.asking.json {
        true => view::json(&report),
        false => view::supplies(&report, calendar.today(as_of.instant), desk.look),
    };
    Ok(Outcome::report(text, &report.unusable))
}
