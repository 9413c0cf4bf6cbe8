//! Parses CSV into rows of cells with their lines; the only module that reads CSV.
//!
//! ```text
//! patient;on;kind;found.dressing
//! P-014;2026-11-03;change;intact
//! ```
//!
//! UTF-8, with or without a byte order mark, any line endings. The separator (comma, semicolon or tab) is detected in
//! the header. An unclosed quote would swallow the following rows, so quotes are checked first.

use crate::problem::Failure;
use crate::text::{cut, unguarded, visible};

/// The maximum number of rows below the header.
const MOST_ROWS: usize = 50_000;

/// The maximum number of columns.
const MOST_COLUMNS: usize = 200;

/// The maximum number of cells in a row, empty ones included: some programs write every empty column of a sheet.
const MOST_CELLS: usize = 16_384;

/// A CSV file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Cells {
    /// The names of the columns, trimmed.
    pub header: Vec<String>,
    /// The rows that are not empty, in file order.
    pub rows: Vec<SheetRow>,
}

/// One row.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SheetRow {
    /// The number of its first line, from 1.
    pub line: usize,
    /// Its cells, trimmed, without the apostrophe that keeps text from being a formula.
    pub cells: Vec<String>,
}

impl Cells {
    /// Reads the bytes of a file.
    ///
    /// ```
    /// # use exitsite::entry::import::Cells;
    /// let cells = Cells::read("log.csv",
    /// "\u{feff}on;note\r\n2026-11-03;\"two\r\nlines\"\r\n;\r\n2026-11-04;dry".as_bytes()).unwrap();
    /// assert_eq!(cells.header, ["on", "note"]);
    /// assert_eq!(cells.rows.iter().map(|row| row.line).collect::<Vec<_>>(), [2, 5]);
    /// assert!(Cells::read("log.csv", b"on,note\n2026-11-03,\"dry\n").unwrap_err().0.contains("line 2"));
    /// ```
    ///
    /// # Errors
    /// Not a CSV file in UTF-8, or an invalid header; one sentence with the line and the remedy.
    pub fn read(file: &str, bytes: &[u8]) -> Result<Cells, Failure> {
        let failure = |what: String| Failure::new(format!("{file}: {what}. Nothing was written."));
        let cells = Cells::of(bytes).map_err(failure)?;
        for (n, name) in cells.header.iter().enumerate() {
            if !name.is_empty() && cells.header[..n].contains(name) {
                let name = cut(&visible(name), 40);
                return Err(failure(format!("the column \"{name}\" appears twice. Rename or delete one of them")));
            }
        }
        Ok(cells)
    }

    /// Parses bytes as CSV with any column names.
    ///
    /// # Errors
    /// Not CSV in UTF-8, or no rows; the message has the line but never the content of a cell.
    pub fn of(bytes: &[u8]) -> Result<Cells, String> {
        let text = utf8(bytes)?;
        let ends = LineEnding::of(text);
        let delimiter = delimiter(text);
        check_quotes(text, delimiter, &ends)?;
        check_size(text, delimiter, &ends)?;
        let mut reader = csv::ReaderBuilder::new()
            .delimiter(delimiter)
            .has_headers(false)
            .flexible(true)
            .from_reader(text.as_bytes());
        let mut lines = Lines { text, ends: &ends, at: 0, line: 1 };
        let mut rows = Vec::new();
        for record in reader.records() {
            let record = record.map_err(|error| format!("cannot read this: {error}"))?;
            let start = record.position().map_or(0, |position| position.byte() as usize);
            let line = lines.of_row(start);
            // Some programs write thousands of empty cells after the last one.
            let filled = (1..=record.len()).rev().find(|n| !record[n - 1].trim().is_empty()).unwrap_or(0);
            let cells: Vec<String> = record.iter().take(filled).map(|cell| unguarded(cell.trim()).to_owned()).collect();
            if cells.iter().any(|cell| !cell.is_empty()) {
                rows.push(SheetRow { line, cells });
            }
        }
        if rows.is_empty() {
            return Err("the file is empty. Its first row must name the columns".to_owned());
        }
        let mut header = rows.remove(0).cells;
        while header.last().is_some_and(String::is_empty) {
            header.pop();
        }
        if rows.is_empty() {
            return Err("the file has no rows below the header".to_owned());
        }
        Ok(Cells { header, rows })
    }
}

/// The text of the bytes, without a byte order mark.
fn utf8(bytes: &[u8]) -> Result<&str, String> {
    if bytes.starts_with(&[0xff, 0xfe]) || bytes.starts_with(&[0xfe, 0xff]) {
        return Err("this is UTF-16. Save it again as \"CSV UTF-8\"".to_owned());
    }
    let line = |at: usize| bytes[..at].iter().filter(|byte| **byte == b'\n').count() + 1;
    if bytes.starts_with(b"PK\x03\x04") {
        return Err("this is a workbook, not CSV. Save it as \"CSV UTF-8\"".to_owned());
    }
    if let Some(at) = bytes.iter().position(|byte| *byte == 0) {
        return Err(format!(
            "line {} contains a zero byte, so this is not text. Save it again as \"CSV UTF-8\"",
            line(at)
        ));
    }
    match std::str::from_utf8(bytes) {
        Ok(text) => Ok(text.strip_prefix('\u{feff}').unwrap_or(text)),
        Err(error) => {
            let line = line(error.valid_up_to());
            Err(format!("line {line} contains a byte that is not UTF-8. Save it again as \"CSV UTF-8\""))
        }
    }
}

/// The line ending: a line feed, or a carriage return if the file has no line feed.
struct LineEnding(u8);

impl LineEnding {
    fn of(text: &str) -> LineEnding {
        LineEnding(if text.contains('\n') { b'\n' } else { b'\r' })
    }

    /// The line of an offset.
    fn line(&self, text: &str, at: usize) -> usize {
        text.as_bytes()[..at].iter().filter(|byte| **byte == self.0).count() + 1
    }
}

/// A line counter that continues from row to row.
struct Lines<'t> {
    text: &'t str,
    ends: &'t LineEnding,
    at: usize,
    line: usize,
}

impl Lines<'_> {
    /// The line of the row that follows the offset `start`, after any empty lines.
    fn of_row(&mut self, start: usize) -> usize {
        let bytes = self.text.as_bytes();
        let start = start.clamp(self.at, bytes.len());
        let empty = bytes[start..].iter().take_while(|byte| matches!(byte, b'\r' | b'\n')).count();
        let between = &bytes[self.at..start + empty];
        self.line += between.iter().filter(|byte| **byte == self.ends.0).count();
        self.at = start + empty;
        self.line
    }
}

/// The most frequent separator in the header, outside quotes.
fn delimiter(text: &str) -> u8 {
    let mut counts = [(b',', 0), (b';', 0), (b'\t', 0)];
    let mut is_quoted = false;
    for byte in text.trim_start_matches(['\r', '\n']).bytes() {
        match byte {
            b'"' => is_quoted = !is_quoted,
            b'\r' | b'\n' if !is_quoted => break,
            byte if !is_quoted => {
                counts.iter_mut().filter(|(mark, _)| *mark == byte).for_each(|(_, count)| *count += 1)
            }
            _ => {}
        }
    }
    // On a tie, the first: a comma.
    counts.iter().rev().max_by_key(|(_, count)| *count).map_or(b',', |(mark, _)| *mark)
}

/// Counts rows and columns before any of them is parsed.
fn check_size(text: &str, delimiter: u8, ends: &LineEnding) -> Result<(), String> {
    let (mut rows, mut widest) = (0_usize, (0_usize, 0_usize));
    let (mut header, mut too_long) = (None, None);
    let (mut line, mut row_line, mut column, mut filled, mut is_quoted) = (1, 1, 0, 0, false);
    for byte in text.bytes().chain([ends.0]) {
        match byte {
            b'"' => is_quoted = !is_quoted,
            byte if byte == delimiter && !is_quoted => column += 1,
            b'\r' | b'\n' if !is_quoted => {
                rows += usize::from(filled > 0);
                widest = widest.max((filled, row_line));
                let most = header.map_or(MOST_CELLS, |cells: usize| cells.clamp(MOST_COLUMNS, MOST_CELLS));
                if column + 1 > most {
                    too_long.get_or_insert((column + 1, line));
                }
                if filled > 0 {
                    header.get_or_insert(column + 1);
                }
                (column, filled) = (0, 0);
            }
            b' ' | b'\r' | b'\n' => {}
            _ if filled <= column => {
                filled = column + 1;
                row_line = line;
            }
            _ => {}
        }
        line += usize::from(byte == ends.0);
    }
    // The header is not a row.
    let rows = rows.saturating_sub(1);
    if rows > MOST_ROWS {
        return Err(format!(
            "the sheet has {rows} rows, and at most {MOST_ROWS} are imported at once. Split it by month"
        ));
    }
    if let Some((columns, line)) = Some(widest).filter(|(columns, _)| *columns > MOST_COLUMNS).or(too_long) {
        return Err(format!(
            "line {line} has {columns} columns, and a sheet has at most {MOST_COLUMNS}. Delete the columns that the records do not need"
        ));
    }
    Ok(())
}

/// Finds a quote that opens a cell and is never closed, or is closed before the end of the cell.
fn check_quotes(text: &str, delimiter: u8, ends: &LineEnding) -> Result<(), String> {
    let bytes = text.as_bytes();
    let is_end = |byte: u8| byte == delimiter || matches!(byte, b'\r' | b'\n');
    let mut at = 0;
    while at < bytes.len() {
        if bytes[at] != b'"' {
            at += bytes[at..].iter().take_while(|byte| !is_end(**byte)).count() + 1;
            continue;
        }
        let opened = at;
        at += 1;
        loop {
            match (bytes.get(at), bytes.get(at + 1)) {
                (None, _) => {
                    let line = ends.line(text, opened);
                    return Err(format!(
                        "line {line} opens a quote that is never closed. Close it, or double the quotes inside a text: \"\""
                    ));
                }
                (Some(b'"'), Some(b'"')) => at += 2,
                (Some(b'"'), after) if after.is_none_or(|byte| is_end(*byte)) => break,
                (Some(b'"'), _) => {
                    let line = ends.line(text, at);
                    return Err(format!(
                        "line {line} contains a quote in the middle of a text, which another quote opened on line {}. Double the quotes inside a text: \"\"",
                        ends.line(text, opened)
                    ));
                }
                (Some(_), _) => at += 1,
            }
        }
        at += 2;
    }
    Ok(())
}
