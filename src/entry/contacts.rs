//! The contacts file as entries by code: names, telephone numbers and languages, which are not part of the records.
//!
//! ```text
//! code,name,telephone,language,note
//! P-014,Dana Field,555-0142,English,rings twice
//! p014-spouse,Sam Field,555-0143,,after 16:00
//! ```
//!
//! A message about the file names lines and columns, never the content of a cell, because messages go into logs. The
//! types implement neither `Serialize` nor `Debug`, so no report or message can contain them.

use std::collections::BTreeMap;

use super::import::{Cells, SheetRow};

/// The columns, in their usual order; the last two are optional.
const COLUMNS: [&str; 5] = ["code", "name", "telephone", "language", "note"];

/// The required columns.
const NEEDED: [&str; 3] = ["code", "name", "telephone"];

/// One line of the file.
#[derive(Clone, PartialEq, Eq)]
pub struct Card {
    /// The line in the file.
    pub line: usize,
    /// The name.
    pub name: String,
    /// The telephone number.
    pub telephone: String,
    /// The language.
    pub language: String,
    /// A note.
    pub note: String,
}

/// The entries of the contacts file by the code of a patient or caregiver; empty without a file.
#[derive(Clone, Default, PartialEq, Eq)]
pub struct Contacts {
    entries: BTreeMap<String, Card>,
}

impl Contacts {
    /// Reads the bytes of a file.
    ///
    /// ```
    /// # use exitsite::entry::Contacts;
    /// let contacts = Contacts::read(b"code, name, telephone\nP-014,Dana Field,555-0142\n").unwrap();
    /// assert_eq!(contacts.get("P-014").unwrap().telephone, "555-0142");
    /// assert!(contacts.get("P-015").is_none());
    /// assert!(Contacts::read(b"code,name,telephone,note\nP-014,Dana Field,555-01").err().unwrap().contains("line 2"));
    /// ```
    ///
    /// # Errors
    /// Not a CSV file with these columns, a row without a code or without both name and number, a duplicate code, or a
    /// truncated last line; one sentence with the line.
    pub fn read(bytes: &[u8]) -> Result<Contacts, String> {
        let cells = Cells::of(bytes)?;
        let columns = columns(&cells.header)?;
        must_be_whole(bytes, &cells)?;
        let mut entries: BTreeMap<String, Card> = BTreeMap::new();
        for row in &cells.rows {
            let (code, contact) = entry(row, &columns, cells.header.len())?;
            let (line, twice) = (contact.line, entries.insert(code, contact));
            if let Some(first) = twice {
                return Err(format!(
                    "line {line} has the code of line {}. Keep one line per code; a caregiver has a code",
                    first.line
                ));
            }
        }
        Ok(Contacts { entries })
    }

    /// The entry of a code.
    pub fn get(&self, code: &str) -> Option<&Card> {
        self.entries.get(code)
    }

    /// All codes with their entries, sorted by code.
    pub fn iter(&self) -> impl Iterator<Item = (&str, &Card)> {
        self.entries.iter().map(|(code, contact)| (code.as_str(), contact))
    }

    /// Returns true if there are no entries.
    pub fn is_empty(&self) -> bool {
        self.entries.is_empty()
    }
}

/// The name of each column.
fn columns(header: &[String]) -> Result<Vec<&'static str>, String> {
    let list = COLUMNS.join(", ");
    let mut columns: Vec<&'static str> = Vec::new();
    for (n, name) in header.iter().enumerate() {
        let known = COLUMNS.iter().find(|known| known.eq_ignore_ascii_case(name)).copied();
        let known = known.ok_or_else(|| format!("column {} of the first line is not one of {list}", n + 1))?;
        if columns.contains(&known) {
            return Err(format!("the column {known} appears twice. Delete one of them"));
        }
        columns.push(known);
    }
    match NEEDED.iter().find(|needed| !columns.contains(needed)) {
        Some(needed) => Err(format!("the first line has no column {needed}. It must name the columns: {list}")),
        None => Ok(columns),
    }
}

/// Rejects a file with a truncated last line: half a telephone number can look complete.
fn must_be_whole(bytes: &[u8], cells: &Cells) -> Result<(), String> {
    let is_ended = bytes.last().is_some_and(|byte| matches!(byte, b'\n' | b'\r' | b',' | b';' | b'\t'));
    let last = cells.rows.last().filter(|row| !is_ended && row.cells.len() < cells.header.len());
    last.map_or(Ok(()), |row| {
        Err(format!("line {} may be cut short: it has fewer columns than the first line and no line ending", row.line))
    })
}

/// A row's code and its entry.
fn entry(row: &SheetRow, columns: &[&'static str], most: usize) -> Result<(String, Card), String> {
    let line = row.line;
    if row.cells.len() > most {
        return Err(format!(
            "line {line} has more columns than the first line. Quote a text that contains the separator"
        ));
    }
    let cell = |name: &str| {
        let at = columns.iter().position(|column| *column == name);
        at.and_then(|at| row.cells.get(at)).cloned().unwrap_or_default()
    };
    let code = cell("code");
    let [name, telephone, language, note] = ["name", "telephone", "language", "note"].map(cell);
    match (code.is_empty(), name.is_empty() && telephone.is_empty()) {
        (true, _) => Err(format!("line {line} has no code. Write the patient's or the caregiver's code")),
        (_, true) => {
            Err(format!("line {line} has neither a name nor a telephone number. Write one, or delete the line"))
        }
        _ => Ok((code, Card { line, name, telephone, language, note })),
    }
}

#[cfg(test)]
mod tests {
    use super::Contacts;

    #[test]
    fn a_fault_is_said_by_line_and_never_by_what_a_cell_says() {
        fn check(text: &str, expected: &str) {
            let said = Contacts::read(text.as_bytes()).err().unwrap_or_default();
            assert!(said.contains(expected), "{text:?}: {said}");
            assert!(["Dana", "555"].iter().all(|word| !said.contains(word)), "{said}");
        }
        check("", "empty");
        check("code,name,telephone\n", "no rows");
        check("P-014,Dana,555-0142\nP-015,Lee,555-0150\n", "column 1 of the first line is not one of code, name");
        check("code,Dana,Dana\nP-014,Dana,555-0142\n", "column 2");
        check("code,name,name,telephone\nP-014,Dana,,555\n", "column name appears twice");
        check("code,name\nP-014,Dana\n", "no column telephone");
        check("code,name,telephone\nP-014,Dana,555-0142\nP-014,Dana,555-0143\n", "line 3 has the code of line 2");
        check("code,name,telephone\n,Dana,555-0142\n", "line 2 has no code");
        check("code,name,telephone\nP-014,,\n", "line 2 has neither");
        check("code,name,telephone\nP-014,Dana,555-0142,x\n", "line 2 has more columns");
        check("code,name,telephone,note\nP-014,Dana,555-01", "line 2 may be cut short");
        check("code,name,telephone\nP-014,\"Dana,555-0142\n", "line 2 opens a quote");
        check("PK\u{3}\u{4}", "workbook");
    }

    #[test]
    fn a_sheet_of_any_program_is_read() {
        for text in [
            "code,name,telephone,language,note\nP-014,Dana,555-0142\n",
            "code,name,telephone,language,note\nP-014,Dana,555-0142,,",
            "\u{feff}Code;Name;Telephone\r\nP-014;Dana;555-0142\r\n",
            "telephone\tname\tcode\n555-0142\tDana\tP-014",
            "code, name, telephone\n\nP-014, Dana, 555-0142\n",
        ] {
            let contacts = Contacts::read(text.as_bytes()).unwrap();
            let card = contacts.get("P-014").map(|card| (card.name.as_str(), card.telephone.as_str()));
            assert_eq!(card, Some(("Dana", "555-0142")), "{text:?}");
        }
    }
}
