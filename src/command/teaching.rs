//! `exitsite teaching`

use super::{Context, Outcome, ReadingFlags};
use crate::ask;
use crate::problem::Failure;
use crate::view;

/// List sign-offs, their last day, and what is missing
///
/// For a named patient it lists the full household and the discharge checklist, for dressing care only. The checklist
/// is not a permission to discharge.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// Only these codes of staff, caregivers or patients
    #[arg(value_name = "PERSON")]
    people: Vec<String>,

    /// Only people whose sign-off has lapsed, or lapses within this many days; JSON always lists everyone
    #[arg(long, value_name = "DAYS", value_parser = days)]
    within: Option<u16>,

    #[command(flatten)]
    asking: ReadingFlags,
}

fn days(text: &str) -> Result<u16, String> {
    text.parse().map_err(|_| "write a whole number of days, such as 30".to_owned())
}

pub(super) fn run(args: &Args, context: &Context) -> Result<Outcome, Failure> {
    let query = context.query(&args.asking)?;
    let teaching = ask::teaching(&query.program, &args.people, query.as_of)?;
    let within = args.within.map(i64::from);
    Ok(query.answer("teaching", teaching, |report| view::teaching(report, query.today(), within, context.look)))
}
