//! The files of a commit by name and id, and the id of a file as git computes it.

use std::collections::{BTreeMap, BTreeSet};

use chrono::NaiveDate;
use ring::digest::{Algorithm, Context, SHA1_FOR_LEGACY_USE_ONLY, SHA256};

use super::{Repository, Revision};
use crate::problem::Failure;

/// A file of a commit.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Blob {
    /// True for a regular file, rather than a link or a submodule.
    pub(crate) is_file: bool,
    /// Id.
    pub(crate) id: String,
}

impl Repository {
    /// Returns the files of a tree of the repository below `paths` of the records, by their path in the records.
    pub(crate) fn files_of(&self, tree: &str, paths: &[String]) -> Result<BTreeMap<String, Blob>, Failure> {
        let paths: Vec<String> = paths.iter().map(|path| format!("{}{path}", self.prefix())).collect();
        let mut arguments = vec!["ls-tree", "-r", "-z", "--full-tree", tree, "--"];
        arguments.extend(paths.iter().map(String::as_str));
        let printed = self.printed(&arguments)?;
        // `100644 blob ID`, a tab, the path
        let leaf = |line: &[u8]| {
            let (about, path) = std::str::from_utf8(line).ok()?.split_once('\t')?;
            let [mode, _, id] = about.split(' ').collect::<Vec<_>>()[..] else { return None };
            let path = path.strip_prefix(self.prefix())?;
            Some((path.to_owned(), Blob { is_file: mode.starts_with("100"), id: id.to_owned() }))
        };
        Ok(printed.split(|byte| *byte == 0).filter_map(leaf).collect())
    }

    /// The record files that a sparse checkout leaves out, according to the index.
    pub(crate) fn left_out(&self, paths: &[String]) -> Result<BTreeSet<String>, Failure> {
        let mut arguments = vec!["ls-files", "--cached", "-t", "-z", "--full-name", "--"];
        arguments.extend(paths.iter().map(String::as_str));
        let printed = self.printed(&arguments)?;
        let path = |line: &[u8]| {
            let path = std::str::from_utf8(line).ok()?.strip_prefix("S ")?;
            path.strip_prefix(self.prefix()).map(str::to_owned)
        };
        Ok(printed.split(|byte| *byte == 0).filter_map(path).collect())
    }

    /// The last commit, up to a given one, that changed a file of the records, and its day.
    pub(crate) fn last_change(&self, until: &str, file: &str) -> Option<(String, NaiveDate)> {
        let asked = ["rev-list", "-1", "--no-commit-header", "--format=%H %cs", until, "--", file];
        let printed = String::from_utf8(self.printed(&asked).ok()?).ok()?;
        let (commit, day) = printed.trim_end().split_once(' ')?;
        Some((commit.to_owned(), day.parse().ok()?))
    }

    /// Returns true if a path of the records exists at a revision.
    pub fn held(&self, revision: &Revision, path: &str) -> bool {
        self.id(&format!("{}:{}{path}", revision.tree, self.prefix())).is_ok_and(|id| id.is_some())
    }
}

/// Returns true if these bytes have the git id `id`, as they are or with `\n` line endings.
pub(crate) fn is_of(bytes: &[u8], id: &str) -> bool {
    let algorithm = if id.len() == 40 { &SHA1_FOR_LEGACY_USE_ONLY } else { &SHA256 };
    let is_it = |bytes: &[u8]| id_of(bytes, algorithm) == id;
    let is_of_windows = || bytes.windows(2).any(|pair| pair == b"\r\n");
    is_it(bytes) || is_of_windows() && is_it(&unix_lines(bytes))
}

/// The git id of a file.
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
}
