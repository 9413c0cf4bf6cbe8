//! A file outside of the records in which a command remembers what it did: one run at a time, whole or as it was.
//!
//! `NAME.lock` beside it is locked while a run is at work; the lock ends with the run, however that ends.

use std::fs::{self, File, OpenOptions, Permissions, TryLockError};
use std::io::{ErrorKind, Write};
use std::os::unix::fs::{OpenOptionsExt, PermissionsExt};
use std::path::{Path, PathBuf};
use std::thread::sleep;
use std::time::Duration;

use super::given::read_outside;
use super::outside::must_lie_outside;
use super::write::cannot;
use crate::problem::Failure;
use crate::text;

/// The largest state that is read, in bytes.
const LARGEST_STATE: u64 = 20_000_000;

/// How often another run is waited for, and how long each time: ten seconds in all.
const TRIES: usize = 100;
const PAUSE: Duration = Duration::from_millis(100);

/// How many states that could not be used are kept.
const MOST_ASIDE: usize = 99;

/// A state file.
#[derive(Debug)]
pub struct StateFile {
    path: PathBuf,
    /// Held until the run ends; none where nobody locks, as when nothing is to be written.
    _lock: Option<File>,
}

impl StateFile {
    /// That a state may be kept at a path: it is no folder, and lies outside of the records.
    ///
    /// # Errors
    /// It is not; nothing was touched.
    pub fn may_be_at(path: &Path, records: Option<&Path>) -> Result<(), Failure> {
        if path.is_dir() {
            return Err(Failure::new(format!("{} is a folder; name another file with --state", text::path(path))));
        }
        let elsewhere = |Failure(said)| Failure::new(format!("{said}: name another file with --state"));
        must_lie_outside(path, records).map_err(elsewhere)
    }

    /// A state file that is only looked at.
    pub fn looked_at(path: &Path) -> StateFile {
        StateFile { path: path.to_owned(), _lock: None }
    }

    /// A state file for this run alone; none if another run is still at work after ten seconds. A folder that is not there is
    /// made where its parent is.
    ///
    /// # Errors
    /// Its folder cannot be written.
    pub fn locked(path: &Path) -> Result<Option<StateFile>, Failure> {
        let folder = or_here(path.parent().unwrap_or(path));
        if !folder.exists() {
            fs::create_dir(folder).map_err(|error| cannot(folder, &error))?;
        }
        let mut name = path.as_os_str().to_owned();
        name.push(".lock");
        let name = PathBuf::from(name);
        // A pipe of that name must not hang, nor a link lead elsewhere.
        let flags = libc::O_NOFOLLOW | libc::O_NONBLOCK;
        let opened = OpenOptions::new().create(true).truncate(false).write(true).custom_flags(flags).open(&name);
        let lock = opened.map_err(|error| cannot(&name, &error))?;
        if !lock.metadata().is_ok_and(|about| about.is_file()) {
            return Err(Failure::new(format!("{} is no regular file; remove it", text::path(&name))));
        }
        for _ in 0..TRIES {
            match lock.try_lock() {
                Err(TryLockError::WouldBlock) => sleep(PAUSE),
                // A network folder may lock nothing: told twice is better than not told.
                Ok(()) | Err(TryLockError::Error(_)) => {
                    return Ok(Some(StateFile { path: path.to_owned(), _lock: Some(lock) }));
                }
            }
        }
        Ok(None)
    }

    /// The text of the file; none where there is none yet.
    ///
    /// # Errors
    /// It is there and cannot be read.
    pub fn read(&self) -> Result<Option<String>, Failure> {
        if self.path.symlink_metadata().is_err_and(|error| error.kind() == ErrorKind::NotFound) {
            return Ok(None);
        }
        let bytes = read_outside(&self.path, LARGEST_STATE)?;
        let text = String::from_utf8(bytes);
        text.map(Some).map_err(|_| Failure::new(format!("{} is not text in UTF-8", text::path(&self.path))))
    }

    /// Keeps a file that cannot be used under another name, `NAME.unusable`, and gives that name.
    ///
    /// # Errors
    /// It cannot be renamed.
    pub fn set_aside(&self) -> Result<PathBuf, Failure> {
        for ending in (1..=MOST_ASIDE).map(|n| if n == 1 { ".unusable".to_owned() } else { format!(".unusable.{n}") }) {
            let mut name = self.path.as_os_str().to_owned();
            name.push(ending);
            let name = PathBuf::from(name);
            if name.symlink_metadata().is_err() {
                return fs::rename(&self.path, &name).map(|()| name.clone()).map_err(|error| cannot(&name, &error));
            }
        }
        Err(Failure::new(format!("too many {}.unusable are kept; remove them", text::path(&self.path))))
    }

    /// Writes the whole file anew and flushes it: after a crash it is what it was, or what it is.
    ///
    /// # Errors
    /// It cannot be written, and is what it was.
    pub fn save(&self, text: &str) -> Result<(), Failure> {
        let failed = |error: std::io::Error| cannot(&self.path, &error);
        let dir = or_here(self.path.parent().unwrap_or(&self.path));
        // It says of whom alerts were: its owner reads it, nobody else.
        let mut whole = tempfile::Builder::new()
            .prefix(".exitsite.")
            .suffix(".tmp")
            .permissions(Permissions::from_mode(0o600))
            .tempfile_in(dir)
            .map_err(failed)?;
        whole.write_all(text.as_bytes()).and_then(|()| whole.as_file().sync_all()).map_err(failed)?;
        whole.persist(&self.path).map_err(|error| failed(error.error))?;
        File::open(dir).and_then(|dir| dir.sync_all()).map_err(failed)
    }
}

/// A folder as it is named in a path: no name is the folder that the command was typed in.
fn or_here(folder: &Path) -> &Path {
    if folder.as_os_str().is_empty() { Path::new(".") } else { folder }
}
