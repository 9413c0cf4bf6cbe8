//! Finds records that another branch has and this folder lacks, for example after restoring a backup or losing a
//! laptop.
//!
//! Left out on purpose: records that only this folder has. They are not lost, only not pushed yet.

use std::sync::Arc;

use super::is_usable;
use crate::event::EventName;
use crate::folder::Folder;
use crate::ledger::{Deed, deeds};
use crate::patient;
use crate::people;
use crate::place::RecordText;
use crate::policy;
use crate::problem::{Problem, Rule};
use crate::program::Program;
use crate::text::visible;

/// The two sides of a comparison.
struct Against<'a> {
    program: &'a Program,
    there: &'a Folder,
    named: &'a str,
}

/// Finds the records of `there`, the folder on branch `named`, that this folder lacks or has in an earlier or different
/// version.
pub fn against(program: &Program, there: &Folder, named: &str) -> Vec<Problem> {
    let against = Against { program, there, named };
    let mut files: Vec<String> = vec![policy::FILE.to_owned(), people::FILE.to_owned()];
    let codes = there.patients().map(|patients| patients.codes).unwrap_or_default();
    let mut owners: Vec<String> = codes.iter().map(|code| format!("patients/{code}")).collect();
    files.extend(owners.iter().map(|owner| format!("{owner}/{}", patient::FILE)));
    owners.extend(there.staff().0.into_iter().map(|(_, own)| own.path));
    for owner in owners {
        for year in there.years(&owner).years {
            let events = there.year(&owner, &year).events;
            files.extend(events.iter().map(|name| format!("{owner}/{year}/{name}")));
        }
    }
    files.iter().filter_map(|file| against.problem(file)).collect()
}

impl Against<'_> {
    fn problem(&self, file: &str) -> Option<Problem> {
        let (named, get) =
            (visible(self.named), format!("`git checkout {} -- {}`", visible(self.named), visible(file)));
        let read = |folder: &Folder| folder.read(file, &mut Vec::new());
        let there = read(self.there)?;
        if !self.program.folder.holds(file) {
            let message = format!("{named} has this record, but this folder does not");
            return Some(Problem::of_file(Rule::MissingHere, file, message, format!("get it with {get}")));
        }
        let here = read(&self.program.folder)?;
        if here.text == there.text {
            return None;
        }
        let is_record = file.rsplit('/').next().is_some_and(|name| EventName::read(name).is_some());
        if !is_record {
            let message = format!("this file differs from the one on {named}");
            let help = format!(
                "`git diff {named} -- {}` shows the differences; keep the correct parts of both",
                visible(file)
            );
            return Some(Problem::of_file(Rule::DiffersThere, file, message, help));
        }
        let (forth, back) = (self.steps(&here, &there), self.steps(&there, &here));
        match (is_progress(&forth), is_progress(&back)) {
            // Corrected, voided or filled in here and not pushed yet; or only the layout differs.
            (_, true) => None,
            (true, false) => {
                let message = format!("{named} has a later version of this record: {}", said(&forth));
                Some(Problem::of_file(Rule::EarlierHere, file, message, format!("get it with {get}")))
            }
            (false, false) => {
                let message =
                    format!("this record differs from the one on {named}, and neither is a correction of the other");
                let help = format!("`git diff {named} -- {}` shows the differences; ask the writer", visible(file));
                Some(Problem::of_file(Rule::DiffersThere, file, message, help))
            }
        }
    }

    fn steps(&self, from: &Arc<RecordText>, to: &Arc<RecordText>) -> Vec<Deed> {
        deeds(&from.text, is_usable(&from.file, &from.text, &self.program.calendar()), &to.text)
    }
}

/// Returns true if the record itself documents every correction from one text to the other.
fn is_progress(deeds: &[Deed]) -> bool {
    deeds.iter().all(|deed| !matches!(deed, Deed::Edited(_)))
}

fn said(deeds: &[Deed]) -> &'static str {
    match deeds.first() {
        Some(Deed::Voided(_)) => "it was voided there",
        Some(Deed::Filled(_)) => "it was completed there",
        Some(Deed::Mended) => "it was corrected there",
        _ => "it was amended there",
    }
}
