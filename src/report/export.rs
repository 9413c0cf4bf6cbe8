//! The files of an export.

use schemars::JsonSchema;
use serde::Serialize;

use crate::word::words;

words! {
    /// The format of the tables.
    pub enum Format {
        /// One CSV file per table.
        Csv = "csv",
        /// One JSON file per table.
        Json = "json",
        /// One Parquet file per table.
        Parquet = "parquet",
    }
}

/// The files of an export.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct ExportReport {
    /// The format of the tables.
    pub format: Format,
    /// The folder, as given.
    pub dir: String,
    /// True if the tables are pseudonymized for a recipient under an agreement: random numbers and days since implant; no
    /// codes, no free text.
    pub pseudonymous: bool,
    /// The key file that links numbers to codes, as given; null if the tables are not pseudonymized.
    pub key: Option<String>,
    /// Every table, in order.
    pub tables: Vec<Written>,
}

/// One table.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Written {
    /// The table's name.
    pub table: String,
    /// The file name within the folder.
    pub file: String,
    /// The number of rows.
    pub rows: usize,
}
