//! A commit as the source of the records: trees and files from git, read lazily and by id.
//!
//! A path is walked tree by tree, so no link is followed, and a name may contain any byte. The most recently used trees
//! are cached, since the files of one folder are opened together.

use std::collections::VecDeque;
use std::ffi::OsString;
use std::io;
use std::os::unix::ffi::OsStringExt;
use std::sync::{Arc, Mutex, PoisonError};

use super::{Bytes, EntryType, FolderEntry, LARGEST, missing, not_a_folder, not_a_regular_file};
use crate::git::{Object, Repository, Revision};
use crate::problem::{Problem, Rule};

/// The maximum size of a tree, in bytes: more than a million names.
const LARGEST_TREE: u64 = 64 * 1024 * 1024;

/// The number of cached trees.
const KEPT: usize = 64;

/// The records at a commit.
#[derive(Debug)]
pub struct Snapshot {
    repository: Arc<Repository>,
    revision: Revision,
    /// The tree of the records folder.
    root: String,
    kept: Mutex<VecDeque<(String, Arc<Tree>)>>,
}

/// The entries of one folder.
type Tree = Vec<TreeEntry>;

/// An entry of a tree.
#[derive(Debug)]
struct TreeEntry {
    name: Vec<u8>,
    mode: EntryMode,
    id: Vec<u8>,
}

impl TreeEntry {
    /// The id in hexadecimal, as git reads it.
    fn id(&self) -> String {
        self.id.iter().map(|byte| format!("{byte:02x}")).collect()
    }
}

/// The mode of a tree entry.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum EntryMode {
    File,
    Folder,
    Link,
    Repository,
}

impl Snapshot {
    /// Opens the folder `prefix` of a repository at a revision; `None` if there was no such folder.
    pub(super) fn of(repository: Arc<Repository>, revision: &Revision, prefix: &str) -> io::Result<Option<Snapshot>> {
        let root = revision.tree.clone();
        let whole = Snapshot { repository, revision: revision.clone(), root, kept: Mutex::default() };
        let folder = prefix.trim_end_matches('/');
        if folder.is_empty() {
            return Ok(Some(whole));
        }
        let Some((EntryMode::Folder, id)) = whole.find(folder)? else { return Ok(None) };
        Ok(Some(Snapshot { root: id, kept: Mutex::default(), ..whole }))
    }

    /// The repository.
    pub(super) fn repository(&self) -> &Arc<Repository> {
        &self.repository
    }

    /// The revision.
    pub(super) fn revision(&self) -> &Revision {
        &self.revision
    }

    /// The bytes of a file.
    pub(super) fn read(&self, file: &str) -> Result<Bytes, Box<Problem>> {
        let not_read = |why: String| {
            let help = "`git fsck` checks the repository";
            Box::new(Problem::of_file(Rule::CannotBeRead, file, format!("the file cannot be read: {why}"), help))
        };
        let found = self.find(file).map_err(|error| not_read(error.to_string()))?;
        let (mode, id) = found.ok_or_else(|| missing(file))?;
        match mode {
            EntryMode::File => {}
            EntryMode::Folder => return Ok(Bytes::NotAFile("a folder, a pipe or a device")),
            EntryMode::Link => return Err(Box::new(not_a_regular_file(file, "a link"))),
            EntryMode::Repository => return Ok(Bytes::NotAFile("another repository")),
        }
        match self.repository.object(&id, LARGEST).map_err(|error| not_read(error.to_string()))? {
            Object::Missing => Err(not_read("the repository does not have it".to_owned())),
            Object::TooLarge => Ok(Bytes::TooMany),
            Object::Whole(bytes) => Ok(Bytes::All(bytes)),
        }
    }

    /// The entries of a folder; `None` if there was no such folder.
    pub(super) fn entries(&self, folder: &str) -> Result<Vec<FolderEntry>, Box<Problem>> {
        let cannot = |error: io::Error| {
            let help = "`git fsck` checks the repository";
            Box::new(Problem::of_file(Rule::CannotBeRead, folder, format!("the folder cannot be read: {error}"), help))
        };
        let entry = |leaf: &TreeEntry| {
            let what = match leaf.mode {
                EntryMode::File => EntryType::File,
                EntryMode::Folder => EntryType::Folder,
                EntryMode::Link | EntryMode::Repository => EntryType::Other,
            };
            FolderEntry { name: OsString::from_vec(leaf.name.clone()), what }
        };
        if !folder.is_empty() && !matches!(self.find(folder).map_err(cannot)?, None | Some((EntryMode::Folder, _))) {
            return Err(Box::new(not_a_folder(folder, "a link or a file")));
        }
        let tree = self.tree(folder).map_err(cannot)?;
        Ok(tree.iter().flat_map(|tree| tree.iter()).map(entry).collect())
    }

    /// Returns true if a path exists.
    pub(super) fn holds(&self, path: &str) -> bool {
        path.is_empty() || self.find(path).is_ok_and(|found| found.is_some())
    }

    /// Returns the mode and id at a path.
    fn find(&self, path: &str) -> io::Result<Option<(EntryMode, String)>> {
        let (folder, name) = path.rsplit_once('/').unwrap_or(("", path));
        let Some(tree) = self.tree(folder)? else { return Ok(None) };
        let leaf = tree.iter().find(|leaf| leaf.name == name.as_bytes());
        Ok(leaf.map(|leaf| (leaf.mode, leaf.id())))
    }

    /// Returns the entries of a folder; `None` if there was no such folder.
    fn tree(&self, folder: &str) -> io::Result<Option<Arc<Tree>>> {
        if let Some(tree) = self.kept(folder) {
            return Ok(Some(tree));
        }
        let id = if folder.is_empty() {
            self.root.clone()
        } else {
            let Some((EntryMode::Folder, id)) = self.find(folder)? else { return Ok(None) };
            id
        };
        let tree = match self.repository.object(&id, LARGEST_TREE)? {
            Object::Whole(bytes) => Arc::new(read_tree(&bytes, id.len() / 2).ok_or(io::ErrorKind::InvalidData)?),
            Object::Missing => return Err(io::Error::other("the repository does not have it")),
            Object::TooLarge => return Err(io::Error::other("it has too many names")),
        };
        let mut kept = self.kept.lock().unwrap_or_else(PoisonError::into_inner);
        kept.push_front((folder.to_owned(), tree.clone()));
        kept.truncate(KEPT);
        Ok(Some(tree))
    }

    fn kept(&self, folder: &str) -> Option<Arc<Tree>> {
        let mut kept = self.kept.lock().unwrap_or_else(PoisonError::into_inner);
        let at = kept.iter().position(|(path, _)| path == folder)?;
        let found = kept.remove(at)?;
        let tree = found.1.clone();
        kept.push_front(found);
        Some(tree)
    }
}

/// Parses a tree object: for each entry `MODE NAME`, a zero byte, and an id of `width` bytes.
fn read_tree(mut bytes: &[u8], width: usize) -> Option<Tree> {
    let mut tree = Tree::new();
    while !bytes.is_empty() {
        let space = bytes.iter().position(|byte| *byte == b' ')?;
        let end = bytes.iter().position(|byte| *byte == 0)?;
        let id = bytes.get(end + 1..end + 1 + width)?;
        let mode = match &bytes[..space] {
            b"40000" => EntryMode::Folder,
            b"120000" => EntryMode::Link,
            b"160000" => EntryMode::Repository,
            _ => EntryMode::File,
        };
        tree.push(TreeEntry { name: bytes.get(space + 1..end)?.to_owned(), mode, id: id.to_owned() });
        bytes = &bytes[end + 1 + width..];
    }
    Some(tree)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn reads_a_tree_of_every_mode_and_any_name() {
        let mut bytes = Vec::new();
        for (mode, name) in [("100644", "a"), ("100755", "b c"), ("40000", "d"), ("120000", "e"), ("160000", "f\n")] {
            bytes.extend(format!("{mode} {name}\0").as_bytes());
            bytes.extend([0xab; 20]);
        }
        bytes.extend(b"100644 \xff\0");
        bytes.extend([0; 20]);
        let tree = read_tree(&bytes, 20).unwrap();
        let modes: Vec<EntryMode> = tree.iter().map(|leaf| leaf.mode).collect();
        assert_eq!(
            modes,
            [
                EntryMode::File,
                EntryMode::File,
                EntryMode::Folder,
                EntryMode::Link,
                EntryMode::Repository,
                EntryMode::File
            ]
        );
        assert_eq!(tree[1].name, b"b c");
        assert_eq!(tree[5].name, b"\xff");
        assert_eq!(tree[0].id(), "ab".repeat(20));
        assert!(read_tree(&bytes[..bytes.len() - 1], 20).is_none());
        assert!(read_tree(b"", 20).unwrap().is_empty());
    }
}
