//! The codes in a row: the household's numbers on a printed sheet, and unknown codes.

use std::collections::BTreeMap;

use super::CellError;
use crate::check;
use crate::entry::{Book, Draft};
use crate::event::is_person_code;
use crate::patient::Patient;
use crate::text::visible;

/// Returns true if a cell has a number from the sheet's list of people. Such a number is too short to be a code.
pub(super) fn is_number(text: &str) -> bool {
    text.len() == 1 && text.bytes().all(|byte| byte.is_ascii_digit())
}

/// The code for a number on the sheet.
///
/// # Errors
/// The sheet has no such number.
pub(super) fn numbered(patient: Option<&Patient>, text: &str) -> Result<String, String> {
    let people: Vec<&str> = patient.iter().flat_map(|patient| patient.on_the_sheet()).collect();
    let n = text.parse::<usize>().unwrap_or_default();
    if let Some(code) = n.checked_sub(1).and_then(|n| people.get(n)) {
        return Ok((*code).to_owned());
    }
    let numbers: Vec<String> = people.iter().enumerate().map(|(n, code)| format!("{} {code}", n + 1)).collect();
    match numbers.as_slice() {
        [] => Err(format!("\"{text}\" is not a staff code; write the code")),
        _ => Err(format!(
            "\"{text}\" is not a number on the sheet; use {}, or write the code",
            visible(&numbers.join(", "))
        )),
    }
}

/// The faults of unknown codes in a row that has other faults.
pub(super) fn unknown(
    book: &Book,
    draft: &Draft,
    line: usize,
    cells: &BTreeMap<String, (String, String)>,
) -> Vec<CellError> {
    let Some(patient) = &book.patient else { return Vec::new() };
    let slip = |key: &str| {
        let code = draft.values.text(key).filter(|code| is_person_code(code))?;
        let sentences = check::unknown_code(book.program, Some(patient), key, code)?;
        let (column, value) = cells.get(key)?;
        Some(CellError::of_cell(line, column, value, &sentences))
    };
    ["by", "learner", "observer", "with"].into_iter().filter_map(slip).collect()
}
