//! The disk: a records folder, its names as the index, its files without surprises.
//!
//! ```text
//! records/policy.toml
//! records/people.toml
//! records/staff/rn-07/2026/2026-01-12T1000-teaching.toml
//! records/patients/P-014/patient.toml
//! records/patients/P-014/2026/2026-11-23T1840-shower.toml
//! ```
//!
//! Only regular files are opened, without following links and without waiting, and at most 256 KiB of each is read.
//! Left out on purpose: a cache or an index file. The folder is all there is.

mod commit;
mod listing;
mod outside;
mod template;
mod write;

use std::ffi::OsString;
use std::fs::{self, File, OpenOptions};
use std::io::{ErrorKind, Read};
use std::os::unix::fs::OpenOptionsExt;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};

pub use listing::{CodeFolder, Listing, Patients};
pub use outside::read_outside;
pub use template::lay_out;
pub use write::{NewRecord, Written};

use crate::place::Source;
use crate::policy;
use crate::problem::{Failure, Problem, Rule};
use crate::text;

/// The largest file that is read, in bytes.
const LARGEST: u64 = 256 * 1024;

/// A records folder.
#[derive(Debug)]
pub struct Folder {
    root: PathBuf,
    listed: AtomicUsize,
    opened: AtomicUsize,
}

/// One name in a folder.
#[derive(Debug, Clone)]
pub(crate) struct Entry {
    /// The name.
    pub(crate) name: OsString,
    /// What it is.
    pub(crate) what: What,
}

/// What a name stands for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum What {
    /// A regular file.
    File,
    /// A folder.
    Folder,
    /// A link, a pipe, a device.
    Other,
}

impl Folder {
    /// The records folder: the one given, else the nearest upward from `here` that holds a policy.toml.
    ///
    /// # Errors
    /// There is none, with what to do.
    pub fn find(given: Option<&Path>, here: &Path) -> Result<Folder, Failure> {
        let marks = |root: &Path| root.join(policy::FILE).symlink_metadata().is_ok();
        let root = match given {
            Some(root) if marks(root) => root.to_owned(),
            Some(root) if !root.is_dir() => return Err(Failure::new(format!("there is no folder {}; look at --records or EXITSITE_RECORDS", root.display()))),
            Some(root) => return Err(Failure::new(format!("{} is no records folder: policy.toml is what marks one; lay one out with `exitsite init DIR`", root.display()))),
            None => here.ancestors().find(|root| marks(root)).map(Path::to_owned).ok_or_else(|| {
                Failure::new(format!("neither {} nor a folder above it holds records: policy.toml is what marks a records folder; name it with --records DIR, or lay one out with `exitsite init DIR`", here.display()))
            })?,
        };
        Ok(Folder { root, listed: AtomicUsize::new(0), opened: AtomicUsize::new(0) })
    }

    /// The folder itself.
    pub fn root(&self) -> &Path {
        &self.root
    }

    /// How many folders were listed and how many files opened so far.
    pub fn tally(&self) -> (usize, usize) {
        (self.listed.load(Ordering::Relaxed), self.opened.load(Ordering::Relaxed))
    }

    /// The text of a file; None if it cannot be used, and a problem says why.
    pub fn read(&self, file: &str, problems: &mut Vec<Problem>) -> Option<Arc<Source>> {
        match self.read_text(file) {
            Ok(text) => Some(Arc::new(Source { file: file.to_owned(), text })),
            Err(problem) => {
                problems.push(*problem);
                None
            }
        }
    }

    fn read_text(&self, file: &str) -> Result<String, Box<Problem>> {
        let problem = |rule, message: &str, help: &str| Box::new(Problem::of_file(rule, file, message, help));
        self.opened.fetch_add(1, Ordering::Relaxed);
        // A pipe must not hang, a link must not lead out of the records: what it is, is asked of the opened file.
        let flags = libc::O_NOFOLLOW | libc::O_NONBLOCK;
        let opened = OpenOptions::new().read(true).custom_flags(flags).open(self.root.join(file));
        let mut opened = opened.map_err(|error| match error.kind() {
            ErrorKind::NotFound => {
                problem(Rule::MissingFile, "the file is missing", "restore it from git, or write it anew")
            }
            ErrorKind::PermissionDenied => {
                problem(Rule::CannotBeRead, "the file cannot be read: no permission", "ask for permission to read it")
            }
            _ if error.raw_os_error() == Some(libc::ELOOP) => Box::new(not_a_regular_file(file, "a link")),
            _ if error.raw_os_error() == Some(libc::ENXIO) => Box::new(not_a_regular_file(file, "a socket or a pipe")),
            _ => problem(
                Rule::CannotBeRead,
                &format!("the file cannot be read: {error}"),
                "look at the disk or the network folder",
            ),
        })?;
        let bytes = read_at_most(&mut opened).map_err(|error| {
            problem(
                Rule::CannotBeRead,
                &format!("the file cannot be read: {error}"),
                "look at the disk or the network folder",
            )
        })?;
        match bytes {
            Bytes::NotAFile => Err(Box::new(not_a_regular_file(file, "a folder, a pipe or a device"))),
            Bytes::TooMany => Err(problem(
                Rule::TooLarge,
                "the file is larger than 256 KiB",
                "a record is a few lines; move this file out of the records",
            )),
            Bytes::All(bytes) => {
                let text = String::from_utf8(bytes).map_err(|error| {
                    let line =
                        error.as_bytes()[..error.utf8_error().valid_up_to()].iter().filter(|b| **b == b'\n').count()
                            + 1;
                    let mut found =
                        problem(Rule::NotUtf8, "the file is not text in UTF-8", "save it again as UTF-8 in an editor");
                    found.place.line = Some(line);
                    found
                })?;
                Ok(text.strip_prefix('\u{feff}').map(str::to_owned).unwrap_or(text))
            }
        }
    }

    /// The names in a folder that are looked at, in order; none where there is no such folder.
    fn entries(&self, folder: &str) -> Result<Vec<Entry>, Box<Problem>> {
        self.listed.fetch_add(1, Ordering::Relaxed);
        let cannot = |error: std::io::Error| {
            let help = "ask for permission to read it, or look at the disk or the network folder";
            Box::new(Problem::of_file(Rule::CannotBeRead, folder, format!("the folder cannot be read: {error}"), help))
        };
        let listing = match fs::read_dir(self.root.join(folder)) {
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
        entries.sort_by(|a, b| a.name.cmp(&b.name));
        Ok(entries)
    }
}

enum Bytes {
    All(Vec<u8>),
    TooMany,
    NotAFile,
}

fn read_at_most(file: &mut File) -> std::io::Result<Bytes> {
    let about = file.metadata()?;
    if !about.is_file() {
        return Ok(Bytes::NotAFile);
    }
    let mut bytes = Vec::with_capacity(about.len().min(LARGEST) as usize + 1);
    file.take(LARGEST + 1).read_to_end(&mut bytes)?;
    Ok(if bytes.len() as u64 > LARGEST { Bytes::TooMany } else { Bytes::All(bytes) })
}

fn not_a_regular_file(file: &str, what: &str) -> Problem {
    Problem::of_file(
        Rule::NotARegularFile,
        file,
        format!("this is {what}, not a file"),
        "put the file itself here; nothing in the records may point outside them",
    )
}

/// A folder's path with a name behind it.
fn inside(folder: &str, name: &OsString) -> String {
    let name = text::file_name(name);
    if folder.is_empty() { name } else { format!("{folder}/{name}") }
}
