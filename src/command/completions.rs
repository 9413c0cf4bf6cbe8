//! `exitsite completions`

use clap_complete::Shell;

use super::{Outcome, definition};

/// Print the completion script for a shell
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// The shell
    shell: Shell,
}

pub(super) fn run(args: &Args) -> Outcome {
    let mut script = Vec::new();
    clap_complete::generate(args.shell, &mut definition(), "exitsite", &mut script);
    Outcome { stdout: String::from_utf8_lossy(&script).into_owned(), ..Outcome::default() }
}
