//! The records as tables: each value on file is in its cell, CSV is read back as the same facts, no existing folder is
//! touched, and only the listed columns leave the program.

#![allow(clippy::unwrap_used, clippy::expect_used, reason = "a test fails by panicking")]

#[path = "../desk/mod.rs"]
mod desk;
mod columnar;
mod folder;
mod pseudonymous;
mod round_trip;

use std::collections::BTreeMap;
use std::ffi::OsString;
use std::fs;
use std::path::{Path, PathBuf};

use exitsite::command::{Outcome, Surroundings, run};
use serde_json::Value;
use tempfile::TempDir;

/// The rows of a table, each with its values by column.
type Rows = Vec<BTreeMap<String, Value>>;

fn demo() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/demo")
}

fn folder() -> TempDir {
    tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).unwrap()
}

/// Runs an export on Tuesday, 2026-11-24, at 07:15 in Chicago.
fn said(records: &Path, here: &Path, arguments: &[&str]) -> Outcome {
    let surroundings = Surroundings {
        now: "2026-11-24T13:15:00Z".parse().unwrap(),
        here: here.to_owned(),
        records: Some(records.to_owned()),
        ..Surroundings::default()
    };
    run(["exitsite", "export"].iter().chain(arguments).map(OsString::from), &surroundings)
}

/// The files that an export writes, by name.
fn exported(records: &Path, format: &str, arguments: &[&str]) -> (Outcome, BTreeMap<String, String>) {
    let here = folder();
    let outcome = said(records, here.path(), &[&[format, "out"], arguments].concat());
    assert_ne!(outcome.status, 2, "{}", outcome.stderr);
    let files = fs::read_dir(here.path().join("out")).unwrap().map(|entry| {
        let entry = entry.unwrap();
        (entry.file_name().into_string().unwrap(), fs::read_to_string(entry.path()).unwrap())
    });
    let files = files.collect();
    let beside: Vec<_> = fs::read_dir(here.path()).unwrap().map(|entry| entry.unwrap().file_name()).collect();
    assert_eq!(beside, ["out"], "nothing else is left behind");
    (outcome, files)
}

/// Every table, from JSON.
fn tables(records: &Path, arguments: &[&str]) -> BTreeMap<String, Rows> {
    tables_of(&exported(records, "json", arguments).1, "export-table")
}

/// The tables of JSON files, each checked against the schema.
fn tables_of(files: &BTreeMap<String, String>, schema: &str) -> BTreeMap<String, Rows> {
    let schema = exitsite::schema::schema(schema).unwrap();
    let validator = jsonschema::options().should_validate_formats(true).build(&schema).unwrap();
    let mut tables = BTreeMap::new();
    for (name, text) in files.iter().filter(|(name, _)| name.ends_with(".json")) {
        let file: Value = serde_json::from_str(text).unwrap_or_else(|error| panic!("{name}: {error}"));
        let faults: Vec<String> =
            validator.iter_errors(&file).map(|error| format!("{}: {error}", error.instance_path())).collect();
        assert!(faults.is_empty(), "{name}: {faults:?}");
        let table = file["table"].as_str().unwrap().to_owned();
        assert_eq!(*name, format!("{table}.json"));
        tables.insert(table, serde_json::from_value(file["rows"].clone()).unwrap());
    }
    tables
}

/// A CSV file's header and rows.
fn csv_of(text: &str) -> (Vec<String>, Vec<Vec<String>>) {
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    let header = reader.headers().unwrap().iter().map(str::to_owned).collect();
    let rows = reader.records().map(|row| row.unwrap().iter().map(str::to_owned).collect());
    (header, rows.collect())
}

/// Every readable event file: its path in the records, and its keys as JSON.
fn events(records: &Path) -> BTreeMap<String, BTreeMap<String, Value>> {
    fn gather(folder: &Path, files: &mut Vec<PathBuf>) {
        for entry in fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() { gather(&path, files) } else { files.push(path) }
        }
    }
    let mut files = Vec::new();
    gather(records, &mut files);
    let is_event = |path: &&PathBuf| path.file_name().unwrap().to_str().unwrap().starts_with("20");
    let read = |path: &PathBuf| {
        let table: toml::Table = fs::read_to_string(path).unwrap().parse().ok()?;
        let mut keys = BTreeMap::new();
        flatten("", &table, &mut keys);
        Some((path.strip_prefix(records).unwrap().to_str().unwrap().to_owned(), keys))
    };
    files.iter().filter(is_event).filter_map(read).collect()
}

fn flatten(before: &str, table: &toml::Table, keys: &mut BTreeMap<String, Value>) {
    for (key, value) in table {
        match value {
            toml::Value::Table(inner) => flatten(&format!("{before}{key}."), inner, keys),
            toml::Value::Datetime(moment) => _ = keys.insert(format!("{before}{key}"), moment.to_string().into()),
            toml::Value::Float(number) if number.fract() == 0.0 => {
                keys.insert(format!("{before}{key}"), Value::from(*number as i64));
            }
            value => _ = keys.insert(format!("{before}{key}"), serde_json::to_value(value).unwrap()),
        }
    }
}

#[test]
fn every_value_of_the_invented_program_is_in_its_cell_and_nothing_else() {
    let tables = tables(&demo(), &[]);
    let on_file = events(&demo());
    let mut found = 0;
    for (file, keys) in &on_file {
        let kind = keys["kind"].as_str().unwrap();
        let row = tables[kind].iter().find(|row| row["file"] == **file).unwrap_or_else(|| panic!("{file} has no row"));
        for (key, value) in keys.iter().filter(|(key, _)| *key != "amended") {
            assert_eq!(row[key], *value, "{file}: {key}");
        }
        let made = ["patient", "file", "care_day", "source", "exit", "voided", "amended"];
        let others = row.iter().filter(|(key, value)| !value.is_null() && !keys.contains_key(*key));
        let others: Vec<&String> = others.map(|(key, _)| key).filter(|key| !made.contains(&key.as_str())).collect();
        assert!(others.is_empty(), "{file}: {others:?}");
        found += 1;
    }
    let kinds = exitsite::event::Kind::ALL.iter().map(|kind| tables[&kind.to_string()].len());
    assert_eq!(kinds.sum::<usize>(), found);
    assert_eq!(found, 401);
    assert_eq!(tables["patients"].len(), 25);
    assert_eq!(tables["people"].len(), 8);
    let of = |table: &str, patient: &str| tables[table].iter().filter(|row| row["patient"] == patient).count();
    assert_eq!([of("exits", "P-016"), of("care", "P-031"), of("caregivers", "P-014")].iter().min(), Some(&1));
    let voided: Vec<&Value> =
        tables["change"].iter().filter(|row| row["voided"] == true).map(|row| &row["void.by"]).collect();
    assert!(voided.iter().all(|by| by.is_string()), "{voided:?}");
    assert_eq!(tables["amendments"].len(), on_file.values().filter(|keys| keys.contains_key("amended")).count());
}

/// The CSV text of a JSON value; `None` for a list. Texts are not guarded.
fn plain(value: &Value) -> Option<String> {
    match value {
        Value::Null => Some(String::new()),
        Value::String(text) => Some(text.clone()),
        Value::Array(_) => None,
        other => Some(other.to_string()),
    }
}

#[test]
fn csv_and_json_have_the_same_rows_and_lines_end_as_the_standard_says() {
    let tables = tables(&demo(), &[]);
    let (outcome, files) = exported(&demo(), "csv", &[]);
    assert_eq!(files.len(), tables.len());
    for (name, rows) in &tables {
        let text = &files[&format!("{name}.csv")];
        assert!(text.ends_with("\r\n") && !text.starts_with('\u{feff}'), "{name}");
        let (header, cells) = csv_of(text);
        assert_eq!(cells.len(), rows.len(), "{name}");
        assert!(outcome.stdout.lines().any(|line| {
            let words: Vec<&str> = line.split_whitespace().collect();
            words == [name.as_str(), &rows.len().to_string(), &format!("{name}.csv")]
        }));
        for (row, cells) in rows.iter().zip(&cells) {
            for (column, cell) in header.iter().zip(cells) {
                if let Some(value) = plain(&row[column]) {
                    assert_eq!(value, *cell, "{name}: {column}");
                }
            }
        }
    }
    let steps = tables["teaching"].iter().find(|row| row["unaided"].is_array()).unwrap();
    let steps: Vec<&str> = steps["unaided"].as_array().unwrap().iter().map(|step| step.as_str().unwrap()).collect();
    assert!(files["teaching.csv"].contains(&format!(",{},", steps.join(" "))), "lists have spaces between");
}

#[test]
fn a_file_that_cannot_be_used_is_named_and_the_others_are_written() {
    let (outcome, _) = exported(&demo(), "csv", &["--json"]);
    assert_eq!(outcome.status, 3);
    let broken = "patients/P-003/2026/2026-11-23T1905-change.toml";
    assert!(outcome.stderr.contains(broken), "{}", outcome.stderr);
    let report: Value = serde_json::from_str(&outcome.stdout).unwrap();
    jsonschema::validate(&exitsite::schema::schema("export").unwrap(), &report).unwrap();
    assert_eq!((&report["command"], &report["unusable"][0]["file"]), (&"export".into(), &broken.into()));
    assert_eq!(report["unusable"].as_array().unwrap().len(), 1);

    // If a patient's course is unreadable, the events are exported nevertheless.
    let desk = desk::Desk::new();
    desk.put("patients/P-002/patient.toml", "code = 'P-002'\n");
    desk.put("patients/P-002/2026/2026-11-20-shower.toml", "kind = 'shower'\non = 2026-11-20\nby = 'patient'\n");
    desk.put("patients/P-002/2026/2026-11-21-chnage.toml", "kind = 'change'\n");
    let (outcome, _) = exported(desk.root(), "json", &[]);
    assert_eq!(outcome.status, 3);
    for file in ["patients/P-002/patient.toml", "patients/P-002/2026/2026-11-21-chnage.toml"] {
        assert!(outcome.stdout.contains(file), "{}", outcome.stdout);
    }
    let tables = tables(desk.root(), &[]);
    assert_eq!(tables["shower"].len(), 1);
    assert_eq!(tables["shower"][0]["care_day"], "2026-11-20");
    assert_eq!(tables["patients"].len(), 1);
}

#[test]
fn what_is_asked_for_is_what_is_written() {
    let days = |table: &str, arguments: &[&str]| -> Vec<(String, String)> {
        let mut tables = tables(&demo(), arguments);
        let rows = tables.remove(table).unwrap().into_iter();
        let text = |value: &Value| value.as_str().unwrap().to_owned();
        rows.map(|row| (text(&row["patient"]), text(&row["care_day"]))).collect()
    };
    let all = days("change", &[]);
    let some = days("change", &["--from", "2026-11-10", "--to", "2026-11-12"]);
    let expected: Vec<_> =
        all.iter().filter(|(_, day)| ("2026-11-10".."2026-11-13").contains(&day.as_str())).cloned().collect();
    assert!(!expected.is_empty() && expected.len() < all.len());
    assert_eq!(some, expected);
    let of_two = days("change", &["--patient", "P-014", "--patient", "P-016"]);
    let expected: Vec<_> = all.iter().filter(|(code, _)| code == "P-014" || code == "P-016").cloned().collect();
    assert_eq!(of_two, expected);
    let earlier = days("change", &["--as-of", "2026-11-12"]);
    let expected: Vec<_> = all.iter().filter(|(_, day)| day.as_str() <= "2026-11-12").cloned().collect();
    assert_eq!(earlier, expected);
    // The checkoffs of staff belong to no patient and are left out if a patient is named.
    assert!(tables(&demo(), &[])["teaching"].iter().any(|row| row["patient"] == "rn-07"));
    assert!(tables(&demo(), &["--patient", "P-014"])["teaching"].iter().all(|row| row["patient"] == "P-014"));
}

#[test]
fn a_result_is_there_from_its_own_day() {
    let desk = desk::Desk::new();
    let culture = "kind = 'culture'\nat = 2026-11-10T09:00:00-06:00\nby = 'rn-07'\nspecimen = 'exit-site'\n[result]\non = 2026-11-13\ngrowth = true\norganisms = ['Invented coccus']\n";
    desk.put("patients/P-001/2026/2026-11-10T0900-culture.toml", culture);
    let result = |as_of: &str| {
        let row = tables(desk.root(), &["--as-of", as_of])["culture"][0].clone();
        assert_eq!(row["specimen"], "exit-site");
        (row["result.on"].clone(), row["result.growth"].clone(), row["result.organisms"].clone())
    };
    assert_eq!(result("2026-11-12"), (Value::Null, Value::Null, Value::Null));
    assert_eq!(result("2026-11-13"), ("2026-11-13".into(), true.into(), serde_json::json!(["Invented coccus"])));
}

#[test]
fn the_same_records_give_the_same_bytes() {
    for format in ["csv", "json"] {
        let arguments = ["--as-of", "2026-11-24"];
        assert_eq!(exported(&demo(), format, &arguments).1, exported(&demo(), format, &arguments).1);
    }
}

#[test]
fn what_is_voided_may_say_anything_and_is_marked() {
    let desk = desk::Desk::new();
    let voided = "kind = 'assessment'\nat = 2026-11-10T09:00:00-06:00\nby = 'rn-07'\n[site]\nredness_mm = 900\ndrainage = 'none'\n[void]\nat = 2026-11-10T10:00:00\nby = 'rn-07'\nwhy = 'a slip'\n";
    desk.put("patients/P-001/2026/2026-11-10T0900-assessment.toml", voided);
    let row = &tables(desk.root(), &[])["assessment"][0];
    assert_eq!(
        (&row["voided"], &row["site.redness_mm"], &row["site.drainage"]),
        (&true.into(), &Value::Null, &"none".into())
    );
    assert_eq!((&row["void.at"], &row["void.why"]), (&"2026-11-10T10:00:00-06:00".into(), &"a slip".into()));
}
