//! A file that a command writes outside of the records, such as a page to print: whole under its name, or not at all, and
//! nothing that somebody else put there is lost.

use std::fs::{self, File, OpenOptions, Permissions};
use std::io::{ErrorKind, Read, Write};
use std::os::unix::fs::{OpenOptionsExt, PermissionsExt};
use std::path::{Path, PathBuf};

use super::Folder;
use super::write::cannot;
use crate::problem::Failure;
use crate::text;

/// So many bytes at the beginning of a file say if it is ours.
const BEGINNING: u64 = 1024;

/// That a path lies outside of every records folder, of `records` as well: what commands write there is no record, and
/// would make a patient unusable.
///
/// # Errors
/// It does not; nothing was touched.
pub fn must_lie_outside(path: &Path, records: Option<&Path>) -> Result<(), Failure> {
    // The nearest folder that is there: one that is not may be made in it.
    let or_here = |folder: &Path| if folder.as_os_str().is_empty() { PathBuf::from(".") } else { folder.to_owned() };
    let nearest = path.ancestors().skip(1).find_map(|folder| or_here(folder).canonicalize().ok());
    let records = records.and_then(|records| records.canonicalize().ok());
    let is_inside = |path: PathBuf| {
        let holds_records = |above: &Path| Some(above) == records.as_deref() || Folder::is_one(above);
        path.ancestors().any(holds_records)
    };
    // A link leads elsewhere, so both places count.
    if [nearest, path.canonicalize().ok()].into_iter().flatten().any(is_inside) {
        return Err(Failure::new(format!(
            "{} is inside the records folder, which holds nothing but the records; write it elsewhere",
            text::path(path)
        )));
    }
    Ok(())
}

/// Writes a file. One that is there is replaced only if its beginning holds `mark`, which such files of ours have.
///
/// # Errors
/// Something else has the name, or the file cannot be written; what was there is as it was.
pub fn write_outside(path: &Path, text: &str, mark: Option<&str>) -> Result<(), Failure> {
    let failed = |error: std::io::Error| cannot(path, &error);
    let dir = match path.parent() {
        Some(dir) if dir.as_os_str().is_empty() => Path::new("."),
        Some(dir) => dir,
        None => return Err(Failure::new(format!("{} is a folder; name a file", text::path(path)))),
    };
    if !dir.is_dir() {
        return Err(Failure::new(format!("there is no folder {}; make it first, or name another", text::path(dir))));
    }
    must_lie_outside(path, None)?;
    let is_there = path.symlink_metadata().is_ok();
    if is_there && !mark.is_some_and(|mark| begins_with(path, mark)) {
        return Err(taken(path));
    }
    // The permissions that any new file gets here: those of the user's mask.
    let permissions = Permissions::from_mode(0o666);
    let mut whole = tempfile::Builder::new()
        .prefix(".exitsite.")
        .suffix(".tmp")
        .permissions(permissions)
        .tempfile_in(dir)
        .map_err(failed)?;
    whole.write_all(text.as_bytes()).and_then(|()| whole.as_file().sync_all()).map_err(failed)?;
    if is_there {
        whole.persist(path).map_err(|error| failed(error.error))?;
    } else {
        whole.persist_noclobber(path).map_err(|error| match error.error.kind() {
            ErrorKind::AlreadyExists => taken(path),
            _ => failed(error.error),
        })?;
    }
    File::open(dir).and_then(|dir| dir.sync_all()).map_err(failed)
}

/// Whether a regular file begins with a mark of ours.
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
        Ok(about) if !about.is_file() => "is no regular file",
        _ => "is there already and may be somebody's work; it stays as it is",
    };
    Failure::new(format!("{} {what}; name another file", text::path(path)))
}
