//! The schemas of the files that `export json` writes: the header common to all, and the rows of one table.

use serde_json::{Map, Value, json};

use super::shape;
use crate::export::release::{self, NOTICE};
use crate::export::{ExportColumn, tables};

/// The schema of a file of identified records.
pub(super) fn plain() -> Value {
    let shapes = tables().iter().map(|table| (table.name, table.columns.clone()));
    schema("export-table", shapes.collect(), json!({ "type": "string" }), false)
}

/// The schema of a file of pseudonymous records, which has no dates.
pub(super) fn of_pseudonymous() -> Value {
    schema("export-pseudonymous", release::shapes(), json!({ "type": "null" }), true)
}

fn schema(title: &str, shapes: Vec<(&'static str, Vec<ExportColumn>)>, as_of: Value, is_pseudonymous: bool) -> Value {
    let unusable = json!({
        "type": "object",
        "properties": {
            "file": { "type": "string" },
            "line": { "type": ["integer", "null"] },
            "message": { "type": "string" }
        },
        "required": ["file", "line", "message"]
    });
    let one = |(name, columns): &(&str, Vec<ExportColumn>)| {
        json!({
            "if": { "properties": { "table": { "const": name } } },
            "then": { "properties": { "rows": { "items": row(columns) } } }
        })
    };
    let mut schema = json!({
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": title,
        "type": "object",
        "properties": {
            "command": { "const": "export" },
            "as_of": as_of,
            "version": { "type": "string" },
            "caution": { "type": "string" },
            "unusable": { "type": "array", "items": unusable },
            "pseudonymous": { "const": is_pseudonymous },
            "table": { "enum": shapes.iter().map(|(name, _)| name).collect::<Vec<_>>() },
            "rows": { "type": "array" }
        },
        "required": ["command", "as_of", "version", "caution", "unusable", "pseudonymous", "table", "rows"],
        "allOf": shapes.iter().map(one).collect::<Vec<_>>()
    });
    if is_pseudonymous {
        schema["properties"]["notice"] = json!({ "const": NOTICE });
    }
    schema
}

fn row(columns: &[ExportColumn]) -> Value {
    let names: Vec<&str> = columns.iter().map(|column| column.name.as_str()).collect();
    let property = |column: &ExportColumn| {
        let value = json!({ "anyOf": [shape(&column.shape), { "type": "null" }], "description": column.about });
        (column.name.clone(), value)
    };
    let properties: Map<String, Value> = columns.iter().map(property).collect();
    json!({ "type": "object", "properties": properties, "required": names })
}
