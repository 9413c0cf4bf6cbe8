//! The disk as the source of the records: regular files only, no links followed, no blocking on pipes.

use std::cell::RefCell;
use std::ffi::OsStr;
use std::fs::{File, OpenOptions};
use std::io::{self, ErrorKind};
use std::os::fd::OwnedFd;
use std::os::unix::ffi::OsStrExt;
use std::os::unix::fs::{FileExt, MetadataExt, OpenOptionsExt};
use std::path::Path;

use rustix::fs::{Dir, FileType, Mode, OFlags};
use rustix::io::Errno;

use super::{Bytes, EntryType, FolderEntry, LARGEST, not_a_regular_file};
use crate::problem::{Problem, Rule};

/// The minimum size at which a read can be truncated.
const BLOCK: usize = 512;

/// A folder of which several files are read: the names above it are looked up once.
pub(super) struct OpenFolder<'a> {
    path: &'a str,
    opened: OwnedFd,
}

impl<'a> OpenFolder<'a> {
    /// Opens the folder of `file`; `None` if it cannot be opened, which reading the file will explain.
    pub(super) fn of(root: &Path, file: &'a str) -> Option<OpenFolder<'a>> {
        let (path, _) = file.rsplit_once('/')?;
        let flags = OFlags::RDONLY | OFlags::DIRECTORY | OFlags::CLOEXEC;
        let opened = rustix::fs::open(root.join(path), flags, Mode::empty()).ok()?;
        Some(OpenFolder { path, opened })
    }

    /// Opens a file, if it is in this folder.
    fn open(&self, file: &str) -> Option<io::Result<File>> {
        let name = file.strip_prefix(self.path)?.strip_prefix('/').filter(|name| !name.contains('/'))?;
        let flags = OFlags::RDONLY | OFlags::NOFOLLOW | OFlags::NONBLOCK | OFlags::CLOEXEC;
        let open = || rustix::fs::openat(&self.opened, name, flags, Mode::empty());
        Some(rustix::io::retry_on_intr(open).map(File::from).map_err(io::Error::from))
    }
}

/// The bytes of a file, which may be in an open folder.
pub(super) fn read(root: &Path, folder: Option<&OpenFolder>, file: &str) -> Result<Bytes, Box<Problem>> {
    let problem = |rule, message: &str, help: &str| Box::new(Problem::of_file(rule, file, message, help));
    let not_read = |error: io::Error| {
        let help = "check the disk or the network folder";
        problem(Rule::CannotBeRead, &format!("the file cannot be read: {error}"), help)
    };
    // A pipe must not block and a link must not lead out of the records, so the type is taken from the opened file.
    let flags = libc::O_NOFOLLOW | libc::O_NONBLOCK;
    let by_path = || OpenOptions::new().read(true).custom_flags(flags).open(root.join(file));
    let opened = folder.and_then(|folder| folder.open(file)).unwrap_or_else(by_path);
    let opened = opened.map_err(|error| match error.kind() {
        ErrorKind::NotFound => super::missing(file),
        ErrorKind::PermissionDenied => {
            problem(Rule::CannotBeRead, "the file cannot be read: no permission", "ask for permission to read it")
        }
        _ if error.raw_os_error() == Some(libc::ELOOP) => Box::new(not_a_regular_file(file, "a link")),
        _ if error.raw_os_error() == Some(libc::ENXIO) => Box::new(not_a_regular_file(file, "a socket or a pipe")),
        _ => not_read(error),
    })?;
    read_at_most(&opened).map_err(not_read)
}

thread_local! {
    /// A buffer per thread, so that none is allocated per file.
    static BUFFER: RefCell<Vec<u8>> = RefCell::new(vec![0; LARGEST as usize + 1]);
}

/// A file costs one open, one read and one close: on a network each further call takes time.
///
/// A positioned read fails for a pipe or a folder. A truncated read, such as when a share disappears, ends at a block
/// boundary: only then, or if nothing was read, the rest is requested.
fn read_at_most(file: &File) -> io::Result<Bytes> {
    BUFFER.with_borrow_mut(|buffer| {
        let mut read = 0;
        while read < buffer.len() {
            let more = match file.read_at(&mut buffer[read..], read as u64) {
                Err(error) if error.kind() == ErrorKind::Interrupted => continue,
                Err(error) if is_no_file(&error) => return Ok(Bytes::NotAFile("a folder, a pipe or a device")),
                read => read?,
            };
            read += more;
            if more == 0 || !read.is_multiple_of(BLOCK) {
                break;
            }
        }
        Ok(if read as u64 > LARGEST { Bytes::TooMany } else { Bytes::All(buffer[..read].to_vec()) })
    })
}

fn is_no_file(error: &io::Error) -> bool {
    [libc::ESPIPE, libc::EISDIR, libc::ENXIO].map(Some).contains(&error.raw_os_error())
}

/// The entries of a folder, unordered; `None` if there is no such folder.
pub(super) fn entries(root: &Path, folder: &str) -> Result<Option<Vec<FolderEntry>>, Box<Problem>> {
    let cannot = |error: io::Error| {
        let help = "ask for permission to read it, or check the disk or the network folder";
        Box::new(Problem::of_file(Rule::CannotBeRead, folder, format!("the folder cannot be read: {error}"), help))
    };
    // The records folder itself may be a link; nothing inside it may be.
    let no_link = if folder.is_empty() { OFlags::empty() } else { OFlags::NOFOLLOW };
    let flags = OFlags::RDONLY | OFlags::DIRECTORY | OFlags::CLOEXEC | no_link;
    let path = root.join(folder);
    let opened = match rustix::fs::open(&path, flags, Mode::empty()) {
        Ok(opened) => opened,
        Err(Errno::NOENT) => return Ok(None),
        Err(Errno::NOTDIR | Errno::LOOP) if path.symlink_metadata().is_ok_and(|about| !about.is_dir()) => {
            return Err(Box::new(super::not_a_folder(folder, "a link or a file")));
        }
        Err(error) => return Err(cannot(error.into())),
    };
    let mut entries = Vec::new();
    for entry in Dir::new(opened).map_err(|error| cannot(error.into()))? {
        let entry = entry.map_err(|error| cannot(error.into()))?;
        let name = OsStr::from_bytes(entry.file_name().to_bytes()).to_owned();
        if name == "." || name == ".." {
            continue;
        }
        let kind = match entry.file_type() {
            // Some network file systems do not return the type with the name.
            FileType::Unknown => match path.join(&name).symlink_metadata() {
                Ok(about) => FileType::from_raw_mode(about.mode()),
                Err(error) => return Err(cannot(error)),
            },
            kind => kind,
        };
        let what = match kind {
            FileType::RegularFile => EntryType::File,
            FileType::Directory => EntryType::Folder,
            _ => EntryType::Other,
        };
        entries.push(FolderEntry { name, what });
    }
    Ok(Some(entries))
}

/// Returns true if a path exists.
pub(super) fn holds(root: &Path, path: &str) -> bool {
    root.join(path).symlink_metadata().is_ok()
}
