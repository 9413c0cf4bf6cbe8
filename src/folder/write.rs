//! Safe writing: a record appears complete under its final name, or not at all, and no existing file is lost.
//!
//! A complete file is written under a temporary name in the same folder (`.NAME.RANDOM.tmp`), with the folder's
//! permissions, and flushed; then it is made visible under its final name only if that name is free; then the folder is
//! flushed. Any number of processes may do this at once without a lock. Only [`Folder::replace`] replaces a file; it
//! refuses if the file was changed in the meantime, and then keeps both versions.

use std::collections::BTreeSet;
use std::fs::{self, File, Metadata, OpenOptions};
use std::io::{self, ErrorKind};
use std::os::unix::fs::{MetadataExt, OpenOptionsExt, chown};
use std::path::{Path, PathBuf};
use std::time::Duration;

use rayon::prelude::*;
use rayon::{ThreadPool, ThreadPoolBuilder};
use tempfile::TempPath;

use super::Folder;
use super::lock::{Lock, lock};
use super::whole::{Access, cannot, flush_folder, give_group, prepare, temporary, write};
use crate::event::EventName;
use crate::git::run::LONGEST;
use crate::problem::Failure;
use crate::record;
use crate::text;

/// The largest number suffix of a name.
const LARGEST_NUMBER: u16 = 999;

/// The age at which a leftover of an interrupted write is removed; a younger one may still be in use.
const LEFTOVER_AGE: Duration = Duration::from_secs(60 * 60);

/// The number of records that are prepared before they are made visible together.
const AT_ONCE: usize = 500;

/// The number of records flushed in parallel: a disk flushes many in little more time than one.
const SIDE_BY_SIDE: usize = 16;

/// A new record of a patient or of staff.
#[derive(Debug, Clone, PartialEq)]
pub struct NewRecord {
    /// The folder that it belongs to, such as `patients/P-014`.
    pub owner: String,
    /// The name; if it is taken, the next number is used.
    pub name: EventName,
    /// The complete text.
    pub text: String,
}

/// The outcome of writing a record.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum WriteOutcome {
    /// Written at this path.
    New(String),
    /// An identical record was already on file at this path.
    AlreadyThere(String),
}

impl Folder {
    /// Writes new records in order and returns the path of each. Calls `progress` with the number done.
    ///
    /// # Errors
    /// One cannot be written: the records that were already visible are removed, or named if they cannot be.
    pub(crate) fn write_new(
        &self,
        records: &[NewRecord],
        progress: impl Fn(usize),
    ) -> Result<Vec<WriteOutcome>, Failure> {
        let mut written = Vec::new();
        let mut made = Vec::new();
        // If no thread pool can be created, the current threads do the work.
        let threads = (records.len() > 1).then(|| ThreadPoolBuilder::new().num_threads(SIDE_BY_SIDE).build().ok());
        let threads = threads.flatten();
        for some in records.chunks(AT_ONCE) {
            if let Err(Failure(reason)) = self.write_some(some, threads.as_ref(), &mut written, &mut made) {
                return Err(self.take_all_back(&written, &made, &reason));
            }
            progress(written.len());
        }
        Ok(written)
    }

    fn write_some(
        &self,
        records: &[NewRecord],
        threads: Option<&ThreadPool>,
        written: &mut Vec<WriteOutcome>,
        made: &mut Vec<PathBuf>,
    ) -> Result<(), Failure> {
        let year = |record: &NewRecord| format!("{}/{}", record.owner, record.name.year());
        let years: BTreeSet<String> = records.iter().map(year).collect();
        years.iter().try_for_each(|year| self.make_folder(year, made))?;
        let prepared = |record| {
            let path = self.root().join(year(record)).join(record.name.to_string());
            prepare(&path, &record.text, Access::OfFolder).map_err(|error| cannot(&path, &error))
        };
        let prepare_all = || records.par_iter().map(prepared).collect::<Result<Vec<TempPath>, Failure>>();
        let prepared = threads.map_or_else(prepare_all, |threads| threads.install(prepare_all))?;
        for (record, whole) in records.iter().zip(prepared) {
            written.push(self.show(record, &year(record), whole)?);
        }
        for year in years {
            let dir = self.root().join(year);
            flush_folder(&dir).map_err(|error| cannot(&dir, &error))?;
            sweep(&dir);
        }
        Ok(())
    }

    /// Makes a complete file visible under its name, or under the next free number.
    fn show(&self, record: &NewRecord, year: &str, mut whole: TempPath) -> Result<WriteOutcome, Failure> {
        for n in record.name.n..=LARGEST_NUMBER {
            let file = format!("{year}/{}", EventName { n, ..record.name });
            let path = self.root().join(&file);
            match whole.persist_noclobber(&path) {
                Ok(()) => return Ok(WriteOutcome::New(file)),
                Err(error) if error.error.kind() == ErrorKind::AlreadyExists => whole = error.path,
                Err(error) => return Err(cannot(&path, &error.error)),
            }
            // An unreadable existing file belongs to another user and is left alone.
            if self.read_text(&file).is_ok_and(|there| record::says_the_same(&there, &record.text)) {
                return Ok(WriteOutcome::AlreadyThere(file));
            }
        }
        Err(Failure::new(format!(
            "{year} already has {LARGEST_NUMBER} records of that kind in that minute; check them"
        )))
    }

    /// Removes records that this run has just written, if their text is unchanged.
    ///
    /// # Errors
    /// One was changed in the meantime or cannot be removed: it stays on file and is named.
    pub(crate) fn withdraw(&self, files: &[String], records: &[NewRecord]) -> Result<(), Failure> {
        let is_own =
            |file: &str| self.read_text(file).is_ok_and(|there| records.iter().any(|record| record.text == there));
        let is_gone = |file: &&String| is_own(file) && fs::remove_file(self.root().join(file)).is_ok();
        let remaining: Vec<&str> = files.iter().filter(|file| !is_gone(file)).map(String::as_str).collect();
        for folder in files.iter().filter_map(|file| file.rsplit_once('/')).map(|(folder, _)| folder) {
            let dir = self.root().join(folder);
            flush_folder(&dir).map_err(|error| cannot(&dir, &error))?;
        }
        match remaining.as_slice() {
            [] => Ok(()),
            files => Err(Failure::new(format!(
                "{} could not be removed and stays on file; another record was written at the same time: compare them, and void the wrong one",
                files.join(", ")
            ))),
        }
    }

    fn take_all_back(&self, written: &[WriteOutcome], made: &[PathBuf], reason: &str) -> Failure {
        let new = |written: &WriteOutcome| match written {
            WriteOutcome::New(file) => Some(file.clone()),
            WriteOutcome::AlreadyThere(_) => None,
        };
        let remaining: Vec<String> =
            written.iter().filter_map(new).filter(|file| fs::remove_file(self.root().join(file)).is_err()).collect();
        take_folders_back(made);
        match remaining.as_slice() {
            [] => Failure::unwritten(reason),
            [first, ..] => Failure::new(format!(
                "{reason}; {} already written could not be removed (first: {first}); running the command again will finish the job",
                crate::text::count(remaining.len() as i64, "record")
            )),
        }
    }

    /// Writes a new file that is not a record, such as a new patient's patient.toml.
    ///
    /// # Errors
    /// The name is taken, or the file cannot be written.
    pub fn write_file(&self, folder: &str, name: &str, text: &str) -> Result<(), Failure> {
        let mut made = Vec::new();
        let written = self.make_folder(folder, &mut made).and_then(|()| self.write_file_into(folder, name, text));
        if written.is_err() {
            take_folders_back(&made);
        }
        written
    }

    fn write_file_into(&self, folder: &str, name: &str, text: &str) -> Result<(), Failure> {
        match write(&self.root().join(folder).join(name), text, Access::OfFolder, false)? {
            true => Ok(()),
            false => Err(Failure::unwritten(format!("{folder}/{name} already exists"))),
        }
    }

    /// Replaces the text of a file; `was` is the text it must have.
    ///
    /// # Errors
    /// The file changed since `was` was read: it stays unchanged, and `text` is saved next to it as `NAME.rej`. Or the
    /// file cannot be written, and is unchanged.
    pub fn replace(&self, file: &str, was: &str, text: &str) -> Result<(), Failure> {
        let path = self.root().join(file);
        // people.toml has no folder above it other than the records folder.
        let folder = file.rsplit_once('/').map_or("", |(folder, _)| folder);
        self.has_no_links(folder)?;
        let dir = self.root().join(folder);
        let failed = |error: io::Error| cannot(&path, &error);
        // Of two concurrent commands, the second one sees the text of the first.
        let _lock = locked(&dir, &path).map_err(failed)?;
        let whole = prepare(&path, text, Access::OfFolder).map_err(failed)?;
        if self.text_there(file)?.as_deref() != Some(was) {
            let refused = refuse(whole, file, &path)?;
            flush_folder(&dir).map_err(failed)?;
            return Err(Failure::new(format!(
                "Another user changed {file} in the meantime, so this change was not made. It was saved as {refused}: compare the two, then correct the record again."
            )));
        }
        let about = fs::metadata(&path).map_err(failed)?;
        put(whole, &path, &about).map_err(failed)?;
        if let Err(error) = flush_folder(&dir) {
            let Failure(reason) = failed(error);
            return Err(match prepare(&path, was, Access::OfFolder).and_then(|whole| put(whole, &path, &about)) {
                Ok(()) => Failure::new(format!("{reason}; it is unchanged")),
                Err(_) => Failure::new(format!("{reason}; it could not be restored, so check its content")),
            });
        }
        sweep(&dir);
        Ok(())
    }

    /// The text of a file; `None` if there is no such file or it cannot be read.
    fn text_there(&self, file: &str) -> Result<Option<String>, Failure> {
        match self.root().join(file).symlink_metadata() {
            Err(error) if error.kind() == ErrorKind::NotFound => Ok(None),
            Err(error) => Err(cannot(&self.root().join(file), &error)),
            Ok(_) => Ok(self.read_text(file).ok()),
        }
    }

    /// Creates a folder of the records and its missing ancestors, with the permissions of the existing one, and adds them
    /// to `made`. Does not follow links.
    fn make_folder(&self, folder: &str, made: &mut Vec<PathBuf>) -> Result<(), Failure> {
        for path in folder_and_those_above(folder) {
            if !self.is_folder(path)? {
                let path = self.root().join(path);
                made.push(path.clone());
                make_folder(&path).map_err(|error| cannot(&path, &error))?;
            }
        }
        Ok(())
    }

    /// # Errors
    /// The folder, or one above it, is a link or a file.
    fn has_no_links(&self, folder: &str) -> Result<(), Failure> {
        folder_and_those_above(folder).try_for_each(|path| self.is_folder(path).map(|_| ()))
    }

    /// Returns true if the folder exists.
    ///
    /// # Errors
    /// The name belongs to a link or a file; what is written there would be invisible to the readers, or outside the
    /// records.
    fn is_folder(&self, folder: &str) -> Result<bool, Failure> {
        let path = self.root().join(folder);
        let what = match path.symlink_metadata() {
            Ok(about) if about.is_dir() => return Ok(true),
            Ok(about) if about.is_symlink() => "a link",
            Ok(_) => "a file",
            Err(error) if error.kind() == ErrorKind::NotFound => return Ok(false),
            Err(error) => return Err(cannot(&path, &error)),
        };
        Err(Failure::new(format!(
            "{} is {what}, not a folder: put the folder itself there; links out of the records folder are not allowed",
            text::path(&path)
        )))
    }
}

/// `patients`, `patients/P-014`, `patients/P-014/2026`: the folder and its ancestors, outermost first.
fn folder_and_those_above(folder: &str) -> impl Iterator<Item = &str> {
    folder.match_indices('/').map(|(at, _)| &folder[..at]).chain([folder])
}

/// Creates one folder. It becomes visible only after it has the permissions of its parent.
fn make_folder(path: &Path) -> io::Result<()> {
    let above = path.parent().unwrap_or(path);
    let about = fs::metadata(above)?;
    let new = tempfile::Builder::new().prefix(&temporary(path)).suffix(".tmp").tempdir_in(above)?;
    give_group(new.path(), about.gid());
    fs::set_permissions(new.path(), about.permissions())?;
    match fs::rename(new.path(), path) {
        // The name belongs to another folder now, which must not be removed with this one.
        Ok(()) => _ = new.keep(),
        // Another process created it and has written to it.
        Err(_) if path.symlink_metadata().is_ok_and(|about| about.is_dir()) => {}
        Err(error) => return Err(error),
    }
    flush_folder(above)?;
    sweep(above);
    Ok(())
}

/// Waits until no other process is replacing a file in `dir`. A network folder may lock only files, and only those open
/// for writing: then `path` is locked, and a process that waited for it reads the replacement afterwards.
fn locked(dir: &Path, path: &Path) -> io::Result<File> {
    let folder = File::open(dir)?;
    if is_locked(&folder)? {
        return Ok(folder);
    }
    let flags = libc::O_NOFOLLOW | libc::O_NONBLOCK;
    match OpenOptions::new().write(true).custom_flags(flags).open(path) {
        Ok(file) if is_locked(&file)? => Ok(file),
        Ok(_) => Err(ErrorKind::Unsupported.into()),
        // A file that was removed cannot be replaced, so there is nothing to wait for.
        Err(error) if error.kind() == ErrorKind::NotFound => Ok(folder),
        Err(error) => Err(error),
    }
}

/// Waits until a file is locked for this run; returns false if the file system does not lock files of its type.
fn is_locked(file: &File) -> io::Result<bool> {
    match lock(file, LONGEST) {
        Lock::Held => Ok(true),
        Lock::Unsupported => Ok(false),
        Lock::Busy => Err(io::Error::new(ErrorKind::TimedOut, "another program holds the lock")),
    }
}

/// Removes created folders that are still empty, innermost first.
fn take_folders_back(made: &[PathBuf]) {
    made.iter().rev().for_each(|path| _ = fs::remove_dir(path));
}

/// Saves the refused version under the first free name next to `path`, and returns that name.
fn refuse(mut whole: TempPath, file: &str, path: &Path) -> Result<String, Failure> {
    for ending in (1..=LARGEST_NUMBER).map(|n| if n == 1 { ".rej".to_owned() } else { format!(".{n}.rej") }) {
        let mut refused = path.as_os_str().to_owned();
        refused.push(&ending);
        match whole.persist_noclobber(&refused) {
            Ok(()) => return Ok(format!("{file}{ending}")),
            Err(error) if error.error.kind() == ErrorKind::AlreadyExists => whole = error.path,
            Err(error) => return Err(cannot(path, &error.error)),
        }
    }
    Err(Failure::new(format!(
        "Another user changed {file} in the meantime, and there are already too many refused versions. Remove its .rej files."
    )))
}

/// Replaces a file with a complete one that has the same owner, group and permissions.
fn put(whole: TempPath, path: &Path, about: &Metadata) -> io::Result<()> {
    give_group(&whole, about.gid());
    // Only root can change the owner, so it stays the same.
    _ = chown(&whole, Some(about.uid()), None);
    fs::set_permissions(&whole, about.permissions())?;
    whole.persist(path).map_err(|error| error.error)
}

/// Removes leftovers of interrupted writes that are at least an hour old by the clock of the file system. A leftover that
/// cannot be removed does no harm.
fn sweep(dir: &Path) {
    let Ok(now) = fs::metadata(dir).and_then(|about| about.modified()) else { return };
    for entry in fs::read_dir(dir).into_iter().flatten().flatten() {
        let name = entry.file_name();
        let name = name.to_string_lossy();
        let written = || entry.metadata().and_then(|about| about.modified());
        let is_old = || written().is_ok_and(|time| now.duration_since(time).is_ok_and(|age| age > LEFTOVER_AGE));
        if name.starts_with('.') && name.ends_with(".tmp") && is_old() {
            _ = fs::remove_file(entry.path()).or_else(|_| fs::remove_dir(entry.path()));
        }
    }
}
