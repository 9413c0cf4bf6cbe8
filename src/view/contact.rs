//! Names and phone numbers from the contacts file, for the terminal and the printed list only.

use crate::entry::{Card, Contacts};
use crate::report::Report;
use crate::report::contacts::{ContactsReport, StrayEntry};
use crate::report::due::Row;
use crate::text::{count, visible};

use super::{TextStyle, hanging, unusable};

/// Returns a household's contact lines: the patient's, then the caregivers', each with the relation.
///
/// ```text
/// Dana Field, 555-0142, English (rings twice)
/// spouse: Sam Field, 555-0143 (after 16:00)
/// ```
pub(crate) fn household<'a>(
    contacts: &Contacts,
    patient: &str,
    caregivers: impl IntoIterator<Item = (&'a str, Option<&'a str>)>,
) -> Vec<String> {
    let of_caregiver = |(code, relation): (&str, Option<&str>)| {
        Some(format!("{}: {}", visible(relation.unwrap_or(code)), words(contacts.get(code)?)))
    };
    let patient = contacts.get(patient).map(words);
    patient.into_iter().chain(caregivers.into_iter().filter_map(of_caregiver)).collect()
}

/// Returns the contact lines of a row's household.
pub(super) fn of_row(contacts: &Contacts, row: &Row) -> Vec<String> {
    let caregivers = match row {
        Row::Site(site) => &site.caregivers,
        Row::Unusable(row) => &row.caregivers,
    };
    let caregivers = caregivers.iter().map(|one| (one.code.as_str(), one.relation.as_deref()));
    household(contacts, row.patient(), caregivers)
}

/// Returns the name alone, for a list of codes.
pub(super) fn name(contacts: &Contacts, patient: &str) -> Option<String> {
    let card = contacts.get(patient)?;
    Some(visible(if card.name.is_empty() { &card.telephone } else { &card.name }))
}

fn words(card: &Card) -> String {
    let said = [&card.name, &card.telephone, &card.language].into_iter().filter(|text| !text.is_empty());
    let said: Vec<String> = said.map(|text| visible(text)).collect();
    let note = if card.note.is_empty() { String::new() } else { format!(" ({})", visible(&card.note)) };
    format!("{}{note}", said.join(", "))
}

/// Renders the comparison of the contacts file with the records.
pub(crate) fn contacts(report: &Report<ContactsReport>, look: TextStyle) -> String {
    let body = &report.body;
    let mut out = unusable(look, &report.unusable);
    let (entries, patients) = (count(body.entries as i64, "line"), count(body.patients as i64, "patient"));
    let mut lines = vec![format!("Contacts file: {entries} for {patients} on file.")];
    if !body.without_entry.is_empty() {
        lines.push(format!("Patients without a line: {}", body.without_entry.join(", ")));
    }
    let stray = |stray: &StrayEntry| match &stray.meant {
        Some(code) => format!("line {} (did you mean {}?)", stray.line, visible(code)),
        None => format!("line {}", stray.line),
    };
    let strays: Vec<String> = body.without_code.iter().map(stray).collect();
    if !strays.is_empty() {
        lines.push(format!("Unknown code in {}", strays.join(", ")));
    }
    if !body.not_known.is_empty() {
        let codes = body.not_known.join(", ");
        lines.push(format!("Caregivers not known, unreadable record: {codes}. A line above may be theirs."));
    }
    if body.is_complete() {
        lines.push("Every patient has a line, and every line a patient or caregiver.".to_owned());
    }
    lines.iter().for_each(|line| out.push_str(&hanging(look, line, "  ")));
    out
}
