//! The audit: figures worked out by hand, through the front door against published ones, and laws over invented programs.

#![allow(clippy::unwrap_used, clippy::expect_used, reason = "a test fails by panicking")]

#[path = "../desk/mod.rs"]
mod desk;
mod front_door;
mod laws;
mod refused;
mod story;

use desk::Desk;
use serde_json::Value;

/// The JSON of an audit, which keeps its schema.
fn audit(desk: &Desk, arguments: &[&str]) -> Value {
    let outcome = desk.run(&[&["audit", "--json"], arguments].concat());
    assert!(matches!(outcome.status, 0 | 3), "{arguments:?}: {}", outcome.stderr);
    let report: Value = serde_json::from_str(&outcome.stdout).unwrap();
    let schema = exitsite::schema::schema("audit").unwrap();
    jsonschema::validate(&schema, &report).unwrap_or_else(|error| panic!("{arguments:?}: {error}"));
    report
}

/// A number of a report, by its path.
fn number(report: &Value, path: &str) -> f64 {
    report.pointer(path).and_then(Value::as_f64).unwrap_or_else(|| panic!("{path} is {:?}", report.pointer(path)))
}

#[track_caller]
fn is_near(value: f64, expected: f64, within: f64) {
    assert!((value - expected).abs() <= within, "{value} is not {expected}");
}
