//! `exitsite contacts`, and the contacts file of the commands that show it.

use std::path::PathBuf;

use super::{Context, Outcome, ReadingFlags};
use crate::ask;
use crate::entry::Contacts;
use crate::folder::{Folder, read_contacts};
use crate::problem::Failure;
use crate::report::Unusable;
use crate::report::contacts::FILE;
use crate::text;
use crate::view;

/// Compare the contacts file with the patients on file
///
/// The contacts file is a CSV table that exists only on this computer: code, name, telephone, language, note; one line
/// per patient and, if wanted, per caregiver. It is stored outside the records and git, with mode 0600. `due`, `round`
/// and `show` show it on a terminal, and `due --html` on the printed list; no other output, file, mail or commit has a
/// name or number from it.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    #[command(subcommand)]
    sub: ContactsSub,
}

#[derive(Debug, clap::Subcommand)]
enum ContactsSub {
    /// List patients without a line, and lines without a patient or caregiver
    ///
    /// Exit status: 0 every patient has a line, and every line a patient or caregiver; 1 not so; 2 the contacts file
    /// cannot be used.
    Check(Check),
}

#[derive(Debug, clap::Args)]
struct Check {
    #[command(flatten)]
    contacts: ContactsFile,

    #[command(flatten)]
    asking: ReadingFlags,
}

/// The contacts file.
#[derive(Debug, clap::Args)]
pub(super) struct ContactsFile {
    /// Names and telephone numbers, a CSV file with mode 0600 outside the records and git; default: EXITSITE_CONTACTS
    #[arg(long, value_name = "FILE")]
    contacts: Option<PathBuf>,
}

/// Names and numbers for one output.
pub(super) struct Names {
    /// Empty without a file, if they are not shown, or if the file is refused.
    pub(super) contacts: Contacts,
    /// The reason for a refusal; the output follows anyway, without names.
    pub(super) refused: Option<Unusable>,
    /// A line for standard error if a file was named but is not shown.
    pub(super) hint: &'static str,
}

/// The line if names were requested but are not shown.
const NOT_SHOWN: &str = "exitsite: names and numbers appear only on a terminal and on the page of `due --html`, so they are not in this output\n";

impl Context<'_> {
    /// The names and numbers for an output that shows them if `is_shown`.
    pub(super) fn contacts(&self, file: &ContactsFile, records: &Folder, is_shown: bool) -> Names {
        let none = Names { contacts: Contacts::default(), refused: None, hint: "" };
        if !is_shown {
            return Names { hint: if file.contacts.is_some() { NOT_SHOWN } else { "" }, ..none };
        }
        match self.read_contacts(file, records) {
            Ok(contacts) => Names { contacts: contacts.unwrap_or_default(), ..none },
            Err(failure) => {
                let refused = Unusable { file: FILE.to_owned(), line: None, message: failure.to_string() };
                Names { refused: Some(refused), ..none }
            }
        }
    }

    /// Returns true if the output goes to a terminal, in words.
    pub(super) fn is_on_terminal(&self, asking: &ReadingFlags) -> bool {
        self.surroundings.width.is_some() && !asking.json
    }

    fn read_contacts(&self, file: &ContactsFile, records: &Folder) -> Result<Option<Contacts>, Failure> {
        let Some(path) = file.contacts.as_ref().or(self.surroundings.contacts.as_ref()) else { return Ok(None) };
        let bytes = read_contacts(&self.surroundings.here.join(path), records)?;
        let contacts = Contacts::read(&bytes);
        contacts.map(Some).map_err(|what| Failure::new(format!("{}: {what}", text::path(path))))
    }
}

pub(super) fn run(args: &Args, context: &Context) -> Result<Outcome, Failure> {
    let ContactsSub::Check(args) = &args.sub;
    let query = context.query(&args.asking)?;
    let contacts = context
        .read_contacts(&args.contacts, &query.program.folder)?
        .ok_or_else(|| Failure::new("no contacts file; name it with --contacts FILE, or in EXITSITE_CONTACTS"))?;
    let answer = ask::contacts(&query.program, &contacts, query.as_of);
    let is_complete = answer.0.is_complete();
    let mut outcome = query.answer("contacts", answer, |report| view::contacts(report, context.look));
    if outcome.status == 0 && !is_complete {
        outcome.status = 1;
    }
    Ok(outcome)
}
