//! The facts of a text regardless of its layout: every key with its value in canonical form.
//!
//! ```text
//! kind = 'shower'             kind              "shower"
//! redness_mm = 12.0           redness_mm        12
//! [[amended]]                 amended.0.by      "co-1"
//! by = "co-1"
//! ```
//!
//! Comments, blank lines, the order of keys and the kind of quotes are not facts.

use std::collections::BTreeMap;

use super::form::{Value, Values, written_key};

/// Every key of a text with its value, rows of a list numbered from 0; `None` if the text is not valid TOML.
///
/// ```
/// # use exitsite::record::facts;
/// let facts = |text: &str| facts(text).unwrap();
/// assert_eq!(facts("by = 'co-1'\nkind = 'shower' # told"), facts("kind = \"shower\"\n\nby = \"co-1\"\n"));
/// assert_eq!(facts("at = 2026-11-23 18:40:00-06:00"), facts("at = 2026-11-23T18:40:00-06:00"));
/// assert_eq!(facts("[site]\ncrust_mm = 12.0"), facts("site = { crust_mm = 12 }"));
/// assert_ne!(facts("crust_mm = 12"), facts("crust_mm = '12'"));
/// assert_eq!(facts("[[amended]]\nby = 'co-1'")["amended.0.by"], "\"co-1\"");
/// assert!(exitsite::record::facts("by = 'co-1").is_none());
/// ```
pub fn facts(text: &str) -> Option<BTreeMap<String, String>> {
    let mut facts = BTreeMap::new();
    gather("", &Values::of(text.trim_start_matches('\u{feff}'))?, &mut facts);
    Some(facts)
}

fn gather(before: &str, values: &Values, facts: &mut BTreeMap<String, String>) {
    for (key, entry) in values.entries() {
        let path = format!("{before}{}", written_key(key));
        match &entry.value {
            Value::Table(table) if !table.is_empty() => gather(&format!("{path}."), table, facts),
            Value::List(items) if !items.is_empty() && items.iter().all(|item| item.table().is_some()) => {
                let tables = items.iter().filter_map(Value::table).enumerate();
                tables.for_each(|(n, table)| gather(&format!("{path}.{n}."), table, facts));
            }
            value => _ = facts.insert(path, written(value)),
        }
    }
}

fn written(value: &Value) -> String {
    match value {
        // As a JSON string, so that it can be parsed back.
        Value::Text(text) => serde_json::Value::from(text.replace("\r\n", "\n")).to_string(),
        Value::List(items) => format!("[{}]", items.iter().map(written).collect::<Vec<_>>().join(", ")),
        Value::Table(table) if table.is_empty() => "{}".to_owned(),
        value => value.to_string(),
    }
}
