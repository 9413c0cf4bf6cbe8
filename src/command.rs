//! The command line: each command is its arguments and one function from arguments to the printed text.
//!
//! No function here prints, reads the clock or reads the environment; `main` does, and passes it in as [`Surroundings`].

mod alert;
mod amend;
mod audit;
mod call;
mod check;
mod closing;
mod completions;
mod consent;
mod contacts;
mod correction;
mod days;
mod due;
mod export;
mod form;
mod gap;
mod grade;
mod handoff;
mod help;
mod history;
mod import;
mod init;
mod man;
mod missed;
mod order;
mod patient;
mod pick;
mod policy;
mod pool;
mod progress;
mod query;
mod question;
mod resolve;
mod result;
mod record;
mod round;
mod schema;
mod sheet;
mod show;
mod signals;
mod sitting;
mod staff;
mod supplies;
mod target;
mod teaching;
mod terminal;
mod twin;
mod until;
mod void;

use std::ffi::OsString;
use std::path::PathBuf;

pub use terminal::Terminal;

use days::{Days, day};

use clap::{CommandFactory, FromArgMatches, Parser, Subcommand, ValueEnum};

use crate::day::{AsOf, Instant};
use crate::folder::Folder;
use crate::post::Password;
use crate::problem::Failure;
use crate::program::Program;
use crate::report::Unusable;
use crate::text;
use crate::view::TextStyle;

/// Tracks VAD driveline exit-site care: who is due for a dressing change, who is overdue, and why.
///
/// Reads a program's records, a folder of plain text files, and writes only if the command is one that writes. The
/// program's own policy, the device's instructions for use, local codes and licensed practice take precedence.
///
/// Exit status: 0 done; 1 done, and what was asked about needs action; 2 failed; 3 the report is incomplete, because a
/// file could not be used.
#[derive(Debug, Parser)]
#[command(name = "exitsite", version, max_term_width = 100)]
pub struct Cli {
    /// Records folder; default: EXITSITE_RECORDS, else the nearest parent folder with a policy.toml
    #[arg(long, global = true, value_name = "DIR", display_order = 900)]
    records: Option<PathBuf>,

    /// Use of color; no meaning depends on color alone
    #[arg(long, global = true, value_name = "WHEN", default_value = "auto", display_order = 901)]
    color: Color,

    #[command(subcommand)]
    command: Sub,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Color {
    /// On a terminal, unless NO_COLOR is set
    Auto,
    /// Always
    Always,
    /// Never
    Never,
}

#[derive(Debug, Subcommand)]
enum Sub {
    Due(due::Args),
    Missed(missed::Args),
    Grade(grade::Args),
    Show(show::Args),
    Signals(signals::Args),
    Teaching(teaching::Args),
    Supplies(supplies::Args),
    Audit(audit::Args),
    Pool(pool::Args),
    Alert(alert::Args),
    Round(round::Args),
    Handoff(handoff::Args),
    Record(record::Args),
    Sheet(sheet::Args),
    Amend(amend::Args),
    Void(void::Args),
    Result(result::Args),
    Resolve(resolve::Args),
    Patient(patient::Args),
    Staff(staff::Args),
    Policy(policy::Args),
    Check(check::Args),
    History(history::Args),
    Contacts(contacts::Args),
    Import(import::Args),
    Export(export::Args),
    Init(init::Args),
    Schema(schema::Args),
    Completions(completions::Args),
    Man(man::Args),
}

impl Sub {
    /// Returns true if the command asks questions at a terminal.
    fn asks(&self) -> bool {
        use Sub::{Amend, Import, Init, Patient, Record, Resolve, Result, Round, Staff, Void};
        matches!(
            self,
            Round(_)
                | Record(_)
                | Amend(_)
                | Void(_)
                | Result(_)
                | Resolve(_)
                | Patient(_)
                | Staff(_)
                | Import(_)
                | Init(_)
        )
    }
}

/// The flags of every reading command.
#[derive(Debug, clap::Args)]
struct ReadingFlags {
    /// Report as of this time: 2026-11-24 (the end of that care day) or 2026-11-24T07:15; default: now
    #[arg(long, value_name = "DATE[THH:MM[OFFSET]]")]
    as_of: Option<String>,

    /// Report the records at this commit, such as HEAD~1 or a1b2c3d; the records folder is not changed
    #[arg(long, value_name = "REV")]
    at_commit: Option<String>,

    /// Print JSON for scripts instead of text
    #[arg(long)]
    json: bool,
}

/// The environment of a run, gathered by `main`.
#[derive(Debug, Clone, Default)]
pub struct Surroundings<'a> {
    /// The current time.
    pub now: Instant,
    /// The working directory.
    pub here: PathBuf,
    /// The system's temporary folder.
    pub temporary: Option<PathBuf>,
    /// EXITSITE_RECORDS.
    pub records: Option<PathBuf>,
    /// EXITSITE_CONTACTS: the file of names and telephone numbers.
    pub contacts: Option<PathBuf>,
    /// EXITSITE_BY: the writer's code.
    pub writer: Option<String>,
    /// EXITSITE_SMTP_PASSWORD: the password of the mail server.
    pub password: Option<Password>,
    /// Prints at once, for output that may be remembered only after it was printed; `None` prints everything at the
    /// end.
    pub print: Option<fn(&str) -> std::io::Result<()>>,
    /// The terminal of a user who can be asked; `None` in a script.
    pub terminal: Option<&'a dyn Terminal>,
    /// The width of the terminal on standard output; `None` if it is not a terminal.
    pub width: Option<usize>,
    /// The width of the terminal on standard error, where questions and errors are shown; `None` if it is not a
    /// terminal.
    pub error_width: Option<usize>,
    /// True if the terminal shows color.
    pub color: bool,
}

/// The outcome of a command: its output and exit status.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Outcome {
    /// For standard output.
    pub stdout: String,
    /// For standard error.
    pub stderr: String,
    /// 0 done; 1 something needs action; 2 failed; 3 a file could not be used.
    pub status: u8,
    /// True if something was written to the records.
    pub has_written: bool,
    /// True if output longer than the terminal goes through the pager.
    pub is_paged: bool,
}

/// The context of a running command: global flags and surroundings.
struct Context<'a> {
    surroundings: &'a Surroundings<'a>,
    records: Option<PathBuf>,
    look: TextStyle,
}

/// Runs a command line that begins with the program's name.
///
/// Standard error quotes paths, revisions and other typed text, so control characters in it are made visible here. It
/// is wrapped on a terminal; in a log each message stays on one line.
pub fn run(arguments: impl IntoIterator<Item = OsString>, surroundings: &Surroundings) -> Outcome {
    let outcome = answered(arguments, surroundings);
    let said = text::visible_lines(&outcome.stderr);
    let fitted = surroundings.error_width.map(|width| crate::view::sentences(&said, TextStyle { width, color: false }));
    Outcome { stderr: fitted.unwrap_or(said), ..outcome }
}

fn answered(arguments: impl IntoIterator<Item = OsString>, surroundings: &Surroundings) -> Outcome {
    let arguments = help::asked_for(arguments.into_iter().collect());
    let definition = definition();
    if arguments.len() < 2 {
        return Outcome { stderr: help::first(&definition), status: 2, ..Outcome::default() };
    }
    let user =
        surroundings.terminal.map(|terminal| sitting::Sitting::of(terminal, &arguments, surroundings.error_width));
    let terminal = user.as_ref().map(sitting::Sitting::as_terminal);
    let parsed = definition.clone().try_get_matches_from(&arguments).and_then(|found| Cli::from_arg_matches(&found));
    match parsed {
        Ok(cli) => match dispatch(cli, &Surroundings { terminal, ..surroundings.clone() }) {
            Ok(outcome) => outcome,
            Err(failure) => Outcome { stderr: format!("exitsite: {failure}\n"), status: 2, ..Outcome::default() },
        },
        Err(error) if error.use_stderr() => {
            let error = help::with_the_nearest(help::with_what_took_its_place(error), &arguments, &definition);
            Outcome { stderr: error.render().to_string(), status: 2, ..Outcome::default() }
        }
        Err(help) => Outcome { stdout: help.render().to_string(), ..Outcome::default() },
    }
}

fn dispatch(cli: Cli, surroundings: &Surroundings) -> Result<Outcome, Failure> {
    let color = match cli.color {
        Color::Auto => surroundings.color,
        Color::Always => true,
        Color::Never => false,
    };
    // A command that asks shows its text between the questions, on standard error.
    let is_asked = surroundings.terminal.is_some() && cli.command.asks();
    let width = if is_asked { surroundings.error_width.or(surroundings.width) } else { surroundings.width };
    let look = TextStyle { width: width.unwrap_or(80), color };
    let context = Context { surroundings, records: cli.records.or_else(|| surroundings.records.clone()), look };
    match cli.command {
        Sub::Due(args) => due::run(&args, &context),
        Sub::Missed(args) => missed::run(&args, &context),
        Sub::Grade(args) => grade::run(&args, &context),
        Sub::Show(args) => show::run(&args, &context),
        Sub::Signals(args) => signals::run(&args, &context),
        Sub::Teaching(args) => teaching::run(&args, &context),
        Sub::Supplies(args) => supplies::run(&args, &context),
        Sub::Audit(args) => audit::run(&args, &context),
        Sub::Pool(args) => pool::run(&args, &context),
        Sub::Alert(args) => alert::run(&args, &context),
        Sub::Handoff(args) => handoff::run(&args, &context),
        Sub::Round(args) => round::run(&args, &context),
        Sub::Record(args) => record::run(&args, &context),
        Sub::Sheet(args) => sheet::run(&args, &context),
        Sub::Amend(args) => amend::run(&args, &context),
        Sub::Void(args) => void::run(&args, &context),
        Sub::Result(args) => result::run(&args, &context),
        Sub::Resolve(args) => resolve::run(&args, &context),
        Sub::Patient(args) => patient::run(&args, &context),
        Sub::Staff(args) => staff::run(&args, &context),
        Sub::Policy(args) => policy::run(&args, &context),
        Sub::Check(args) => check::run(&args, &context),
        Sub::Contacts(args) => contacts::run(&args, &context),
        Sub::History(args) => history::run(&args, &context),
        Sub::Import(args) => import::run(&args, &context),
        Sub::Export(args) => export::run(&args, &context),
        Sub::Init(args) => init::run(&args, &context),
        Sub::Schema(args) => schema::run(&args),
        Sub::Completions(args) => Ok(completions::run(&args)),
        Sub::Man(args) => man::run(&args),
    }
}

/// The definition of the command line, for completions and man pages.
pub fn definition() -> clap::Command {
    help::grouped(Cli::command())
}

impl Context<'_> {
    /// Opens the records, now or at the given commit.
    fn program(&self, asking: &ReadingFlags) -> Result<Program, Failure> {
        Program::open(self.folder(asking)?)
    }

    /// The records folder, now or at the given commit.
    fn folder(&self, asking: &ReadingFlags) -> Result<Folder, Failure> {
        let (given, here) = (self.records.as_deref(), &self.surroundings.here);
        match &asking.at_commit {
            None => Folder::find(given, here),
            Some(commit) => Folder::at_commit(given, here, commit),
        }
    }

    /// Opens the records for writing. Requires a usable policy, since it defines the care day and the time zone.
    fn open(&self) -> Result<Program, Failure> {
        let program = Program::open(Folder::find(self.records.as_deref(), &self.surroundings.here)?)?;
        if program.plan().is_none() {
            return Err(Failure::new(
                "policy.toml is unreadable, so times cannot be interpreted. Nothing was written. `exitsite check` gives the reason.",
            ));
        }
        Ok(program)
    }

    /// Shows the user the text that goes with a question; nothing without a terminal.
    fn say(&self, text: &str) {
        if let Some(terminal) = self.surroundings.terminal {
            terminal.say(text);
        }
    }

    /// Marks the outcome as written, and commits the files if requested. A failed commit is reported on standard error;
    /// the records stay on file.
    fn committed(
        &self,
        program: &Program,
        asked: Option<bool>,
        files: &[String],
        message: &str,
        mut outcome: Outcome,
    ) -> Outcome {
        outcome.has_written = true;
        let by_policy = program.policy.as_ref().is_some_and(|policy| policy.commits);
        if asked.unwrap_or(by_policy)
            && let Err(failure) = program.folder.commit(files, message)
        {
            outcome.stderr.push_str(&format!("exitsite: the record is on file, but was not committed: {failure}\n"));
            outcome.status = 1;
        }
        outcome
    }

    /// The requested instant: `--as-of`, or now.
    fn as_of(&self, program: &Program, asking: &ReadingFlags) -> Result<AsOf, Failure> {
        program.as_of(asking.as_of.as_deref(), self.surroundings.now)
    }
}

impl Outcome {
    /// A report, with the files that could not be used on standard error.
    fn report(stdout: String, unusable: &[Unusable]) -> Outcome {
        match unusable {
            [] => Outcome { stdout, ..Outcome::default() },
            [first, ..] => {
                let place = first.line.map_or(first.file.clone(), |line| format!("{}:{line}", first.file));
                let distinct: std::collections::BTreeSet<&str> = unusable.iter().map(|one| one.file.as_str()).collect();
                let files = text::count(distinct.len() as i64, "file");
                let which = if distinct.len() == 1 { ":" } else { ", the first" };
                let stderr = format!(
                    "exitsite: the report is incomplete: {files} could not be read{which} {place}: {}\n",
                    first.message
                );
                Outcome { stdout, stderr, status: 3, ..Outcome::default() }
            }
        }
    }
}
