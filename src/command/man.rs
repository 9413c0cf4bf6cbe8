//! `exitsite man`

use super::{Outcome, definition};
use crate::problem::Failure;

/// Print the manual page of exitsite or of a command
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// A command, with its subcommand if it has one: patient move
    #[arg(value_name = "COMMAND")]
    command: Vec<String>,
}

pub(super) fn run(args: &Args) -> Result<Outcome, Failure> {
    let mut page = definition();
    page.build();
    let mut path = page.get_name().to_owned();
    for name in &args.command {
        let known = page.find_subcommand(name).cloned();
        page = known.ok_or_else(|| {
            Failure::new(format!(
                "unknown command {}; `{} --help` lists the commands",
                crate::text::visible(name),
                path.replace('-', " ")
            ))
        })?;
        path = format!("{path}-{name}");
    }
    let page = page.name(path);
    let mut roff = Vec::new();
    let rendered = clap_mangen::Man::new(page).render(&mut roff);
    rendered.map_err(|error| Failure::new(format!("cannot write the man page: {error}")))?;
    Ok(Outcome { stdout: String::from_utf8_lossy(&roff).into_owned(), ..Outcome::default() })
}
