//! The key of pseudonymous records: random numbers from the operating system, and the file that maps them to patients.
//!
//! ```text
//! # Keep inside the program, separate from the export: …
//! number,patient
//! 480113,P-014
//! ```
//!
//! The file is new, readable by its owner only (mode 0600), and never in the records or the export. It is written before
//! the export is renamed into place, so that no export lacks its key.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

use super::outside::{must_have_folder, must_lie_outside};
use super::whole::{Access, cannot, parent, write};
use super::{Folder, HandedOut};
use crate::problem::Failure;
use crate::text;

/// The first line of the file.
const FIRST_LINE: &str =
    "# Keep inside the program, separate from the export: this list maps each number to a patient.";

/// The smallest range from which numbers are drawn, so that they reveal nothing about the number of patients.
const RANGE: u32 = 100_000;

/// A key file that is not written yet.
#[derive(Debug)]
pub struct KeyFile {
    path: PathBuf,
}

impl KeyFile {
    /// Reserves the name of a new key file, outside the records and the export.
    ///
    /// # Errors
    /// The name is taken or is not a file name, or is in one of the two folders.
    pub fn at(path: &Path, records: &Folder, export: &HandedOut) -> Result<KeyFile, Failure> {
        let shown = text::path(path);
        if path.symlink_metadata().is_ok() {
            return Err(taken(path));
        }
        let Some(name) = path.file_name() else {
            return Err(Failure::new(format!("{shown} is not the name of a file; name a new file with --key")));
        };
        must_have_folder(path)?;
        let whole = parent(path).canonicalize().map_err(|error| cannot(path, &error))?.join(name);
        if whole.starts_with(export.dir()) {
            return Err(Failure::new(format!(
                "{shown} is inside the export, which leaves the program; name a key file outside it"
            )));
        }
        must_lie_outside(path, Some(records.root()))?;
        Ok(KeyFile { path: whole })
    }

    /// Writes the numbers in order, then renames the export into place; removes the key file if that fails.
    ///
    /// # Errors
    /// One of the two cannot be written; neither is left.
    pub(crate) fn show_with(self, numbered: &[(u32, &str)], export: HandedOut) -> Result<(), Failure> {
        let rows: String = numbered.iter().map(|(number, code)| format!("{number},{code}\n")).collect();
        if !write(&self.path, &format!("{FIRST_LINE}\nnumber,patient\n{rows}"), Access::OwnerOnly, false)? {
            return Err(taken(&self.path));
        }
        export.show().inspect_err(|_| _ = fs::remove_file(&self.path))
    }
}

/// Draws `count` different numbers from the operating system, in random order.
///
/// # Errors
/// The operating system returns none.
pub fn random_numbers(count: usize) -> Result<Vec<u32>, Failure> {
    let least = RANGE.max(u32::try_from(count).unwrap_or(u32::MAX / 100).saturating_mul(10));
    let range = least.saturating_mul(9);
    let fair = u32::MAX - u32::MAX % range;
    let (mut seen, mut numbers) = (BTreeSet::new(), Vec::with_capacity(count));
    while numbers.len() < count {
        let drawn = getrandom::u32()
            .map_err(|error| Failure::unwritten(format!("the system gives no random numbers ({error})")))?;
        let number = least + drawn % range;
        if drawn < fair && seen.insert(number) {
            numbers.push(number);
        }
    }
    Ok(numbers)
}

fn taken(path: &Path) -> Failure {
    Failure::new(format!(
        "{} already exists, and a key file is never overwritten; name a new file with --key",
        text::path(path)
    ))
}

#[cfg(test)]
mod tests {
    use super::random_numbers;

    #[test]
    fn numbers_are_different_and_in_no_order() {
        let (some, others) = (random_numbers(500).unwrap(), random_numbers(500).unwrap());
        let mut sorted = some.clone();
        sorted.sort_unstable();
        sorted.dedup();
        assert_eq!(sorted.len(), 500);
        assert!(!some.is_sorted() && some != others);
        assert!(some.iter().all(|number| (100_000..1_000_000).contains(number)));
        assert_eq!(random_numbers(0).unwrap(), Vec::<u32>::new());
    }
}
