//! `exitsite missed`

use super::{Context, Days, Outcome, ReadingFlags};
use crate::ask::{self, unusable_of};
use crate::problem::Failure;
use crate::view;

/// List expected changes: on time, late, missed or unreported
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// Only these patients
    #[arg(value_name = "PATIENT")]
    patients: Vec<String>,

    #[command(flatten)]
    days: Days,

    #[command(flatten)]
    asking: ReadingFlags,
}

pub(super) fn run(args: &Args, context: &Context) -> Result<Outcome, Failure> {
    let query = context.query(&args.asking)?;
    let codes = query.codes(&args.patients)?;
    let plan = query.program.usable_plan()?;
    let period = args.days.period(query.today())?;
    let mut missed = ask::missed(&query.program, plan, &codes, query.as_of, period);
    missed.1.extend(unusable_of(&query.program, args.patients.is_empty()));
    Ok(query.answer("missed", missed, |report| view::missed(report, context.look)))
}
