//! What differs between a commit and the disk.
//!
//! Git's own comparison (`status`, `diff-index`, `ls-files`) reads the index and runs what the folder's settings and
//! attributes name: `core.fsmonitor`, `filter.*.clean`, `filter.*.process`. Here a commit's names and ids are read
//! (`ls-tree`), the files on the disk are opened as all records are, and their ids are worked out as git does without any
//! filter. The index is asked for one thing, without a look at the disk: which files a sparse checkout leaves out. So no
//! flag in it hides an edit.

use std::collections::{BTreeMap, BTreeSet};

use rayon::prelude::*;
use ring::digest::{Algorithm, Context, SHA1_FOR_LEGACY_USE_ONLY, SHA256};

use super::changes::{Change, Version};
use super::git::Repository;
use super::{Bytes, Folder, What, disk};
use crate::patient;
use crate::people;
use crate::policy;
use crate::problem::{Failure, Problem};
use crate::text;

/// A file as a commit has it.
#[derive(Debug, Clone, PartialEq, Eq)]
struct Leaf {
    /// A file, and no link or repository.
    is_file: bool,
    id: String,
}

/// A file on the disk.
enum OnDisk {
    /// As the commit has it.
    Same,
    /// Another file.
    Other,
    /// A link, a pipe, a folder.
    NoFile,
}

impl Folder {
    /// The files of the records below `paths` that differ between a tree of the repository and the disk.
    ///
    /// # Errors
    /// Git does not answer, or a folder cannot be listed: what lies in it would count as deleted.
    pub(super) fn differing(
        &self,
        repository: &Repository,
        tree: &str,
        paths: &[String],
        is_wanted: fn(&str) -> bool,
    ) -> Result<Vec<Change>, Failure> {
        let mut kept = repository.files_of(tree, paths)?;
        kept.retain(|file, _| is_wanted(file));
        let mut there = self.files_there(paths)?;
        there.retain(|file| is_wanted(file));
        let files: BTreeSet<&String> = kept.keys().chain(&there).collect();
        let change = |file: &String| {
            let leaf = kept.get(file);
            let after = if there.contains(file) { self.beside(leaf, file) } else { OnDisk::NoFile };
            let before = leaf.filter(|leaf| leaf.is_file).map(|leaf| Version::Kept(leaf.id.clone()));
            let after = match after {
                OnDisk::Same => return None,
                OnDisk::Other => Some(Version::OnDisk),
                OnDisk::NoFile => None,
            };
            (before.is_some() || after.is_some()).then(|| Change { file: file.clone(), before, after })
        };
        let mut changes: Vec<Change> = files.into_par_iter().filter_map(change).collect();
        if changes.iter().any(|change| change.after.is_none()) {
            let left_out = repository.left_out(paths)?;
            changes.retain(|change| {
                change.after.is_some() || there.contains(&change.file) || !left_out.contains(&change.file)
            });
        }
        Ok(changes)
    }

    /// A file on the disk, held against the same file of a commit.
    fn beside(&self, kept: Option<&Leaf>, file: &str) -> OnDisk {
        match (disk::read(self.root(), file), kept.filter(|leaf| leaf.is_file)) {
            (Ok(Bytes::NotAFile(_)), _) => OnDisk::NoFile,
            (Ok(Bytes::All(bytes)), Some(leaf)) if is_of(&bytes, &leaf.id) => OnDisk::Same,
            (Err(problem), _) if problem.rule == crate::problem::Rule::NotARegularFile => OnDisk::NoFile,
            _ => OnDisk::Other,
        }
    }

    /// Every name on the disk that a record, a patient or a part of the program may have.
    fn files_there(&self, paths: &[String]) -> Result<BTreeSet<String>, Failure> {
        let could_hold = |folder: &str| {
            let is_below =
                |below: &str, above: &str| below.strip_prefix(above).is_some_and(|rest| rest.starts_with('/'));
            paths.iter().any(|path| path == folder || is_below(path, folder) || is_below(folder, path))
        };
        let mut files = BTreeSet::new();
        let mut folders = vec![String::new()];
        while let Some(folder) = folders.pop() {
            let entries = self.entries(&folder).map_err(|problem| not_listed(&problem))?;
            for entry in entries {
                // A name of other bytes is no record's.
                let Some(name) = entry.name.to_str() else { continue };
                let path = if folder.is_empty() { name.to_owned() } else { format!("{folder}/{name}") };
                let may_hold = || {
                    let parts: Vec<&str> = path.split('/').collect();
                    matches!(parts[..], ["patients" | "staff"] | ["patients" | "staff", _])
                        || matches!(parts[..], ["patients" | "staff", _, year] if is_year(year))
                };
                if could_hold(&path) {
                    match entry.what {
                        What::Folder if may_hold() => folders.push(path),
                        What::Folder => {}
                        What::File | What::Other => _ = files.insert(path),
                    }
                }
            }
        }
        Ok(files)
    }
}

impl Repository {
    /// The files of a tree of the repository below `paths` of the records, by their path in the records.
    fn files_of(&self, tree: &str, paths: &[String]) -> Result<BTreeMap<String, Leaf>, Failure> {
        let paths: Vec<String> = paths.iter().map(|path| format!("{}{path}", self.prefix())).collect();
        let mut arguments = vec!["ls-tree", "-r", "-z", "--full-tree", tree, "--"];
        arguments.extend(paths.iter().map(String::as_str));
        let printed = self.printed(&arguments)?;
        // `100644 blob ID`, a tab, the path
        let leaf = |line: &[u8]| {
            let (about, path) = std::str::from_utf8(line).ok()?.split_once('\t')?;
            let [mode, _, id] = about.split(' ').collect::<Vec<_>>()[..] else { return None };
            let path = path.strip_prefix(self.prefix())?;
            Some((path.to_owned(), Leaf { is_file: mode.starts_with("100"), id: id.to_owned() }))
        };
        Ok(printed.split(|byte| *byte == 0).filter_map(leaf).collect())
    }
}

impl Repository {
    /// The files of the records that a sparse checkout leaves out, as the index has it.
    fn left_out(&self, paths: &[String]) -> Result<BTreeSet<String>, Failure> {
        let mut arguments = vec!["ls-files", "--cached", "-t", "-z", "--full-name", "--"];
        arguments.extend(paths.iter().map(String::as_str));
        let printed = self.printed(&arguments)?;
        let path = |line: &[u8]| {
            let path = std::str::from_utf8(line).ok()?.strip_prefix("S ")?;
            path.strip_prefix(self.prefix()).map(str::to_owned)
        };
        Ok(printed.split(|byte| *byte == 0).filter_map(path).collect())
    }
}

/// Whether a path in the records is one of an event file: `patients/CODE/YEAR/NAME.toml`, or the same of staff.
pub(super) fn is_event_file(path: &str) -> bool {
    let [top, _, year, file] = path.split('/').collect::<Vec<_>>()[..] else { return false };
    ["patients", "staff"].contains(&top) && is_year(year) && file.ends_with(".toml") && !file.starts_with(['.', '#'])
}

/// Whether a path in the records is one of an event, a patient, the policy or the staff.
pub(super) fn is_record_file(path: &str) -> bool {
    [policy::FILE, people::FILE].contains(&path)
        || is_event_file(path)
        || matches!(path.split('/').collect::<Vec<_>>()[..], ["patients", _, name] if name == patient::FILE)
}

fn is_year(name: &str) -> bool {
    name.len() == 4 && name.bytes().all(|byte| byte.is_ascii_digit())
}

/// Whether bytes are those of a file that git keeps under `id`, whatever ends their lines.
fn is_of(bytes: &[u8], id: &str) -> bool {
    let algorithm = if id.len() == 40 { &SHA1_FOR_LEGACY_USE_ONLY } else { &SHA256 };
    let is_it = |bytes: &[u8]| id_of(bytes, algorithm) == id;
    let is_of_windows = || bytes.windows(2).any(|pair| pair == b"\r\n");
    is_it(bytes) || is_of_windows() && is_it(&unix_lines(bytes))
}

/// The id that git gives to a file.
fn id_of(bytes: &[u8], algorithm: &'static Algorithm) -> String {
    let mut context = Context::new(algorithm);
    context.update(format!("blob {}\0", bytes.len()).as_bytes());
    context.update(bytes);
    context.finish().as_ref().iter().map(|byte| format!("{byte:02x}")).collect()
}

fn unix_lines(bytes: &[u8]) -> Vec<u8> {
    let is_end = |at: usize| bytes[at] == b'\r' && bytes.get(at + 1) == Some(&b'\n');
    (0..bytes.len()).filter(|at| !is_end(*at)).map(|at| bytes[at]).collect()
}

fn not_listed(problem: &Problem) -> Failure {
    Failure::new(format!("{}: {}; {}", text::visible(&problem.place.file), problem.message, problem.help))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_id_is_the_one_that_git_gives() {
        // printf 'dry\n' | git hash-object --stdin
        assert!(is_of(b"", "e69de29bb2d1d6434b8b29ae775ad8c2e48c5391"));
        assert!(is_of(b"hello\n", "ce013625030ba8dba906f756967f9e9ca394464a"));
        assert!(is_of(b"hello\r\n", "ce013625030ba8dba906f756967f9e9ca394464a"));
        assert!(!is_of(b"hello", "ce013625030ba8dba906f756967f9e9ca394464a"));
        // git init --object-format=sha256
        assert!(is_of(b"", "473a0f4c3be8a93681a267e3b1e9a7dcda1185436fe141f7749120a303721813"));
    }

    #[test]
    fn records_are_told_from_other_files() {
        assert!(is_record_file("policy.toml") && is_record_file("patients/P-001/patient.toml"));
        assert!(is_event_file("staff/rn-07/2026/2026-01-12T1000-teaching.toml"));
        for other in ["hooks/pre-commit", "staff/rn-07/patient.toml", "patients/P-001/26/a.toml", "a/policy.toml"] {
            assert!(!is_record_file(other), "{other}");
        }
    }
}
