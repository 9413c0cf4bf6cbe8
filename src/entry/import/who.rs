//! Who did or saw it: codes that nobody has.

use std::collections::BTreeMap;

use super::Slip;
use crate::check;
use crate::entry::{Book, Draft};
use crate::event::is_person_code;

/// The codes of a row that nobody has; of a row that cannot be read otherwise.
pub(super) fn unknown(
    book: &Book,
    draft: &Draft,
    line: usize,
    cells: &BTreeMap<String, (String, String)>,
) -> Vec<Slip> {
    let Some((patient, day)) = book.patient.as_ref().zip(draft.name().map(|name| name.date)) else { return Vec::new() };
    let slip = |key: &str| {
        let code = draft.values.text(key).filter(|code| is_person_code(code))?;
        let (message, help) = check::nobody(book.program, patient, key, code, day)?;
        let (column, value) = cells.get(key)?;
        Some(Slip::of_cell(line, column, value, &format!("{message}; {help}")))
    };
    ["by", "learner", "observer", "with"].into_iter().filter_map(slip).collect()
}
