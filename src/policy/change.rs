//! The values in which two policies differ, key by key, after the defaults are merged into both.
//!
//! ```toml
//! [windows]
//! after_shower_hours = 4                 # windows.after_shower_hours: was 2
//! ```
//!
//! Rows of a list are matched by name, not by position, so a moved row is not a changed row. Left out on purpose:
//! comments and layout, and a default that is now written out.

use schemars::JsonSchema;
use serde::ser::SerializeMap;
use serde::{Serialize, Serializer};

use super::phase::LOOK_DAYS;
use super::{Policy, TEMPLATE};
use crate::record::{Field, Shape, Value, Values};

/// The keys that identify a row of a list; the first one present is used.
const NAMES: [&str; 7] = ["name", "item", "field", "id", "band", "month", "on"];

/// The keys that distinguish versions with the same name.
const VERSIONS: [&str; 2] = ["role", "version"];

/// Sections whose present values also apply to past days.
const JUDGES: [&str; 10] = [
    "phase",
    "windows",
    "reporting",
    "returns",
    "score",
    "rubric",
    "signals",
    "teaching",
    "care_day_starts",
    "time_zone",
];

/// A value that differs between two policies.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct PolicyChange {
    /// The dotted key: `windows.after_shower_hours`, `phase[home].every_days`.
    #[schemars(with = "String")]
    pub key: KeyPath,
    /// Description of the key.
    pub about: String,
    /// Earlier value; null if the policy had none.
    #[schemars(with = "Option<serde_json::Value>")]
    pub was: Option<Value>,
    /// Present value; null if the policy has none.
    #[schemars(with = "Option<serde_json::Value>")]
    pub now: Option<Value>,
    /// True if the present value also applies to past days.
    pub judges_past_days: bool,
}

/// The path to a value: tables and rows, outermost first.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct KeyPath(pub Vec<KeyStep>);

/// A key on the path to a value.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct KeyStep {
    /// The key.
    pub key: String,
    /// The name of the row, if the key holds an array of tables.
    pub row: Option<String>,
}

/// Returns the differences between the texts of two policies; a text that is not valid TOML has no keys.
///
/// ```
/// # use exitsite::policy::changes;
/// let was = "schema = 1\nprogram = 'Invented'\ntime_zone = 'America/Chicago'\n";
/// let now = format!("{was}[windows]\nafter_shower_hours = 4\nafter_damage_hours = 2\n");
/// let changes = changes(was, &now);
/// assert_eq!(changes.len(), 1);
/// assert_eq!(changes[0].key.to_string(), "windows.after_shower_hours");
/// ```
pub fn changes(was: &str, now: &str) -> Vec<PolicyChange> {
    let below = Values::of(TEMPLATE).unwrap_or_default();
    let mut found = Vec::new();
    tables(&KeyPath(Vec::new()), &effective(was, &below), &effective(now, &below), &Policy::fields(), &mut found);
    found
}

/// Returns the effective values: those of the text, completed with the defaults of the file, of a phase, of a supply.
fn effective(text: &str, below: &Values) -> Values {
    let mut values = Values::of(text).unwrap_or_default().over(below);
    let supply = below.rows("supply").into_iter().next().cloned().unwrap_or_default();
    let mut phase = Values::default();
    phase.set("look_days", Value::Number(LOOK_DAYS as f64));
    for (list, below) in [("phase", phase), ("supply", supply)] {
        let rows = values.rows(list).into_iter().map(|row| Value::Table(row.clone().over(&below))).collect();
        values.set(list, Value::List(rows));
    }
    values
}

fn tables(path: &KeyPath, was: &Values, now: &Values, fields: &[Field], found: &mut Vec<PolicyChange>) {
    let mut keys: Vec<&str> = fields.iter().map(|field| field.name).collect();
    let unknown = was.iter().chain(now.iter()).map(|(key, _)| key);
    keys.extend(
        unknown.filter(|key| !fields.iter().any(|field| field.name == *key)).collect::<std::collections::BTreeSet<_>>(),
    );
    for key in keys {
        let field = fields.iter().find(|field| field.name == key);
        compare(&path.with(key, None), was.get_own(key), now.get_own(key), field, found);
    }
}

fn compare(
    path: &KeyPath,
    was: Option<&Value>,
    now: Option<&Value>,
    field: Option<&Field>,
    found: &mut Vec<PolicyChange>,
) {
    if was == now {
        return;
    }
    let none = Values::default();
    match (was, now) {
        (Some(Value::Table(was)), Some(Value::Table(now))) => tables(path, was, now, inner(field), found),
        (Some(Value::Table(was)), None) => tables(path, was, &none, inner(field), found),
        (None, Some(Value::Table(now))) => tables(path, &none, now, inner(field), found),
        _ if is_rows(was) || is_rows(now) => rows(path, &named(was), &named(now), field, found),
        _ => found.push(PolicyChange::of(path, was, now, field)),
    }
}

fn is_rows(value: Option<&Value>) -> bool {
    matches!(value, Some(Value::List(rows)) if matches!(rows.first(), Some(Value::Table(_))))
}

type NamedRows<'v> = Vec<(String, &'v Values)>;

/// Returns the rows of a list, each with a unique name.
fn named(value: Option<&Value>) -> NamedRows<'_> {
    let Some(Value::List(items)) = value else { return Vec::new() };
    let mut rows: NamedRows = Vec::new();
    for (n, row) in items.iter().filter_map(Value::table).enumerate() {
        let text = |key: &str| row.get_own(key).map(plain);
        let name = NAMES.iter().find_map(|key| text(key)).unwrap_or_else(|| (n + 1).to_string());
        let versions = VERSIONS.iter().filter_map(|key| text(key));
        let mut name = [name].into_iter().chain(versions).collect::<Vec<_>>().join(" ");
        while rows.iter().any(|(other, _)| *other == name) {
            name.push('+');
        }
        rows.push((name, row));
    }
    rows
}

fn rows(path: &KeyPath, was: &NamedRows, now: &NamedRows, field: Option<&Field>, found: &mut Vec<PolicyChange>) {
    let row_of =
        |rows: &NamedRows<'_>, name: &str| rows.iter().find(|(other, _)| other == name).map(|(_, row)| (*row).clone());
    let names = |rows: &NamedRows| rows.iter().map(|(name, _)| name.clone()).collect::<Vec<_>>();
    let (old_names, new_names) = (names(was), names(now));
    let gone = old_names.iter().filter(|name| !new_names.contains(name));
    for name in new_names.iter().chain(gone) {
        let path = path.row(name);
        match (row_of(was, name), row_of(now, name)) {
            (Some(was), Some(now)) => tables(&path, &was, &now, inner(field), found),
            (was, now) => {
                let (was, now) = (was.map(Value::Table), now.map(Value::Table));
                found.push(PolicyChange::of(&path, was.as_ref(), now.as_ref(), field));
            }
        }
    }
    // The first matching row applies, so a change of order is a change of the policy.
    let kept = |names: &[String], others: &[String]| {
        names.iter().filter(|name| others.contains(name)).cloned().collect::<Vec<_>>()
    };
    if kept(&old_names, &new_names) != kept(&new_names, &old_names) {
        let list = |names: Vec<String>| Value::List(names.into_iter().map(Value::Text).collect());
        found.push(PolicyChange::of(path, Some(&list(old_names)), Some(&list(new_names)), field));
    }
}

/// Formats a value as the name of a row.
fn plain(value: &Value) -> String {
    match value {
        Value::Text(text) => text.clone(),
        value => value.to_string(),
    }
}

fn inner(field: Option<&Field>) -> &[Field] {
    match field.map(|field| &field.shape) {
        Some(Shape::Table(fields) | Shape::Rows(fields)) => fields,
        _ => &[],
    }
}

impl PolicyChange {
    fn of(path: &KeyPath, was: Option<&Value>, now: Option<&Value>, field: Option<&Field>) -> PolicyChange {
        PolicyChange {
            key: path.clone(),
            about: field.map(|field| field.about.to_owned()).unwrap_or_default(),
            was: was.cloned(),
            now: now.cloned(),
            judges_past_days: path.0.first().is_some_and(|first| JUDGES.contains(&first.key.as_str())),
        }
    }
}

impl KeyPath {
    fn with(&self, key: &str, row: Option<String>) -> KeyPath {
        let step = KeyStep { key: key.to_owned(), row };
        KeyPath(self.0.iter().cloned().chain([step]).collect())
    }

    /// Returns the path of a row of the list at this path.
    fn row(&self, name: &str) -> KeyPath {
        let mut path = self.clone();
        path.0.iter_mut().last().into_iter().for_each(|step| step.row = Some(name.to_owned()));
        path
    }
}

impl std::fmt::Display for KeyPath {
    fn fmt(&self, out: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        for (n, KeyStep { key, row }) in self.0.iter().enumerate() {
            let row = row.as_ref().map(|row| format!("[{row}]")).unwrap_or_default();
            write!(out, "{}{key}{row}", if n == 0 { "" } else { "." })?;
        }
        Ok(())
    }
}

impl Serialize for KeyPath {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

/// Converts a value to JSON; dates and times become strings.
impl Serialize for Value {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        match self {
            Value::Text(text) => serializer.serialize_str(text),
            Value::Number(number) if number.fract() == 0.0 && number.abs() < 1e15 => {
                serializer.serialize_i64(*number as i64)
            }
            Value::Number(number) => serializer.serialize_f64(*number),
            Value::Flag(flag) => serializer.serialize_bool(*flag),
            Value::Date(_) | Value::Time(_) | Value::Moment(_) => serializer.collect_str(self),
            Value::List(items) => serializer.collect_seq(items),
            Value::Table(values) => {
                let mut map = serializer.serialize_map(None)?;
                values.iter().try_for_each(|(key, value)| map.serialize_entry(key, value))?;
                map.end()
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::changes;

    const LEAST: &str = "schema = 1\nprogram = 'Invented'\ntime_zone = 'America/Chicago'\n";

    /// The keys that differ, with both values as JSON.
    fn check(was: &str, now: &str, expected: &[&str]) {
        let json = |value| serde_json::to_string(value).unwrap();
        let found = changes(&format!("{LEAST}{was}"), &format!("{LEAST}{now}"));
        let found: Vec<String> =
            found.iter().map(|one| format!("{} {} {}", one.key, json(&one.was), json(&one.now))).collect();
        assert_eq!(found, expected);
    }

    #[test]
    fn layout_and_written_defaults_are_no_changes() {
        check("", "# as before\n[windows]\nafter_shower_hours = 2\n", &[]);
        check("", super::TEMPLATE.split_once("care_day_starts").unwrap().1.split_once('\n').unwrap().1, &[]);
        let phase = "[[phase]]\nname = 'home'\nevery_days = 2\n";
        check(phase, &format!("{phase}look_days = 92\n"), &[]);
        check(&format!("{phase}look_days = 92\n"), phase, &[]);
    }

    #[test]
    fn a_value_a_row_and_the_order_of_rows() {
        check("", "[windows]\nafter_shower_hours = 4\n", &["windows.after_shower_hours 2 4"]);
        check("", "[signals]\nredness-wide = { mm = 15.5 }\n", &["signals.redness-wide.mm 20 15.5"]);
        check("", "[signals]\npus = { off = 'binder' }\n", &["signals.pus.off null \"binder\""]);
        let (a, b) = (
            "[[phase]]\nname = 'a'\nthrough_pod = 5\nevery_days = 1\n",
            "[[phase]]\nname = 'b'\nplace = 'home'\nevery_days = 1\n",
        );
        let last = "[[phase]]\nname = 'z'\nevery_days = 2\n";
        check(&[a, b, last].concat(), &[b, a, last].concat(), &["phase [\"a\",\"b\",\"z\"] [\"b\",\"a\",\"z\"]"]);
        check(
            &[a, last].concat(),
            &last.replace('2', "3"),
            &[
                "phase[z].every_days 2 3",
                "phase[a] {\"every_days\":1,\"look_days\":92,\"name\":\"a\",\"through_pod\":5} null",
            ],
        );
    }
}
