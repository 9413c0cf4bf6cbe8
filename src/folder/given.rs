//! A file from outside the records, such as a log to import: a regular file of limited size, read once.

use std::fs::{File, OpenOptions};
use std::io::{ErrorKind, Read};
use std::os::unix::fs::{OpenOptionsExt, PermissionsExt};
use std::path::Path;

use crate::problem::Failure;
use crate::text;

/// Reads a file named on the command line, at most `most` bytes.
///
/// # Errors
/// It does not exist, is not a regular file, is too large, or cannot be read; the message says what to do.
pub fn read_outside(path: &Path, most: u64) -> Result<Vec<u8>, Failure> {
    read(path, most, false)
}

/// Reads a file that only its owner can read, such as one with a password.
///
/// # Errors
/// Other users can read it, or it cannot be read.
pub fn read_private(path: &Path, most: u64) -> Result<Vec<u8>, Failure> {
    read(path, most, true)
}

/// Opens a regular file without blocking.
pub(super) fn open(path: &Path, is_private: bool) -> Result<File, Failure> {
    let shown = text::path(path);
    let failure = |what: &str| Failure::new(format!("{shown} {what}"));
    // A pipe must not block, so the type is taken from the opened file.
    let opened = OpenOptions::new().read(true).custom_flags(libc::O_NONBLOCK).open(path);
    let file = opened.map_err(|error| match error.kind() {
        ErrorKind::NotFound => failure("does not exist; check the file name"),
        ErrorKind::PermissionDenied => failure("cannot be read: no permission; ask for permission to read it"),
        _ => failure(&format!("cannot be read: {error}")),
    })?;
    let about = file.metadata().map_err(|error| failure(&format!("cannot be read: {error}")))?;
    if about.is_dir() {
        return Err(failure("is a folder; name the file in it"));
    }
    if !about.is_file() {
        return Err(failure("is not a regular file; save its content as a file first"));
    }
    let mode = about.permissions().mode() & 0o777;
    if is_private && mode & 0o077 != 0 {
        return Err(failure(&format!(
            "can be read or changed by other users (mode {mode:04o}); run `chmod 0600` on it"
        )));
    }
    Ok(file)
}

fn read(path: &Path, most: u64, is_private: bool) -> Result<Vec<u8>, Failure> {
    let mut file = open(path, is_private)?;
    let failure = |what: &str| Failure::new(format!("{} {what}", text::path(path)));
    let mut bytes = Vec::new();
    let read = (&mut file).take(most + 1).read_to_end(&mut bytes);
    read.map_err(|error| failure(&format!("cannot be read: {error}; check the disk or the network folder")))?;
    if bytes.len() as u64 > most {
        return Err(failure(&format!("has more than {} MB; save only the rows you need", most / 1_000_000)));
    }
    Ok(bytes)
}
