//! Arguments, the clock, the environment, the terminal and the exit status: everything else is in the library.

mod terminal;

use std::env;
use std::io::{self, ErrorKind, IsTerminal, Write, stderr, stdout};
use std::os::fd::AsFd;
use std::process::ExitCode;

use exitsite::command::{Outcome, Surroundings, Terminal, run};
use exitsite::post::Password;

use terminal::Seat;

#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

fn main() -> ExitCode {
    let seat = Seat::taken();
    let surroundings = Surroundings {
        now: chrono::Utc::now(),
        here: env::current_dir().unwrap_or_default(),
        temporary: Some(env::temp_dir()),
        records: env::var_os("EXITSITE_RECORDS").filter(|dir| !dir.is_empty()).map(Into::into),
        contacts: env::var_os("EXITSITE_CONTACTS").filter(|file| !file.is_empty()).map(Into::into),
        writer: env::var("EXITSITE_BY").ok().filter(|code| !code.is_empty()),
        password: env::var("EXITSITE_SMTP_PASSWORD").ok().map(|text| Password::new(&text)),
        print: Some(print),
        terminal: seat.as_ref().map(|seat| seat as &dyn Terminal),
        width: width(stdout()),
        error_width: width(stderr()),
        color: stdout().is_terminal() && env::var_os("NO_COLOR").is_none_or(|value| value.is_empty()),
    };
    let Outcome { stdout: report, stderr: said, status, has_written, is_paged } = run(env::args_os(), &surroundings);
    _ = stderr().write_all(said.as_bytes());
    let shown = if is_paged { terminal::paged(&report) } else { None };
    match shown.unwrap_or_else(|| print(&report)) {
        Err(error) if error.kind() != ErrorKind::BrokenPipe && has_written => {
            _ = writeln!(
                stderr(),
                "exitsite: the record is on file, but the output could not be written: {error}; check the free disk space"
            );
            ExitCode::from(1)
        }
        // A closed pipe, as with `| head`, ends quietly.
        Err(error) if error.kind() != ErrorKind::BrokenPipe => {
            _ = writeln!(stderr(), "exitsite: the output could not be written: {error}; check the free disk space");
            ExitCode::from(2)
        }
        _ => ExitCode::from(status),
    }
}

fn print(text: &str) -> io::Result<()> {
    stdout().write_all(text.as_bytes()).and_then(|()| stdout().flush())
}

/// The width of the terminal on a stream; `None` if it is not a terminal.
fn width(stream: impl AsFd + IsTerminal) -> Option<usize> {
    let size = stream.is_terminal().then(|| terminal_size::terminal_size_of(stream.as_fd())).flatten();
    size.map(|(width, _)| usize::from(width.0).max(20))
}
