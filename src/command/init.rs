//! `exitsite init`

use std::path::PathBuf;

use super::Outcome;
use crate::folder;
use crate::problem::Failure;
use crate::text;

/// Lay out a new records folder, with a policy to fill in
///
/// Refuses a folder that holds anything. Where git is there, the folder becomes a git repository,
/// with a hook that checks what is about to be committed.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// The new folder
    #[arg(value_name = "DIR")]
    dir: PathBuf,
}

pub(super) fn run(args: &Args) -> Result<Outcome, Failure> {
    let is_kept_by_git = folder::lay_out(&args.dir)?;
    let dir = text::path(&args.dir);
    let git = if is_kept_by_git { "git keeps it" } else { "git is not there, so nothing keeps its history" };
    let stdout = format!(
        "Laid out {dir}; {git}.\nNext: set `program` and `time_zone` in {dir}/policy.toml and look at every value in it, add your staff to {dir}/people.toml, then run `exitsite check --records {dir}`.\n"
    );
    Ok(Outcome { stdout, has_written: true, ..Outcome::default() })
}
