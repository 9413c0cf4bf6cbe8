//! What an export has written.

use schemars::JsonSchema;
use serde::Serialize;

use crate::word::words;

words! {
    /// How the tables are written.
    pub enum Format {
        /// A CSV file for each.
        Csv = "csv",
        /// A JSON file for each.
        Json = "json",
    }
}

/// What was written where.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct ExportReport {
    /// How the tables are written.
    pub format: Format,
    /// The folder, as it was named.
    pub dir: String,
    /// Whether codes, dates and texts are left out.
    pub pseudonymous: bool,
    /// Every table, in order.
    pub tables: Vec<Written>,
}

/// One table.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Written {
    /// Its name.
    pub table: String,
    /// Its file, in the folder; null where the table is left out.
    pub file: Option<String>,
    /// Its rows; null where the table is left out.
    pub rows: Option<usize>,
    /// Of these, rows that keep the patient and the day alone; null where nothing is left out.
    pub rows_left_out: Option<usize>,
    /// Columns that are empty because of what is left out.
    pub columns_left_out: Vec<String>,
}
