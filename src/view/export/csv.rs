//! Rows as CSV (RFC 4180): UTF-8 without a byte order mark, commas, CR LF line ends, quotes only if needed.
//!
//! ```text
//! patient,on,note,result.organisms
//! P-014,2026-11-23,'- no crust,S. aureus; C. albicans
//! ```
//! An unknown value is empty. A text that a spreadsheet would interpret as a formula is prefixed with an apostrophe
//! ([`guarded`]), and lists are written as typed ([`listed`]); `import` reads both back. Control characters are escaped, as
//! `\u{1b}`.

use csv::{Terminator, Writer, WriterBuilder};

use crate::entry::listed;
use crate::export::release::NOTICE_COLUMN;
use crate::export::{ExportColumn, ExportRow};
use crate::record::{Shape, Value};
use crate::text::{guarded, visible_lines};

/// Renders the header row. With notice, the first column name states that these are patient data, so that the file stays
/// valid CSV and no one can open it without seeing the notice.
pub(crate) fn csv_header(columns: &[ExportColumn], with_notice: bool) -> String {
    let mut writer = writer();
    let notice = with_notice.then_some(NOTICE_COLUMN);
    // Writing to memory does not fail.
    _ = writer.write_record(notice.into_iter().chain(columns.iter().map(|column| column.name.as_str())));
    text_of(writer)
}

/// Renders the rows; the notice column is empty.
pub(crate) fn csv_rows(columns: &[ExportColumn], rows: &[ExportRow], with_notice: bool) -> String {
    let mut writer = writer();
    for row in rows {
        let notice = with_notice.then(String::new);
        let cells = columns.iter().zip(row).map(|(column, value)| cell(column, value.as_ref()));
        _ = writer.write_record(notice.into_iter().chain(cells));
    }
    text_of(writer)
}

fn writer() -> Writer<Vec<u8>> {
    WriterBuilder::new().terminator(Terminator::CRLF).from_writer(Vec::new())
}

fn text_of(writer: Writer<Vec<u8>>) -> String {
    String::from_utf8(writer.into_inner().unwrap_or_default()).unwrap_or_default()
}

fn cell(column: &ExportColumn, value: Option<&Value>) -> String {
    match value {
        None => String::new(),
        Some(Value::Text(text)) => guarded(&visible_lines(text)),
        Some(Value::List(items)) => {
            let texts: Vec<String> = items.iter().map(plain).collect();
            let texts: Vec<&str> = texts.iter().map(String::as_str).collect();
            let item = if let Shape::List(item) = &column.shape { item } else { &Shape::Text };
            guarded(&visible_lines(&listed(&texts, item)))
        }
        Some(value) => plain(value),
    }
}

fn plain(value: &Value) -> String {
    match value {
        Value::Text(text) => text.clone(),
        value => value.to_string(),
    }
}
