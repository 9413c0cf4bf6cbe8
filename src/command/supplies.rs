//! `exitsite supplies`

use super::{Context, Outcome, ReadingFlags};
use crate::ask;
use crate::problem::Failure;
use crate::view;

/// List each household's supplies and the last day to order
///
/// The number on hand is the last count plus deliveries since, less losses and the use by changes at home. For supplies
/// that were never counted it is unknown.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// Only these patients
    #[arg(value_name = "PATIENT")]
    patients: Vec<String>,

    #[command(flatten)]
    asking: ReadingFlags,
}

pub(super) fn run(args: &Args, context: &Context) -> Result<Outcome, Failure> {
    let query = context.query(&args.asking)?;
    let codes = query.codes(&args.patients)?;
    let supplies = ask::supplies(&query.program, &codes, query.as_of, !args.patients.is_empty());
    Ok(query.answer("supplies", supplies, |report| view::supplies(report, query.today(), context.look)))
}
