//! The commit that a command makes of what it wrote, of these files and no others.

use std::process::{Command, Stdio};
use std::thread::sleep;
use std::time::Duration;

use super::Folder;
use crate::problem::Failure;

/// How often a commit is tried while somebody else's is being made.
const TRIES: usize = 20;

impl Folder {
    /// Commits these files of the records, whatever else is changed or staged.
    ///
    /// # Errors
    /// git is not there, the folder is in no repository, or git refused, in its own words.
    pub fn commit(&self, files: &[String], message: &str) -> Result<(), Failure> {
        self.git(&["add", "--"], files)?;
        self.git(&["commit", "--quiet", "--message", message, "--only", "--"], files)
    }

    fn git(&self, arguments: &[&str], files: &[String]) -> Result<(), Failure> {
        for again in 1.. {
            let run = Command::new("git")
                .arg("-C")
                .arg(self.root())
                .args(arguments)
                .args(files)
                .stdin(Stdio::null())
                .output()
                .map_err(|error| Failure::new(format!("git cannot be run: {error}")))?;
            let said = String::from_utf8_lossy(&run.stderr);
            if run.status.success() {
                return Ok(());
            }
            if again >= TRIES || !said.contains(".lock") {
                return Err(Failure::new(format!("git: {}", said.trim())));
            }
            sleep(Duration::from_millis(50));
        }
        Ok(())
    }
}
