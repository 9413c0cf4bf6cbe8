//! `exitsite due`

use std::path::PathBuf;

use super::contacts::ContactsFile;
use super::{Context, Outcome, ReadingFlags};
use crate::ask;
use crate::folder::{write_outside, write_with_contacts};
use crate::problem::Failure;
use crate::report::due;
use crate::text;
use crate::view;

/// List the patients who need a change or a call, by urgency
///
/// Lists unreadable records, signals of today, overdue changes, broken promises, households without a log, changes due today,
/// and a census of every patient on file.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// Only these patients
    #[arg(value_name = "PATIENT")]
    patients: Vec<String>,

    /// Also list patients who become due within this many hours
    #[arg(long, value_name = "HOURS", value_parser = hours, allow_negative_numbers = true)]
    within: Option<u16>,

    /// All patients
    #[arg(long)]
    all: bool,

    /// Exit with 1 if a patient is overdue or has a signal of today
    #[arg(long)]
    exit_code: bool,

    /// Write the list as a page to print, on US Letter or A4, to this file; replaces only a page written by this
    /// command
    #[arg(long, value_name = "FILE", conflicts_with = "json")]
    html: Option<PathBuf>,

    /// Print the list directly, even if it is longer than the terminal; otherwise it goes through PAGER
    #[arg(long)]
    no_pager: bool,

    #[command(flatten)]
    contacts: ContactsFile,

    #[command(flatten)]
    asking: ReadingFlags,
}

pub(super) fn hours(text: &str) -> Result<u16, String> {
    text.parse().map_err(|_| "write a whole number of hours, such as 24".to_owned())
}

pub(super) fn run(args: &Args, context: &Context) -> Result<Outcome, Failure> {
    let query = context.query(&args.asking)?;
    let (as_of, is_named) = (query.as_of, !args.patients.is_empty());
    let calendar = query.program.calendar();
    let mut list = ask::due(&query.program, &query.codes(&args.patients)?, as_of, !is_named);
    let is_on_page = args.html.is_some();
    let names =
        context.contacts(&args.contacts, &query.program.folder, is_on_page || context.is_on_terminal(&args.asking));
    let contacts = names.contacts;
    list.1.extend(names.refused);
    let is_to_act_on = list.0.rows.iter().any(due::Row::is_to_act_on);
    let is_shown = |row: &due::Row| args.all || is_named || row.is_shown(as_of, args.within.map(i64::from));
    let named = is_named.then(|| query.program.patients.codes.len() + query.program.patients.strays.len());
    let mut outcome = match &args.html {
        Some(file) => {
            let report = query.report("due", list);
            let page = view::due_page(&report, &calendar, is_shown, named, &contacts);
            let (path, mark) = (context.surroundings.here.join(file), view::due_mark());
            match contacts.is_empty() {
                true => write_outside(&path, &page, Some(&mark))?,
                false => write_with_contacts(&path, &page, &mark)?,
            }
            Outcome::report(format!("Wrote {}: a page to print.\n", text::path(file)), &report.unusable)
        }
        None => {
            query.answer("due", list, |report| view::due(report, &calendar, is_shown, named, &contacts, context.look))
        }
    };
    outcome.stderr.push_str(names.hint);
    outcome.is_paged = !args.no_pager && !args.asking.json && args.html.is_none();
    if outcome.status == 0 && args.exit_code && is_to_act_on {
        outcome.status = 1;
    }
    Ok(outcome)
}
