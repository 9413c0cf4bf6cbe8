//! The differences between a commit and the disk.
//!
//! Git's own comparison (`status`, `diff-index`, `ls-files`) reads the index and runs programs named in the repository's
//! settings and attributes: `core.fsmonitor`, `filter.*.clean`, `filter.*.process`. This module reads the names and ids
//! of a commit (`ls-tree`), opens the files on the disk like any record, and hashes them as git does without filters. It
//! asks the index one question only, without touching the disk: which files a sparse checkout leaves out. So no flag in
//! the index hides an edit.

use std::collections::BTreeSet;

use rayon::prelude::*;

use super::{Bytes, EntryType, Folder, disk};
use crate::event::{is_event_path, is_year};
use crate::git::{Blob, FileChange, Repository, Version, is_of};
use crate::patient;
use crate::people;
use crate::policy;
use crate::problem::{Failure, Problem};
use crate::text;

/// A file on the disk.
enum OnDisk {
    /// Identical to the file in the commit.
    Same,
    /// A different file.
    Other,
    /// A link, a pipe, a folder.
    NoFile,
}

impl Folder {
    /// Returns the record files below `paths` that differ between a tree of the repository and the disk.
    ///
    /// # Errors
    /// Git does not answer, or a folder cannot be listed: its files would otherwise count as deleted.
    pub(super) fn differing(
        &self,
        repository: &Repository,
        tree: &str,
        paths: &[String],
        is_wanted: fn(&str) -> bool,
    ) -> Result<Vec<FileChange>, Failure> {
        let mut kept = repository.files_of(tree, paths)?;
        kept.retain(|file, _| is_wanted(file));
        let mut there = self.files_there(paths)?;
        there.retain(|file| is_wanted(file));
        let files: BTreeSet<&String> = kept.keys().chain(&there).collect();
        let change = |file: &String| {
            let blob = kept.get(file);
            let after = if there.contains(file) { self.beside(blob, file) } else { OnDisk::NoFile };
            let before = blob.filter(|blob| blob.is_file).map(|blob| Version::Kept(blob.id.clone()));
            let after = match after {
                OnDisk::Same => return None,
                OnDisk::Other => Some(Version::OnDisk),
                OnDisk::NoFile => None,
            };
            (before.is_some() || after.is_some()).then(|| FileChange { file: file.clone(), before, after })
        };
        let mut changes: Vec<FileChange> = files.into_par_iter().filter_map(change).collect();
        if changes.iter().any(|change| change.after.is_none()) {
            let left_out = repository.left_out(paths)?;
            changes.retain(|change| {
                change.after.is_some() || there.contains(&change.file) || !left_out.contains(&change.file)
            });
        }
        Ok(changes)
    }

    /// Compares a file on the disk with the same file of a commit.
    fn beside(&self, kept: Option<&Blob>, file: &str) -> OnDisk {
        match (disk::read(self.root(), None, file), kept.filter(|blob| blob.is_file)) {
            (Ok(Bytes::NotAFile(_)), _) => OnDisk::NoFile,
            (Ok(Bytes::All(bytes)), Some(blob)) if is_of(&bytes, &blob.id) => OnDisk::Same,
            (Err(problem), _) if problem.rule == crate::problem::Rule::NotARegularFile => OnDisk::NoFile,
            _ => OnDisk::Other,
        }
    }

    /// Returns every path on the disk that can be a record, a patient or a file of the program.
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
                // A name that is not UTF-8 cannot be a record's.
                let Some(name) = entry.name.to_str() else { continue };
                let path = if folder.is_empty() { name.to_owned() } else { format!("{folder}/{name}") };
                let may_hold = || {
                    let parts: Vec<&str> = path.split('/').collect();
                    matches!(parts[..], ["patients" | "staff"] | ["patients" | "staff", _])
                        || matches!(parts[..], ["patients" | "staff", _, year] if is_year(year))
                };
                if could_hold(&path) {
                    match entry.what {
                        EntryType::Folder if may_hold() => folders.push(path),
                        EntryType::Folder => {}
                        EntryType::File | EntryType::Other => _ = files.insert(path),
                    }
                }
            }
        }
        Ok(files)
    }
}

/// Returns true if a path in the records is that of an event, a patient, the policy or the staff list.
pub(super) fn is_record_file(path: &str) -> bool {
    [policy::FILE, people::FILE].contains(&path)
        || is_event_path(path)
        || matches!(path.split('/').collect::<Vec<_>>()[..], ["patients", _, name] if name == patient::FILE)
}

fn not_listed(problem: &Problem) -> Failure {
    Failure::new(format!("{}: {}; {}", text::visible(&problem.place.file), problem.message, problem.help))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn records_are_told_from_other_files() {
        assert!(is_record_file("policy.toml") && is_record_file("patients/P-001/patient.toml"));
        assert!(is_event_path("staff/rn-07/2026/2026-01-12T1000-teaching.toml"));
        for other in ["hooks/pre-commit", "staff/rn-07/patient.toml", "patients/P-001/26/a.toml", "a/policy.toml"] {
            assert!(!is_record_file(other), "{other}");
        }
    }
}
