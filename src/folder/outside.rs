//! A file that a command writes outside the records, such as a page to print. It replaces an earlier page, never any
//! other file.

use std::fs::{self, OpenOptions};
use std::io::Read;
use std::os::unix::fs::OpenOptionsExt;
use std::path::{Path, PathBuf};

use super::Folder;
use super::whole::{Access, parent, write};
use crate::problem::Failure;
use crate::text;

/// The number of bytes at the beginning of a file that contain the mark.
const BEGINNING: u64 = 1024;

/// Checks that a path is outside every records folder, `records` included: a file that is not a record would make a
/// patient unreadable there.
///
/// # Errors
/// It is inside one.
pub fn must_lie_outside(path: &Path, records: Option<&Path>) -> Result<(), Failure> {
    // The nearest existing folder: a missing one is created in it.
    let nearest = path.ancestors().find_map(|path| parent(path).canonicalize().ok());
    let records = records.and_then(|records| records.canonicalize().ok());
    let is_inside = |path: PathBuf| {
        let holds_records = |above: &Path| Some(above) == records.as_deref() || Folder::is_one(above);
        path.ancestors().any(holds_records)
    };
    // A link points elsewhere, so both locations are checked.
    if [nearest, path.canonicalize().ok()].into_iter().flatten().any(is_inside) {
        return Err(Failure::new(format!(
            "{} is inside the records folder, which holds only records; write it elsewhere",
            text::path(path)
        )));
    }
    Ok(())
}

/// Writes a file. Replaces an earlier file only if it begins with `mark`, as all such files do.
///
/// # Errors
/// Another file has the name, or the file cannot be written; an earlier file is unchanged.
pub fn write_outside(path: &Path, text: &str, mark: Option<&str>) -> Result<(), Failure> {
    write_for(Access::OfUser, path, text, mark)
}

/// Writes a file as [`write_outside`] does, readable by its owner only.
///
/// # Errors
/// As [`write_outside`].
pub(super) fn write_private(path: &Path, text: &str, mark: Option<&str>) -> Result<(), Failure> {
    write_for(Access::OwnerOnly, path, text, mark)
}

fn write_for(access: Access, path: &Path, text: &str, mark: Option<&str>) -> Result<(), Failure> {
    if path.parent().is_none() {
        return Err(Failure::new(format!("{} is a folder; name a file", text::path(path))));
    }
    must_have_folder(path)?;
    must_lie_outside(path, None)?;
    let is_there = path.symlink_metadata().is_ok();
    if is_there && !mark.is_some_and(|mark| begins_with(path, mark)) || !write(path, text, access, is_there)? {
        return Err(taken(path));
    }
    Ok(())
}

/// Checks that the folder of a new file exists.
///
/// # Errors
/// It does not exist.
pub(super) fn must_have_folder(path: &Path) -> Result<(), Failure> {
    let dir = parent(path);
    if dir.is_dir() {
        return Ok(());
    }
    Err(Failure::new(format!("there is no folder {}; create it first, or name another", text::path(dir))))
}

/// Returns true for a regular file that begins with the mark.
fn begins_with(path: &Path, mark: &str) -> bool {
    let flags = libc::O_NOFOLLOW | libc::O_NONBLOCK;
    let Ok(file) = OpenOptions::new().read(true).custom_flags(flags).open(path) else { return false };
    let mut bytes = Vec::new();
    let is_file = file.metadata().is_ok_and(|about| about.is_file());
    is_file && file.take(BEGINNING).read_to_end(&mut bytes).is_ok() && String::from_utf8_lossy(&bytes).contains(mark)
}

fn taken(path: &Path) -> Failure {
    let what = match fs::symlink_metadata(path) {
        Ok(about) if about.is_dir() => "is a folder",
        Ok(about) if !about.is_file() => "is not a regular file",
        _ => "already exists and was left unchanged",
    };
    Failure::new(format!("{} {what}; name another file", text::path(path)))
}
