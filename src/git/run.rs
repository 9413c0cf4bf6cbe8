//! A program with a time limit: it is killed when the time is over.
//!
//! Left out on purpose: the programs that such a program starts itself. Reading starts none, and the hooks of a commit
//! are the user's own.

use std::io::{self, ErrorKind, Write};
use std::process::{Child, Command, Output, Stdio};
use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender, channel};
use std::thread::spawn;
use std::time::Duration;

use rustix::process::{Pid, Signal, kill_process};

/// The longest time a program may run.
pub(crate) const LONGEST: Duration = Duration::from_secs(30);

/// The time for a program to end on a signal and remove its files, such as the locks of git.
const GRACE: Duration = Duration::from_secs(1);

/// Runs a program to its end and gives it `input` to read, or nothing.
///
/// # Errors
/// It cannot be run, or it has not ended in time.
pub(crate) fn output(command: &mut Command, input: Option<Vec<u8>>) -> io::Result<Output> {
    let stdin = if input.is_some() { Stdio::piped() } else { Stdio::null() };
    let mut child = command.stdin(stdin).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn()?;
    let pid = Pid::from_child(&child);
    // Written beside the reading: each side would wait for the other when the pipes are full.
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

/// Kills a program that answers questions when one answer takes too long, so that whoever reads it meets its end.
#[derive(Debug)]
pub(crate) struct Watchdog(Sender<()>);

impl Watchdog {
    /// Begins to watch a program; [`Watchdog::tick`] is called before each question and after each answer.
    pub(crate) fn over(child: &Child) -> Watchdog {
        let pid = Pid::from_child(child);
        let (says, hears) = channel();
        spawn(move || watch(&hears, pid));
        Watchdog(says)
    }

    /// A question begins, or its answer is there.
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
