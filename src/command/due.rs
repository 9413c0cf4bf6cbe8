//! `exitsite due`

use super::{Asking, Desk, Outcome};
use crate::problem::Failure;
use crate::report::{Report, due};
use crate::view;

/// Who needs a change or a call, worst first, and why
///
/// Shows who cannot be judged, who is overdue, who is due, and whose promise was broken; the households not heard from;
/// and a census of everybody on file.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// Only these patients
    #[arg(value_name = "PATIENT")]
    patients: Vec<String>,

    /// Also who becomes due within so many hours
    #[arg(long, value_name = "HOURS", value_parser = hours, allow_negative_numbers = true)]
    within: Option<u16>,

    /// Everybody
    #[arg(long)]
    all: bool,

    /// Exit with 1 if somebody is overdue or has a signal of today
    #[arg(long)]
    exit_code: bool,

    #[command(flatten)]
    asking: Asking,
}

pub(super) fn hours(text: &str) -> Result<u16, String> {
    text.parse().map_err(|_| "write a whole number of hours, such as 24".to_owned())
}

pub(super) fn run(args: &Args, desk: &Desk) -> Result<Outcome, Failure> {
    let program = desk.program(&args.asking)?;
    let as_of = desk.as_of(&program, &args.asking)?;
    let codes = program.codes(&args.patients)?;
    let (body, unusable) = due::report(&program, &codes, as_of, args.patients.is_empty());
    let calendar = program.calendar();
    let report = Report::of("due", as_of, &calendar, unusable, body);
    let is_shown =
        |row: &due::Row| args.all || !args.patients.is_empty() || row.is_shown(as_of, args.within.map(i64::from));
    let text = if args.asking.json {
        view::json(&report)
    } else {
        view::due(&report, calendar.today(as_of.instant), is_shown, !args.patients.is_empty(), desk.look)
    };
    let mut outcome = Outcome::report(text, &report.unusable);
    if outcome.status == 0 && args.exit_code && report.body.rows.iter().any(due::Row::is_to_act_on) {
        outcome.status = 1;
    }
    Ok(outcome)
}
