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
    /// Whether they are for a recipient under an agreement: random numbers, days since the implant, no codes, no texts.
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
