//! `exitsite show`

use super::{Asking, Days, Desk, Outcome};
use crate::problem::Failure;
use crate::report::{Report, show, unusable_of};
use crate::view;

/// One patient's story: course, orders, the score over time, what happened, what is due and why
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// The patient
    #[arg(value_name = "PATIENT")]
    patient: String,

    /// Everything that ever happened, instead of the last 28 days
    #[arg(long, conflicts_with_all = ["from", "to"])]
    all: bool,

    #[command(flatten)]
    days: Days,

    #[command(flatten)]
    asking: Asking,
}

pub(super) fn run(args: &Args, desk: &Desk) -> Result<Outcome, Failure> {
    let program = desk.program(&args.asking)?;
    let as_of = desk.as_of(&program, &args.asking)?;
    let named = [args.patient.clone()];
    program.codes(&named)?;
    let calendar = program.calendar();
    let period = if args.all { None } else { Some(args.days.period(calendar.today(as_of.instant))?) };
    let (body, mut unusable) = show::report(&program, &args.patient, as_of, period);
    unusable.extend(unusable_of(&program, false));
    let report = Report::of("show", as_of, &calendar, unusable, body);
    let text = if args.asking.json { view::json(&report) } else { view::show(&report, desk.look) };
    Ok(Outcome::report(text, &report.unusable))
}
