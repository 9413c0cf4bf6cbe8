//! JSON Schemas of the record files and of the reports, for editors and scripts.
//!
//! The schemas of the records are generated from the fields that the readers ask for, those of the reports from their
//! types, so neither can drift from the program.

mod tables;

use schemars::schema_for;
use serde_json::{Map, Value, json};

use crate::event::Kind;
use crate::patient::Patient;
use crate::people::People;
use crate::policy::Policy;
use crate::record::{Field, Shape};
use crate::report::Report;
use crate::report::audit::{AuditReport, ExternalReport};
use crate::report::{
    alert::AlertReport, check::CheckReport, contacts::ContactsReport, due::DueReport, export::ExportReport,
    grade::GradeReport, handoff::HandoffReport, history::HistoryReport, missed::MissedReport, policy::PolicyReport,
    pool::PoolReport, sheet::SheetReport, show::ShowReport, signals::SignalsReport, supplies::SuppliesReport,
    teaching::TeachingReport,
};
use crate::word::Word;

/// The files other than events.
const FILES: [&str; 3] = ["policy", "people", "patient"];

/// The reports, by command; `teaching` is already the name of a kind of event.
const REPORTS: [&str; 18] = [
    "alert",
    "audit",
    "audit-external",
    "pool",
    "check",
    "contacts",
    "due",
    "missed",
    "policy-diff",
    "grade",
    "show",
    "handoff",
    "history",
    "sheet",
    "signals",
    "teaching-report",
    "supplies",
    "export",
];

/// The files that `export json` writes.
const TABLES: [&str; 2] = ["export-table", "export-pseudonymous"];

/// The name of every schema: files, kinds of events, reports, tables of an export.
pub fn names() -> Vec<&'static str> {
    FILES.iter().chain(Kind::WORDS).chain(&REPORTS).chain(&TABLES).copied().collect()
}

/// Returns the schema with a name; `None` if there is none.
pub fn schema(name: &str) -> Option<Value> {
    let report = match name {
        "alert" => Some(schema_for!(Report<AlertReport>)),
        "audit" => Some(schema_for!(Report<AuditReport>)),
        "audit-external" => Some(schema_for!(ExternalReport)),
        "pool" => Some(schema_for!(PoolReport)),
        "check" => Some(schema_for!(Report<CheckReport>)),
        "contacts" => Some(schema_for!(Report<ContactsReport>)),
        "due" => Some(schema_for!(Report<DueReport>)),
        "missed" => Some(schema_for!(Report<MissedReport>)),
        "grade" => Some(schema_for!(Report<GradeReport>)),
        "handoff" => Some(schema_for!(Report<HandoffReport>)),
        "policy-diff" => Some(schema_for!(Report<PolicyReport>)),
        "history" => Some(schema_for!(Report<HistoryReport>)),
        "show" => Some(schema_for!(Report<ShowReport>)),
        "signals" => Some(schema_for!(Report<SignalsReport>)),
        "supplies" => Some(schema_for!(Report<SuppliesReport>)),
        "teaching-report" => Some(schema_for!(Report<TeachingReport>)),
        "sheet" => Some(schema_for!(Report<SheetReport>)),
        "export" => Some(schema_for!(Report<ExportReport>)),
        "export-table" => return Some(tables::plain()),
        "export-pseudonymous" => return Some(tables::of_pseudonymous()),
        _ => None,
    };
    if let Some(report) = report {
        let mut value = serde_json::to_value(report).ok()?;
        every_key_is_required(&mut value);
        return Some(value);
    }
    let fields = match name {
        "policy" => Policy::fields(),
        "people" => People::fields(),
        "patient" => Patient::fields(),
        kind => Kind::from_word(kind)?.fields(),
    };
    let mut schema = table(&fields);
    if let (Some(kind), Some(object)) = (Kind::from_word(name), schema.as_object_mut()) {
        object["properties"]["kind"] = json!({ "const": kind.word(), "description": "kind of event" });
        object.insert("oneOf".into(), json!([{ "required": ["at"] }, { "required": ["on"] }]));
    }
    let mut whole = Map::new();
    whole.insert("$schema".into(), json!("https://json-schema.org/draft/2020-12/schema"));
    whole.insert("title".into(), json!(name));
    whole.extend(schema.as_object().cloned().unwrap_or_default());
    Some(Value::Object(whole))
}

/// Marks every key of a report as required: an unknown value is null, never omitted.
fn every_key_is_required(value: &mut Value) {
    match value {
        Value::Object(object) => {
            if let Some(keys) = object
                .get("properties")
                .and_then(Value::as_object)
                .map(|properties| properties.keys().cloned().collect::<Vec<_>>())
            {
                object.insert("required".into(), json!(keys));
            }
            object.values_mut().for_each(every_key_is_required);
        }
        Value::Array(items) => items.iter_mut().for_each(every_key_is_required),
        _ => {}
    }
}

fn table(fields: &[Field]) -> Value {
    let mut properties = Map::new();
    for field in fields {
        let mut schema = shape(&field.shape);
        if let Some(object) = schema.as_object_mut() {
            object.insert("description".into(), json!(field.about));
        }
        properties.insert(field.name.to_owned(), schema);
    }
    let required: Vec<&str> = fields.iter().filter(|field| field.is_needed).map(|field| field.name).collect();
    json!({ "type": "object", "properties": properties, "required": required, "additionalProperties": false })
}

fn shape(shape: &Shape) -> Value {
    match shape {
        Shape::Text | Shape::Id => json!({ "type": "string" }),
        Shape::Words(words) => json!({ "enum": words }),
        Shape::Flag => json!({ "type": "boolean" }),
        Shape::Whole(least, most) => json!({ "type": "integer", "minimum": least, "maximum": most }),
        Shape::Measure(least, most) => json!({ "type": "number", "minimum": least, "maximum": most }),
        Shape::WholeOr(word) => {
            json!({ "anyOf": [{ "type": "integer", "minimum": 0, "maximum": 3650 }, { "const": word }] })
        }
        Shape::Date => json!({ "type": "string", "format": "date" }),
        Shape::TimeOfDay => json!({ "type": "string", "pattern": "^\\d{2}:\\d{2}(:\\d{2})?$" }),
        Shape::Moment => {
            json!({ "type": "string", "pattern": "^\\d{4}-\\d{2}-\\d{2}[T ]\\d{2}:\\d{2}(:\\d{2})?(Z|[+-]\\d{2}:\\d{2})?$" })
        }
        Shape::List(item) => json!({ "type": "array", "items": self::shape(item) }),
        Shape::Table(fields) => table(fields),
        Shape::Rows(fields) => json!({ "type": "array", "items": table(fields) }),
        Shape::Map(item) => json!({ "type": "object", "additionalProperties": self::shape(item) }),
    }
}
