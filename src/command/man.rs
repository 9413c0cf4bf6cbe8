//! `exitsite man`

use super::{Outcome, definition};
use crate::problem::Failure;

/// The man page of exitsite, or of one of its commands, to standard output
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// A command
    #[arg(value_name = "COMMAND")]
    command: Option<String>,
}

pub(super) fn run(args: &Args) -> Result<Outcome, Failure> {
    let mut definition = definition();
    definition.build();
    let page = match &args.command {
        None => definition,
        Some(name) => {
            let known = definition.find_subcommand(name).cloned();
            let known = known.ok_or_else(|| {
                Failure::new(format!(
                    "there is no command {}; `exitsite --help` lists them",
                    crate::text::visible(name)
                ))
            })?;
            known.name(format!("exitsite-{name}"))
        }
    };
    let mut roff = Vec::new();
    let rendered = clap_mangen::Man::new(page).render(&mut roff);
    rendered.map_err(|error| Failure::new(format!("cannot write the man page: {error}")))?;
    Ok(Outcome { stdout: String::from_utf8_lossy(&roff).into_owned(), ..Outcome::default() })
}
