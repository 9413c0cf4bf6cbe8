//! The state of a command, in a file outside the records: one run at a time.
//!
//! A run locks `NAME.lock` in the same folder; the operating system releases the lock when the run ends, however it ends.

use std::fs::{self, File, OpenOptions};
use std::io::ErrorKind;
use std::os::unix::fs::OpenOptionsExt;
use std::path::{Path, PathBuf};
use std::time::Duration;

use super::given::read_outside;
use super::lock::{Lock, lock};
use super::outside::must_lie_outside;
use super::whole::{Access, cannot, parent, write};
use crate::problem::Failure;
use crate::text;

/// The maximum size of a state, in bytes.
const LARGEST_STATE: u64 = 20_000_000;

/// The longest wait for another run.
const LONGEST_WAIT: Duration = Duration::from_secs(10);

/// The maximum number of unreadable states kept.
const MOST_ASIDE: usize = 99;

/// A state file.
#[derive(Debug)]
pub struct StateFile {
    path: PathBuf,
    /// Held until the run ends; `None` for a read-only state.
    _lock: Option<File>,
}

impl StateFile {
    /// Checks that a path can hold a state: it is not a folder, and is outside the records.
    ///
    /// # Errors
    /// It cannot hold one.
    pub(crate) fn may_be_at(path: &Path, records: Option<&Path>) -> Result<(), Failure> {
        if path.is_dir() {
            return Err(Failure::new(format!("{} is a folder; name another file with --state", text::path(path))));
        }
        let elsewhere = |Failure(said)| Failure::new(format!("{said}: name another file with --state"));
        must_lie_outside(path, records).map_err(elsewhere)
    }

    /// Opens a state file for reading only.
    pub fn looked_at(path: &Path) -> StateFile {
        StateFile { path: path.to_owned(), _lock: None }
    }

    /// Opens a state file for this run alone; `None` if another run still holds it after ten seconds. A missing folder is
    /// created if its parent exists.
    ///
    /// # Errors
    /// Its folder cannot be written.
    pub fn locked(path: &Path) -> Result<Option<StateFile>, Failure> {
        let folder = parent(path);
        if !folder.exists() {
            fs::create_dir(folder).map_err(|error| cannot(folder, &error))?;
        }
        let mut name = path.as_os_str().to_owned();
        name.push(".lock");
        let name = PathBuf::from(name);
        // A pipe must not block, and a link must not lead elsewhere.
        let flags = libc::O_NOFOLLOW | libc::O_NONBLOCK;
        let opened = OpenOptions::new().create(true).truncate(false).write(true).custom_flags(flags).open(&name);
        let file = opened.map_err(|error| cannot(&name, &error))?;
        if !file.metadata().is_ok_and(|about| about.is_file()) {
            return Err(Failure::new(format!("{} is not a regular file; remove it", text::path(&name))));
        }
        // A network folder may not support locks: a duplicate alert is better than none.
        let is_free = lock(&file, LONGEST_WAIT) != Lock::Busy;
        Ok(is_free.then(|| StateFile { path: path.to_owned(), _lock: Some(file) }))
    }

    /// The text of the file; `None` if there is no file.
    ///
    /// # Errors
    /// It exists but cannot be read.
    pub fn read(&self) -> Result<Option<String>, Failure> {
        if self.path.symlink_metadata().is_err_and(|error| error.kind() == ErrorKind::NotFound) {
            return Ok(None);
        }
        let bytes = read_outside(&self.path, LARGEST_STATE)?;
        let text = String::from_utf8(bytes);
        text.map(Some).map_err(|_| Failure::new(format!("{} is not text in UTF-8", text::path(&self.path))))
    }

    /// Renames an unreadable file to `NAME.unusable`, and returns the new name.
    ///
    /// # Errors
    /// It cannot be renamed.
    pub(crate) fn set_aside(&self) -> Result<PathBuf, Failure> {
        for ending in (1..=MOST_ASIDE).map(|n| if n == 1 { ".unusable".to_owned() } else { format!(".unusable.{n}") }) {
            let mut name = self.path.as_os_str().to_owned();
            name.push(ending);
            let name = PathBuf::from(name);
            if name.symlink_metadata().is_err() {
                return fs::rename(&self.path, &name).map(|()| name.clone()).map_err(|error| cannot(&name, &error));
            }
        }
        Err(Failure::new(format!("there are too many {}.unusable files; remove them", text::path(&self.path))))
    }

    /// Replaces the file, readable by its owner only: it lists the patients with alerts.
    ///
    /// # Errors
    /// It cannot be written; the file is unchanged.
    pub fn save(&self, text: &str) -> Result<(), Failure> {
        write(&self.path, text, Access::OwnerOnly, true).map(|_| ())
    }
}
