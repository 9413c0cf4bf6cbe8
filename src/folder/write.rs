//! Safe writing: a record appears whole under its final name, or not at all, and nothing that is there is lost.
//!
//! A complete file is written under a temporary name in the same folder (`.NAME.RANDOM.tmp`), with the folder's own
//! permissions, and flushed; then it is made visible under its final name only if that name is free; then the folder is
//! flushed. Many processes may do this at once without a lock. A file is replaced only by [`Folder::replace`], which
//! refuses when the file changed underneath, and keeps both versions then.

use std::collections::BTreeSet;
use std::fs::{self, File, Permissions};
use std::io::{self, ErrorKind, Write};
use std::os::unix::fs::{DirBuilderExt, PermissionsExt};
use std::path::Path;
use std::time::Duration;

use rayon::prelude::*;
use tempfile::TempPath;

use super::Folder;
use crate::event::EventName;
use crate::problem::Failure;
use crate::record;

/// The largest number at the end of a name.
const LARGEST_NUMBER: u16 = 999;

/// A leftover of an interrupted write is removed when it is older than this; a younger one may still be written.
const LEFTOVER_AGE: Duration = Duration::from_secs(60 * 60);

/// So many records are prepared before they are made visible together.
const AT_ONCE: usize = 500;

/// A new record of a patient or of staff.
#[derive(Debug, Clone, PartialEq)]
pub struct NewRecord {
    /// The folder that it belongs to, such as `patients/P-014`.
    pub owner: String,
    /// Its name; where it is taken, the next number is used.
    pub name: EventName,
    /// The whole file.
    pub text: String,
}

/// What became of a new record.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Written {
    /// It is on file under this path.
    New(String),
    /// The same was on file already under this path.
    AlreadyThere(String),
}

impl Folder {
    /// Writes new records, in their order, and says of each where it is. `progress` is told how many are done.
    ///
    /// # Errors
    /// One cannot be written: those of this run that were visible already are taken back, or named if they cannot be.
    pub fn write_new(&self, records: &[NewRecord], progress: impl Fn(usize)) -> Result<Vec<Written>, Failure> {
        let mut written = Vec::new();
        for some in records.chunks(AT_ONCE) {
            if let Err(Failure(reason)) = self.write_some(some, &mut written) {
                return Err(self.take_all_back(&written, &reason));
            }
            progress(written.len());
        }
        Ok(written)
    }

    fn write_some(&self, records: &[NewRecord], written: &mut Vec<Written>) -> Result<(), Failure> {
        let year = |record: &NewRecord| format!("{}/{}", record.owner, record.name.year());
        let years: BTreeSet<String> = records.iter().map(year).collect();
        years.iter().try_for_each(|year| self.make_folder(year))?;
        let prepared = |record| {
            let path = self.root().join(year(record)).join(record.name.to_string());
            prepare(&path, &record.text).map_err(|error| cannot(&path, &error))
        };
        let prepared: Vec<TempPath> = records.par_iter().map(prepared).collect::<Result<_, _>>()?;
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

    /// Makes a complete file visible under its name, or under the next number that is free.
    fn show(&self, record: &NewRecord, year: &str, mut whole: TempPath) -> Result<Written, Failure> {
        for n in record.name.n..=LARGEST_NUMBER {
            let file = format!("{year}/{}", EventName { n, ..record.name });
            let path = self.root().join(&file);
            match whole.persist_noclobber(&path) {
                Ok(()) => return Ok(Written::New(file)),
                Err(error) if error.error.kind() == ErrorKind::AlreadyExists => whole = error.path,
                Err(error) => return Err(cannot(&path, &error.error)),
            }
            // What is there cannot be read: it is somebody else's, and is left alone.
            if self.read_text(&file).is_ok_and(|there| record::says_the_same(&there, &record.text)) {
                return Ok(Written::AlreadyThere(file));
            }
        }
        Err(Failure::new(format!("{year} holds {LARGEST_NUMBER} records of that kind and minute; look at them")))
    }

    fn take_all_back(&self, written: &[Written], reason: &str) -> Failure {
        let new = |written: &Written| match written {
            Written::New(file) => Some(file.clone()),
            Written::AlreadyThere(_) => None,
        };
        let remaining: Vec<String> =
            written.iter().filter_map(new).filter(|file| fs::remove_file(self.root().join(file)).is_err()).collect();
        match remaining.as_slice() {
            [] => Failure::new(format!("{reason}; nothing was written")),
            [first, ..] => Failure::new(format!(
                "{reason}; {} could not be taken back, the first {first}; running it again completes the work",
                crate::text::count(remaining.len() as i64, "record")
            )),
        }
    }

    /// Writes a new file that is no record, such as a new patient's patient.toml.
    ///
    /// # Errors
    /// The name is taken, or the file cannot be written.
    pub fn write_file(&self, folder: &str, name: &str, text: &str) -> Result<(), Failure> {
        self.make_folder(folder)?;
        let dir = self.root().join(folder);
        let path = dir.join(name);
        let whole = prepare(&path, text).map_err(|error| cannot(&path, &error))?;
        match whole.persist_noclobber(&path) {
            Ok(()) => flush_folder(&dir).map_err(|error| cannot(&dir, &error)),
            Err(error) if error.error.kind() == ErrorKind::AlreadyExists => {
                Err(Failure::new(format!("{folder}/{name} is there already; nothing was written")))
            }
            Err(error) => Err(cannot(&path, &error.error)),
        }
    }

    /// Replaces the text of a file that held `was`.
    ///
    /// # Errors
    /// The file changed since `was` was read: it stays as it is, and `text` is kept beside it as `NAME.rej`. Or the file
    /// cannot be written, and stays as it was.
    pub fn replace(&self, file: &str, was: &str, text: &str) -> Result<(), Failure> {
        let path = self.root().join(file);
        let Some(dir) = path.parent() else { return Err(Failure::new(format!("{file} is no file of the records"))) };
        let failed = |error: io::Error| cannot(&path, &error);
        // Of two commands at once the second finds what the first has written.
        let folder = File::open(dir).map_err(failed)?;
        folder.lock().map_err(failed)?;
        let whole = prepare(&path, text).map_err(failed)?;
        fs::set_permissions(&whole, permissions_of(&path).map_err(failed)?).map_err(failed)?;
        if self.text_there(file)?.as_deref() != Some(was) {
            let refused = dir.join(format!("{}.rej", path.file_name().unwrap_or_default().to_string_lossy()));
            whole.persist(&refused).map_err(|error| cannot(&refused, &error.error))?;
            flush_folder(dir).map_err(failed)?;
            return Err(Failure::new(format!(
                "{file} was changed by somebody else meanwhile; it stays as it is, and what was refused is kept in {file}.rej: look at both, then correct it again"
            )));
        }
        whole.persist(&path).map_err(|error| failed(error.error))?;
        flush_folder(dir).map_err(failed)?;
        sweep(dir);
        Ok(())
    }

    /// The text of a file; none where there is no file of that name.
    fn text_there(&self, file: &str) -> Result<Option<String>, Failure> {
        match self.root().join(file).symlink_metadata() {
            Err(error) if error.kind() == ErrorKind::NotFound => Ok(None),
            Err(error) => Err(cannot(&self.root().join(file), &error)),
            // What cannot be read is somebody else's, and is left alone.
            Ok(_) => Ok(Some(self.read_text(file).unwrap_or_default())),
        }
    }

    /// Makes a folder of the records and those above it, with the permissions of the one that is there.
    fn make_folder(&self, folder: &str) -> Result<(), Failure> {
        let mut path = self.root().to_owned();
        for part in folder.split('/') {
            let above = path.clone();
            path.push(part);
            let made = permissions_of(&above).and_then(|permissions| {
                fs::DirBuilder::new().mode(permissions.mode()).create(&path)?;
                fs::set_permissions(&path, permissions)?;
                flush_folder(&above)
            });
            match made {
                Err(error) if error.kind() == ErrorKind::AlreadyExists => {}
                made => made.map_err(|error| cannot(&path, &error))?,
            }
        }
        Ok(())
    }
}

/// A complete file beside `path` under a temporary name, flushed.
fn prepare(path: &Path, text: &str) -> io::Result<TempPath> {
    let dir = path.parent().unwrap_or(path);
    let name = path.file_name().unwrap_or_default().to_string_lossy();
    let mut whole = tempfile::Builder::new().prefix(&format!(".{name}.")).suffix(".tmp").tempfile_in(dir)?;
    let mode = permissions_of(dir)?.mode() & 0o666;
    whole.as_file().set_permissions(Permissions::from_mode(mode))?;
    whole.write_all(text.as_bytes())?;
    whole.as_file().sync_all()?;
    Ok(whole.into_temp_path())
}

fn permissions_of(dir: &Path) -> io::Result<Permissions> {
    fs::metadata(dir).map(|about| about.permissions())
}

/// Makes the names in a folder last.
fn flush_folder(dir: &Path) -> io::Result<()> {
    File::open(dir)?.sync_all()
}

/// Removes what interrupted writes left behind an hour ago or more, by the clock of the disk. What cannot be removed
/// does no harm.
fn sweep(dir: &Path) {
    let Ok(now) = fs::metadata(dir).and_then(|about| about.modified()) else { return };
    for entry in fs::read_dir(dir).into_iter().flatten().flatten() {
        let name = entry.file_name();
        let name = name.to_string_lossy();
        let written = || entry.metadata().and_then(|about| about.modified());
        let is_old = || written().is_ok_and(|time| now.duration_since(time).is_ok_and(|age| age > LEFTOVER_AGE));
        if name.starts_with('.') && name.ends_with(".tmp") && is_old() {
            _ = fs::remove_file(entry.path());
        }
    }
}

/// Why a file could not be written, and what to do.
pub(super) fn cannot(path: &Path, error: &io::Error) -> Failure {
    let what_to_do = match error.kind() {
        ErrorKind::PermissionDenied => "ask for permission to write there",
        ErrorKind::StorageFull | ErrorKind::QuotaExceeded => "make room on the disk, then run it again",
        ErrorKind::ReadOnlyFilesystem => "the disk can only be read; look at how it is mounted",
        _ => "look at the disk or the network folder, then run it again",
    };
    Failure::new(format!("cannot write {}: {error}; {what_to_do}", path.display()))
}
