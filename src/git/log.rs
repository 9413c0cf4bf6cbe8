//! The changes of the event files from commit to commit.

use chrono::{DateTime, FixedOffset};

use super::Repository;
use crate::day::Instant;
use crate::event::is_event_path;
use crate::problem::Failure;

/// A commit.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Commit {
    /// Full id.
    pub id: String,
    /// Time of the commit.
    pub when: DateTime<FixedOffset>,
    /// Author name in git.
    pub author: String,
}

/// The changes of one commit, or the uncommitted changes.
#[derive(Debug, Clone)]
pub struct CommitDiff {
    /// The commit; `None` for uncommitted changes.
    pub commit: Option<Commit>,
    /// The differences from each parent; several for a merge.
    pub sides: Vec<ParentDiff>,
}

/// The differences from one parent.
#[derive(Debug, Clone)]
pub struct ParentDiff {
    /// The parent; `None` for the first commit.
    pub parent: Option<String>,
    /// The event files that differ.
    pub changes: Vec<FileChange>,
}

/// The change of one event file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FileChange {
    /// Path in the records.
    pub file: String,
    /// File before; `None` if it did not exist.
    pub before: Option<Version>,
    /// File after; `None` if deleted or replaced by a link.
    pub after: Option<Version>,
}

/// One state of a file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Version {
    /// A blob of the repository, by id.
    Kept(String),
    /// The file in the work tree.
    OnDisk,
}

impl Commit {
    /// The abbreviated id.
    pub fn short(&self) -> &str {
        self.id.get(..7).unwrap_or(&self.id)
    }
}

impl Repository {
    /// Returns the commits after `since` (or all) up to `until` that changed event files below `paths`, oldest first;
    /// none older than `oldest`.
    ///
    /// # Errors
    /// Git does not answer.
    pub fn steps(
        &self,
        since: Option<&str>,
        until: &str,
        paths: &[String],
        oldest: Option<Instant>,
    ) -> Result<Vec<CommitDiff>, Failure> {
        let range = since.map_or(until.to_owned(), |since| format!("{since}..{until}"));
        let oldest = oldest.map(|oldest| format!("--max-age={}", oldest.timestamp()));
        let mut arguments = vec!["rev-list", "--full-history", "--topo-order", "--reverse"];
        arguments.extend(["--format=%P%x09%cI%x09%an", "--end-of-options", &range, "--"]);
        if let Some(oldest) = &oldest {
            arguments.insert(1, oldest);
        }
        let paths = or_all(paths);
        arguments.extend(paths.iter().map(String::as_str));
        let listed = String::from_utf8_lossy(&self.printed(&arguments)?).into_owned();
        let mut steps: Vec<CommitDiff> = Vec::new();
        for line in listed.lines() {
            match (line.strip_prefix("commit "), steps.last_mut().and_then(|step| step.commit.as_mut())) {
                (Some(id), _) if !id.contains(['\t', ' ']) => {
                    let commit = Commit { id: id.to_owned(), when: DateTime::default(), author: String::new() };
                    steps.push(CommitDiff { commit: Some(commit), sides: Vec::new() });
                }
                (_, Some(commit)) => {
                    let mut parts = line.splitn(3, '\t');
                    let parents = parts.next().unwrap_or_default();
                    commit.when = parts.next().and_then(|when| when.parse().ok()).unwrap_or_default();
                    commit.author = parts.next().unwrap_or_default().to_owned();
                    if let Some(step) = steps.last_mut() {
                        step.sides = sides(parents);
                    }
                }
                _ => {}
            }
        }
        self.compare(&mut steps, &paths)?;
        Ok(steps)
    }

    /// Fills in the differences with a single git process.
    fn compare(&self, steps: &mut [CommitDiff], paths: &[String]) -> Result<(), Failure> {
        let mut asked = String::new();
        for step in steps.iter() {
            let Some(commit) = &step.commit else { continue };
            for side in &step.sides {
                asked.push_str(&commit.id);
                asked.extend(side.parent.iter().map(|parent| format!(" {parent}")));
                asked.push('\n');
            }
        }
        let mut command = self.git(["diff-tree", "--stdin", "--always", "--root"]);
        let output = self.ended(command.args(RAW).arg("--").args(paths), Some(asked.into_bytes()))?;
        if !output.status.success() {
            return Err(self.did_not_answer(&output.stderr));
        }
        let mut open = steps.iter_mut().flat_map(|step| &mut step.sides);
        let mut side: Option<&mut ParentDiff> = None;
        let mut parts = output.stdout.split(|byte| *byte == 0);
        while let Some(part) = parts.next() {
            match part {
                [] => {}
                [b':', ..] => {
                    let change = self.change(part, parts.next().unwrap_or_default());
                    if let Some(side) = &mut side {
                        side.changes.extend(change);
                    }
                }
                _ => side = open.next(),
            }
        }
        Ok(())
    }

    /// Returns the differences of a tree of the repository from the last commit, and from the commit being merged.
    pub(crate) fn pending(&self, tree: &str, paths: &[String]) -> Result<CommitDiff, Failure> {
        let mut sides = Vec::new();
        for parent in self.parents()? {
            let mut arguments = vec!["diff-tree"];
            arguments.extend(RAW);
            arguments.extend([&parent, tree, "--"]);
            arguments.extend(paths.iter().map(String::as_str));
            let printed = self.printed(&arguments)?;
            let mut parts = printed.split(|byte| *byte == 0);
            let mut changes = Vec::new();
            while let (Some(about), Some(name)) = (parts.next(), parts.next()) {
                changes.extend(self.change(about, name));
            }
            sides.push(ParentDiff { parent: Some(parent), changes });
        }
        Ok(CommitDiff { commit: None, sides })
    }

    /// The last commit, and the commit being merged; the empty tree before the first commit.
    pub(crate) fn parents(&self) -> Result<Vec<String>, Failure> {
        let mut parents = Vec::new();
        for name in ["HEAD", "MERGE_HEAD"] {
            parents.extend(self.id(name)?);
        }
        if parents.is_empty() {
            let nothing = self.printed(&["hash-object", "-t", "tree", "--stdin"])?;
            parents.push(String::from_utf8_lossy(&nothing).trim_end().to_owned());
        }
        Ok(parents)
    }

    /// Parses `:100644 100644 ID ID M`.
    fn change(&self, about: &[u8], name: &[u8]) -> Option<FileChange> {
        let file = self.event_file(name)?;
        let about = std::str::from_utf8(about).ok()?;
        let [old_mode, mode, old_id, id, _] = about.trim_start_matches(':').split(' ').collect::<Vec<_>>()[..] else {
            return None;
        };
        let is_file = |mode: &str| mode.starts_with("100");
        Some(FileChange {
            file,
            before: is_file(old_mode).then(|| Version::Kept(old_id.to_owned())),
            after: is_file(mode).then(|| Version::Kept(id.to_owned())),
        })
    }

    /// The path of an event file in the records.
    fn event_file(&self, name: &[u8]) -> Option<String> {
        let path = std::str::from_utf8(name).ok()?.strip_prefix(self.prefix())?;
        is_event_path(path).then(|| path.to_owned())
    }

    /// Returns true if `old` is an ancestor of `new`.
    ///
    /// # Errors
    /// Git does not answer.
    pub(crate) fn is_ancestor(&self, old: &str, new: &str) -> Result<bool, Failure> {
        let output = self.ended(&mut self.git(["merge-base", "--is-ancestor", old, new]), None)?;
        match output.status.code() {
            Some(0) => Ok(true),
            Some(1) => Ok(false),
            _ => Err(self.did_not_answer(&output.stderr)),
        }
    }

    /// Returns true if a file was `version` at a merge base of two commits.
    pub(crate) fn was_before_both(&self, one: &str, other: &str, file: &str, version: &Version) -> bool {
        let bases = self.printed(&["merge-base", "--all", one, other]).unwrap_or_default();
        let Version::Kept(id) = version else { return false };
        let path = format!("{}{file}", self.prefix());
        let is_same = |base: &str| self.id(&format!("{base}:{path}")).is_ok_and(|there| there.as_ref() == Some(id));
        String::from_utf8_lossy(&bases).lines().any(is_same)
    }

    /// The last commit; `None` before the first one.
    ///
    /// # Errors
    /// Git does not answer.
    pub fn head(&self) -> Result<Option<String>, Failure> {
        self.id("HEAD^{commit}")
    }
}

/// Flags of `diff-tree` that override the user's settings.
const RAW: [&str; 5] = ["-r", "--raw", "-z", "--no-abbrev", "--no-renames"];

fn sides(parents: &str) -> Vec<ParentDiff> {
    let side = |parent: Option<&str>| ParentDiff { parent: parent.map(str::to_owned), changes: Vec::new() };
    if parents.is_empty() { vec![side(None)] } else { parents.split(' ').map(|parent| side(Some(parent))).collect() }
}

/// The given paths, or the folders of all event files.
pub(crate) fn or_all(paths: &[String]) -> Vec<String> {
    if paths.is_empty() { vec!["patients".to_owned(), "staff".to_owned()] } else { paths.to_vec() }
}
