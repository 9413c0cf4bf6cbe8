//! Finds edits and deletions of committed records: a correction must be stated in the record, and no record is deleted.
//!
//! Compares each commit with its parents, and the working folder with the last commit. A file that was restored is no
//! longer reported.

use std::collections::BTreeMap;
use std::sync::Arc;

use crate::day::Calendar;
use crate::event::{Event, EventName};
use crate::git::{CommitDiff, FileChange, ParentDiff, Repository};
use crate::ledger::{Deed, content, deeds, is_back, says_again, says_when_or_what};
use crate::place::RecordText;
use crate::problem::{Problem, Rule};
use crate::program::Program;

/// Finds records edited without an amendment, or deleted instead of voided, in steps ordered from old to new.
pub fn since(program: &Program, repository: &Repository, steps: &[CommitDiff]) -> Vec<Problem> {
    let mut judge = Judge { program, repository, calendars: BTreeMap::new(), found: Vec::new() };
    for step in steps {
        for (n, side) in step.sides.iter().enumerate() {
            let renamed = renames(side, |change, is_after| judge.text(change, is_after));
            side.changes.iter().for_each(|change| judge.take(step, n, change, &renamed));
        }
    }
    judge.found.into_iter().map(|found| found.problem).collect()
}

/// Returns true if a text is usable as the record named by its file.
pub fn is_usable(file: &str, text: &str, calendar: &Calendar) -> bool {
    let name = file.rsplit('/').next().and_then(EventName::read);
    let source = Arc::new(RecordText { file: file.to_owned(), text: text.to_owned() });
    name.is_some_and(|name| Event::read(&source, name, calendar, &mut Vec::new()).is_some())
}

/// The files whose full content reappears under another name of the same patient or person: old name and new name.
/// `text` returns the text before or after a change.
pub fn renames(side: &ParentDiff, text: impl Fn(&FileChange, bool) -> Option<String>) -> BTreeMap<&str, &str> {
    if side.changes.iter().all(|change| change.after.is_some()) {
        return BTreeMap::new();
    }
    let mut new: BTreeMap<(&str, String), Vec<&str>> = BTreeMap::new();
    for change in side.changes.iter().filter(|change| change.before.is_none()) {
        if let Some(text) = text(change, true) {
            new.entry((owner(&change.file), content(&text))).or_default().push(&change.file);
        }
    }
    let gone = side.changes.iter().filter(|change| change.after.is_none());
    let renamed = gone.filter_map(|change| {
        let content = content(&text(change, false)?);
        Some((change.file.as_str(), new.get_mut(&(owner(&change.file), content))?.pop()?))
    });
    renamed.collect()
}

/// The folder of the patient or staff member that a file belongs to.
pub fn owner(file: &str) -> &str {
    file.match_indices('/').nth(1).map_or(file, |(at, _)| &file[..at])
}

struct Judge<'a> {
    program: &'a Program,
    repository: &'a Repository,
    calendars: BTreeMap<String, Calendar>,
    found: Vec<Unamended>,
}

/// A record that changed without an amendment.
struct Unamended {
    file: String,
    /// The earlier text.
    old: String,
    /// The changed keys; empty if the record can no longer be read.
    keys: Vec<String>,
    problem: Problem,
}

/// The facts that were restored to their earlier state.
#[derive(Default)]
struct Again {
    keys: Vec<String>,
    is_whole: bool,
}

impl Judge<'_> {
    fn take(&mut self, step: &CommitDiff, n: usize, change: &FileChange, renamed: &BTreeMap<&str, &str>) {
        let side = &step.sides[n];
        let Some(old) = self.text(change, false) else {
            // A file that was not text before had no facts; but its new text may restore an earlier one.
            self.put_back(change, false);
            return;
        };
        let problem = match &change.after {
            None if renamed.contains_key(change.file.as_str()) => None,
            None => Some((deleted(step, side, change), Vec::new())),
            Some(_) => {
                let new = self.text(change, true).unwrap_or_default();
                let was_usable = self.is_usable(&change.file, &old);
                let again = self.put_back(change, was_usable);
                let edited = deeds(&old, was_usable, &new).into_iter().find_map(|deed| match deed {
                    Deed::Edited(keys) if keys.is_empty() => Some(keys),
                    Deed::Edited(keys) => {
                        let rest: Vec<String> = keys.into_iter().filter(|key| !again.keys.contains(key)).collect();
                        Some(rest).filter(|rest| !rest.is_empty())
                    }
                    _ => None,
                });
                edited.filter(|_| !again.is_whole).map(|keys| (edited_problem(step, side, change, &keys), keys))
            }
        };
        let Some((problem, keys)) = problem else { return };
        let is_known = |found: &Unamended| found.file == change.file && found.problem.message == problem.message;
        if !self.has_arrived(step, n, change) && !self.found.iter().any(is_known) {
            self.found.push(Unamended { file: change.file.clone(), old, keys, problem });
        }
    }

    /// The facts of a file that a change restores; their earlier change is no longer a problem.
    ///
    /// Includes all facts of a file that was unusable in between: a corrected file is not compared further.
    fn put_back(&mut self, change: &FileChange, was_usable: bool) -> Again {
        let mut again = Again::default();
        if let Some(new) = self.text(change, true) {
            self.found.retain(|found| {
                let keys = if was_usable { &found.keys[..] } else { &[] };
                let is_put_back = found.file == change.file && says_again(&found.old, &new, keys);
                if is_put_back {
                    again.keys.extend(found.keys.iter().cloned());
                    again.is_whole |= is_back(&found.old, &new);
                }
                !is_put_back
            });
        }
        again
    }

    /// Returns true if a difference from one parent of a merge comes from another parent, where it was already checked.
    fn has_arrived(&self, step: &CommitDiff, n: usize, change: &FileChange) -> bool {
        let Some(before) = &change.before else { return false };
        let Some(own) = &step.sides[n].parent else { return false };
        let new = self.text(change, true);
        step.sides.iter().enumerate().filter(|(other, _)| *other != n).any(|(_, other)| {
            let differing = other.changes.iter().find(|there| there.file == change.file);
            let is_as_there = differing.is_none_or(|there| there.before.is_some() && self.text(there, false) == new);
            let parent = other.parent.as_deref().unwrap_or_default();
            is_as_there && self.repository.was_before_both(own, parent, &change.file, before)
        })
    }

    fn text(&self, change: &FileChange, is_after: bool) -> Option<String> {
        let version = if is_after { &change.after } else { &change.before };
        self.program.folder.text_of(self.repository, &change.file, version.as_ref()?)
    }

    fn is_usable(&mut self, file: &str, text: &str) -> bool {
        let calendar = self.calendars.entry(owner(file).to_owned()).or_insert_with(|| calendar(self.program, file));
        is_usable(file, text, calendar)
    }
}

/// The calendar of a file's patient; the program's calendar if there is none.
pub fn calendar(program: &Program, file: &str) -> Calendar {
    let patient = owner(file).strip_prefix("patients/").filter(|code| program.patients.codes.iter().any(|c| c == code));
    let patient = patient.and_then(|code| program.patient(code, &mut Vec::new()));
    patient.map_or_else(|| program.calendar(), |patient| patient.calendar)
}

/// "in commit abc1234 of 2026-11-20".
fn when(step: &CommitDiff) -> String {
    match &step.commit {
        Some(commit) => format!("in commit {} of {}", commit.short(), commit.when.date_naive()),
        None => "since the last commit, not committed yet".to_owned(),
    }
}

/// The command that restores the earlier text.
fn restore(side: &ParentDiff, change: &FileChange) -> String {
    let parent = side.parent.as_deref().unwrap_or("HEAD");
    format!("`git checkout {} -- {}`", parent.get(..7).unwrap_or(parent), change.file)
}

fn deleted(step: &CommitDiff, side: &ParentDiff, change: &FileChange) -> Problem {
    Problem::of_file(
        Rule::DeletedRecord,
        &change.file,
        format!("the record was deleted instead of voided, {}", when(step)),
        format!("restore it with {}, then add [void] with `at`, `by` and `why`", restore(side, change)),
    )
}

fn edited_problem(step: &CommitDiff, side: &ParentDiff, change: &FileChange, keys: &[String]) -> Problem {
    let what = match keys {
        [] => "the record can no longer be read".to_owned(),
        [key] => format!("`{key}` was changed"),
        [key, rest @ ..] => format!("`{key}` and {} more were changed", rest.len()),
    };
    let then = if keys.iter().any(|key| says_when_or_what(key)) {
        "void the record and write a new one; no amendment may change `at`, `on` or `kind`"
    } else if keys.iter().any(|key| key == "amended" || key == "void") {
        "add another row; an earlier correction must not change"
    } else {
        "make the correction with a new [[amended]] row: `at`, `by`, `why` and `was`"
    };
    Problem::of_file(
        Rule::EditedAfterCommit,
        &change.file,
        format!("{what} without an amendment, {}", when(step)),
        format!("restore it with {} and commit it; then {then}", restore(side, change)),
    )
}
