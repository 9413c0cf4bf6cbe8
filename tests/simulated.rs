//! The tool against programs with a known truth: the simulator writes them and computes, by its own arithmetic from the
//! planted events, who is overdue and why, and which changes were missed.

#![allow(clippy::unwrap_used, clippy::expect_used, reason = "a test fails by panicking")]

mod simulator;

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

use exitsite::command::{Outcome, Surroundings, run};
use exitsite::event::{EventName, Kind};
use exitsite::record::Values;
use serde_json::Value;
use simulator::{Simulated, simulate};

impl Simulated {
    fn run(&self, arguments: &[&str]) -> Outcome {
        let now = self.truth["as_of"].as_str().unwrap().parse().unwrap();
        let surroundings = Surroundings { now, here: self.records.clone(), ..Surroundings::default() };
        let words = ["exitsite"].iter().chain(arguments).map(Into::into);
        run(words, &surroundings)
    }

    fn json(&self, arguments: &[&str]) -> Value {
        let outcome = self.run(&[arguments, &["--json"]].concat());
        assert_eq!((outcome.status, outcome.stderr.as_str()), (0, ""), "{arguments:?}");
        serde_json::from_str(&outcome.stdout).unwrap()
    }

    /// The truth of each exit site.
    fn exits(&self) -> BTreeMap<(String, String), &Value> {
        let patients = self.truth["patients"].as_array().unwrap().iter();
        let exits =
            patients.flat_map(|patient| patient["exits"].as_array().unwrap().iter().map(move |exit| (patient, exit)));
        exits.map(|(patient, exit)| ((text(&patient["patient"]), text(&exit["exit"])), exit)).collect()
    }

    fn agrees_with_the_due_list(&self) {
        let report = self.json(&["due", "--all", "--as-of", self.truth["as_of"].as_str().unwrap()]);
        let rows: BTreeMap<(String, String), &Value> = by_exit(&report);
        let mut compared = 0;
        for (who, truth) in self.exits() {
            let Some(row) = rows.get(&who) else {
                assert_eq!(truth["has_row"], false, "{who:?} has no row");
                continue;
            };
            for key in ["state", "because", "due_on"] {
                assert_eq!(row[key], truth[key], "{who:?} {key}: {row}");
            }
            let last = truth["last_change"].get("file").unwrap_or(&Value::Null);
            assert_eq!(row["last_change"].get("file").unwrap_or(&Value::Null), last, "{who:?} last change");
            compared += 1;
        }
        assert_eq!(compared, rows.len());
    }

    fn agrees_with_the_missed_intervals(&self) {
        let as_of = self.truth["as_of"].as_str().unwrap();
        let report = self.json(&["missed", "--from", "2005-01-01", "--to", &as_of[..10], "--as-of", as_of]);
        let exits = self.exits();
        for (who, row) in by_exit(&report) {
            let changes = row["changes"].as_array().unwrap();
            let days = |outcome: &str| -> Vec<String> {
                changes
                    .iter()
                    .filter(|change| change["outcome"] == outcome)
                    .map(|change| text(&change["due_on"]))
                    .collect()
            };
            let planted = |key: &str| exits[&who][key].as_array().unwrap().clone();
            assert_eq!(days("missed"), planted("missed").iter().map(text).collect::<Vec<_>>(), "{who:?} missed");
            assert_eq!(
                days("late"),
                planted("late").iter().map(|late| text(&late["due_on"])).collect::<Vec<_>>(),
                "{who:?} late"
            );
        }
    }
}

fn by_exit(report: &Value) -> BTreeMap<(String, String), &Value> {
    let rows = report["rows"].as_array().unwrap().iter();
    rows.map(|row| ((text(&row["patient"]), text(&row["exit"])), row)).collect()
}

fn text(value: &Value) -> String {
    value.as_str().unwrap().to_owned()
}

#[test]
fn of_a_stable_program_of_80_patients_the_morning_list_has_at_most_25_lines_and_nothing_is_wrong() {
    let program = simulate("stable", 80, 1, 7, "2026-11-24");
    let check = program.json(&["check"]);
    assert_eq!(
        (&check["counts"]["error"], &check["counts"]["warning"]),
        (&0.into(), &0.into()),
        "{}",
        check["findings"]
    );
    let list = program.run(&["due"]);
    assert!(list.stdout.lines().count() <= 25, "{}", list.stdout);
    assert!(list.stdout.contains("80 patients on file: "), "{}", list.stdout);
    program.agrees_with_the_due_list();
    program.agrees_with_the_missed_intervals();
}

#[test]
fn of_80_patients_who_tell_each_change_the_morning_list_has_at_most_25_lines() {
    let program = simulate("told", 80, 1, 7, "2026-11-24");
    let list = program.run(&["due"]);
    assert!(list.stdout.lines().count() <= 25, "{}", list.stdout);
    assert!(list.stdout.contains("80 patients on file: "), "{}", list.stdout);
    program.agrees_with_the_due_list();
}

#[test]
fn agrees_with_what_was_planted_in_mixed_programs_around_clock_changes_and_a_leap_day() {
    for (seed, until) in [(1, "2026-11-01"), (2, "2026-03-09"), (3, "2028-02-29")] {
        let program = simulate("mixed", 36, 1, seed, until);
        let check = program.json(&["check"]);
        assert_eq!(
            (&check["counts"]["error"], &check["counts"]["warning"]),
            (&0.into(), &0.into()),
            "{}",
            check["findings"]
        );
        program.agrees_with_the_due_list();
        program.agrees_with_the_missed_intervals();
    }
}

#[test]
fn the_same_seed_writes_the_same_program() {
    let [one, two] = [0, 1].map(|_| simulate("mixed", 10, 1, 5, "2026-11-24"));
    assert_eq!(one.truth, two.truth);
    assert_eq!(one.run(&["show", "P-001", "--all"]).stdout, two.run(&["show", "P-001", "--all"]).stdout);
}

/// Collects every record below a folder, with its kind.
fn records_in(folder: &Path, found: &mut Vec<(PathBuf, Kind)>) {
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            records_in(&path, found);
        } else if let Some(name) = EventName::read(path.file_name().unwrap().to_str().unwrap()) {
            found.push((path, name.kind));
        }
    }
}

#[test]
fn every_record_of_the_simulator_is_in_the_one_form_and_every_kind_but_photos_is_among_them() {
    let simulated = simulate("mixed", 6, 1, 1, "2026-11-24");
    let mut found = Vec::new();
    records_in(&simulated.records, &mut found);
    assert!(found.len() > 1000, "{}", found.len());
    let kinds: BTreeSet<Kind> = found.iter().map(|(_, kind)| *kind).collect();
    let missing: Vec<Kind> = Kind::ALL.iter().filter(|kind| !kinds.contains(kind)).copied().collect();
    // No truth depends on a photo.
    assert_eq!(missing, [Kind::Photo], "kinds that the simulator never writes");
    for (path, kind) in found {
        let text = std::fs::read_to_string(&path).unwrap();
        assert_eq!(Values::of(&text).unwrap().write(&kind.fields()), text, "{}", path.display());
    }
}
