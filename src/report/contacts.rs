//! The contacts file compared with the records: codes and lines, never a name or a number.

use std::collections::BTreeSet;

use chrono::NaiveDate;
use schemars::JsonSchema;
use serde::Serialize;

use crate::entry::Contacts;
use crate::patient::Patient;
use crate::text::same_code;

/// The name under which a report lists a rejected contacts file.
pub(crate) const FILE: &str = "contacts file";

/// The contacts file compared with the patients on file.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct ContactsReport {
    /// The number of entries in the file.
    pub entries: usize,
    /// The number of patients on file whose support has not ended.
    pub patients: usize,
    /// Patients without an entry, by code.
    pub without_entry: Vec<String>,
    /// Entries whose code belongs to no patient or caregiver.
    pub without_code: Vec<StrayEntry>,
    /// Patients whose caregivers are unknown because patient.toml is invalid.
    pub not_known: Vec<String>,
}

/// An entry whose code belongs to no patient or caregiver. The code is withheld: it may be a name in the wrong column.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct StrayEntry {
    /// The line in the file.
    pub line: usize,
    /// The code on file that is a spelling variant of the entry's.
    pub meant: Option<String>,
}

impl ContactsReport {
    /// Returns true if every patient has an entry and every entry a patient or caregiver.
    pub fn is_complete(&self) -> bool {
        self.without_entry.is_empty() && self.without_code.is_empty()
    }
}

/// Compares the entries with the patients on file; `None` is a patient whose patient.toml is invalid.
pub fn report(contacts: &Contacts, patients: Vec<(&str, Option<Patient>)>, today: NaiveDate) -> ContactsReport {
    let caregivers = patients.iter().flat_map(|(_, patient)| patient).flat_map(|patient| &patient.caregivers);
    let codes = patients.iter().map(|(code, _)| *code);
    let known: BTreeSet<&str> = codes.chain(caregivers.map(|caregiver| caregiver.code.as_str())).collect();
    let has_ended = |patient: &Patient| patient.ended.as_ref().is_some_and(|ended| ended.on <= today);
    let supported: Vec<&str> = patients
        .iter()
        .filter(|(_, patient)| !patient.as_ref().is_some_and(has_ended))
        .map(|(code, _)| *code)
        .collect();
    let mut without_code: Vec<StrayEntry> = contacts
        .iter()
        .filter(|(code, _)| !known.contains(code))
        .map(|(code, card)| StrayEntry {
            line: card.line,
            meant: same_code(code, known.iter().copied()).map(str::to_owned),
        })
        .collect();
    without_code.sort_by_key(|stray| stray.line);
    ContactsReport {
        entries: contacts.iter().count(),
        patients: supported.len(),
        without_entry: supported
            .iter()
            .filter(|code| contacts.get(code).is_none())
            .map(|code| (*code).to_owned())
            .collect(),
        without_code,
        not_known: patients
            .iter()
            .filter(|(_, patient)| patient.is_none())
            .map(|(code, _)| (*code).to_owned())
            .collect(),
    }
}
