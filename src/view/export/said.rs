//! The files of an export, for a person; and the text that goes with pseudonymous records.

use crate::export::release::NOTICE;
use crate::report::Report;
use crate::report::export::{ExportReport, Format};
use crate::text::{count, visible};
use crate::view::table::{Cell, Table};
use crate::view::{TextStyle, paragraph, unusable};

/// The tables written, each with its rows.
pub(crate) fn exported(report: &Report<ExportReport>, look: TextStyle) -> String {
    let body = &report.body;
    let mut out = unusable(look, &report.unusable);
    out.push_str(&format!("Wrote {} into {}:\n", count(body.tables.len() as i64, "table"), visible(&body.dir)));
    let rows = body
        .tables
        .iter()
        .map(|table| vec![Cell::text(&table.table), Cell::Count(table.rows as i64), Cell::text(&table.file)]);
    out.push_str(&Table::of(&["table", "rows", "file"], rows).text(look));
    out.push('\n');
    match &body.key {
        Some(key) => {
            out.push_str(&paragraph(look, NOTICE));
            out.push_str(&paragraph(
                look,
                &format!(
                    "{} lists which patient each number is. Keep it inside the program; it does not go with the export.",
                    visible(key)
                ),
            ));
        }
        None => out.push_str(&paragraph(
            look,
            "These are protected health records under codes. Use --pseudonymous for a recipient under an agreement.",
        )),
    }
    out
}

/// The text that goes with pseudonymous records, in a file of their folder.
pub(crate) fn told_with_it(format: Format) -> String {
    let look = TextStyle { width: 80, color: false };
    let mut out = format!("{NOTICE}\n\n");
    let files = match format {
        Format::Csv => {
            "Each table is a CSV file in UTF-8 with the names of the columns in the first row. The first column is empty; its name says that these are patients' data. An empty cell is not known or not looked at."
        }
        Format::Json => "Each table is a JSON file, a row on each line. null is not known or not looked at.",
        Format::Parquet => {
            "Each table is a Parquet file. The first column is empty; its name says that these are patients' data. null is not known or not looked at."
        }
    };
    for text in [
        files,
        "Patients are random numbers, drawn anew for each export. Days count from the implant, day 0. Exit sites are numbered in their order. Codes of people, dates, times of day, notes and other texts stay inside the program; so do voided records.",
        "The number of records of a patient and their days are as they are. Anyone who knows some of these days can find the patient. Nobody may use these files to look for a person, or pass them on without the program's consent.",
    ] {
        out.push_str(&paragraph(look, text));
        out.push('\n');
    }
    out
}
