//! What became of the record files from commit to commit, and since the last one.

use chrono::{DateTime, FixedOffset};

use super::batch::Object;
use super::differing::is_event_file;
use super::git::{Repository, Revision};
use super::{Folder, LARGEST, Origin, decoded};
use crate::day::Instant;
use crate::problem::Failure;
use crate::text;

/// A commit.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Commit {
    /// The full id.
    pub id: String,
    /// When it was made.
    pub when: DateTime<FixedOffset>,
    /// The author's name, as git has it.
    pub author: String,
}

/// What happened at once: in a commit, or since the last one.
#[derive(Debug, Clone)]
pub struct Step {
    /// The commit; None for what is not committed yet.
    pub commit: Option<Commit>,
    /// What differs from each parent; several where a merge joined them.
    pub sides: Vec<Side>,
}

/// What differs from one parent.
#[derive(Debug, Clone)]
pub struct Side {
    /// The parent; None at the beginning.
    pub parent: Option<String>,
    /// The event files that differ.
    pub changes: Vec<Change>,
}

/// What became of one event file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Change {
    /// The path in the records.
    pub file: String,
    /// What was there; None where there was no file.
    pub before: Option<Version>,
    /// What is there; None where the file is gone, or is a link now.
    pub after: Option<Version>,
}

/// One state of a file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Version {
    /// As git keeps it, by id.
    Kept(String),
    /// As it lies on the disk.
    OnDisk,
}

impl Commit {
    /// The first letters of the id.
    pub fn short(&self) -> &str {
        self.id.get(..7).unwrap_or(&self.id)
    }
}

impl Repository {
    /// Each commit behind `since` (or all) up to `until` that touched event files below `paths`, the oldest first; none
    /// that is older than `oldest`.
    ///
    /// # Errors
    /// Git does not answer.
    pub fn steps(
        &self,
        since: Option<&str>,
        until: &str,
        paths: &[String],
        oldest: Option<Instant>,
    ) -> Result<Vec<Step>, Failure> {
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
        let mut steps: Vec<Step> = Vec::new();
        for line in listed.lines() {
            match (line.strip_prefix("commit "), steps.last_mut().and_then(|step| step.commit.as_mut())) {
                (Some(id), _) if !id.contains(['\t', ' ']) => {
                    let commit = Commit { id: id.to_owned(), when: DateTime::default(), author: String::new() };
                    steps.push(Step { commit: Some(commit), sides: Vec::new() });
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

    /// Fills in what differs, in one run of git for all.
    fn compare(&self, steps: &mut [Step], paths: &[String]) -> Result<(), Failure> {
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
        let mut side: Option<&mut Side> = None;
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

    /// What differs from the last commit, and from the one that is being merged: in a tree of the repository.
    fn pending(&self, tree: &str, paths: &[String]) -> Result<Step, Failure> {
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
            sides.push(Side { parent: Some(parent), changes });
        }
        Ok(Step { commit: None, sides })
    }

    /// The last commit, and the one that is being merged; before the first, the empty tree.
    fn parents(&self) -> Result<Vec<String>, Failure> {
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

    /// Reads `:100644 100644 ID ID M`.
    fn change(&self, about: &[u8], name: &[u8]) -> Option<Change> {
        let file = self.event_file(name)?;
        let about = std::str::from_utf8(about).ok()?;
        let [old_mode, mode, old_id, id, _] = about.trim_start_matches(':').split(' ').collect::<Vec<_>>()[..] else {
            return None;
        };
        let is_file = |mode: &str| mode.starts_with("100");
        Some(Change {
            file,
            before: is_file(old_mode).then(|| Version::Kept(old_id.to_owned())),
            after: is_file(mode).then(|| Version::Kept(id.to_owned())),
        })
    }

    /// The path in the records, if it is one of an event file.
    fn event_file(&self, name: &[u8]) -> Option<String> {
        let path = std::str::from_utf8(name).ok()?.strip_prefix(self.prefix())?;
        is_event_file(path).then(|| path.to_owned())
    }

    /// Whether one commit is in the history of another.
    ///
    /// # Errors
    /// Git does not answer.
    pub fn is_ancestor(&self, old: &str, new: &str) -> Result<bool, Failure> {
        let output = self.ended(&mut self.git(["merge-base", "--is-ancestor", old, new]), None)?;
        match output.status.code() {
            Some(0) => Ok(true),
            Some(1) => Ok(false),
            _ => Err(self.did_not_answer(&output.stderr)),
        }
    }

    /// Whether a file was the same, `version`, where two commits last had one history.
    pub fn was_before_both(&self, one: &str, other: &str, file: &str, version: &Version) -> bool {
        let bases = self.printed(&["merge-base", "--all", one, other]).unwrap_or_default();
        let Version::Kept(id) = version else { return false };
        let path = format!("{}{file}", self.prefix());
        let is_same = |base: &str| self.id(&format!("{base}:{path}")).is_ok_and(|there| there.as_ref() == Some(id));
        String::from_utf8_lossy(&bases).lines().any(is_same)
    }

    /// The last commit; None before the first.
    ///
    /// # Errors
    /// Git does not answer.
    pub fn head(&self) -> Result<Option<String>, Failure> {
        self.id("HEAD^{commit}")
    }
}

impl Folder {
    /// Everything that became of event files below `paths`: each commit behind `since`, then what is not committed yet.
    /// At a commit it ends there.
    ///
    /// # Errors
    /// Git does not answer, or `since` is not in the history of what is asked about.
    pub fn steps(
        &self,
        repository: &Repository,
        since: Option<(&str, &Revision)>,
        paths: &[String],
        oldest: Option<Instant>,
    ) -> Result<Vec<Step>, Failure> {
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
                return Err(Failure::new(format!("--since {typed} names no commit; `git log --oneline` lists them")));
            }
            Some((typed, Revision { commit: Some(first), .. })) => {
                if !until.as_ref().is_some_and(|until| repository.is_ancestor(first, until).unwrap_or(false)) {
                    let typed = text::visible(typed);
                    return Err(Failure::new(format!(
                        "{typed} is not in the history of what is checked: history was rewritten, or it is on another \
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

    /// What differs on the disk from the last commit, and from the one that is being merged.
    fn not_committed(&self, repository: &Repository, paths: &[String]) -> Result<Step, Failure> {
        let mut sides = Vec::new();
        for parent in repository.parents()? {
            let changes = self.differing(repository, &parent, paths, is_event_file)?;
            sides.push(Side { parent: Some(parent), changes });
        }
        Ok(Step { commit: None, sides })
    }

    /// The text of an event file in one of its states; None if it is none.
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

/// How differences are asked for, whatever the user's settings.
const RAW: [&str; 5] = ["-r", "--raw", "-z", "--no-abbrev", "--no-renames"];

fn sides(parents: &str) -> Vec<Side> {
    let side = |parent: Option<&str>| Side { parent: parent.map(str::to_owned), changes: Vec::new() };
    if parents.is_empty() { vec![side(None)] } else { parents.split(' ').map(|parent| side(Some(parent))).collect() }
}

/// The paths, or where event files lie.
fn or_all(paths: &[String]) -> Vec<String> {
    if paths.is_empty() { vec!["patients".to_owned(), "staff".to_owned()] } else { paths.to_vec() }
}
