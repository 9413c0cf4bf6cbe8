//! `exitsite pool`

use std::path::PathBuf;

use super::{Context, Outcome};
use crate::folder::{read_outside, write_outside};
use crate::problem::Failure;
use crate::report::pool::{GivenReport, PoolReport};
use crate::text;
use crate::view;

/// The largest report that is read, in bytes.
const LARGEST: u64 = 64_000_000;

/// Compare yearly reports of several programs
///
/// Reads the output of `exitsite audit --year 2025 --json` from each program, and no records. Shows a funnel plot
/// around the pooled rate, the heterogeneity between programs, and each rate shrunk toward the pooled rate, the more
/// the fewer infections it has. For a single report made with --by it compares the groups. An external report
/// (--external) can be pooled if it gives its infections as a number.
///
/// These reports contain exact counts. The programs' own agreement decides who may have them, and the result.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// The reports, each a JSON file
    #[arg(value_name = "FILE.json", required = true)]
    files: Vec<PathBuf>,

    /// Write a page with the funnel plot, to read or print, to this file; replaces only a page written by this command
    #[arg(long, value_name = "FILE", conflicts_with = "json")]
    html: Option<PathBuf>,

    /// Print JSON for scripts instead of text
    #[arg(long)]
    json: bool,
}

pub(super) fn run(args: &Args, context: &Context) -> Result<Outcome, Failure> {
    let here = &context.surroundings.here;
    let read = |file: &PathBuf| GivenReport::read(&text::path(file), &read_outside(&here.join(file), LARGEST)?);
    let (mut given, mut faults) = (Vec::new(), Vec::new());
    for file in &args.files {
        match read(file) {
            Ok(report) => given.push(report),
            Err(failure) => faults.push(failure.to_string()),
        }
    }
    if !faults.is_empty() {
        return Err(Failure::new(faults.join("\n")));
    }
    let report = PoolReport::of(given)?;
    let stdout = match &args.html {
        Some(file) => {
            write_outside(&here.join(file), &view::pool_page(&report), Some(&view::pool_mark()))?;
            format!("Wrote {}: the reports side by side, with the funnel plot.\n", text::path(file))
        }
        None if args.json => view::json(&report),
        None => view::pool(&report, context.look),
    };
    Ok(match &report.unusable[..] {
        [] => Outcome { stdout, ..Outcome::default() },
        [first, ..] => Outcome {
            stdout,
            stderr: format!(
                "exitsite: not complete: {} without all records, the first {}: {}\n",
                match report.unusable.len() {
                    1 => "one report was made".to_owned(),
                    n => format!("{n} reports were made"),
                },
                first.file,
                first.message
            ),
            status: 3,
            ..Outcome::default()
        },
    })
}
