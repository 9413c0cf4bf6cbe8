//! The local mail program: `sendmail -t -i` and compatible programs read a message from standard input and take the
//! recipient from its header.

use std::io::Write;
use std::path::PathBuf;
use std::process::{Child, Command, Stdio};
use std::sync::mpsc::channel;
use std::thread::{sleep, spawn};
use std::time::{Duration, Instant};

use super::Undelivered;

/// The pause between two checks whether the program has exited.
const PAUSE: Duration = Duration::from_millis(20);

/// The time after the program's exit within which its input is either read or never will be.
const SETTLED: Duration = Duration::from_secs(1);

/// A mail program.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct MailProgram {
    /// Its path.
    pub path: PathBuf,
}

impl MailProgram {
    /// Passes a message to the program by a deadline, which messages give as `within`.
    pub(super) fn send(&self, message: &[u8], (deadline, within): (Instant, &str)) -> Result<String, Undelivered> {
        let shown = self.path.display();
        let begun = Command::new(&self.path).args(["-t", "-i"]).stdin(Stdio::piped()).stdout(Stdio::null()).spawn();
        let mut child =
            begun.map_err(|error| Undelivered::of_the_way(format!("cannot run the mail program {shown}: {error}")))?;
        let stdin = child.stdin.take();
        let message = unix_lines(message);
        // A program that does not read its input must not block this one.
        let (says, is_whole) = channel();
        spawn(move || _ = says.send(stdin.is_some_and(|mut stdin| stdin.write_all(&message).is_ok())));
        let status = self.wait(&mut child, deadline, within)?;
        if !status.success() {
            // It may reject this address but accept others.
            return Err(Undelivered {
                why: format!("the mail program {shown} failed: {status}"),
                is_of_the_way: false,
            });
        }
        match is_whole.recv_timeout(SETTLED) {
            Ok(true) => Ok(status.to_string()),
            _ => Err(Undelivered::of_the_way(format!("the mail program {shown} did not read the complete message"))),
        }
    }

    fn wait(
        &self,
        child: &mut Child,
        deadline: Instant,
        within: &str,
    ) -> Result<std::process::ExitStatus, Undelivered> {
        let shown = self.path.display();
        while Instant::now() < deadline {
            match child.try_wait() {
                Ok(Some(status)) => return Ok(status),
                Ok(None) => sleep(PAUSE),
                Err(error) => {
                    return Err(Undelivered::of_the_way(format!("lost track of the mail program {shown}: {error}")));
                }
            }
        }
        _ = child.kill();
        _ = child.wait();
        Err(Undelivered::of_the_way(format!("the mail program {shown} did not finish within {within}")))
    }
}

/// Line endings for local programs.
fn unix_lines(message: &[u8]) -> Vec<u8> {
    let mut lines = Vec::with_capacity(message.len());
    for (at, byte) in message.iter().enumerate() {
        if *byte != b'\r' || message.get(at + 1) != Some(&b'\n') {
            lines.push(*byte);
        }
    }
    lines
}
