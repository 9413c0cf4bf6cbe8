//! The rules for a run: no control characters, no omitted patient, no unrequested write.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

use exitsite::command::Outcome;
use exitsite::text::{self, is_unprintable};
use serde_json::Value;

use crate::commands::Run;

/// All files and links in a folder; links are not followed.
pub(crate) fn everything(root: &Path) -> Vec<PathBuf> {
    let mut paths = Vec::new();
    let mut folders = vec![root.to_owned()];
    while let Some(folder) = folders.pop() {
        for entry in fs::read_dir(&folder).into_iter().flatten().flatten() {
            let path = entry.path();
            match entry.file_type().unwrap().is_dir() {
                true => folders.push(path),
                false => paths.push(path),
            }
        }
    }
    paths.sort();
    paths
}

/// The contents of a folder: files with their bytes, other entries by name.
pub(crate) struct State(BTreeMap<PathBuf, Option<Vec<u8>>>);

impl State {
    pub(crate) fn of(root: &Path) -> State {
        let bytes = |path: &Path| path.symlink_metadata().unwrap().is_file().then(|| fs::read(path).unwrap());
        State(everything(root).into_iter().map(|path| (path.clone(), bytes(&path))).collect())
    }
}

/// The faults of a run's changes to the records.
pub(crate) fn written(run: &Run, before: &State, after: &State) -> Vec<String> {
    let mut told = Vec::new();
    let gone = before.0.keys().filter(|path| !after.0.contains_key(*path));
    // The next write removes the temporary file of an interrupted one.
    let gone = gone.filter(|path| !(run.writes && path.to_string_lossy().ends_with(".tmp")));
    told.extend(gone.map(|path| format!("it removed {}", path.display())));
    let changed = after.0.iter().filter(|(path, bytes)| before.0.get(*path) != Some(bytes));
    let changed: Vec<String> = changed.map(|(path, _)| path.display().to_string()).collect();
    match run.writes {
        false if !changed.is_empty() => told.push(format!("it wrote {}", changed.join(", "))),
        true => {
            let is_elsewhere =
                |path: &&String| !path.contains("/records/patients/") && !path.contains("/records/staff/");
            told.extend(changed.iter().filter(is_elsewhere).map(|path| format!("it wrote {path}")));
        }
        false => {}
    }
    told
}

/// True if the state of `alert` notes that its line was printed before; the same line is printed once in
/// `repeat_hours`.
fn has_printed_before(run: &Run) -> bool {
    let state = run.arguments.iter().position(|argument| argument == "--state");
    let file = state.and_then(|at| run.arguments.get(at + 1)).filter(|_| run.arguments[0] == "alert");
    file.and_then(|file| fs::read_to_string(file).ok()).is_some_and(|text| text.contains("\"standard error\""))
}

/// The faults of a run's output and exit status.
pub(crate) fn outcome(run: &Run, outcome: &Outcome, root: &Path) -> Vec<String> {
    let mut told = Vec::new();
    for (where_, text) in [("standard output", &outcome.stdout), ("standard error", &outcome.stderr)] {
        if let Some(at) = text.find(|c| is_unprintable(c) && !matches!(c, '\n' | '\t' | '\r')) {
            let around: String = text[..at].chars().rev().take(60).collect::<Vec<_>>().into_iter().rev().collect();
            told.push(format!("raw on {where_} behind {around:?}"));
        }
    }
    if outcome.status > 3 {
        told.push(format!("exit status {}", outcome.status));
    }
    if outcome.status == 2 && outcome.stderr.is_empty() && !has_printed_before(run) {
        told.push("it failed and does not say why".to_owned());
    }
    if run.is_census && outcome.status != 2 {
        told.extend(nobody_absent(&outcome.stdout, root));
    }
    told
}

/// The patients of the folder missing from the rows of the due list, and a census that does not count them all.
fn nobody_absent(report: &str, root: &Path) -> Vec<String> {
    let Ok(report) = serde_json::from_str::<Value>(report) else { return vec!["the report is no JSON".to_owned()] };
    let rows: Vec<&str> =
        report["rows"].as_array().into_iter().flatten().filter_map(|row| row["patient"].as_str()).collect();
    let names = fs::read_dir(root.join("patients")).into_iter().flatten().flatten().map(|entry| entry.file_name());
    let is_looked_at = |name: &std::ffi::OsString| {
        let name = name.to_string_lossy();
        let endings = ["~", ".bak", ".orig", ".rej", ".swp", ".tmp"];
        !name.starts_with(['.', '#']) && !endings.iter().any(|ending| name.ends_with(ending))
    };
    let names: Vec<String> = names.filter(is_looked_at).map(|name| text::file_name(&name)).collect();
    let mut told: Vec<String> =
        names.iter().filter(|name| !rows.contains(&name.as_str())).map(|name| format!("{name} is in no row")).collect();
    if report["census"]["on_file"].as_u64() != Some(names.len() as u64) {
        told.push(format!("{} on file, but the census counts {}", names.len(), report["census"]["on_file"]));
    }
    told
}
