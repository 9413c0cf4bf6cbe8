//! `exitsite export`

mod tables;

use std::path::PathBuf;

use chrono::NaiveDate;

use super::{Context, Outcome, ReadingFlags, day};
use crate::ask::unusable_of;
use crate::day::Period;
use crate::export::Selection;
use crate::folder::{HandedOut, KeyFile};
use crate::problem::Failure;
use crate::report::Report;
use crate::report::export::{ExportReport, Format};
use crate::text;
use crate::view;
use crate::word::Word;
use tables::Tables;

/// Export the records as tables, one for each kind
///
/// DIR is made, or is empty; nothing is overwritten, and DIR is there whole or not at all. CSV is what `import` reads:
/// UTF-8, an apostrophe before a text that a spreadsheet would take for a formula. Parquet is for query engines: typed
/// columns, a moment as `at` in UTC and as `at_local` on the wall. Voided records are among the rows, marked.
///
/// With --pseudonymous the tables are for a recipient under an agreement: random patient numbers, days since the implant in
/// place of dates, no codes, no free text, only the columns that are on the list of what may leave. These are still patients' data, and
/// the program decides who may have them. The list of the numbers is written into the new file --key, for the program alone.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// How the tables are written
    #[arg(value_name = "FORMAT", value_parser = clap::builder::PossibleValuesParser::new(Format::WORDS.iter().copied()))]
    format: String,

    /// The new folder
    #[arg(value_name = "DIR")]
    dir: PathBuf,

    /// Only this patient; may be given several times
    #[arg(long = "patient", value_name = "CODE")]
    patients: Vec<String>,

    /// Only events of this care day and later
    #[arg(long, value_name = "DATE")]
    from: Option<String>,

    /// Only events of this care day and earlier
    #[arg(long, value_name = "DATE")]
    to: Option<String>,

    /// Random patient numbers, days since the implant, no codes, no free text; needs --key
    #[arg(long)]
    pseudonymous: bool,

    /// The new file that lists whose the numbers are; outside of the records and of DIR, readable by its owner alone
    #[arg(long, value_name = "FILE")]
    key: Option<PathBuf>,

    #[command(flatten)]
    asking: ReadingFlags,
}

pub(super) fn run(args: &Args, context: &Context) -> Result<Outcome, Failure> {
    match (args.pseudonymous, &args.key) {
        (true, None) => {
            return Err(Failure::new(
                "--pseudonymous needs --key FILE, a new file for the list of patients and numbers; keep it inside the program",
            ));
        }
        (false, Some(_)) => return Err(Failure::new("--key is for --pseudonymous; add it, or leave --key out")),
        _ => {}
    }
    let program = context.program(&args.asking)?;
    let as_of = context.as_of(&program, &args.asking)?;
    let codes = program.codes(&args.patients)?;
    let Some(plan) = program.plan() else {
        return Err(Failure::new("policy.toml cannot be used, so care days are not known; `exitsite check` shows why"));
    };
    let (from, to): (Option<NaiveDate>, _) = (day("--from", &args.from)?, day("--to", &args.to)?);
    if let Some(from) = from {
        let today = plan.calendar.today(as_of.instant);
        Period::asked(from, to.unwrap_or(from.max(today)), today).map_err(Failure::new)?;
    }
    let format = Format::from_word(&args.format).unwrap_or(Format::Csv);
    let folder = HandedOut::begin(&context.surroundings.here.join(&args.dir), &program.folder)?;
    let key = args.key.as_ref().map(|key| KeyFile::at(&context.surroundings.here.join(key), &program.folder, &folder));
    let mut tables = Tables::begin(format, folder, key.transpose()?, context)?;
    let selection = Selection { as_of, from, to };
    tables.unusable = unusable_of(&program, args.patients.is_empty());
    if args.pseudonymous {
        tables.write_pseudonymous(&program, &codes, &selection)?;
    } else {
        tables.write(&program, &codes, &selection, args.patients.is_empty())?;
    }
    let body = ExportReport {
        format,
        dir: text::path(&args.dir),
        pseudonymous: args.pseudonymous,
        key: args.key.as_deref().map(text::path),
        tables: Vec::new(),
    };
    let mut report = Report::of("export", as_of, &plan.calendar, std::mem::take(&mut tables.unusable), body);
    report.body.tables = tables.finish(&report)?;
    let text = if args.asking.json { view::json(&report) } else { view::export::exported(&report, context.look) };
    Ok(Outcome::report(text, &report.unusable))
}
