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

/// Export the records as tables, one per kind
///
/// DIR must be new or empty; nothing is overwritten, and DIR appears complete or not at all. CSV can be read by
/// `import`: UTF-8, with an apostrophe before text that a spreadsheet would take for a formula. Parquet is for query
/// engines: typed columns, a time as `at` in UTC and as `at_local` in local time. Voided records are included and
/// marked.
///
/// With --pseudonymous the tables are for a recipient under an agreement: random patient numbers, days since the
/// implant instead of dates, no codes, no free text, only the columns on the release list. These are still patient
/// data, and the program decides who may have them. The list of the numbers is written to the new file --key, for the
/// program only.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// Format of the tables
    #[arg(value_name = "FORMAT", value_parser = clap::builder::PossibleValuesParser::new(Format::WORDS.iter().copied()))]
    format: String,

    /// New folder
    #[arg(value_name = "DIR")]
    dir: PathBuf,

    /// Only this patient; may be given several times
    #[arg(long = "patient", value_name = "CODE")]
    patients: Vec<String>,

    /// Only events on or after this care day
    #[arg(long, value_name = "DATE")]
    from: Option<String>,

    /// Only events on or before this care day
    #[arg(long, value_name = "DATE")]
    to: Option<String>,

    /// Random patient numbers, days since the implant, no codes, no free text; needs --key
    #[arg(long)]
    pseudonymous: bool,

    /// New file that lists the patient of each number; outside the records and DIR, readable by its owner only
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
        return Err(Failure::new("policy.toml cannot be used, so care days are unknown; `exitsite check` shows why"));
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
