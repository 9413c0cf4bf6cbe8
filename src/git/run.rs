//! Runs a program with a time limit: it is killed when the time is over.
//!
//! Left out on purpose: the child processes of such a program. Reading starts none, and the hooks of a commit are the
//! user's own.
//! are the user's own.

use std::io::{self, ErrorKind, Write};
use std::process::{Child, Command, Output, Stdio};
use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender, channel};
use std::thread::spawn;
use std::time::Duration;

use rustix::process::{Pid, Signal, kill_process};

/// The time limit of a program.
pub(crate) const LONGEST: Duration = Duration::from_secs(30);

/// The time for a program to exit after a signal and remove its files, such as the locks of git.
const GRACE: Duration = Duration::from_secs(1);

/// Runs a program to completion, with `input` or no standard input.
///
/// # Errors
/// It cannot be run, or did not finish in time.
pub(crate) fn output(command: &mut Command, input: Option<Vec<u8>>) -> io::Result<Output> {
    let stdin = if input.is_some() { Stdio::piped() } else { Stdio::null() };
    let mut child = command.stdin(stdin).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn()?;
    let pid = Pid::from_child(&child);
    // Written on another thread: otherwise both sides would block when the pipes are full.
    if let (Some(mut pipe), Some(input)) = (child.stdin.take(), input) {
        spawn(move || _ = pipe.write_all(&input));
    }
    let (says, ended) = channel();
    spawn(move || _ = says.send(child.wait_with_output()));
    ended.recv_timeout(LONGEST).unwrap_or_else(|_| {
        _ = kill_process(pid, Signal::TERM);
        if ended.recv_timeout(GRACE).is_err() {
            _ = kill_process(pid, Signal::KILL);
        }
        Err(ErrorKind::TimedOut.into())
    })
}

/// Kills a program that answers questions if one answer takes too long, so that its reader sees the end of the output.
#[derive(Debug)]
pub(crate) struct Watchdog(Sender<()>);

impl Watchdog {
    /// Starts watching a program; [`Watchdog::tick`] is called before each question and after each answer.
    pub(crate) fn over(child: &Child) -> Watchdog {
        let pid = Pid::from_child(child);
        let (says, hears) = channel();
        spawn(move || watch(&hears, pid));
        Watchdog(says)
    }

    /// Marks the start of a question, or its answer.
    pub(crate) fn tick(&self) {
        _ = self.0.send(());
    }
}

fn watch(hears: &Receiver<()>, pid: Pid) {
    while hears.recv().is_ok() {
        match hears.recv_timeout(LONGEST) {
            Ok(()) => {}
            Err(RecvTimeoutError::Disconnected) => return,
            Err(RecvTimeoutError::Timeout) => {
                _ = kill_process(pid, Signal::KILL);
                return;
            }
        }
    }
}
