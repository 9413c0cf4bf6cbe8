//! What an export has written, for a person; and what goes with pseudonymous records.

use crate::export::pseudonymous::CAUTION;
use crate::report::Report;
use crate::report::export::{ExportReport, Format, Written};
use crate::text::{count, visible};
use crate::view::{Look, hanging, paragraph, table_of_numbers, unusable};

/// What was written: each table with its rows.
pub fn exported(report: &Report<ExportReport>, look: Look) -> String {
    let body = &report.body;
    let mut out = unusable(look, &report.unusable);
    let files = body.tables.iter().filter(|table| table.file.is_some()).count();
    let files = count(files as i64, "table");
    out.push_str(&format!("Wrote {files} into {}:\n", visible(&body.dir)));
    let heads = ["table", "rows", "left out", "file"];
    let rows = body.tables.iter().map(|table| cells(table).into());
    if body.pseudonymous {
        out.push_str(&table_of_numbers(look, &heads, rows.collect(), 1..3));
        out.push('\n');
        left_out(&mut out, look, &body.tables);
        out.push_str(&paragraph(look, CAUTION));
    } else {
        let plain = |mut cells: Vec<String>| {
            cells.remove(2);
            cells
        };
        out.push_str(&table_of_numbers(look, &["table", "rows", "file"], rows.map(plain).collect(), 1..2));
        out.push('\n');
        out.push_str(&paragraph(
            look,
            "These are protected health records under codes. What leaves the house is written with --deidentify.",
        ));
    }
    out
}

fn cells(table: &Written) -> [String; 4] {
    let number = |number: Option<usize>| number.map_or("-".to_owned(), |number| number.to_string());
    let file = table.file.clone().unwrap_or_else(|| "left out: of fewer than 5 patients".to_owned());
    [table.table.clone(), number(table.rows), number(table.rows_left_out), file]
}

fn left_out(out: &mut String, look: Look, tables: &[Written]) {
    let empty = tables.iter().filter(|table| !table.columns_left_out.is_empty());
    for table in empty {
        let words = format!("{}: empty in every row are {}", table.table, table.columns_left_out.join(", "));
        out.push_str(&hanging(look, &words, "  "));
    }
    if tables.iter().any(|table| !table.columns_left_out.is_empty()) {
        out.push('\n');
    }
}

/// The text that goes with pseudonymous records, in a file of their folder.
pub fn told_with_it(format: Format, tables: &[Written]) -> String {
    let look = Look { width: 80, color: false };
    let mut out = paragraph(look, CAUTION);
    out.push('\n');
    let files = match format {
        Format::Csv => {
            "Each table is a CSV file in UTF-8, its columns named in the first row; an empty cell is not known, not looked at, or left out."
        }
        Format::Json => "Each table is a JSON file, a row on each line; null is not known, not looked at, or left out.",
    };
    for text in [
        files,
        "Patients are numbers that stand in these files only. Days are counted from the implant, day 0. Of people the role is there. Times of day, notes and other texts are left out, lengths are rounded down to a multiple of 5 mm (1 for less than that), temperatures to whole degrees. Voided records are left out.",
        "What fewer than five patients have is left out: a table that fewer have rows in; a record that holds a value which fewer have (left_out is true, and only patient and day are there); or, where that would show which value it is, the whole column. So what is rare is missing, and the figures of these tables are not those of the program's reports.",
        "What remains: how many records a patient has, of which kind, and on which days since the implant. Nobody may use it to look for a person.",
    ] {
        out.push_str(&paragraph(look, text));
        out.push('\n');
    }
    for table in tables {
        let words = match table.rows {
            None => "left out, since fewer than five patients have any".to_owned(),
            Some(rows) => {
                let left_out = table.rows_left_out.unwrap_or(0);
                let empty = table.columns_left_out.join(", ");
                let empty = if empty.is_empty() { empty } else { format!("; empty in every row: {empty}") };
                format!("{}, {left_out} of them left out{empty}", count(rows as i64, "row"))
            }
        };
        out.push_str(&hanging(look, &format!("{}: {words}", table.table), "  "));
    }
    out
}
