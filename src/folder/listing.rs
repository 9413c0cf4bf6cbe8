//! The names in the folders of the records: records, ignored names, strays.

use std::ffi::OsStr;

use chrono::Datelike;

use super::{EntryType, Folder, FolderEntry, inside};
use crate::event::{EventName, Kind, is_patient_code, is_person_code};
use crate::patient;
use crate::people;
use crate::policy;
use crate::problem::{Failure, Problem, Rule};
use crate::text;
use crate::word::Word;

/// The names in a year folder: the events, and the problems of other names.
#[derive(Debug, Default)]
pub struct Listing {
    /// The names of events, in order.
    pub events: Vec<EventName>,
    /// The problems of strays, leftovers and foreign files.
    pub problems: Vec<Problem>,
}

/// The folder of one code, a patient's or a staff member's.
#[derive(Debug, Clone, Default)]
pub struct CodeFolder {
    /// The folder's path in the records.
    pub path: String,
    /// Its year folders, in order.
    pub years: Vec<String>,
    /// The problems of other names in it.
    pub problems: Vec<Problem>,
}

/// The names in the folder of all patients.
#[derive(Debug, Default)]
pub struct Patients {
    /// The codes, in order.
    pub codes: Vec<String>,
    /// Names that are not patient codes, each with its problem.
    pub strays: Vec<(String, Problem)>,
}

/// The type of a name that is not a record.
enum NonRecord {
    NotLookedAt,
    Leftover,
    Stray,
    Photograph,
    Foreign,
}

impl Folder {
    /// Lists the patients on file. A name that is not a patient code is listed too, so that no patient is silently left
    /// out.
    ///
    /// # Errors
    /// The folder exists but cannot be listed.
    pub fn patients(&self) -> Result<Patients, Failure> {
        let entries = self.entries_if_there("patients").map_err(|problem| {
            Failure::new(format!("{}: {}; {}", problem.place.file, problem.message, problem.help))
        })?;
        // Without patients there is no such folder, but it is also missing if the network share has just disappeared.
        if entries.is_none() && !self.holds(policy::FILE) {
            let root = text::path(self.root());
            return Err(Failure::new(format!(
                "{root} disappeared during the run; check the disk or the network folder"
            )));
        }
        let entries = entries.unwrap_or_default();
        let mut patients = Patients::default();
        for FolderEntry { name, what } in entries {
            match (name.to_str(), what) {
                (Some(code), EntryType::Folder) if is_patient_code(code) => patients.codes.push(code.to_owned()),
                _ if is_not_looked_at(&name) => {}
                _ => {
                    let shown = text::file_name(&name);
                    let problem = Problem::of_file(
                        Rule::StrayFolder,
                        format!("patients/{shown}"),
                        "this is not a folder named with a patient code",
                        "a patient code is 2 to 16 of A-Z, 0-9 and hyphen, starting with a letter; rename the folder, or move it out of patients",
                    );
                    patients.strays.push((shown, problem));
                }
            }
        }
        Ok(patients)
    }

    /// The folder of a patient.
    pub fn patient(&self, code: &str) -> CodeFolder {
        self.code_folder(format!("patients/{code}"), Some(patient::FILE))
    }

    /// The folder of a staff member; empty if there is none.
    pub(crate) fn staff_member(&self, code: &str) -> CodeFolder {
        let path = format!("staff/{code}");
        match self.entries("staff") {
            Err(problem) => CodeFolder { path, years: Vec::new(), problems: vec![*problem] },
            Ok(entries) if entries.iter().any(|entry| entry.name == code) => self.code_folder(path, None),
            Ok(_) => CodeFolder { path, ..CodeFolder::default() },
        }
    }

    /// The folder of one code by its path, such as `patients/P-014` or `staff/rn-07`.
    pub fn years(&self, path: &str) -> CodeFolder {
        self.code_folder(path.to_owned(), path.starts_with("patients/").then_some(patient::FILE))
    }

    /// The staff folders, and the problems of other names.
    pub fn staff(&self) -> (Vec<(String, CodeFolder)>, Vec<Problem>) {
        let mut problems = Vec::new();
        let mut folders = Vec::new();
        for FolderEntry { name, what } in self.entries("staff").unwrap_or_else(|problem| {
            problems.push(*problem);
            Vec::new()
        }) {
            match name.to_str() {
                Some(code) if what == EntryType::Folder && is_person_code(code) => {
                    folders.push((code.to_owned(), self.code_folder(format!("staff/{code}"), None)))
                }
                _ => problems.extend(elsewhere("staff", &name, what)),
            }
        }
        (folders, problems)
    }

    /// The problems of the names at the top level of the records folder.
    pub(crate) fn problems_at_top(&self) -> Vec<Problem> {
        let known = ["patients", "staff", "hooks", "sheet", "README.md", policy::FILE, people::FILE];
        match self.entries("") {
            Err(problem) => vec![*problem],
            Ok(entries) => entries
                .iter()
                .filter(|entry| known.iter().all(|name| *name != entry.name))
                .filter_map(|entry| elsewhere("", &entry.name, entry.what))
                .collect(),
        }
    }

    /// The events of one year folder.
    pub fn year(&self, folder: &str, year: &str) -> Listing {
        let path = format!("{folder}/{year}");
        let entries = match self.entries_of_known(&path) {
            Ok(entries) => entries,
            Err(problem) => return Listing { events: Vec::new(), problems: vec![*problem] },
        };
        let mut listing = Listing::default();
        let own: Option<i32> = year.parse().ok();
        for FolderEntry { name, what } in entries {
            let known = name.to_str().and_then(EventName::read).filter(|name| own == Some(name.date.year()));
            match (known, what) {
                (Some(name), EntryType::File) => listing.events.push(name),
                _ => listing.problems.extend(stray(&path, &name, what)),
            }
        }
        listing.events.sort();
        listing
    }

    fn code_folder(&self, path: String, own_file: Option<&str>) -> CodeFolder {
        let mut folder = CodeFolder { path, ..CodeFolder::default() };
        let entries = match own_file {
            Some(_) => self.entries_of_known(&folder.path),
            None => self.entries(&folder.path),
        };
        let entries = entries.unwrap_or_else(|problem| {
            folder.problems.push(*problem);
            Vec::new()
        });
        for FolderEntry { name, what } in entries {
            match (name.to_str(), what) {
                (Some(year), EntryType::Folder) if year.len() == 4 && year.bytes().all(|b| b.is_ascii_digit()) => {
                    folder.years.push(year.to_owned())
                }
                // The type is checked when the file is opened.
                (Some(name), EntryType::File | EntryType::Other) if Some(name) == own_file => {}
                _ => folder.problems.extend(stray(&folder.path, &name, what)),
            }
        }
        folder
    }
}

/// Returns the problem of a name in a folder of events or of a code.
fn stray(folder: &str, name: &OsStr, what: EntryType) -> Option<Problem> {
    let path = inside(folder, &name.to_owned());
    match (sort_of(name), what) {
        (NonRecord::NotLookedAt, EntryType::File) if is_copy(name) => Some(Problem::of_file(
            Rule::ForeignFile,
            path,
            "this copy of a record is not read",
            "an editor or a refused write left it; compare it with the record of that name, then remove it",
        )),
        (NonRecord::NotLookedAt, _) => None,
        (NonRecord::Leftover, _) => Some(Problem::of_file(
            Rule::LeftoverOfAWrite,
            path,
            "a write was interrupted here",
            "nothing is lost; the next write into this folder removes it",
        )),
        (_, EntryType::Folder) => Some(Problem::of_file(
            Rule::StrayFolder,
            path,
            "no folder belongs here",
            "records are in folders named by year, such as 2026; move this folder out of the records",
        )),
        (_, EntryType::Other) => Some(super::not_a_regular_file(&path, "a link, a pipe or a device")),
        (NonRecord::Stray, EntryType::File) => Some(Problem::of_file(
            Rule::StrayName,
            path,
            "the name looks like a record, but is not valid",
            right_name(name),
        )),
        (NonRecord::Photograph, EntryType::File) => Some(photograph(path)),
        (NonRecord::Foreign, EntryType::File) => Some(foreign(path)),
    }
}

/// Returns the right name for a stray: the folder of its year, the nearest kind, or the pattern of all names.
fn right_name(name: &OsStr) -> String {
    let name = name.to_string_lossy();
    if let Some(event) = EventName::read(&name) {
        return format!("it belongs in the folder {}; check the year", event.year());
    }
    let kind =
        name.trim_end_matches(".toml").rsplit('-').find(|part| part.starts_with(|c: char| c.is_ascii_lowercase()));
    let near =
        kind.and_then(|kind| text::nearest(kind, Kind::WORDS.iter().copied())).filter(|near| Some(*near) != kind);
    let meant = near.map(|near| format!("did you mean {near}? ")).unwrap_or_default();
    format!(
        "{meant}records are named DATE[Thhmm]-KIND[-N].toml, such as 2026-11-23T1840-shower.toml, in the folder of their \
         year; rename the file or move it out of this folder"
    )
}

/// Returns the problem of a name in a folder without records.
fn elsewhere(folder: &str, name: &OsStr, what: EntryType) -> Option<Problem> {
    let path = inside(folder, &name.to_owned());
    match sort_of(name) {
        NonRecord::NotLookedAt => None,
        NonRecord::Leftover => Some(Problem::of_file(
            Rule::LeftoverOfAWrite,
            path,
            "a write was interrupted here",
            "nothing is lost; the next write into this folder removes it",
        )),
        NonRecord::Stray => Some(Problem::of_file(
            Rule::StrayElsewhere,
            path,
            "this looks like a record, but no record belongs here",
            "move it to the folder of its patient and year",
        )),
        NonRecord::Photograph => Some(photograph(path)),
        NonRecord::Foreign if what == EntryType::Folder && folder == "staff" => Some(Problem::of_file(
            Rule::StrayElsewhere,
            path,
            "this is not a folder named with a staff code",
            "rename it to the code, or move it out of staff",
        )),
        NonRecord::Foreign => Some(foreign(path)),
    }
}

fn photograph(path: String) -> Problem {
    Problem::of_file(
        Rule::Photograph,
        path,
        "this looks like a photograph",
        "move it to where the program keeps pictures",
    )
}

fn foreign(path: String) -> Problem {
    Problem::of_file(Rule::ForeignFile, path, "this is not a record", "it is ignored; move it out of the records")
}

fn sort_of(name: &OsStr) -> NonRecord {
    let lower = name.to_string_lossy().to_ascii_lowercase();
    let pictures = ["jpg", "jpeg", "png", "heic", "heif", "gif", "webp", "tif", "tiff", "bmp", "mp4", "mov"];
    if lower.starts_with('.') && lower.ends_with(".tmp") {
        NonRecord::Leftover
    } else if is_not_looked_at(name) {
        NonRecord::NotLookedAt
    } else if lower.starts_with(|c: char| c.is_ascii_digit()) || lower.contains(".toml") {
        NonRecord::Stray
    } else if pictures.iter().any(|ending| lower.ends_with(&format!(".{ending}"))) {
        NonRecord::Photograph
    } else {
        NonRecord::Foreign
    }
}

/// Returns true for a name that an editor, a merge or a refused write makes of the name of a record.
fn is_copy(name: &OsStr) -> bool {
    let name = name.to_string_lossy();
    !name.starts_with(['.', '#'])
        && ["~", ".bak", ".orig", ".rej"].iter().any(|ending| name.ends_with(&format!(".toml{ending}")))
}

/// Returns true for the files of editors and of git, links or not: they are ignored.
fn is_not_looked_at(name: &OsStr) -> bool {
    let name = name.to_string_lossy();
    name.starts_with(['.', '#'])
        || ["~", ".bak", ".orig", ".rej", ".swp", ".tmp"].iter().any(|ending| name.ends_with(ending))
}
