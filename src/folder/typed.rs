//! Resolves a typed path to a path in the records.

use std::path::{Component, Path, PathBuf};

use super::Folder;

impl Folder {
    /// Returns the paths in the records that a typed path can mean, with `/` separators: relative to `here`, then to the
    /// records folder. "" is the records folder itself. A path outside the records is left out.
    pub fn meant(&self, typed: &Path, here: &Path) -> Vec<String> {
        let root = here.join(&self.root);
        let root = root.canonicalize().unwrap_or(root);
        let inside = |path: PathBuf| Some(whole(&path).strip_prefix(&root).ok()?.to_string_lossy().into_owned());
        let mut meant: Vec<String> = [here.join(typed), root.join(typed)].into_iter().filter_map(inside).collect();
        meant.dedup();
        meant
    }
}

/// Resolves the links in a path, except in its last name; ancestors that are gone stay as typed.
fn whole(path: &Path) -> PathBuf {
    match (path.parent(), path.file_name()) {
        (Some(parent), Some(name)) => parent.canonicalize().unwrap_or_else(|_| whole(parent)).join(name),
        (Some(parent), None) if path.components().next_back() == Some(Component::ParentDir) => {
            path.canonicalize().unwrap_or_else(|_| whole(parent).parent().map(Path::to_owned).unwrap_or_default())
        }
        _ => path.to_owned(),
    }
}
