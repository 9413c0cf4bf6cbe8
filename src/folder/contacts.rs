//! The contacts file: names and telephone numbers that stay on one computer, so it is read only where no other user can
//! read it and no commit can take it along.

use std::os::unix::fs::MetadataExt;
use std::path::{Path, PathBuf};

use super::Folder;
use super::given::read_private;
use super::outside::{must_lie_outside, write_private};
use super::whole::parent;
use crate::problem::Failure;
use crate::text;

/// The largest contacts file, in bytes.
const LARGEST: u64 = 1_000_000;

/// The name of a git repository in a work tree.
const GIT: &str = ".git";

/// Reads the contacts file of a records folder.
///
/// # Errors
/// It lies in a records folder or a git work tree, others than its owner may read it, it is another user's, no regular file,
/// too large, or cannot be read; one sentence says what to do.
pub fn read_contacts(path: &Path, records: &Folder) -> Result<Vec<u8>, Failure> {
    must_be_kept_apart(path, Some(records.root()))?;
    let bytes = read_private(path, LARGEST)?;
    let owner = path.metadata().map(|about| about.uid());
    if owner.is_ok_and(|owner| owner != rustix::process::geteuid().as_raw()) {
        return Err(Failure::new(format!(
            "{} belongs to another user; keep a contacts file of your own, with mode 0600",
            text::path(path)
        )));
    }
    Ok(bytes)
}

/// Writes a page that holds names and telephone numbers, for its owner alone, and in no git work tree. An earlier one is
/// replaced only if its beginning holds `mark`.
///
/// # Errors
/// As those of [`super::write_outside`]; or the path lies in a git work tree.
pub fn write_with_contacts(path: &Path, page: &str, mark: &str) -> Result<(), Failure> {
    must_be_kept_apart(path, None)?;
    write_private(path, page, Some(mark))
}

/// Checks that a path lies in no records folder and no git work tree. A link leads elsewhere, so both places count.
fn must_be_kept_apart(path: &Path, records: Option<&Path>) -> Result<(), Failure> {
    let shown = text::path(path);
    let keep = "names and telephone numbers are no records; keep it in a folder of your own";
    must_lie_outside(path, records)
        .map_err(|_| Failure::new(format!("{shown} is inside a records folder, and {keep}")))?;
    let nearest = path.ancestors().find_map(|path| parent(path).canonicalize().ok());
    let is_inside = |path: PathBuf| path.ancestors().any(|above| above.join(GIT).symlink_metadata().is_ok());
    if [nearest, path.canonicalize().ok()].into_iter().flatten().any(is_inside) {
        return Err(Failure::new(format!("{shown} is inside a git work tree, and {keep}")));
    }
    Ok(())
}
