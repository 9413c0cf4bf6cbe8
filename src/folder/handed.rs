//! A new folder of files for use outside the program, written completely or not at all; no existing file is replaced.
//!
//! The files are written to a temporary folder next to it (`.NAME.RANDOM.tmp`; inside it, if it exists and is empty) and
//! moved into place at the very end. An interrupted run leaves at most the temporary folder.

use std::collections::BTreeMap;
use std::fs::{self, File, OpenOptions, Permissions};
use std::io::{self, BufWriter, ErrorKind, Write};
use std::os::unix::fs::{OpenOptionsExt, PermissionsExt};
use std::path::{Path, PathBuf};

use tempfile::{TempDir, TempPath};

use super::Folder;
use super::outside::{must_have_folder, must_lie_outside};
use super::whole::{cannot, flush_folder, temporary};
use crate::problem::Failure;
use crate::text;

/// A folder that is being written.
#[derive(Debug)]
pub struct HandedOut {
    dir: PathBuf,
    is_there: bool,
    gathered: TempDir,
    /// The rows of each file so far; the header is known last.
    rows: BTreeMap<String, BufWriter<File>>,
}

impl HandedOut {
    /// Starts a folder that is new or empty, and outside the records.
    ///
    /// # Errors
    /// It is not empty, is in the records, or cannot be written; nothing was changed.
    pub fn begin(dir: &Path, records: &Folder) -> Result<HandedOut, Failure> {
        let failed = |error: io::Error| cannot(dir, &error);
        let is_there = dir.symlink_metadata().is_ok();
        let (parent, name) = match (dir.parent(), dir.file_name()) {
            (Some(parent), Some(name)) => (parent, name),
            _ if is_there => (dir, "".as_ref()),
            _ => return Err(Failure::new(format!("{} is not the name of a folder; name a new one", text::path(dir)))),
        };
        if is_there {
            must_be_empty(dir)?;
        } else {
            must_have_folder(dir)?;
        }
        let whole = if is_there { dir.canonicalize() } else { parent.canonicalize().map(|parent| parent.join(name)) };
        let whole = whole.map_err(failed)?;
        must_lie_outside(dir, Some(records.root()))?;
        let beside = if is_there { whole.as_path() } else { whole.parent().unwrap_or(&whole) };
        let gathered = tempfile::Builder::new()
            .prefix(&temporary(dir))
            .suffix(".tmp")
            .permissions(Permissions::from_mode(0o777))
            .tempdir_in(beside)
            .map_err(failed)?;
        Ok(HandedOut { dir: whole, is_there, gathered, rows: BTreeMap::new() })
    }

    /// The path of the temporary folder.
    pub(super) fn dir(&self) -> &Path {
        &self.dir
    }

    /// Appends rows to a file.
    ///
    /// # Errors
    /// They cannot be written.
    pub fn append(&mut self, file: &str, rows: &str) -> Result<(), Failure> {
        let path = self.dir.join(file);
        if !self.rows.contains_key(file) {
            let rows =
                new_file(&self.gathered.path().join(format!(".{file}.rows"))).map_err(|error| cannot(&path, &error))?;
            self.rows.insert(file.to_owned(), BufWriter::new(rows));
        }
        match self.rows.get_mut(file) {
            Some(writer) => writer.write_all(rows.as_bytes()).map_err(|error| cannot(&path, &error)),
            None => Ok(()),
        }
    }

    /// Starts a file that is written sequentially, without rows collected before.
    ///
    /// # Errors
    /// It cannot be written.
    pub(crate) fn begin_whole(&self, file: &str) -> Result<impl Write + Send + Sync + use<>, Failure> {
        let whole = new_file(&self.gathered.path().join(file)).map_err(|error| self.cannot(file, &error))?;
        Ok(BufWriter::new(whole))
    }

    /// Flushes such a file to the disk once it is complete.
    ///
    /// # Errors
    /// It cannot be written.
    pub(crate) fn finish_whole(&self, file: &str, mut whole: impl Write) -> Result<(), Failure> {
        let flushed = whole.flush().and_then(|()| File::open(self.gathered.path().join(file))?.sync_all());
        flushed.map_err(|error| self.cannot(file, &error))
    }

    /// Converts the error of a write.
    pub fn cannot(&self, file: &str, error: &io::Error) -> Failure {
        cannot(&self.dir.join(file), error)
    }

    /// Finishes a file: writes the header before its rows and the footer after them.
    ///
    /// # Errors
    /// It cannot be written.
    pub fn finish(&mut self, file: &str, before: &str, behind: &str) -> Result<(), Failure> {
        let failed = |error: io::Error| cannot(&self.dir.join(file), &error);
        let mut whole = new_file(&self.gathered.path().join(file)).map_err(failed)?;
        whole.write_all(before.as_bytes()).map_err(failed)?;
        if let Some(rows) = self.rows.remove(file) {
            drop(rows.into_inner().map_err(|error| failed(error.into_error()))?);
            let path = self.gathered.path().join(format!(".{file}.rows"));
            io::copy(&mut File::open(&path).map_err(failed)?, &mut whole).map_err(failed)?;
            fs::remove_file(&path).map_err(failed)?;
        }
        whole.write_all(behind.as_bytes()).and_then(|()| whole.sync_all()).map_err(failed)
    }

    /// Renames the temporary folder to its final name.
    ///
    /// # Errors
    /// The name was taken in the meantime, or it cannot be written; what was written is removed.
    pub fn show(self) -> Result<(), Failure> {
        let failed = |error: io::Error| match error.kind() {
            ErrorKind::AlreadyExists | ErrorKind::DirectoryNotEmpty | ErrorKind::NotADirectory => taken(&self.dir),
            _ => cannot(&self.dir, &error),
        };
        flush_folder(self.gathered.path()).map_err(failed)?;
        if self.is_there {
            return self.move_inside().map_err(failed);
        }
        // Replacing an empty folder loses nothing; anything else makes the rename fail.
        fs::rename(self.gathered.path(), &self.dir).map_err(failed)?;
        // The folder is complete; a failure to flush its name does not undo that.
        _ = self.dir.parent().map(flush_folder);
        Ok(())
    }

    /// Moves each file up into the existing folder; all of them or none.
    fn move_inside(&self) -> io::Result<()> {
        let mut moved = Vec::new();
        let names: io::Result<Vec<_>> =
            fs::read_dir(self.gathered.path())?.map(|entry| Ok(entry?.file_name())).collect();
        for name in names? {
            let to = self.dir.join(&name);
            let whole = TempPath::try_from_path(self.gathered.path().join(&name))?;
            if let Err(error) = whole.persist_noclobber(&to) {
                moved.iter().for_each(|path| _ = fs::remove_file(path));
                return Err(error.error);
            }
            moved.push(to);
        }
        Ok(())
    }
}

fn new_file(path: &Path) -> io::Result<File> {
    OpenOptions::new().write(true).create_new(true).mode(0o666).open(path)
}

fn must_be_empty(dir: &Path) -> Result<(), Failure> {
    if !dir.is_dir() {
        return Err(Failure::new(format!("{} exists and is not a folder; name a new one", text::path(dir))));
    }
    match fs::read_dir(dir).map_err(|error| cannot(dir, &error))?.next() {
        None => Ok(()),
        Some(_) => Err(taken(dir)),
    }
}

fn taken(dir: &Path) -> Failure {
    Failure::new(format!("{} is not empty; an export overwrites nothing, so name a new folder", text::path(dir)))
}
