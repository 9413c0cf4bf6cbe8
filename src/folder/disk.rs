//! The disk as the source of the records: regular files only, no link followed, no pipe waited for.

use std::fs::{self, File, OpenOptions};
use std::io::{self, ErrorKind, Read};
use std::os::unix::fs::OpenOptionsExt;
use std::path::Path;

use super::{Bytes, Entry, LARGEST, What, not_a_regular_file};
use crate::problem::{Problem, Rule};

/// The bytes of a file.
pub(super) fn read(root: &Path, file: &str) -> Result<Bytes, Box<Problem>> {
    let problem = |rule, message: &str, help: &str| Box::new(Problem::of_file(rule, file, message, help));
    let not_read = |error: io::Error| {
        let help = "look at the disk or the network folder";
        problem(Rule::CannotBeRead, &format!("the file cannot be read: {error}"), help)
    };
    // A pipe must not hang, a link must not lead out of the records: what it is, is asked of the opened file.
    let flags = libc::O_NOFOLLOW | libc::O_NONBLOCK;
    let opened = OpenOptions::new().read(true).custom_flags(flags).open(root.join(file));
    let mut opened = opened.map_err(|error| match error.kind() {
        ErrorKind::NotFound => super::missing(file),
        ErrorKind::PermissionDenied => {
            problem(Rule::CannotBeRead, "the file cannot be read: no permission", "ask for permission to read it")
        }
        _ if error.raw_os_error() == Some(libc::ELOOP) => Box::new(not_a_regular_file(file, "a link")),
        _ if error.raw_os_error() == Some(libc::ENXIO) => Box::new(not_a_regular_file(file, "a socket or a pipe")),
        _ => not_read(error),
    })?;
    read_at_most(&mut opened).map_err(not_read)
}

fn read_at_most(file: &mut File) -> io::Result<Bytes> {
    let about = file.metadata()?;
    if !about.is_file() {
        return Ok(Bytes::NotAFile("a folder, a pipe or a device"));
    }
    // The bytes that the file says it has are mostly all there are; on a network each further question takes time.
    let mut bytes = vec![0; about.len().min(LARGEST) as usize + 1];
    let read = file.read(&mut bytes)?;
    bytes.truncate(read);
    if read as u64 != about.len() {
        file.take(LARGEST + 1 - read as u64).read_to_end(&mut bytes)?;
    }
    Ok(if bytes.len() as u64 > LARGEST { Bytes::TooMany } else { Bytes::All(bytes) })
}

/// The names in a folder, in no order; none where there is no such folder.
pub(super) fn entries(root: &Path, folder: &str) -> Result<Vec<Entry>, Box<Problem>> {
    let cannot = |error: io::Error| {
        let help = "ask for permission to read it, or look at the disk or the network folder";
        Box::new(Problem::of_file(Rule::CannotBeRead, folder, format!("the folder cannot be read: {error}"), help))
    };
    let path = root.join(folder);
    // The records folder itself may be reached by a link; nothing in it may be one.
    if !folder.is_empty() && path.symlink_metadata().is_ok_and(|about| !about.is_dir()) {
        return Err(Box::new(super::not_a_folder(folder, "a link or a file")));
    }
    let listing = match fs::read_dir(path) {
        Ok(listing) => listing,
        Err(error) if error.kind() == ErrorKind::NotFound => return Ok(Vec::new()),
        Err(error) => return Err(cannot(error)),
    };
    let mut entries = Vec::new();
    for entry in listing {
        let entry = entry.map_err(cannot)?;
        let what = match entry.file_type().map_err(cannot)? {
            kind if kind.is_file() => What::File,
            kind if kind.is_dir() => What::Folder,
            _ => What::Other,
        };
        entries.push(Entry { name: entry.file_name(), what });
    }
    Ok(entries)
}

/// Returns true if there is a file or a folder at a path.
pub(super) fn holds(root: &Path, path: &str) -> bool {
    root.join(path).symlink_metadata().is_ok()
}
