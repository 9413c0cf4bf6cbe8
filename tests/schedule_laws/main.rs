//! The schedule against an independent implementation with its own reader (`naive.rs`): programs drawn at random from
//! fixed seeds, queried through the command line.
//!
//! The draw includes cases that tests written by hand forget: days elsewhere of every length, two exit sites, records
//! that begin late, times in the offset of another zone, promises with and without a time, logs imported late.

#![allow(clippy::unwrap_used, clippy::expect_used, reason = "a test fails by panicking")]

mod draw;
mod naive;

use std::collections::{BTreeMap, BTreeSet};
use std::ffi::OsString;
use std::path::Path;

use chrono::{Duration, NaiveDate};
use exitsite::command::{Surroundings, run};
use naive::{Asked, Due, Instant, Patient};
use serde_json::Value;

/// The number of programs drawn.
const PROGRAMS: u64 = 40;
/// The number of programs also queried years ahead, where the second implementation walks day by day.
const FAR_PROGRAMS: u64 = 6;

fn json(records: &Path, arguments: &[&str], at: Instant) -> Value {
    let surroundings = Surroundings {
        now: "2026-12-01T12:00:00Z".parse().unwrap(),
        here: records.to_owned(),
        records: Some(records.to_owned()),
        ..Surroundings::default()
    };
    let at = at.format("%Y-%m-%dT%H:%M:%SZ").to_string();
    let asked = ["--json", "--as-of", &at];
    let line = ["exitsite"].iter().chain(arguments).chain(&asked).map(OsString::from);
    let outcome = run(line, &surroundings);
    assert_eq!(outcome.status, 0, "{arguments:?}: {} {}", outcome.stderr, outcome.stdout);
    serde_json::from_str(&outcome.stdout).unwrap()
}

fn instant(value: &Value) -> Option<Instant> {
    value.as_str().map(|text| chrono::DateTime::parse_from_rfc3339(text).unwrap().to_utc())
}

fn day(value: &Value) -> Option<NaiveDate> {
    value.as_str().map(|text| text.parse().unwrap())
}

fn word(value: &Value) -> Option<&str> {
    value.as_str()
}

/// A requirement as listed: reason, day, deadline, and true if its order in the day is unknown.
type Given<'a> = (Option<&'a str>, Option<NaiveDate>, Option<Instant>, Option<bool>);

fn given(value: &Value) -> Given<'_> {
    (word(&value["because"]), day(&value["due_on"]), instant(&value["deadline"]), value["order_unknown"].as_bool())
}

fn expected(asked: &Asked) -> Given<'_> {
    (Some(asked.because), Some(asked.due_on), Some(asked.deadline), Some(asked.order_unknown))
}

/// Compares one row with the rules. Returns the expected row, and the cases that it covered.
fn compare_row(patient: &Patient, row: &Value, at: Instant, who: &str) -> (Due, Vec<String>) {
    let exit = word(&row["exit"]).unwrap();
    let due = patient.due(exit, at);
    assert_eq!(word(&row["state"]), Some(due.state), "{who}");
    let nothing = (None, None, None, Some(false));
    assert_eq!(given(row), due.chosen.as_ref().map_or(nothing, expected), "{who}");
    let also: Vec<Given> = row["also"].as_array().unwrap().iter().map(given).collect();
    assert_eq!(also, due.also.iter().map(expected).collect::<Vec<_>>(), "{who}: also");
    let heard = [&row["heard_through"], &row["heard_from"], &row["log_expected"]].map(day);
    assert_eq!(heard, [due.heard_through, due.heard_from, due.log_expected], "{who}: heard");
    assert_eq!(row["heard_by_call"].as_bool(), due.heard_by_call, "{who}: heard by call");
    let late = due.chosen.as_ref().filter(|_| due.state == "overdue").map(|one| (at - one.deadline).num_hours());
    assert_eq!(row["hours_overdue"].as_i64(), late, "{who}");
    assert_eq!(row["missed_in_a_row"].as_i64(), Some(patient.missed_in_a_row(exit, at)), "{who}: missed in a row");
    let file = word(&row["last_change"]["file"]).map(|file| file.rsplit('/').next().unwrap().to_owned());
    assert_eq!(file, patient.file_of_last_change(exit, at), "{who}: last change");
    let promise = patient.promise(exit, at);
    let promised = instant(&row["promise"]["expect_by"]).zip(row["promise"]["broken"].as_bool());
    assert_eq!(promised, promise, "{who}: promise");
    let said =
        [word(&row["anchor"]["state"]), word(&row["last_contact"]["outcome"])].map(|word| word.map(str::to_owned));
    assert_eq!((said[0].clone(), said[1].clone()), patient.said_last(exit, at), "{who}: anchor, contact");
    let mut reached = vec![due.state.to_owned()];
    reached.extend(due.chosen.iter().map(|one| one.because.to_owned()));
    reached.extend(due.also.iter().map(|one| format!("also {}", one.because)));
    reached.extend(promise.map(|(_, broken)| if broken { "promise broken" } else { "promise" }.to_owned()));
    reached.extend(due.heard_from.map(|_| "heard from".to_owned()));
    reached.extend(due.chosen.iter().filter(|one| one.order_unknown).map(|_| "order unknown".to_owned()));
    (due, reached)
}

/// The sort key of a row: group, a broken promise first among the overdue, deadline, patient, exit.
fn place(row: &Value, due: &Due, open: &[Value]) -> (u8, bool, bool, Option<Instant>, String, String) {
    let (patient, exit) = (word(&row["patient"]).unwrap(), word(&row["exit"]).unwrap());
    let names = |urgency: &'static str| {
        let signals = row["signals"].as_array().unwrap().iter();
        signals.filter(move |one| one["urgency"] == urgency).map(|one| &one["name"])
    };
    let is_open_and_unanswered = |name: &&Value| {
        open.iter().any(|one| {
            let is_here = one["exit"].is_null() || one["exit"] == row["exit"];
            let is_worse = one["worse"].as_array().unwrap().iter().any(|worse| worse["acted_on"] == false);
            let waits = one["answered"].is_null() || is_worse;
            one["patient"] == patient && one["signal"] == **name && waits && is_here
        })
    };
    let is_broken = row["promise"]["broken"] == true;
    let all = || due.chosen.iter().chain(&due.also);
    let reported = all().filter(|one| ["after-shower", "damage"].contains(&one.because)).map(|one| one.deadline).min();
    let this_week = names("this-week").any(|name| is_open_and_unanswered(&name)) || is_broken;
    let group = match due.state {
        _ if names("today").next().is_some() => 2,
        _ if reported.is_some() => 3,
        "overdue" => 4,
        "due" => 5,
        "upcoming" | "awaiting-log" if this_week => 6,
        "upcoming" => 7,
        "awaiting-log" => 8,
        _ => 9,
    };
    let deadline = if group == 3 { reported } else { due.chosen.as_ref().map(|one| one.deadline) };
    (group, !(group == 4 && is_broken), deadline.is_none(), deadline, patient.to_owned(), exit.to_owned())
}

#[test]
fn the_list_is_that_of_the_rules_as_they_are_worded() {
    let mut reached: BTreeSet<String> = BTreeSet::new();
    for seed in 0..PROGRAMS {
        let kept = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).unwrap();
        let policy = draw::program(kept.path(), seed);
        for at in draw::moments(seed) {
            let list = json(kept.path(), &["due", "--all"], at);
            let open = json(kept.path(), &["signals"], at)["signals"].as_array().unwrap().clone();
            let mut patients: BTreeMap<String, (Patient, Vec<&'static str>)> = BTreeMap::new();
            let mut places = Vec::new();
            for row in list["rows"].as_array().unwrap() {
                let code = word(&row["patient"]).unwrap().to_owned();
                let folder = kept.path().join("patients").join(&code);
                let (patient, states) =
                    patients.entry(code.clone()).or_insert_with(|| (Patient::read(policy, &folder), Vec::new()));
                let who = format!("seed {seed} at {at} {code} {}", row["exit"]);
                let (due, found) = compare_row(patient, row, at, &who);
                states.push(due.state);
                let place = place(row, &due, &open);
                reached.extend(found);
                reached.insert(format!("group {}", place.0));
                places.push(place);
            }
            for (code, (patient, states)) in &patients {
                assert_eq!(states.len(), patient.listed(patient.today(at)).len(), "seed {seed} at {at} {code}: rows");
            }
            let is_sorted = places.windows(2).all(|pair| pair[0] <= pair[1]);
            assert!(is_sorted, "seed {seed} at {at}: {places:#?}");
            let mut counted = naive::tally(patients.values().map(|(_, states)| Patient::counted_as(states)));
            for state in ["unusable", "overdue", "due", "upcoming", "awaiting-log", "none"] {
                counted.entry(state.to_owned()).or_default();
            }
            let census: BTreeMap<String, i64> = serde_json::from_value(list["census"]["by_state"].clone()).unwrap();
            assert_eq!(census, counted, "seed {seed} at {at}: census");
        }
    }
    for what in [
        "overdue",
        "due",
        "upcoming",
        "awaiting-log",
        "none",
        "interval",
        "first-change",
        "return",
        "unknown-before",
        "after-shower",
        "damage",
        "log-late",
        "also interval",
        "also after-shower",
        "also damage",
        "also return",
        "promise",
        "promise broken",
        "heard from",
        "order unknown",
        "group 2",
        "group 3",
        "group 4",
        "group 5",
        "group 6",
        "group 7",
        "group 8",
        "group 9",
    ] {
        assert!(reached.contains(what), "no draw reached {what}: {reached:?}");
    }
}

#[test]
fn what_was_missed_is_that_of_the_rules_as_they_are_worded() {
    let mut reached: BTreeSet<String> = BTreeSet::new();
    for seed in 100..100 + PROGRAMS {
        let kept = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).unwrap();
        let policy = draw::program(kept.path(), seed);
        for at in draw::moments(seed) {
            let (from, to) = (at.date_naive() - Duration::days(30), at.date_naive() - Duration::days(1));
            let (first, last) = (from.to_string(), to.to_string());
            let report = json(kept.path(), &["missed", "--from", &first, "--to", &last], at);
            for row in report["rows"].as_array().unwrap() {
                let (code, exit) = (word(&row["patient"]).unwrap(), word(&row["exit"]).unwrap());
                let patient = Patient::read(policy, &kept.path().join("patients").join(code));
                let who = format!("seed {seed} at {at} {code} {exit}");
                let found: Vec<naive::Expected> = row["changes"]
                    .as_array()
                    .unwrap()
                    .iter()
                    .map(|one| {
                        let outcome = ["on-time", "late", "missed", "unreported", "open"]
                            .into_iter()
                            .find(|word| one["outcome"] == *word)
                            .unwrap();
                        (day(&one["due_on"]).unwrap(), outcome, day(&one["done_on"]), one["days_late"].as_i64())
                    })
                    .collect();
                let mut chain = patient.chain(exit, at);
                chain.retain(|(due_on, _, done_on, _)| {
                    let belongs = done_on.filter(|done| done < due_on).unwrap_or(*due_on);
                    from <= belongs && belongs <= to
                });
                assert_eq!(found, chain, "{who}");
                let days = [&row["days_not_covered"], &row["days_in_date"]["days"], &row["days_in_date"]["in_date"]];
                let days = days.map(|count| count.as_i64().unwrap());
                assert_eq!(days, patient.days_of(exit, at, from, to), "{who}: not covered, covered, in date");
                let gap = row["longest_gap_days"].as_i64();
                assert_eq!(gap, patient.longest_gap(exit, at, from, to), "{who}: longest gap");
                reached.extend(gap.filter(|gap| *gap > 2).map(|_| "a gap".to_owned()));
                reached.extend(gap.is_none().then(|| "no gap".to_owned()));
                reached.extend(found.iter().map(|row| row.1.to_owned()));
                reached.extend((days[0] > 0).then(|| "not covered".to_owned()));
            }
        }
    }
    for what in ["on-time", "late", "missed", "unreported", "open", "not covered", "a gap", "no gap"] {
        assert!(reached.contains(what), "no draw reached {what}: {reached:?}");
    }
}

#[test]
fn years_after_the_last_record_the_list_is_that_of_the_rules_as_they_are_worded() {
    let mut in_a_row = 0;
    for seed in 200..200 + FAR_PROGRAMS {
        let kept = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).unwrap();
        let policy = draw::program(kept.path(), seed);
        let at = draw::far(seed);
        for row in json(kept.path(), &["due", "--all"], at)["rows"].as_array().unwrap() {
            let code = word(&row["patient"]).unwrap();
            let patient = Patient::read(policy, &kept.path().join("patients").join(code));
            compare_row(&patient, row, at, &format!("seed {seed} at {at} {code} {}", row["exit"]));
            in_a_row = in_a_row.max(row["missed_in_a_row"].as_i64().unwrap());
        }
    }
    assert!(in_a_row > 1000, "{in_a_row}");
}
