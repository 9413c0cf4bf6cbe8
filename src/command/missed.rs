//! `exitsite missed`

use super::{Asking, Days, Desk, Outcome};
use crate::problem::Failure;
use crate::report::{Report, missed, unusable_of};
use crate::view;

/// Expected changes over a period: on time, late, missed or unreported, and the longest gap
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// Only these patients
    #[arg(value_name = "PATIENT")]
    patients: Vec<String>,

    #[command(flatten)]
    days: Days,

    #[command(flatten)]
    asking: Asking,
}

pub(super) fn run(args: &Args, desk: &Desk) -> Result<Outcome, Failure> {
    let program = desk.program(&args.asking)?;
    let as_of = desk.as_of(&program, &args.asking)?;
    let codes = program.codes(&args.patients)?;
    let Some(plan) = program.plan() else {
        return Err(Failure::new("policy.toml cannot be used, so nothing can be expected; `exitsite check` says why"));
    };
    let period = args.days.period(plan.calendar.today(as_of.instant))?;
    let (body, mut unusable) = missed::report(&program, plan, &codes, as_of, period);
    unusable.extend(unusable_of(&program, args.patients.is_empty()));
    let report = Report::of("missed", as_of, &plan.calendar, unusable, body);
    let text = if args.asking.json { view::json(&report) } else { view::missed(&report, desk.look) };
    Ok(Outcome::report(text, &report.unusable))
}
