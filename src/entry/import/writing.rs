//! A plan carried out: what is added to records on file first, then the new records; or none of it.
//!
//! Where something cannot be written, what was written in this run is taken back. Where a run is killed, another one
//! finds what is on file and finishes the work.

use super::plan::{Addition, Plan};
use crate::folder::{Folder, Written};
use crate::problem::Failure;

/// What was written.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Done {
    /// What became of each new record, in the order of the plan.
    pub written: Vec<Written>,
}

/// Writes what a plan says. `progress` is told how many of how many files are written.
///
/// # Errors
/// A file cannot be written, or was changed meanwhile: what was written in this run is taken back, or named if it cannot be.
pub fn carry_out(folder: &Folder, plan: &Plan, progress: impl Fn(usize, usize)) -> Result<Done, Failure> {
    let records = plan.new_records();
    let additions: Vec<&Addition> = plan.additions().collect();
    let of = records.len() + additions.len();
    for (n, addition) in additions.iter().enumerate() {
        if let Err(failure) = folder.replace(&addition.file, &addition.was, &addition.text) {
            let failure = Failure::new(format!("{failure}; no row was imported"));
            return Err(take_back(folder, &additions[..n], failure));
        }
        progress(n + 1, of);
    }
    match folder.write_new(&records, |done| progress(additions.len() + done, of)) {
        Ok(written) => Ok(Done { written }),
        Err(failure) => Err(take_back(folder, &additions, failure)),
    }
}

/// Gives the records that were added to their former text.
fn take_back(folder: &Folder, additions: &[&Addition], failure: Failure) -> Failure {
    let is_left = |addition: &&&Addition| folder.replace(&addition.file, &addition.text, &addition.was).is_err();
    let left: Vec<&str> = additions.iter().filter(is_left).map(|addition| addition.file.as_str()).collect();
    if left.is_empty() {
        return failure;
    }
    Failure::new(format!("{failure}; the additions to {} stay; running it again completes the work", left.join(", ")))
}
