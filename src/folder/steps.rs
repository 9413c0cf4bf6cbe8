//! The changes of event files in the history of a records folder: commits, then uncommitted changes.

use super::{Folder, LARGEST, Origin, decoded};
use crate::day::Instant;
use crate::event::is_event_path;
use crate::git::{CommitDiff, Object, ParentDiff, Repository, Revision, Version, or_all};
use crate::problem::Failure;
use crate::text;

impl Folder {
    /// Returns the changes of event files below `paths`: each commit after `since`, then uncommitted changes. For a
    /// folder at a commit, that commit is the last.
    ///
    /// # Errors
    /// Git does not answer, or `since` is not in the history of the records.
    pub fn steps(
        &self,
        repository: &Repository,
        since: Option<(&str, &Revision)>,
        paths: &[String],
        oldest: Option<Instant>,
    ) -> Result<Vec<CommitDiff>, Failure> {
        let at = match &self.origin {
            Origin::Disk => None,
            Origin::Commit(snapshot) => Some(snapshot.revision()),
        };
        let until = match at.and_then(|at| at.commit.clone()) {
            Some(commit) => Some(commit),
            None => repository.head()?,
        };
        let first = match since {
            None => None,
            Some((typed, Revision { commit: None, .. })) => {
                let typed = text::visible(typed);
                return Err(Failure::new(format!("--since {typed} is not a commit; `git log --oneline` lists them")));
            }
            Some((typed, Revision { commit: Some(first), .. })) => {
                if !until.as_ref().is_some_and(|until| repository.is_ancestor(first, until).unwrap_or(false)) {
                    let typed = text::visible(typed);
                    return Err(Failure::new(format!(
                        "{typed} is not in the history of these records: history was rewritten, or it is on another \
                         branch; name a commit that `git log --oneline` lists, and if none was expected to be missing, \
                         ask who rewrote it"
                    )));
                }
                Some(first.as_str())
            }
        };
        let mut steps = match &until {
            Some(until) => repository.steps(first, until, paths, oldest)?,
            None => Vec::new(),
        };
        match at {
            Some(Revision { commit: Some(_), .. }) => {}
            Some(at) => steps.push(repository.pending(&at.tree, &or_all(paths))?),
            None => steps.push(self.not_committed(repository, &or_all(paths))?),
        }
        Ok(steps)
    }

    /// The differences of the disk from the last commit, and from the commit being merged.
    fn not_committed(&self, repository: &Repository, paths: &[String]) -> Result<CommitDiff, Failure> {
        let mut sides = Vec::new();
        for parent in repository.parents()? {
            let changes = self.differing(repository, &parent, paths, is_event_path)?;
            sides.push(ParentDiff { parent: Some(parent), changes });
        }
        Ok(CommitDiff { commit: None, sides })
    }

    /// The text of a version of an event file; `None` if it is not UTF-8.
    pub fn text_of(&self, repository: &Repository, file: &str, version: &Version) -> Option<String> {
        match version {
            Version::OnDisk => self.read_text(file).ok(),
            Version::Kept(id) => match repository.object(id, LARGEST) {
                Ok(Object::Whole(bytes)) => decoded(file, bytes).ok(),
                Ok(Object::TooLarge) => None,
                Ok(Object::Missing) | Err(_) => {
                    repository.lacks(file);
                    None
                }
            },
        }
    }
}
