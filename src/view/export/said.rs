//! The summary of an export, and the text that accompanies pseudonymized records.

use crate::export::release::NOTICE;
use crate::report::Report;
use crate::report::export::{ExportReport, Format};
use crate::text::{count, visible};
use crate::view::table::{Cell, CellTable};
use crate::view::{TextStyle, paragraph, unusable};

/// Renders the tables written, each with its number of rows.
pub(crate) fn exported(report: &Report<ExportReport>, look: TextStyle) -> String {
    let body = &report.body;
    let mut out = unusable(look, &report.unusable);
    out.push_str(&format!("Wrote {} to {}:\n", count(body.tables.len() as i64, "table"), visible(&body.dir)));
    let rows = body
        .tables
        .iter()
        .map(|table| vec![Cell::text(&table.table), Cell::Count(table.rows as i64), Cell::text(&table.file)]);
    out.push_str(&CellTable::of(&["table", "rows", "file"], rows).text(look));
    out.push('\n');
    match &body.key {
        Some(key) => {
            out.push_str(&paragraph(look, NOTICE));
            out.push_str(&paragraph(
                look,
                &format!(
                    "{} links the numbers to patients. Keep it inside the program; do not send it with the export.",
                    visible(key)
                ),
            ));
        }
        None => out.push_str(&paragraph(
            look,
            "These tables contain protected health information under codes. Use --pseudonymous for a recipient under an agreement.",
        )),
    }
    out
}

/// Returns the text that accompanies pseudonymized records, as a file in their folder.
pub(crate) fn told_with_it(format: Format) -> String {
    let look = TextStyle { width: 80, color: false };
    let mut out = format!("{NOTICE}\n\n");
    let files = match format {
        Format::Csv => {
            "Each table is a UTF-8 CSV file with the column names in the first row. The first column is empty; its name states that these are patient data. An empty cell means not known or not looked at."
        }
        Format::Json => "Each table is a JSON file with one row per line. null means not known or not looked at.",
        Format::Parquet => {
            "Each table is a Parquet file. The first column is empty; its name states that these are patient data. null means not known or not looked at."
        }
    };
    for text in [
        files,
        "Patients have random numbers, new in each export. Days are counted from implant (day 0). Exit sites are numbered in order. Codes of people, dates, times of day, notes, other free text and voided records are not included.",
        "The number of each patient's records and their days are unchanged, so anyone who knows some of these days can identify the patient. Do not use these files to identify a person, and do not pass them on without the program's consent.",
    ] {
        out.push_str(&paragraph(look, text));
        out.push('\n');
    }
    out
}
