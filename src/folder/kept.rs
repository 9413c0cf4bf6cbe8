//! The state of the records in git: the commit, and uncommitted changes.

use chrono::NaiveDate;

use super::differing::is_record_file;
use super::{Folder, Origin};
use crate::git::Repository;
use crate::people;
use crate::policy;

/// The state of the records in git; all `None` without git.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct GitState {
    /// Commit, full id.
    pub commit: Option<String>,
    /// True if a record on the disk differs from the commit.
    pub has_changes: Option<bool>,
    /// Commit of the last change to the policy, and its day.
    pub policy: Option<(String, NaiveDate)>,
}

impl Folder {
    /// The state of the records in git.
    pub fn kept(&self) -> GitState {
        let Ok(repository) = self.repository() else { return GitState::default() };
        let (commit, has_changes) = match &self.origin {
            Origin::Disk => {
                let commit = repository.head().ok().flatten();
                let has_changes = commit.as_deref().map_or(Some(true), |commit| self.has_changes(&repository, commit));
                (commit, has_changes)
            }
            Origin::Commit(snapshot) => (snapshot.revision().commit.clone(), Some(false)),
        };
        let policy = commit.as_deref().and_then(|commit| repository.last_change(commit, policy::FILE));
        GitState { commit, has_changes, policy }
    }

    /// Returns true if a file of the records on the disk differs from the commit.
    fn has_changes(&self, repository: &Repository, commit: &str) -> Option<bool> {
        let paths = ["patients", "staff", policy::FILE, people::FILE].map(str::to_owned);
        let differing = self.differing(repository, commit, &paths, is_record_file);
        differing.ok().map(|differing| !differing.is_empty())
    }
}
