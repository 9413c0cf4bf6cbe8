//! The key of pseudonymous records: random numbers from the operating system, and the file that lists whose they are.
//!
//! ```text
//! # Keep inside the program, apart from the export: …
//! number,patient
//! 480113,P-014
//! ```
//!
//! The file is new, for its owner alone (mode 0600), and never in the records or in the folder that leaves. It is there
//! before that folder is, so that no export is ever without its key.

use std::collections::BTreeSet;
use std::fs;
use std::io::Write;
use std::path::{Path, PathBuf};

use tempfile::NamedTempFile;

use super::write::cannot;
use super::{Folder, HandedOut};
use crate::problem::Failure;
use crate::text;

/// Said in the first line of the file.
const FIRST_LINE: &str =
    "# Keep inside the program, apart from the export: this list says which patient each number is.";

/// The smallest range that numbers are drawn from, so that they say nothing about how many patients there are.
const RANGE: u32 = 100_000;

/// A key file that is being written.
#[derive(Debug)]
pub struct KeyFile {
    path: PathBuf,
    whole: NamedTempFile,
}

impl KeyFile {
    /// Begins a key file that is new, outside of the records and outside of the folder that leaves.
    ///
    /// # Errors
    /// Something has the name, it lies in one of the two folders, or nothing can be written there; nothing was changed.
    pub fn begin(path: &Path, records: &Folder, export: &HandedOut) -> Result<KeyFile, Failure> {
        let shown = text::path(path);
        let failed = |error: std::io::Error| cannot(path, &error);
        if path.symlink_metadata().is_ok() {
            return Err(taken(path));
        }
        let (Some(parent), Some(name)) = (path.parent(), path.file_name()) else {
            return Err(Failure::new(format!("{shown} is not the name of a file; name a new file with --key")));
        };
        if !parent.is_dir() {
            return Err(Failure::new(format!(
                "there is no folder {}; make it first, or name another",
                text::path(parent)
            )));
        }
        let whole_path = parent.canonicalize().map_err(failed)?.join(name);
        if whole_path.starts_with(export.dir()) {
            return Err(Failure::new(format!(
                "{shown} is inside the export, which leaves the program; name a key file outside of it"
            )));
        }
        if records.root().canonicalize().is_ok_and(|root| whole_path.starts_with(root)) {
            return Err(Failure::new(format!(
                "{shown} is inside the records, where only records belong; name a key file outside of them"
            )));
        }
        // A temporary file is for its owner alone, and so is what it becomes.
        let whole = tempfile::Builder::new()
            .prefix(".exitsite.")
            .suffix(".tmp")
            .tempfile_in(whole_path.parent().unwrap_or(parent))
            .map_err(failed)?;
        Ok(KeyFile { path: whole_path, whole })
    }

    /// Writes the list, in the order of the numbers.
    ///
    /// # Errors
    /// It cannot be written.
    pub fn write(&mut self, numbered: &[(u32, &str)]) -> Result<(), Failure> {
        let rows: String = numbered.iter().map(|(number, code)| format!("{number},{code}\n")).collect();
        let text = format!("{FIRST_LINE}\nnumber,patient\n{rows}");
        let written = self.whole.write_all(text.as_bytes()).and_then(|()| self.whole.as_file().sync_all());
        written.map_err(|error| cannot(&self.path, &error))
    }

    /// Gives the key file its name, and then the export its own; takes the key file back if that fails.
    ///
    /// # Errors
    /// One of them cannot be given its name; neither is there.
    pub fn show_with(self, export: HandedOut) -> Result<(), Failure> {
        let path = self.path;
        self.whole.persist_noclobber(&path).map_err(|error| match error.error.kind() {
            std::io::ErrorKind::AlreadyExists => taken(&path),
            _ => cannot(&path, &error.error),
        })?;
        export.show().inspect_err(|_| _ = fs::remove_file(&path))
    }
}

/// So many different numbers, each drawn by the operating system, in no order.
///
/// # Errors
/// It gives none.
pub fn random_numbers(count: usize) -> Result<Vec<u32>, Failure> {
    let least = RANGE.max(u32::try_from(count).unwrap_or(u32::MAX / 100).saturating_mul(10));
    let range = least.saturating_mul(9);
    let fair = u32::MAX - u32::MAX % range;
    let (mut seen, mut numbers) = (BTreeSet::new(), Vec::with_capacity(count));
    while numbers.len() < count {
        let drawn = getrandom::u32().map_err(|error| {
            Failure::new(format!("the system gives no random numbers ({error}); nothing was written"))
        })?;
        let number = least + drawn % range;
        if drawn < fair && seen.insert(number) {
            numbers.push(number);
        }
    }
    Ok(numbers)
}

fn taken(path: &Path) -> Failure {
    Failure::new(format!(
        "{} is there already, and a key file is never overwritten; name a new file with --key",
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
