//! The disk: a records folder, with file names as the index and only regular files read, now or at a commit.
//!
//! ```text
//! records/policy.toml
//! records/people.toml
//! records/staff/rn-07/2026/2026-01-12T1000-teaching.toml
//! records/patients/P-014/patient.toml
//! records/patients/P-014/2026/2026-11-23T1840-shower.toml
//! ```
//!
//! Only regular files are opened, without following links and without blocking, and at most 256 KiB of each is read. Left
//! out on purpose: a cache or an index file.

mod commit;
mod contacts;
mod differing;
mod disk;
mod kept;
mod given;
mod handed;
mod key;
mod listing;
mod lock;
mod log;
mod marker;
mod outside;
mod picture;
mod snapshot;
mod state;
mod steps;
mod template;
mod typed;
mod whole;
mod write;

use std::ffi::OsString;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Arc, OnceLock};

use rayon::prelude::*;
use rayon::{ThreadPool, ThreadPoolBuilder};

use disk::OpenFolder;

pub use contacts::{read_contacts, write_with_contacts};
pub use given::{read_outside, read_private};
pub use handed::HandedOut;
pub use key::{KeyFile, random_numbers};
pub use listing::{CodeFolder, Listing, Patients};
pub use log::LogFile;
pub use marker::Marker;
pub use outside::{must_lie_outside, write_outside};
pub use picture::{Embedded, KeptPicture, PictureFile, kept_pictures};
pub use snapshot::Snapshot;
pub use state::StateFile;
pub use template::{NewHistory, lay_out};
pub use write::{NewRecord, WriteOutcome};

use crate::git::{NoRepository, Repository, Revision};
use crate::place::RecordText;
use crate::policy;
use crate::problem::{Failure, Problem, Rule};
use crate::text;

/// The maximum size of a file that is read, in bytes.
const LARGEST: u64 = 256 * 1024;

/// A records folder.
#[derive(Debug)]
pub struct Folder {
    root: PathBuf,
    origin: Origin,
    listed: AtomicUsize,
    patients_read: AtomicUsize,
    opened: AtomicUsize,
}

/// The source of the records.
#[derive(Debug)]
enum Origin {
    Disk,
    Commit(Snapshot),
}

/// One entry of a folder.
#[derive(Debug, Clone)]
pub(crate) struct FolderEntry {
    /// The name.
    pub(crate) name: OsString,
    /// The type of the file.
    pub(crate) what: EntryType,
}

/// The type of a file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum EntryType {
    /// A regular file.
    File,
    /// A folder.
    Folder,
    /// A link, a pipe, a device.
    Other,
}

impl Folder {
    /// Finds the records folder: `given`, otherwise the nearest ancestor of `here` (or `here` itself) that contains a
    /// policy.toml.
    ///
    /// # Errors
    /// There is none; the message says what to do.
    pub fn find(given: Option<&Path>, here: &Path) -> Result<Folder, Failure> {
        let marks = Folder::is_one;
        let root = match given {
            Some(root) if marks(root) => root.to_owned(),
            Some(root) if !root.is_dir() => return Err(Failure::new(format!("there is no folder {}; check --records or EXITSITE_RECORDS", text::path(root)))),
            Some(root) => return Err(Failure::new(format!("{} is not a records folder: it has no policy.toml; create one with `exitsite init DIR`", text::path(root)))),
            None => here.ancestors().find(|root| marks(root)).map(Path::to_owned).ok_or_else(|| {
                Failure::new(format!("neither {} nor a folder above it is a records folder, which has a policy.toml; name one with --records DIR, or create one with `exitsite init DIR`", text::path(here)))
            })?,
        };
        Ok(Folder::from(root, Origin::Disk))
    }

    /// Returns true if a folder holds records: it contains a policy.toml.
    pub(crate) fn is_one(root: &Path) -> bool {
        root.join(policy::FILE).symlink_metadata().is_ok()
    }

    /// Finds the records folder as of `commit`: a commit, the id of a tree, or `REVISION:PATH`. The repository is that of
    /// `given`, which may be bare, otherwise of the nearest ancestor of `here` that contains a policy.toml now.
    ///
    /// # Errors
    /// There is no such folder, repository or commit, or it holds no records; the message says what to do.
    pub fn at_commit(given: Option<&Path>, here: &Path, commit: &str) -> Result<Folder, Failure> {
        Folder::at_revision("--at-commit", given, here, commit)
    }

    /// Finds the records folder at a commit that was given with `flag`, as [`Folder::at_commit`] does.
    ///
    /// # Errors
    /// There is no such folder, repository or commit, or it holds no records; the message says what to do.
    pub(crate) fn at_revision(flag: &str, given: Option<&Path>, here: &Path, commit: &str) -> Result<Folder, Failure> {
        let root = match given {
            Some(root) if root.is_dir() => root.to_owned(),
            _ => Folder::find(given, here)?.root,
        };
        let repository = Arc::new(Repository::of(&root)?);
        let revision = repository.revision(flag, commit)?;
        // A hook passes the id of a tree that is not committed yet; a bare repository holds the records in a tree, as in
        // `main:records`; any other text must name a commit.
        if revision.commit.is_none() && commit != revision.tree && !commit.contains(':') {
            let shown = text::visible(commit);
            return Err(Failure::new(format!(
                "{flag} {shown} is not a commit of this repository; `git log --oneline` lists them"
            )));
        }
        // The tree may be the records folder itself.
        let top = if revision.commit.is_none() { vec![repository.prefix(), ""] } else { vec![repository.prefix()] };
        for prefix in top {
            let snapshot = Snapshot::of(repository.clone(), &revision, prefix);
            let snapshot = snapshot.map_err(|error| repository.did_not_answer(error.to_string().as_bytes()))?;
            if let Some(snapshot) = snapshot.filter(|snapshot| snapshot.holds(policy::FILE)) {
                return Ok(Folder::from(root, Origin::Commit(snapshot)));
            }
        }
        Err(Failure::new(format!(
            "{} was not a records folder at {}: it had no policy.toml; name a later commit",
            text::path(&root),
            text::visible(commit)
        )))
    }

    fn from(root: PathBuf, origin: Origin) -> Folder {
        Folder {
            root,
            origin,
            listed: AtomicUsize::new(0),
            patients_read: AtomicUsize::new(0),
            opened: AtomicUsize::new(0),
        }
    }

    /// The commit or tree from which the records are read; `None` for the disk.
    pub fn revision(&self) -> Option<&Revision> {
        match &self.origin {
            Origin::Disk => None,
            Origin::Commit(snapshot) => Some(snapshot.revision()),
        }
    }

    /// The git repository around the folder.
    ///
    /// # Errors
    /// There is no repository, or git is not installed.
    pub fn repository(&self) -> Result<Arc<Repository>, Failure> {
        match &self.origin {
            Origin::Disk => Ok(Arc::new(Repository::of(&self.root)?)),
            Origin::Commit(snapshot) => Ok(snapshot.repository().clone()),
        }
    }

    /// The git repository around the folder; `None` outside a repository or without git.
    ///
    /// # Errors
    /// Git cannot read the repository: an answer without it would imply that nothing was edited or deleted.
    pub(crate) fn repository_if_kept(&self) -> Result<Option<Arc<Repository>>, Failure> {
        match &self.origin {
            Origin::Commit(snapshot) => Ok(Some(snapshot.repository().clone())),
            Origin::Disk => match Repository::of(&self.root) {
                Ok(repository) => Ok(Some(Arc::new(repository))),
                Err(NoRepository::None(_)) => Ok(None),
                Err(NoRepository::NotRead(failure)) => Err(failure),
            },
        }
    }

    /// Returns true if a path in the records exists.
    pub fn holds(&self, path: &str) -> bool {
        match &self.origin {
            Origin::Disk => disk::holds(&self.root, path),
            Origin::Commit(snapshot) => snapshot.holds(path),
        }
    }

    /// The path of the folder.
    pub fn root(&self) -> &Path {
        &self.root
    }

    /// The number of folders listed and files opened so far.
    pub fn tally(&self) -> (usize, usize) {
        (self.listed.load(Ordering::Relaxed), self.opened.load(Ordering::Relaxed))
    }

    /// The number of patients whose files a command for all patients has finished reading.
    pub(crate) fn patients_read(&self) -> usize {
        self.patients_read.load(Ordering::Relaxed)
    }

    /// Counts a patient as read.
    pub(crate) fn has_read_patient(&self) {
        self.patients_read.fetch_add(1, Ordering::Relaxed);
    }

    /// Returns the text of a file; `None`, with the problem, if it is unreadable.
    pub fn read(&self, file: &str, problems: &mut Vec<Problem>) -> Option<Arc<RecordText>> {
        match self.read_text(file) {
            Ok(text) => Some(Arc::new(RecordText { file: file.to_owned(), text })),
            Err(problem) => {
                problems.push(*problem);
                None
            }
        }
    }

    fn read_text(&self, file: &str) -> Result<String, Box<Problem>> {
        self.read_text_in(None, file)
    }

    fn read_text_in(&self, folder: Option<&OpenFolder>, file: &str) -> Result<String, Box<Problem>> {
        self.opened.fetch_add(1, Ordering::Relaxed);
        let bytes = match &self.origin {
            Origin::Disk => disk::read(&self.root, folder, file)?,
            Origin::Commit(snapshot) => snapshot.read(file)?,
        };
        match bytes {
            Bytes::NotAFile(what) => Err(Box::new(not_a_regular_file(file, what))),
            Bytes::TooMany => Err(Box::new(Problem::of_file(
                Rule::TooLarge,
                file,
                "the file is larger than 256 KiB",
                "a record is a few lines; move this file out of the records folder",
            ))),
            Bytes::All(bytes) => decoded(file, bytes),
        }
    }

    /// The entries of a folder, in order; empty if there is no such folder.
    fn entries(&self, folder: &str) -> Result<Vec<FolderEntry>, Box<Problem>> {
        Ok(self.entries_if_there(folder)?.unwrap_or_default())
    }

    /// The entries of a folder that must exist, since it was listed or a file in it was read.
    fn entries_of_known(&self, folder: &str) -> Result<Vec<FolderEntry>, Box<Problem>> {
        self.entries_if_there(folder)?.ok_or_else(|| {
            let message = "the folder disappeared during the run";
            Box::new(Problem::of_file(Rule::CannotBeRead, folder, message, "check the disk or the network folder"))
        })
    }

    fn entries_if_there(&self, folder: &str) -> Result<Option<Vec<FolderEntry>>, Box<Problem>> {
        self.listed.fetch_add(1, Ordering::Relaxed);
        let mut entries = match &self.origin {
            Origin::Disk => disk::entries(&self.root, folder)?,
            Origin::Commit(snapshot) => Some(snapshot.entries(folder)?),
        };
        entries.iter_mut().for_each(|entries| entries.sort_by(|a, b| a.name.cmp(&b.name)));
        Ok(entries)
    }

    /// Runs file-bound work on more threads than there are cores: on a network each file takes a thousand times as long
    /// as on a disk. A commit is read by one program, without that latency.
    pub(crate) fn waiting<R: Send>(&self, work: impl FnOnce() -> R + Send) -> R {
        match (&self.origin, waiters()) {
            (Origin::Disk, Some(threads)) => threads.install(work),
            _ => work(),
        }
    }

    /// Reads several files, in parallel inside [`Folder::waiting`]; fastest if they are in one folder.
    pub(crate) fn read_all(&self, files: Vec<String>) -> Vec<Result<Arc<RecordText>, Box<Problem>>> {
        let first = files.first().cloned().unwrap_or_default();
        let folder = match &self.origin {
            Origin::Disk if files.len() > 1 => OpenFolder::of(&self.root, &first),
            _ => None,
        };
        let read = |file: String| {
            let text = self.read_text_in(folder.as_ref(), &file)?;
            Ok(Arc::new(RecordText { file, text }))
        };
        files.into_par_iter().map(read).collect()
    }
}

/// The number of threads that wait for files: more gain nothing on a share that answers within a millisecond, and cost
/// memory.
const WAITERS: usize = 24;

/// The stack size of each: while a thread waits for one patient's files, it may start on another patient.
const STACK_BYTES: usize = 16 * 1024 * 1024;

fn waiters() -> Option<&'static ThreadPool> {
    static WAITING: OnceLock<Option<ThreadPool>> = OnceLock::new();
    let build = || ThreadPoolBuilder::new().num_threads(WAITERS).stack_size(STACK_BYTES).build().ok();
    WAITING.get_or_init(build).as_ref()
}

/// The content at a path.
enum Bytes {
    All(Vec<u8>),
    TooMany,
    NotAFile(&'static str),
}

/// Decodes the text of a file, without its byte order mark.
fn decoded(file: &str, bytes: Vec<u8>) -> Result<String, Box<Problem>> {
    let text = String::from_utf8(bytes).map_err(|error| {
        let valid = &error.as_bytes()[..error.utf8_error().valid_up_to()];
        let (message, help) = ("the file is not text in UTF-8", "save it as UTF-8 in an editor");
        let mut found = Problem::of_file(Rule::NotUtf8, file, message, help);
        found.place.line = Some(valid.iter().filter(|byte| **byte == b'\n').count() + 1);
        found
    })?;
    Ok(text.strip_prefix('\u{feff}').map(str::to_owned).unwrap_or(text))
}

fn missing(file: &str) -> Box<Problem> {
    let help = "restore it from git, or create a new one";
    Box::new(Problem::of_file(Rule::MissingFile, file, "the file is missing", help))
}

fn not_a_regular_file(file: &str, what: &str) -> Problem {
    Problem::of_file(
        Rule::NotARegularFile,
        file,
        format!("this is {what}, not a file"),
        "put the file itself here; links out of the records folder are not allowed",
    )
}

fn not_a_folder(folder: &str, what: &str) -> Problem {
    Problem::of_file(
        Rule::NotARegularFile,
        folder,
        format!("this is {what}, not a folder"),
        "put the folder itself here; links out of the records folder are not allowed",
    )
}

/// Joins a folder's path and a name.
fn inside(folder: &str, name: &OsString) -> String {
    let name = text::file_name(name);
    if folder.is_empty() { name } else { format!("{folder}/{name}") }
}
