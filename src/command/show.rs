//! `exitsite show`

use std::path::PathBuf;

use super::{Asking, Days, Desk, Outcome};
use crate::folder::write_outside;
use crate::problem::Failure;
use crate::report::{Report, show, unusable_of};
use crate::text;
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

    /// Write a page to print, on US Letter or A4, into this file; only a page of this command is replaced
    #[arg(long, value_name = "FILE", conflicts_with = "json")]
    html: Option<PathBuf>,

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
    let (body, mut unusable) = show::report(&program, &args.patient, as_of, period, view::event::text);
    unusable.extend(unusable_of(&program, false));
    let report = Report::of("show", as_of, &calendar, unusable, body);
    if let Some(file) = &args.html {
        write_outside(&desk.surroundings.here.join(file), &view::show_page(&report), Some(&view::show_mark()))?;
        let said = format!("Wrote {}: a page to print.\n", text::path(file));
        return Ok(Outcome::report(said, &report.unusable));
    }
    let text = if args.asking.json { view::json(&report) } else { view::show(&report, desk.look) };
    Ok(Outcome::report(text, &report.unusable))
}
