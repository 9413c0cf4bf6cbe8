//! The audit: figures computed by hand, published figures through the command line, and laws over invented programs.

#![allow(clippy::unwrap_used, clippy::expect_used, reason = "a test fails by panicking")]

#[path = "../desk/mod.rs"]
mod desk;
mod bad_input;
mod coverage;
mod figures;
mod front_door;
mod interventions;
mod laws;
mod lead;
mod recurrent;
mod external;
mod questions;
mod refused;
#[path = "../simulator/mod.rs"]
mod simulator;
mod story;
#[path = "../outside/trial.rs"]
mod trial;

use desk::Desk;
use serde_json::Value;
use simulator::Simulated;

/// A simulated program to 2026-11-24, with 2024 as the baseline.
fn simulate(patients: u32, years: u32, seed: u32) -> Simulated {
    let simulated = simulator::simulate("stable", patients, years, seed, "2026-11-24");
    let records = &simulated.records;
    let policy = std::fs::read_to_string(records.join("policy.toml")).unwrap();
    assert!(!policy.contains("[audit]"));
    let baseline = "\n[audit]\nbaseline = { from = \"2024-01\", through = \"2024-12\" }\n";
    std::fs::write(records.join("policy.toml"), policy + baseline).unwrap();
    simulated
}

/// The JSON of an audit, checked against its schema.
fn audit(desk: &Desk, arguments: &[&str]) -> Value {
    let outcome = desk.run(&[&["audit", "--json"], arguments].concat());
    assert!(matches!(outcome.status, 0 | 3), "{arguments:?}: {}", outcome.stderr);
    let report: Value = serde_json::from_str(&outcome.stdout).unwrap();
    let schema = exitsite::schema::schema("audit").unwrap();
    jsonschema::validate(&schema, &report).unwrap_or_else(|error| panic!("{arguments:?}: {error}"));
    report
}

/// The text of an audit on one line.
fn text(desk: &Desk, arguments: &[&str]) -> String {
    let outcome = desk.run(&[&["audit"], arguments].concat());
    assert!(matches!(outcome.status, 0 | 3), "{arguments:?}: {}", outcome.stderr);
    let words: Vec<&str> = outcome.stdout.split_whitespace().collect();
    assert!(
        !words.iter().any(|word| ["NaN", "inf", "-inf"].contains(&word.trim_matches(['(', ')', ',', '.', ':']))),
        "{words:?}"
    );
    words.join(" ")
}

/// Adds a patient at home from the implant on, with the day and reason of the end if there is one.
fn patient(desk: &Desk, code: &str, implanted: &str, ended: Option<(&str, &str)>) {
    let ended = ended.map_or(String::new(), |(on, why)| format!("[ended]\non = {on}\nwhy = '{why}'\nby = 'co-1'\n"));
    desk.put(
        &format!("patients/{code}/patient.toml"),
        &format!("code = '{code}'\nimplanted = {implanted}\n[[exit]]\nid = 'a'\nwhere = 'midline'\nfrom = {implanted}\nwhy = 'implant'\n[[care]]\nfrom = {implanted}\nplace = 'home'\n{ended}"),
    );
}

/// Adds a proven infection, determined on the day of its onset.
fn infection(desk: &Desk, code: &str, onset: &str) {
    desk.put(
        &format!("patients/{code}/{}/{onset}-infection.toml", &onset[..4]),
        &format!("kind = 'infection'\non = {onset}\nby = 'md-3'\npart = 'driveline-superficial'\ncertainty = 'proven'\nonset = {onset}\n"),
    );
}

/// A desk without patients.
fn nobody() -> Desk {
    let desk = Desk::new();
    std::fs::remove_dir_all(desk.root().join("patients")).unwrap();
    desk
}

/// A number of a report, by its path.
fn number(report: &Value, path: &str) -> f64 {
    report.pointer(path).and_then(Value::as_f64).unwrap_or_else(|| panic!("{path} is {:?}", report.pointer(path)))
}

#[track_caller]
fn is_near(value: f64, expected: f64, within: f64) {
    assert!((value - expected).abs() <= within, "{value} is not {expected}");
}
