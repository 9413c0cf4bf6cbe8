//! Rows as JSON: one file per table with the usual report header, one row per line.
//!
//! ```text
//! {
//! "command": "export", "as_of": "2026-11-24T07:15:00-06:00", …,
//! "table": "shower",
//! "rows": [
//! {"patient":"P-014","file":"patients/P-014/2026/2026-11-23T1840-shower.toml",…},
//! ```

use serde::Serialize;
use serde_json::{Map, Value as Json, json};

use crate::export::{ExportColumn, ExportRow};
use crate::record::Value;
use crate::report::{At, Unusable};
use crate::view::json::line;

/// The header before the rows.
#[derive(Debug, Clone, Serialize)]
pub(crate) struct JsonHead<'a> {
    /// The notice that these are still patient data, on the first line; `None` for records that are not pseudonymized.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub notice: Option<&'a str>,
    /// Always `export`.
    pub command: &'a str,
    /// The moment of the export; null if dates are left out.
    pub as_of: Option<At>,
    /// The version of exitsite.
    pub version: &'a str,
    /// The limitations of the records.
    pub caution: &'a str,
    /// The unreadable files; without their names if names are left out.
    pub unusable: Vec<Unusable>,
    /// True if the tables are pseudonymized for a recipient under an agreement.
    pub pseudonymous: bool,
    /// The table's name.
    pub table: &'a str,
}

/// The header before the rows.
pub(crate) fn json_head(head: &JsonHead) -> String {
    let keys = serde_json::to_value(head).unwrap_or_default();
    let lines =
        keys.as_object().into_iter().flatten().map(|(key, value)| format!("{}: {},\n", json!(key), line(value)));
    let first = if head.notice.is_some() { "" } else { "\n" };
    format!("{{{first}{}\"rows\": [", lines.collect::<String>())
}

/// Returns the text after the rows.
pub(crate) fn json_tail() -> &'static str {
    "\n]\n}\n"
}

/// Renders the rows, each preceded by a comma; the caller removes the first one of a file.
pub(crate) fn json_rows(columns: &[ExportColumn], rows: &[ExportRow]) -> String {
    rows.iter().map(|row| format!(",\n{}", line(&object(columns, row)))).collect()
}

fn object(columns: &[ExportColumn], row: &ExportRow) -> Json {
    let pair = |(column, value): (&ExportColumn, &Option<Value>)| {
        (column.name.clone(), value.as_ref().map_or(Json::Null, plain))
    };
    Json::Object(columns.iter().zip(row).map(pair).collect::<Map<_, _>>())
}

fn plain(value: &Value) -> Json {
    match value {
        Value::Text(text) => json!(text),
        Value::Flag(flag) => json!(flag),
        Value::Number(number) if number.fract() == 0.0 => json!(*number as i64),
        Value::Number(number) => json!(number),
        Value::List(items) => items.iter().map(plain).collect(),
        value => json!(value.to_string()),
    }
}
