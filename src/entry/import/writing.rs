//! Carries out a plan, all or nothing: additions to records on file first, then the new records.
//!
//! If a file cannot be written, the files of this run are removed again. After a killed run, another run finds its
//! files and finishes.

use super::plan::{Addition, Plan};
use crate::folder::{Folder, WriteOutcome};
use crate::problem::Failure;
use crate::text::in_sentences;

/// The written files.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct WrittenFiles {
    /// The result of each new record, in the order of the plan.
    pub written: Vec<WriteOutcome>,
}

/// Writes the files of a plan. `progress` gets the number of files written and their total.
///
/// # Errors
/// A file cannot be written, or changed meanwhile. The files of this run are then removed; the message lists those that
/// could not be.
pub fn carry_out(folder: &Folder, plan: &Plan, progress: impl Fn(usize, usize)) -> Result<WrittenFiles, Failure> {
    let records = plan.new_records();
    let additions: Vec<&Addition> = plan.additions().collect();
    let of = records.len() + additions.len();
    for (n, addition) in additions.iter().enumerate() {
        if let Err(failure) = folder.replace(&addition.file, &addition.was, &addition.text) {
            let failure = Failure::new(in_sentences(&[&failure.0, "no row was imported"]));
            return Err(take_back(folder, &additions[..n], failure));
        }
        progress(n + 1, of);
    }
    match folder.write_new(&records, |done| progress(additions.len() + done, of)) {
        Ok(written) => Ok(WrittenFiles { written }),
        Err(failure) => Err(take_back(folder, &additions, failure)),
    }
}

/// Restores the former text of the records that were added to.
fn take_back(folder: &Folder, additions: &[&Addition], failure: Failure) -> Failure {
    let is_left = |addition: &&&Addition| folder.replace(&addition.file, &addition.text, &addition.was).is_err();
    let left: Vec<&str> = additions.iter().filter(is_left).map(|addition| addition.file.as_str()).collect();
    if left.is_empty() {
        return failure;
    }
    let left = format!("the additions to {} remain", left.join(", "));
    Failure::new(in_sentences(&[&failure.0, &left, "run the command again to complete the import"]))
}
