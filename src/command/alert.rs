//! `exitsite alert`

mod delivery;
mod log;
mod remembered;

use std::path::PathBuf;

use clap::ValueEnum;

use super::{Context, Outcome, ReadingFlags};
use crate::alert::OpenAlerts;
use crate::day::AsOf;
use crate::folder::{Folder, read_private};
use crate::post::{MailProgram, Password, Sender, Server, Way, mailbox};
use crate::problem::{Failure, Problem};
use crate::program::Program;
use delivery::AlertRun;
use log::AlertLog;
use remembered::Remembered;

/// The usual path of the local mail program.
const SENDMAIL: &str = "/usr/sbin/sendmail";

/// The largest password file that is read, in bytes.
const LARGEST_PASSWORD: u64 = 10_000;

/// Alert on overdue changes, signals and unreadable records
///
/// Prints alerts, or mails them to the addresses in policy.toml. With --state an alert is sent once, and again when it
/// gets worse or after repeat_hours. A crash may repeat an alert but never loses one.
///
/// Exit status: 0 done; 1 with --exit-code, an alert was sent; 2 no records could be checked, or a message was not accepted
/// and the next run tries again; 3 done, but a file could not be read, which is itself an alert.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// Remember sent alerts and their recipients in this file
    #[arg(long, value_name = "FILE")]
    state: Option<PathBuf>,

    /// Append a line per message to this file: time, recipient, alerts, the server's reply; existing lines never change
    #[arg(long, value_name = "FILE")]
    log: Option<PathBuf>,

    /// Send with the local mail program, run as PROGRAM -t -i
    #[arg(long, value_name = "PROGRAM", num_args = 0..=1, default_missing_value = SENDMAIL)]
    #[arg(conflicts_with = "smtp", requires = "from")]
    sendmail: Option<PathBuf>,

    /// Send through a mail server: smtp://HOST:PORT (STARTTLS, except on this machine) or smtps://HOST, with USER@
    /// before the host
    #[arg(long, value_name = "URL", requires = "from")]
    smtp: Option<String>,

    /// Sender address of the mail
    #[arg(long, value_name = "ADDRESS")]
    from: Option<String>,

    /// File with the password of the mail server, mode 0600; default: EXITSITE_SMTP_PASSWORD
    #[arg(long, value_name = "FILE", requires = "smtp")]
    password_file: Option<PathBuf>,

    /// Recipient of alerts for an administrator, and of all alerts if policy.toml lists no coordinator
    #[arg(long, value_name = "ADDRESS")]
    fallback: Option<String>,

    /// Send a message even without new alerts, so that silence is never taken for good news
    #[arg(long)]
    heartbeat: bool,

    /// Show the messages and their recipients without sending or remembering anything
    #[arg(long)]
    dry_run: bool,

    /// Exit with 1 if an alert was sent or printed
    #[arg(long)]
    exit_code: bool,

    /// Seconds after which the delivery of all messages times out
    #[arg(long, value_name = "SECONDS", default_value_t = 30, value_parser = clap::value_parser!(u64).range(1..=3600))]
    timeout: u64,

    /// Output format
    #[arg(long, value_name = "FORMAT", default_value = "text", conflicts_with = "json")]
    format: AlertFormat,

    #[command(flatten)]
    asking: ReadingFlags,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum AlertFormat {
    /// For people
    Text,
    /// For scripts, as --json
    Json,
}

pub(super) fn run(args: &Args, context: &Context) -> Result<Outcome, Failure> {
    if args.state.is_some() && args.asking.as_of.is_some() && !args.dry_run {
        return Err(Failure::new(
            "--state remembers the alerts sent now, so --as-of would silence the next run; add --dry-run, or leave one of the two out",
        ));
    }
    let sender = args.sender(context)?;
    if let Some(fallback) = &args.fallback {
        mailbox(fallback)?;
    }
    let records = Folder::find(context.records.as_deref(), &context.surroundings.here);
    let records = records.as_ref().ok().map(Folder::root);
    let state = args.state.as_ref().map(|state| context.surroundings.here.join(state));
    let temporary = context.surroundings.temporary.as_deref();
    let remembered = Remembered::open(state.as_deref(), args.dry_run, records, temporary)?;
    let log = args.log.as_ref().filter(|_| !args.dry_run).map(|log| context.surroundings.here.join(log));
    let log = AlertLog::open(log.as_deref(), records);
    let program = context.program(&args.asking);
    let judged = match &program {
        Ok(program) => judge(program, args, context),
        Err(failure) => Err(failure.clone()),
    };
    let delivery = AlertRun { args, context, sender: sender.as_ref(), program: program.as_ref().ok() };
    match judged {
        Ok((as_of, open)) => delivery.tell(as_of, open, remembered, log),
        Err(failure) => Ok(delivery.not_judged(&failure, remembered, log)),
    }
}

/// The open alerts.
fn judge(program: &Program, args: &Args, context: &Context) -> Result<(AsOf, OpenAlerts), Failure> {
    let as_of = context.as_of(program, &args.asking)?;
    let open = OpenAlerts::read(program, as_of);
    let first = |problem: &&Problem| problem.makes_unusable();
    open.map(|open| (as_of, open)).ok_or_else(|| {
        let why = program
            .problems
            .iter()
            .find(first)
            .map_or("it cannot be used".to_owned(), |problem| format!("{}: {}", problem.place, problem.message));
        Failure::new(format!("policy.toml cannot be used ({why}); `exitsite check` shows more"))
    })
}

impl Args {
    fn is_json(&self) -> bool {
        self.asking.json || self.format == AlertFormat::Json
    }

    /// The mail sender; `None` if alerts are printed.
    fn sender(&self, context: &Context) -> Result<Option<Sender>, Failure> {
        let way = match (&self.sendmail, &self.smtp) {
            (Some(path), _) => Way::Program(MailProgram { path: path.clone() }),
            (None, Some(url)) => Way::Server(Server::of(url, self.password(context)?)?),
            (None, None) => return Ok(None),
        };
        let from = self.from.as_deref().unwrap_or_default();
        Sender::new(from, context.surroundings.now, way, self.timeout).map(Some)
    }

    fn password(&self, context: &Context) -> Result<Option<Password>, Failure> {
        let Some(file) = &self.password_file else { return Ok(context.surroundings.password.clone()) };
        let bytes = read_private(&context.surroundings.here.join(file), LARGEST_PASSWORD)?;
        let text = String::from_utf8(bytes);
        let text = text.map_err(|_| Failure::new(format!("{} is not UTF-8 text", file.display())))?;
        Ok(Some(Password::new(&text)))
    }
}
