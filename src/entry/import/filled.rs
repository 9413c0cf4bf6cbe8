//! The filled cells of a row, and the records that it requires under a map.

use super::CellError;
use super::cells::SheetRow;
use super::columns::{ColumnBlock, ColumnLayout};
use super::target::Target;

/// Words for yes in a cell that may also have a time.
const YES: [&str; 5] = ["yes", "y", "true", "x", "1"];

/// Words for no, including the empty cell.
const NO: [&str; 7] = ["", "no", "n", "none", "false", "-", "0"];

/// A value of a block in a row: target, column, and text in the records' words.
pub(super) type FilledValue<'r> = (&'r Target, Option<usize>, &'r str);

/// The value of a target.
pub(super) fn value<'r>(found: &[FilledValue<'r>], wanted: &Target) -> Option<FilledValue<'r>> {
    found.iter().find(|(target, ..)| *target == wanted).copied()
}

fn says(text: &str, words: &[&str]) -> bool {
    words.contains(&text.trim().to_lowercase().as_str())
}

/// The values of a block in a row; a constant if the cell is empty.
pub(super) fn found<'r>(layout: &'r ColumnLayout, block: &'r ColumnBlock, row: &'r SheetRow) -> Vec<FilledValue<'r>> {
    let mut found: Vec<FilledValue> = Vec::new();
    for (n, target) in &block.columns {
        let text = layout.text(*n, row.cells.get(*n).map(String::as_str).unwrap_or_default()).trim();
        // A column for the time may have only a yes.
        let is_only_yes = *target == Target::Time && block.when_column == Some(*n) && says(text, &YES);
        if !is_only_yes && !text.is_empty() && !found.iter().any(|(known, ..)| *known == target) {
            found.push((target, Some(*n), text));
        }
    }
    for (target, text) in &block.constants {
        if !found.iter().any(|(known, ..)| *known == target) {
            found.push((target, None, text));
        }
    }
    found
}

/// Returns true if the block's `when_column` cell is filled and is not a no.
pub(super) fn block_applies(layout: &ColumnLayout, block: &ColumnBlock, row: &SheetRow) -> bool {
    let Some(n) = block.when_column else { return true };
    let cell = row.cells.get(n).map(String::as_str).unwrap_or_default();
    !says(cell, &NO) && !says(layout.text(n, cell), &NO)
}

/// Returns true if a cell is filled in that was not printed on the sheet.
pub(super) fn is_filled(layout: &ColumnLayout, block: &ColumnBlock, found: &[FilledValue]) -> bool {
    let says_more = |(target, n, text): &FilledValue| {
        let has_time = **target == Target::At && layout.forms.when(text).map_or(true, |when| when.len() > 10);
        n.is_some() && (has_time || !target.is_printed_on_the_sheet())
    };
    block.when_column.is_some() || found.iter().any(says_more)
}

/// The filled cells of a row that no record used.
pub(super) fn left_over<'r>(layout: &'r ColumnLayout, row: &'r SheetRow, is_used: &[bool]) -> Vec<(usize, &'r str)> {
    let is_printed = |n: usize| {
        let targets = layout.blocks.iter().flat_map(|block| &block.columns).filter(|(column, _)| *column == n);
        targets.map(|(_, target)| target).all(Target::is_printed_on_the_sheet)
    };
    let filled = |(n, cell): (usize, &'r String)| {
        let text = layout.text(n, cell).trim();
        let is_a_no = layout.blocks.iter().any(|block| block.when_column == Some(n)) && says(text, &NO);
        (!is_a_no && !text.is_empty() && !is_used[n] && !is_printed(n)).then_some((n, text))
    };
    row.cells.iter().enumerate().filter_map(filled).collect()
}

/// A row of the file, for messages about its cells.
#[derive(Clone, Copy)]
pub(super) struct Whereabouts<'r> {
    pub(super) layout: &'r ColumnLayout,
    pub(super) row: &'r SheetRow,
}

impl Whereabouts<'_> {
    /// The column of a value and its cell; a value without a column is a constant.
    pub(super) fn cell(self, n: Option<usize>, target: &str, text: &str) -> (String, String) {
        match n {
            Some(n) => (self.layout.header[n].clone(), self.row.cells.get(n).cloned().unwrap_or_default()),
            None => (target.to_owned(), text.to_owned()),
        }
    }

    pub(super) fn slip(self, n: Option<usize>, target: &str, text: &str, message: &str) -> CellError {
        match self.cell(n, target, text) {
            (_, value) if n.is_none() && value.is_empty() => CellError::of_line(self.row.line, message),
            (column, value) => CellError::of_cell(self.row.line, &column, &value, message),
        }
    }
}
