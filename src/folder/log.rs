//! An append-only log outside the records: each line is written and flushed completely, or not at all.

use std::fs::{File, OpenOptions};
use std::io::{self, Read, Write};
use std::os::unix::fs::{FileExt, OpenOptionsExt};
use std::path::{Path, PathBuf};
use std::time::Duration;

use super::lock::lock;
use super::outside::{must_have_folder, must_lie_outside};
use super::whole::cannot;
use crate::problem::Failure;
use crate::text;

/// The longest wait for another run that appends a line.
const LONGEST_WAIT: Duration = Duration::from_secs(5);

/// A log file.
#[derive(Debug)]
pub struct LogFile {
    path: PathBuf,
    file: File,
}

impl LogFile {
    /// Opens a log, or creates it for its owner only. An existing one must be empty or begin with `mark`.
    ///
    /// # Errors
    /// It is in the records, is not a regular file, belongs to another program or person, or cannot be written.
    pub fn open(path: &Path, records: Option<&Path>, mark: &str) -> Result<LogFile, Failure> {
        let shown = text::path(path);
        must_have_folder(path)?;
        must_lie_outside(path, records)?;
        // A pipe must not block, and a link must not lead elsewhere.
        let flags = libc::O_NOFOLLOW | libc::O_NONBLOCK;
        let opened = OpenOptions::new().read(true).append(true).create(true).mode(0o600).custom_flags(flags).open(path);
        let mut file = opened.map_err(|error| match error.raw_os_error() {
            Some(libc::ELOOP | libc::ENXIO) => not_regular(&shown),
            Some(libc::EISDIR) => Failure::new(format!("{shown} is a folder; name a file in it")),
            _ => cannot(path, &error),
        })?;
        if !file.metadata().is_ok_and(|about| about.is_file()) {
            return Err(not_regular(&shown));
        }
        let mut beginning = Vec::new();
        let read = Read::by_ref(&mut file).take(mark.len() as u64).read_to_end(&mut beginning);
        read.map_err(|error| cannot(path, &error))?;
        if !beginning.is_empty() && beginning != mark.as_bytes() {
            return Err(Failure::new(format!(
                "{shown} is not a log of this command and was left unchanged; name another file"
            )));
        }
        Ok(LogFile { path: path.to_owned(), file })
    }

    /// Appends a line. A partial line from an earlier run, as on a full disk, is terminated first.
    ///
    /// # Errors
    /// It cannot be written; the log is unchanged.
    pub fn append(&mut self, line: &str) -> Result<(), Failure> {
        // A network folder may not support locks; a line is still a single write.
        lock(&self.file, LONGEST_WAIT);
        let added = self.add(line);
        _ = self.file.unlock();
        added.map_err(|error| cannot(&self.path, &error))
    }

    fn add(&mut self, line: &str) -> io::Result<()> {
        let length = self.file.metadata()?.len();
        let mut last = [b'\n'];
        if length > 0 {
            self.file.read_exact_at(&mut last, length - 1)?;
        }
        let end = if last == [b'\n'] { "" } else { "\n" };
        let added = self.file.write_all(format!("{end}{line}\n").as_bytes()).and_then(|()| self.file.sync_data());
        added.inspect_err(|_| _ = self.file.set_len(length))
    }
}

fn not_regular(shown: &str) -> Failure {
    Failure::new(format!("{shown} is not a regular file; name another file"))
}

#[cfg(test)]
mod tests {
    use std::fs;
    use std::os::unix::fs::{PermissionsExt, symlink};

    use super::LogFile;

    #[test]
    fn lines_are_added_and_nothing_else_is_touched() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("log");
        for line in ["{\"log\":1}", "{\"log\":2}"] {
            LogFile::open(&path, None, "{\"log\"").unwrap().append(line).unwrap();
        }
        assert_eq!(fs::read_to_string(&path).unwrap(), "{\"log\":1}\n{\"log\":2}\n");
        assert_eq!(fs::metadata(&path).unwrap().permissions().mode() & 0o777, 0o600);
        // Half a line, as a crash leaves it, is ended and kept.
        fs::write(&path, "{\"log\":1}\n{\"log\":").unwrap();
        LogFile::open(&path, None, "{\"log\"").unwrap().append("{\"log\":3}").unwrap();
        assert_eq!(fs::read_to_string(&path).unwrap(), "{\"log\":1}\n{\"log\":\n{\"log\":3}\n");
        let refused = |path: &std::path::Path, why: &str| {
            let said = LogFile::open(path, None, "{\"log\"").unwrap_err().to_string();
            assert!(said.contains(why), "{said}");
        };
        fs::write(folder.path().join("work"), "a letter").unwrap();
        refused(&folder.path().join("work"), "is not a log of this command");
        symlink(&path, folder.path().join("link")).unwrap();
        refused(&folder.path().join("link"), "is not a regular file");
        refused(folder.path(), "folder");
        refused(&folder.path().join("none/log"), "there is no folder");
        fs::write(folder.path().join("policy.toml"), "").unwrap();
        refused(&path, "inside the records folder");
    }
}
