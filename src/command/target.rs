//! The record that a typed name refers to: a path, or a file name that only one patient has.

use std::path::Path;
use std::sync::Arc;

use crate::event::{EventName, is_patient_code, is_person_code};
use crate::place::RecordText;
use crate::problem::Failure;
use crate::program::Program;
use crate::text;

/// A record on file.
#[derive(Debug, Clone)]
pub(super) struct RecordTarget {
    /// The folder of the patient or person, such as `patients/P-014`.
    pub(super) owner: String,
    /// The file name.
    pub(super) name: EventName,
    /// The path and text.
    pub(super) source: Arc<RecordText>,
}

impl RecordTarget {
    /// The record that `typed` refers to.
    ///
    /// # Errors
    /// No such record, several records, or a file that is not a record.
    pub(super) fn of(program: &Program, typed: &Path, here: &Path) -> Result<RecordTarget, Failure> {
        let meant = program.folder.meant(typed, here).into_iter().find(|file| program.folder.holds(file));
        let file = match meant {
            Some(file) => file,
            None => named(program, &typed.to_string_lossy())?,
        };
        RecordTarget::of_file(program, &file)
    }

    /// The record at a path in the records folder, such as `patients/P-014/2026/2026-11-23T1855-change.toml`.
    ///
    /// # Errors
    /// It is not a record, or cannot be read.
    pub(super) fn of_file(program: &Program, file: &str) -> Result<RecordTarget, Failure> {
        let no_record = || {
            Failure::new(format!(
                "{} is not a record. Write the path of one, such as patients/P-014/2026/2026-11-23T1855-change.toml.",
                text::visible(file)
            ))
        };
        let (folder, name) = file.rsplit_once('/').ok_or_else(no_record)?;
        let (owner, _year) = folder.rsplit_once('/').ok_or_else(no_record)?;
        let is_of_somebody = match owner.split_once('/') {
            Some(("patients", code)) => is_patient_code(code),
            Some(("staff", code)) => is_person_code(code),
            _ => false,
        };
        if !is_of_somebody {
            return Err(no_record());
        }
        let name = EventName::read(name).ok_or_else(no_record)?;
        let mut problems = Vec::new();
        let Some(source) = program.folder.read(file, &mut problems) else {
            let why = problems.first().map(|problem| text::in_sentences(&[&problem.message, &problem.help]));
            return Err(Failure::new(format!("{}: {}", text::visible(file), why.unwrap_or_default())));
        };
        Ok(RecordTarget { owner: owner.to_owned(), name, source })
    }
}

/// The patients' records with a name; with `code`, those of this patient.
pub(super) fn paths_of(program: &Program, code: Option<&str>, name: EventName) -> Vec<String> {
    let codes = program.patients.codes.iter().filter(|known| code.is_none_or(|code| code == known.as_str()));
    let paths = codes.map(|code| format!("patients/{code}/{}/{name}", name.year()));
    paths.filter(|path| program.folder.holds(path)).collect()
}

/// The path of a record that was typed as a name, with or without the patient's code before it.
fn named(program: &Program, typed: &str) -> Result<String, Failure> {
    let nothing = || {
        Failure::new(format!(
            "No {} in the records folder {}.",
            text::visible(typed),
            text::path(program.folder.root())
        ))
    };
    let parts: Vec<&str> = typed.trim_start_matches("patients/").split('/').collect();
    let (code, name) = match parts.as_slice() {
        [name] => (None, *name),
        [code, name] => (Some(*code), *name),
        _ => return Err(nothing()),
    };
    let found = paths_of(program, code, EventName::read(name).ok_or_else(nothing)?);
    match found.as_slice() {
        [] => Err(nothing()),
        [one] => Ok(one.clone()),
        [first, second, ..] => Err(Failure::new(format!(
            "{} patients have a record named {name}. Type the full path, such as {first} or {second}.",
            found.len()
        ))),
    }
}
