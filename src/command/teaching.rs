//! `exitsite teaching`

use super::{Asking, Desk, Outcome};
use crate::problem::Failure;
use crate::report::{Report, teaching};
use crate::view;

/// Who is signed off until when, who is being taught and what is missing, and who may sign
///
/// Of a patient who is named, the whole household and its discharge checklist, dressing care only: a checklist, not a
/// permission.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// Only these: codes of staff, of caregivers, or of patients
    #[arg(value_name = "PERSON")]
    people: Vec<String>,

    /// Only who has lapsed, or lapses within so many days; JSON always holds everybody
    #[arg(long, value_name = "DAYS", value_parser = days)]
    within: Option<u16>,

    #[command(flatten)]
    asking: Asking,
}

fn days(text: &str) -> Result<u16, String> {
    text.parse().map_err(|_| "write a whole number of days, such as 30".to_owned())
}

pub(super) fn run(args: &Args, desk: &Desk) -> Result<Outcome, Failure> {
    let program = desk.program(&args.asking)?;
    let as_of = desk.as_of(&program, &args.asking)?;
    let (body, unusable) = teaching::report(&program, &args.people, as_of)?;
    let calendar = program.calendar();
    let report = Report::of("teaching", as_of, &calendar, unusable, body);
    let text = match args.asking.json {
        true => view::json(&report),
        false => view::teaching(&report, calendar.today(as_of.instant), args.within.map(i64::from), desk.look),
    };
    Ok(Outcome::report(text, &report.unusable))
}
