//! `exitsite show`

use std::path::PathBuf;

use super::contacts::ContactsFile;
use super::{Context, Days, Outcome, ReadingFlags};
use crate::ask;
use crate::folder::write_outside;
use crate::problem::Failure;
use crate::text;
use crate::view;

/// Show one patient's course, orders, scores, events, due changes
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// The patient
    #[arg(value_name = "PATIENT")]
    patient: String,

    /// The full history instead of the last 28 days
    #[arg(long, conflicts_with_all = ["from", "to"])]
    all: bool,

    #[command(flatten)]
    days: Days,

    /// Write a page to print, on US Letter or A4, to this file; replaces only a page written by this command
    #[arg(long, value_name = "FILE", conflicts_with = "json")]
    html: Option<PathBuf>,

    #[command(flatten)]
    contacts: ContactsFile,

    #[command(flatten)]
    asking: ReadingFlags,
}

pub(super) fn run(args: &Args, context: &Context) -> Result<Outcome, Failure> {
    let query = context.query(&args.asking)?;
    query.codes(std::slice::from_ref(&args.patient))?;
    let period = if args.all { None } else { Some(args.days.period(query.today())?) };
    let mut story = ask::show(&query.program, &args.patient, query.as_of, period, view::event::text);
    let is_shown = args.html.is_none() && context.is_on_terminal(&args.asking);
    let names = context.contacts(&args.contacts, &query.program.folder, is_shown);
    story.1.extend(names.refused);
    let Some(file) = &args.html else {
        let mut outcome = query.answer("show", story, |report| view::show(report, &names.contacts, context.look));
        outcome.stderr.push_str(names.hint);
        return Ok(outcome);
    };
    let report = query.report("show", story);
    write_outside(&context.surroundings.here.join(file), &view::show_page(&report), Some(&view::show_mark()))?;
    let said = format!("Wrote {}: a page to print.\n", text::path(file));
    let mut outcome = Outcome::report(said, &report.unusable);
    outcome.stderr.push_str(names.hint);
    Ok(outcome)
}
