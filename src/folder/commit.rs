//! Commits the files that a command wrote, and no others.

use std::io::ErrorKind;
use std::process::Command;
use std::thread::sleep;
use std::time::Duration;

use super::Folder;
use crate::git::run::output;
use crate::git::{did_not_end, must_not_wait};
use crate::problem::Failure;
use crate::text;

/// The number of attempts while another commit is running.
const TRIES: usize = 20;

impl Folder {
    /// Commits these files of the records, regardless of what else is changed or staged.
    ///
    /// # Errors
    /// Git is not installed, the folder is in no repository, or git refused; the message is git's.
    pub fn commit(&self, files: &[String], message: &str) -> Result<(), Failure> {
        must_not_wait(self.root())?;
        self.git(&["add", "--"], files)?;
        self.git(&["commit", "--quiet", "--message", message, "--only", "--"], files)
    }

    fn git(&self, arguments: &[&str], files: &[String]) -> Result<(), Failure> {
        for again in 1.. {
            let mut command = Command::new("git");
            command.arg("-C").arg(self.root()).args(arguments).args(files);
            let run = output(&mut command, None).map_err(|error| match error.kind() {
                ErrorKind::TimedOut => Failure::new(did_not_end(self.root())),
                _ => Failure::new(format!("git cannot be run: {error}")),
            })?;
            let said = String::from_utf8_lossy(&run.stderr);
            if run.status.success() {
                return Ok(());
            }
            if again >= TRIES || !said.contains(".lock") {
                return Err(Failure::new(format!("git: {}", text::visible_lines(said.trim()))));
            }
            sleep(Duration::from_millis(50));
        }
        Ok(())
    }
}
