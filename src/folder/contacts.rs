//! The contacts file: names and telephone numbers that stay on one computer. It is read only if no other user can read it
//! and no commit can include it.

use std::os::unix::fs::MetadataExt;
use std::path::{Path, PathBuf};

use super::Folder;
use super::given::read_private;
use super::outside::{must_lie_outside, write_private};
use super::whole::parent;
use crate::problem::Failure;
use crate::text;

/// The maximum size of a contacts file, in bytes.
const LARGEST: u64 = 1_000_000;

/// The name of a git repository in a work tree.
const GIT: &str = ".git";

/// Reads the contacts file of a records folder.
///
/// # Errors
/// It is in a records folder or a git work tree, is readable by other users, belongs to another user, is not a regular
/// file, is too large, or cannot be read; the message says what to do.
pub fn read_contacts(path: &Path, records: &Folder) -> Result<Vec<u8>, Failure> {
    must_be_kept_apart(path, Some(records.root()))?;
    let bytes = read_private(path, LARGEST)?;
    let owner = path.metadata().map(|about| about.uid());
    if owner.is_ok_and(|owner| owner != rustix::process::geteuid().as_raw()) {
        return Err(Failure::new(format!(
            "{} belongs to another user; use your own contacts file, with mode 0600",
            text::path(path)
        )));
    }
    Ok(bytes)
}

/// Writes a page with names and telephone numbers, readable by its owner only, outside any git work tree. Replaces an
/// earlier page only if it begins with `mark`.
///
/// # Errors
/// As [`super::write_outside`]; or the path is in a git work tree.
pub fn write_with_contacts(path: &Path, page: &str, mark: &str) -> Result<(), Failure> {
    must_be_kept_apart(path, None)?;
    write_private(path, page, Some(mark))
}

/// Checks that a path is in no records folder and no git work tree. A link points elsewhere, so both locations are
/// checked.
fn must_be_kept_apart(path: &Path, records: Option<&Path>) -> Result<(), Failure> {
    let shown = text::path(path);
    let keep = "names and telephone numbers do not belong in the records; keep the file in a private folder";
    must_lie_outside(path, records)
        .map_err(|_| Failure::new(format!("{shown} is inside a records folder, and {keep}")))?;
    let nearest = path.ancestors().find_map(|path| parent(path).canonicalize().ok());
    let is_inside = |path: PathBuf| path.ancestors().any(|above| above.join(GIT).symlink_metadata().is_ok());
    if [nearest, path.canonicalize().ok()].into_iter().flatten().any(is_inside) {
        return Err(Failure::new(format!("{shown} is inside a git work tree, and {keep}")));
    }
    Ok(())
}
