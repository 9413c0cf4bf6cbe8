//! The files of an export.

use schemars::JsonSchema;
use serde::Serialize;

use crate::word::words;

words! {
    /// The format of the tables.
    pub enum Format {
        /// A CSV file for each.
        Csv = "csv",
        /// A JSON file for each.
        Json = "json",
        /// A Parquet file for each.
        Parquet = "parquet",
    }
}

/// The files of an export.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct ExportReport {
    /// The format of the tables.
    pub format: Format,
    /// The folder, as it was named.
    pub dir: String,
    /// True if they are for a recipient under an agreement: random numbers, days since the implant, no codes, no texts.
    pub pseudonymous: bool,
    /// The file that lists whose the numbers are, as it was named; null if the tables are not pseudonymous.
    pub key: Option<String>,
    /// Every table, in order.
    pub tables: Vec<Written>,
}

/// One table.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Written {
    /// Its name.
    pub table: String,
    /// Its file, in the folder.
    pub file: String,
    /// Its rows.
    pub rows: usize,
}
