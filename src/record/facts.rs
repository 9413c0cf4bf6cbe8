//! The facts of a text, whatever its layout: every key with its value, written one way.
//!
//! ```text
//! kind = 'shower'             kind              "shower"
//! redness_mm = 12.0           redness_mm        12
//! [[amended]]                 amended.0.by      "co-1"
//! by = "co-1"
//! ```
//!
//! Comments, blank lines, the order of keys and the kind of quotes are no facts.

use std::collections::BTreeMap;

use toml::Value;

use super::depth;
use crate::place::Source;

/// Every key of a text with its value, tables in a list numbered from 0; None if the text is no TOML.
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
    let source = Source { file: String::new(), text: text.trim_start_matches('\u{feff}').to_owned() };
    if depth::too_deep(&source).is_some() {
        return None;
    }
    let table: toml::Table = source.text.parse().ok()?;
    let mut facts = BTreeMap::new();
    for (key, value) in &table {
        gather(&quoted(key), value, &mut facts);
    }
    Some(facts)
}

fn gather(path: &str, value: &Value, facts: &mut BTreeMap<String, String>) {
    match value {
        Value::Table(table) if !table.is_empty() => {
            table.iter().for_each(|(key, value)| gather(&format!("{path}.{}", quoted(key)), value, facts));
        }
        Value::Array(items) if !items.is_empty() && items.iter().all(Value::is_table) => {
            items.iter().enumerate().for_each(|(n, item)| gather(&format!("{path}.{n}"), item, facts));
        }
        value => _ = facts.insert(path.to_owned(), written(value)),
    }
}

/// A key as it stands in a path: in quotes if it is no plain one.
fn quoted(key: &str) -> String {
    let is_plain = !key.is_empty() && key.bytes().all(|b| b.is_ascii_alphanumeric() || b == b'_' || b == b'-');
    if is_plain { key.to_owned() } else { format!("{key:?}") }
}

fn written(value: &Value) -> String {
    match value {
        // As JSON writes it, so that it can be read back.
        Value::String(text) => serde_json::Value::from(text.replace("\r\n", "\n")).to_string(),
        // 12 and 12.0 are one measure.
        Value::Float(number) if number.fract() == 0.0 && number.abs() < 1e15 => format!("{number:.0}"),
        Value::Float(number) => number.to_string(),
        Value::Integer(number) => number.to_string(),
        Value::Boolean(flag) => flag.to_string(),
        Value::Datetime(moment) => moment.to_string(),
        Value::Array(items) => format!("[{}]", items.iter().map(written).collect::<Vec<_>>().join(", ")),
        Value::Table(table) => {
            let pairs = table.iter().map(|(key, value)| format!("{} = {}", quoted(key), written(value)));
            format!("{{{}}}", pairs.collect::<Vec<_>>().join(", "))
        }
    }
}
