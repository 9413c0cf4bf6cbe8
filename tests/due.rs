//! Runs of the binary on the invented demo program, with each state computed from the rules independently of this code,
//! and on records with faults: no patient is left out without a message, and no default replaces an unreadable value.

#![allow(clippy::unwrap_used, clippy::expect_used, reason = "a test fails by panicking")]

mod desk;

use std::fs;
use std::path::Path;

use assert_cmd::Command;
use predicates::prelude::*;
use predicates::str::contains;
use serde_json::Value;

const AS_OF: &str = "2026-11-24T07:15";

/// The binary with an empty environment.
fn exitsite(records: &Path) -> Command {
    let mut command = Command::cargo_bin("exitsite").unwrap();
    command.env_clear().current_dir(env!("CARGO_MANIFEST_DIR")).arg("--records").arg(records);
    command
}

fn demo() -> Command {
    exitsite(Path::new("examples/demo"))
}

fn json(command: &mut Command, status: i32) -> Value {
    let output = command.arg("--json").assert().code(status).get_output().stdout.clone();
    let report: Value = serde_json::from_slice(&output).unwrap();
    let schema = exitsite::schema::schema(report["command"].as_str().unwrap()).unwrap();
    jsonschema::validate(&schema, &report).unwrap();
    report
}

/// A copy of the demo for a test to change.
fn copy_of_demo() -> tempfile::TempDir {
    fn copy(from: &Path, to: &Path) {
        fs::create_dir_all(to).unwrap();
        for entry in fs::read_dir(from).unwrap().map(Result::unwrap) {
            let (from, to) = (entry.path(), to.join(entry.file_name()));
            if from.is_dir() {
                copy(&from, &to);
            } else {
                fs::copy(from, to).unwrap();
            }
        }
    }
    let kept = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).unwrap();
    copy(Path::new("examples/demo"), kept.path());
    // The demo's one broken file has its own tests.
    fs::remove_file(kept.path().join("patients/P-003/2026/2026-11-23T1905-change.toml")).unwrap();
    kept
}

/// Patient and exit, state, reason, due day, deadline, hours overdue, consecutive missed changes: computed
/// independently of this code.
const WORKED_OUT: &[(&str, &str, &str, &str, &str, i64, i64)] = &[
    // These three have open signals of today: water at the site, a score for review, a loose anchor.
    ("P-022 a", "overdue", "damage", "2026-11-23", "2026-11-23T23:30:00-06:00", 7, 0),
    ("P-009 a", "overdue", "interval", "2026-11-23", "2026-11-24T03:00:00-06:00", 4, 0),
    ("P-028 a", "due", "damage", "2026-11-24", "2026-11-24T08:20:00-06:00", -1, 0),
    ("P-014 a", "overdue", "after-shower", "2026-11-23", "2026-11-23T20:40:00-06:00", 10, 0),
    ("P-019 a", "overdue", "after-shower", "2026-11-23", "2026-11-24T03:00:00-06:00", 4, 0),
    ("P-021 a", "overdue", "interval", "2026-11-22", "2026-11-23T03:00:00-06:00", 28, 1),
    ("P-034 a", "overdue", "log-late", "2026-11-14", "2026-11-15T03:00:00-06:00", 220, 0),
    ("P-018 a", "overdue", "interval", "2026-11-19", "2026-11-20T03:00:00-06:00", 100, 2),
    ("P-026 a", "overdue", "return", "2026-11-23", "2026-11-24T03:00:00-06:00", 4, 0),
    ("P-029 a", "overdue", "interval", "2026-11-23", "2026-11-24T03:00:00-06:00", 4, 1),
    ("P-005 a", "due", "interval", "2026-11-24", "2026-11-25T03:00:00-06:00", -1, 0),
    ("P-006 a", "due", "first-change", "2026-11-24", "2026-11-25T03:00:00-06:00", -1, 0),
    ("P-016 a", "due", "interval", "2026-11-24", "2026-11-25T03:00:00-06:00", -1, 0),
    ("P-023 a", "due", "interval", "2026-11-24", "2026-11-25T03:00:00-06:00", -1, 0),
    ("P-029 b", "due", "interval", "2026-11-24", "2026-11-25T03:00:00-06:00", -1, 0),
    ("P-037 a", "due", "unknown-before", "2026-11-24", "2026-11-25T03:00:00-06:00", -1, 0),
    ("P-041 a", "due", "interval", "2026-11-24", "2026-11-25T03:00:00-07:00", -1, 0),
    ("P-011 a", "upcoming", "interval", "2026-11-25", "2026-11-26T03:00:00-06:00", -1, 0),
    ("P-012 a", "upcoming", "interval", "2026-11-25", "2026-11-26T03:00:00-06:00", -1, 0),
    ("P-024 a", "upcoming", "interval", "2026-11-25", "2026-11-26T03:00:00-06:00", -1, 0),
    ("P-033 a", "upcoming", "interval", "2026-11-25", "2026-11-26T03:00:00-06:00", -1, 0),
    ("P-044 a", "upcoming", "interval", "2026-11-25", "2026-11-26T03:00:00-06:00", -1, 0),
    ("P-007 a", "awaiting-log", "interval", "2026-11-02", "2026-12-06T03:00:00-06:00", -1, 0),
];

#[test]
fn every_state_of_the_demo_is_what_was_worked_out_apart_and_in_that_order() {
    let report = json(demo().args(["due", "--as-of", AS_OF]), 3);
    let rows: Vec<&Value> = report["rows"].as_array().unwrap().iter().filter(|row| row["due_on"].is_string()).collect();
    let shown: Vec<_> = rows
        .iter()
        .map(|row| {
            let text = |key: &str| row[key].as_str().unwrap();
            let who = format!("{} {}", text("patient"), text("exit"));
            let hours = row["hours_overdue"].as_i64().unwrap_or(-1);
            let missed = row["missed_in_a_row"].as_i64().unwrap();
            (who, text("state"), text("because"), text("due_on"), text("deadline"), hours, missed)
        })
        .collect();
    let expected: Vec<_> = WORKED_OUT
        .iter()
        .map(|(who, state, because, due_on, deadline, hours, missed)| {
            ((*who).to_owned(), *state, *because, *due_on, *deadline, *hours, *missed)
        })
        .collect();
    assert_eq!(shown, expected);
    assert_eq!(report["rows"][0]["patient"], "P-003");
    assert_eq!(report["rows"][0]["state"], "unusable");
    // An unreadable row has the keys of every other, all but two of them null.
    let keys = |row: &Value| row.as_object().unwrap().keys().cloned().collect::<Vec<_>>();
    assert_eq!(keys(&report["rows"][0]), keys(&report["rows"][1]));
    let nulls = report["rows"][0].as_object().unwrap().values().filter(|value| value.is_null()).count();
    assert_eq!(nulls, keys(&report["rows"][0]).len() - 2);
    let none: Vec<&str> = report["rows"]
        .as_array()
        .unwrap()
        .iter()
        .filter(|row| row["state"] == "none")
        .map(|row| row["patient"].as_str().unwrap())
        .collect();
    assert_eq!(none, ["P-031", "P-038"]);
}

#[test]
fn the_census_adds_up() {
    let report = json(demo().args(["due", "--as-of", AS_OF]), 3);
    let by_state = report["census"]["by_state"].as_object().unwrap();
    let sum: i64 = by_state.values().map(|count| count.as_i64().unwrap()).sum();
    let folders = fs::read_dir(Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/demo/patients")).unwrap().count();
    assert_eq!((sum, report["census"]["on_file"].as_i64().unwrap()), (25, folders as i64));
    // The counts for a named patient include it, too.
    let named = on_one_line(&demo().args(["due", "--as-of", AS_OF, "P-022"]).output().unwrap().stdout);
    assert!(named.contains("1 of 25 patients on file: 1 overdue · 1 signal needs review today"), "{named}");
}

#[test]
fn signals_and_sign_offs_stand_beside_what_is_due() {
    let report = json(demo().args(["due", "--as-of", AS_OF, "P-009", "P-014"]), 0);
    let row = |code: &str| report["rows"].as_array().unwrap().iter().find(|row| row["patient"] == code).unwrap();
    let of_today: Vec<&Value> =
        row("P-009")["signals"].as_array().unwrap().iter().filter(|signal| signal["urgency"] == "today").collect();
    let names: Vec<&str> = of_today.iter().map(|signal| signal["name"].as_str().unwrap()).collect();
    assert_eq!(names, ["score-review", "line-pulled"]);
    assert_eq!(row("P-014")["signals"], serde_json::json!([]));
    assert_eq!(row("P-014")["signed_off"], serde_json::json!(["p014-spouse"]));
    assert_eq!(row("P-014")["ahead"], Value::Null);
}

#[test]
fn where_a_file_cannot_be_used_no_list_of_signals_says_that_there_is_none() {
    let kept = copy_of_demo();
    fs::write(kept.path().join("patients/P-014/2026/2026-11-05T0600-shower.toml"), "kind = ").unwrap();
    fs::write(kept.path().join("patients/P-009/2026/2026-11-05T0600-shower.toml"), "kind = ").unwrap();
    let report = json(exitsite(kept.path()).args(["due", "--as-of", AS_OF, "P-009", "P-014"]), 3);
    let row = |code: &str| report["rows"].as_array().unwrap().iter().find(|row| row["patient"] == code).unwrap();
    assert_eq!((&row("P-014")["state"], &row("P-014")["signals"]), (&"overdue".into(), &Value::Null));
    // The known ones are given nevertheless.
    assert!(row("P-009")["signals"].as_array().unwrap().len() > 1);
}

/// A text on one line.
fn on_one_line(stdout: &[u8]) -> String {
    String::from_utf8_lossy(stdout).split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn within_and_all_show_more_and_named_patients_only_their_files() {
    let lines = |arguments: &[&str]| {
        let output = demo().args(["due", "--as-of", AS_OF]).args(arguments).assert().get_output().stdout.clone();
        let text = String::from_utf8(output).unwrap();
        let (_, rows) = text.split_once("\n\n").unwrap();
        rows.split_whitespace().filter(|word| word.starts_with("P-")).count()
    };
    assert_eq!(
        (lines(&[]), lines(&["--within", "19"]), lines(&["--within", "20"]), lines(&["--all"])),
        (19, 19, 24, 26)
    );
    // P-003 is unreadable, but not part of the request.
    demo()
        .args(["due", "--as-of", AS_OF, "P-011"])
        .assert()
        .code(0)
        .stderr("")
        .stdout(contains("1 of 25 patients on file: 1 later"));
}

#[test]
fn exits_with_one_for_a_script_that_asks_if_somebody_is_overdue() {
    demo().args(["due", "--as-of", AS_OF, "--exit-code", "P-014"]).assert().code(1);
    demo().args(["due", "--as-of", AS_OF, "--exit-code", "P-011"]).assert().code(0);
    demo().args(["due", "--as-of", AS_OF, "P-014"]).assert().code(0);
}

#[test]
fn fails_with_one_sentence_for_an_unknown_patient_folder_or_time() {
    let empty = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).unwrap();
    let path = empty.path().display().to_string();
    let failed = |mut command: Command, line: &str| {
        let assert = command.args(line.split(' ')).assert().code(2).stdout("");
        let said = String::from_utf8(assert.get_output().stderr.clone()).unwrap();
        format!("$ exitsite {line}\n{}", said.replace(&path, "FOLDER"))
    };
    let screens = [
        failed(demo(), "due P-14"),
        failed(exitsite(empty.path()), "due"),
        failed(exitsite(Path::new("nowhere")), "due"),
        failed(demo(), "due --as-of tomorrow"),
        failed(demo(), "due --as-of 2026-11-01T01:30"),
    ];
    desk::keep("due_fails_with_one_sentence", &screens.concat());
}

#[test]
fn a_policy_that_cannot_be_used_makes_every_patient_unusable_and_never_the_defaults() {
    for (find, replace) in [
        ("time_zone", "time_zone = 7 #"),
        ("schema", "[[phases]]\nname = 'x'\n#"),
        ("schema", "[windows]\nafter_shower_hours = 'two'\n#"),
    ] {
        let kept = copy_of_demo();
        let policy = kept.path().join("policy.toml");
        let text = fs::read_to_string(&policy).unwrap();
        // The broken table goes after the top-level keys.
        let text = if replace.starts_with('[') {
            format!("{text}\n{}\n", replace.trim_end_matches('#'))
        } else {
            text.replacen(find, replace, 1)
        };
        fs::write(&policy, text).unwrap();
        let report = json(exitsite(kept.path()).args(["due", "--as-of", AS_OF]), 3);
        let states: Vec<&str> =
            report["rows"].as_array().unwrap().iter().map(|row| row["state"].as_str().unwrap()).collect();
        assert_eq!(states, vec!["unusable"; 25], "{replace}");
        for figures in ["missed", "grade"] {
            exitsite(kept.path())
                .args([figures, "--as-of", AS_OF])
                .assert()
                .code(2)
                .stdout("")
                .stderr(contains("policy.toml"));
        }
        exitsite(kept.path())
            .args(["show", "P-014", "--as-of", AS_OF])
            .assert()
            .code(3)
            .stdout(contains("Next change not known").and(contains("Timeline from")));
    }
}

#[test]
fn a_policy_for_a_newer_version_stops_every_command() {
    let kept = copy_of_demo();
    let policy = kept.path().join("policy.toml");
    let text = fs::read_to_string(&policy).unwrap().replacen("schema = 1", "schema = 2", 1);
    fs::write(&policy, text).unwrap();
    for command in [&["due"][..], &["check"], &["missed"], &["grade"], &["show", "P-014"]] {
        exitsite(kept.path()).args(command).assert().code(2).stdout("").stderr(contains("newer version of exitsite"));
    }
}

#[test]
fn another_part_of_the_policy_leaves_the_states_and_makes_what_it_feeds_unknown() {
    let kept = copy_of_demo();
    let policy = kept.path().join("policy.toml");
    let text = fs::read_to_string(&policy).unwrap();
    fs::write(&policy, format!("{text}\n[score]\nrubric = 'nowhere'\n")).unwrap();
    let report = json(exitsite(kept.path()).args(["due", "--as-of", AS_OF, "P-014"]), 3);
    assert_eq!((&report["rows"][0]["state"], &report["rows"][0]["score"]), (&"overdue".into(), &Value::Null));
    assert_eq!(report["unusable"][0]["file"], "policy.toml");
}

#[test]
fn a_fault_makes_somebody_look_and_never_makes_somebody_vanish() {
    // Each fault, with true if the patient's state is still known.
    let faults: &[(&str, &str, bool)] = &[
        ("patients/P-011/2026/2026-11-24T0600-change.toml", "kind = ", false),
        ("patients/P-011/2026/2026-11-24T0600-change.toml.txt", "", false),
        ("patients/P-011/2026/2026-11-24t0600-change.toml", "", false),
        ("patients/P-011/2026/2025-11-24T0600-change.toml", "", false),
        ("patients/P-011/notes/a.txt", "", false),
        ("patients/P-011/patient.toml", "code = ", false),
        ("patients/P-011/2026/2026-11-20T0600-shower.toml", "kind = ", true),
        ("patients/P-011/2026/notes.txt", "", true),
        ("patients/P-011/2026/.#2026-11-24T0600-change.toml", "", true),
    ];
    for (file, text, can_be_judged) in faults {
        let kept = copy_of_demo();
        let path = kept.path().join(file);
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::write(&path, text).unwrap();
        // An unreadable file is named by each command that reads it; a file that is no record is not.
        let is_whole = *can_be_judged && !file.ends_with(".toml") || file.contains(".#");
        let report = json(exitsite(kept.path()).args(["due", "--as-of", AS_OF]), if is_whole { 0 } else { 3 });
        let row = report["rows"].as_array().unwrap().iter().find(|row| row["patient"] == "P-011").unwrap();
        assert_eq!(row["state"] != "unusable", *can_be_judged, "{file}");
        assert_eq!(report["rows"][0]["patient"] == "P-011", !can_be_judged, "{file}");
        assert_eq!(report["census"]["on_file"], 25, "{file}");
    }
}

#[test]
fn a_name_in_patients_that_is_no_patients_is_a_row_of_its_own() {
    let kept = copy_of_demo();
    fs::create_dir(kept.path().join("patients/p-099")).unwrap();
    fs::create_dir(kept.path().join("patients/Р-014")).unwrap();
    let report = json(exitsite(kept.path()).args(["due", "--as-of", AS_OF]), 3);
    let unusable: Vec<&str> = report["rows"]
        .as_array()
        .unwrap()
        .iter()
        .filter(|row| row["state"] == "unusable")
        .map(|row| row["patient"].as_str().unwrap())
        .collect();
    assert_eq!(unusable, ["\\u{420}-014", "p-099"]);
    assert_eq!(report["census"]["on_file"], 27);
}

#[test]
fn an_event_of_the_future_is_named_in_its_row_unless_a_moment_was_asked_about() {
    let kept = copy_of_demo();
    let file = "patients/P-011/2199/2199-11-24T0600-change.toml";
    fs::create_dir_all(kept.path().join("patients/P-011/2199")).unwrap();
    fs::write(kept.path().join(file), "kind = \"change\"\nat = 2199-11-24T06:00:00-06:00\nby = \"rn-07\"\n").unwrap();
    let now = json(exitsite(kept.path()).args(["due", "P-011"]), 0);
    assert_eq!(now["rows"][0]["ahead"], serde_json::json!([file]));
    let then = json(exitsite(kept.path()).args(["due", "P-011", "--as-of", AS_OF]), 0);
    assert_eq!((&then["rows"][0]["ahead"], &then["rows"][0]["state"]), (&Value::Null, &"upcoming".into()));
}

#[test]
fn an_empty_program_is_said_in_one_line() {
    let kept = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).unwrap();
    fs::write(kept.path().join("policy.toml"), "schema = 1\nprogram = \"Invented\"\ntime_zone = \"UTC\"\n").unwrap();
    for command in ["due", "grade"] {
        exitsite(kept.path()).arg(command).assert().code(0).stderr("").stdout(contains("No patients on file"));
    }
    exitsite(kept.path()).arg("check").assert().code(0).stdout(contains("No problems found in the records.\n"));
}

#[test]
fn the_same_question_gives_the_same_bytes() {
    for command in [&["due", "--all"][..], &["missed"], &["grade", "--each"], &["show", "P-009", "--all"]] {
        let [one, two] = [0, 1]
            .map(|_| demo().args(command).args(["--as-of", AS_OF, "--json"]).assert().get_output().stdout.clone());
        assert!(one == two, "{command:?}");
    }
}

#[test]
fn fits_a_terminal_of_60_columns_and_still_shows_who_and_when() {
    use exitsite::command::{Surroundings, run};
    for width in [60, 80, 100] {
        let surroundings = Surroundings {
            now: "2026-11-24T13:15:00Z".parse().unwrap(),
            here: env!("CARGO_MANIFEST_DIR").into(),
            records: Some(Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/demo")),
            width: Some(width),
            ..Surroundings::default()
        };
        for command in [&["due", "--all"][..], &["missed"], &["grade"], &["show", "P-009"]] {
            let words = ["exitsite"].iter().chain(command).chain(&["--as-of", AS_OF]).map(Into::into);
            let text = run(words, &surroundings).stdout;
            let widest = text.lines().map(|line| line.chars().count()).max().unwrap();
            assert!(widest <= width, "{command:?} at {width}: {widest}\n{text}");
            assert!(!text.contains('\u{1b}'));
        }
    }
}

/// A records folder from a patient.toml and events, for a story that once failed.
fn records(course: &[(&str, &str)], events: &[(&str, &str, &str)]) -> tempfile::TempDir {
    let kept = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).unwrap();
    fs::write(kept.path().join("policy.toml"), "schema = 1\nprogram = 'Invented'\ntime_zone = 'America/Chicago'\n")
        .unwrap();
    fs::write(kept.path().join("people.toml"), "[[person]]\ncode = 'rn-07'\nrole = 'nurse'\n").unwrap();
    for (code, rows) in course {
        let folder = kept.path().join("patients").join(code);
        fs::create_dir_all(&folder).unwrap();
        let top = format!(
            "code = '{code}'\nimplanted = 2026-06-01\n[[exit]]\nid = 'a'\nwhere = 'midline'\nfrom = 2026-06-01\nwhy = 'implant'\n"
        );
        fs::write(
            folder.join("patient.toml"),
            format!("{top}[[care]]\nfrom = 2026-06-01\nplace = 'inpatient'\n{rows}"),
        )
        .unwrap();
    }
    for (code, name, says) in events {
        let folder = kept.path().join("patients").join(code).join(&name[..4]);
        fs::create_dir_all(&folder).unwrap();
        let stem = name.trim_end_matches(".toml");
        let kind = stem.rsplit('-').next().unwrap();
        let when = match stem.as_bytes().get(10) {
            Some(b'T') => format!("at = {}:{}:00", &stem[..13], &stem[13..15]),
            _ => format!("on = {}", &stem[..10]),
        };
        fs::write(folder.join(name), format!("kind = '{kind}'\n{when}\nby = 'rn-07'\n{says}\n")).unwrap();
    }
    kept
}

const LOG_HOUSEHOLD: &str = "[[care]]\nfrom = 2026-06-30\nplace = 'home'\nreports = 'log'\n";
const HOME: &str = "[[care]]\nfrom = 2026-06-30\nplace = 'home'\n";

#[test]
fn a_log_that_is_not_read_in_yet_hides_no_older_one() {
    let kept = records(
        &[("P-001", LOG_HOUSEHOLD)],
        &[
            ("P-001", "2026-10-05T1000-log.toml", "from = 2026-07-01\nthrough = 2026-10-04\ncomplete = true"),
            ("P-001", "2026-11-25T1000-log.toml", "from = 2026-10-05\nthrough = 2026-11-15\ncomplete = true"),
            ("P-001", "2026-11-10T1000-inspection.toml", "source = 'told'\ndressing = 'intact'"),
            ("P-001", "2026-11-12-change.toml", "source = 'log'\n[left]\nanchor = 'in-place'"),
        ],
    );
    let report = json(exitsite(kept.path()).args(["due", "--as-of", "2026-11-20T07:15"]), 0);
    let row = &report["rows"][0];
    assert_eq!((&row["because"], &row["due_on"]), (&"log-late".into(), &"2026-11-08".into()));
    assert_eq!((&row["heard_through"], &row["log_expected"]), (&"2026-10-04".into(), &"2026-11-08".into()));
    assert_eq!(row["heard_from"], "2026-11-10");
}

#[test]
fn a_log_of_the_future_by_a_slip_leaves_the_state_as_it_is() {
    let honest = [
        ("P-001", "2026-11-03T1000-log.toml", "from = 2026-07-01\nthrough = 2026-10-31\ncomplete = true"),
        ("P-001", "2026-11-12T1000-change.toml", "source = 'told'"),
    ];
    let slip = ("P-001", "2199-11-20T1000-log.toml", "from = 2026-11-01\nthrough = 2026-11-18\ncomplete = true");
    let kept = records(&[("P-001", LOG_HOUSEHOLD)], &[honest.as_slice(), &[slip]].concat());
    // Without --as-of, since only then are future files opened.
    use exitsite::command::{Surroundings, run};
    let surroundings = Surroundings {
        now: "2026-11-25T13:15:00Z".parse().unwrap(),
        here: kept.path().to_owned(),
        records: Some(kept.path().to_owned()),
        ..Surroundings::default()
    };
    let outcome = run(["exitsite", "due", "--json"].map(Into::into), &surroundings);
    let report: Value = serde_json::from_str(&outcome.stdout).unwrap();
    let row = &report["rows"][0];
    assert_eq!((&row["state"], &row["log_expected"]), (&"awaiting-log".into(), &"2026-12-05".into()));
    assert_eq!(row["ahead"][0], "patients/P-001/2199/2199-11-20T1000-log.toml");
}

#[test]
fn each_exit_site_keeps_the_last_word_on_its_own_anchor() {
    let second = "[[exit]]\nid = 'b'\nwhere = 'other'\nfrom = 2026-09-01\nwhy = 'second-pump'\n";
    let kept = records(
        &[("P-001", &format!("{HOME}{second}"))],
        &[
            ("P-001", "2026-11-19T0900-change.toml", "exit = 'a'"),
            (
                "P-001",
                "2026-11-23T0900-change.toml",
                "exit = 'a'\n[left]\nanchor = 'in-place'\n[site]\ndrainage = 'none'",
            ),
            ("P-001", "2026-11-15T0900-inspection.toml", "exit = 'b'\nanchor = 'loose'"),
            ("P-001", "2026-11-20T0900-change.toml", "exit = 'b'"),
            ("P-001", "2026-11-22T0900-change.toml", "exit = 'b'\n[site]\ndrainage = 'none'"),
            ("P-001", "2026-11-18T0900-contact.toml", "with = 'patient'\nabout = ['other']\noutcome = 'will-change'"),
        ],
    );
    let report = json(exitsite(kept.path()).args(["due", "--as-of", AS_OF]), 0);
    let anchors: Vec<(&str, &str)> = report["rows"]
        .as_array()
        .unwrap()
        .iter()
        .map(|row| (row["exit"].as_str().unwrap(), row["anchor"]["state"].as_str().unwrap()))
        .collect();
    assert!(anchors.contains(&("a", "in-place")) && anchors.contains(&("b", "loose")), "{anchors:?}");
}

#[test]
fn what_is_open_at_a_closed_exit_site_stands_beside_the_one_that_is_left() {
    let closed = "[[exit]]\nid = 'b'\nwhere = 'other'\nfrom = 2026-09-01\nuntil = 2026-11-10\nwhy = 'second-pump'\n";
    let dry = "drainage = 'none'\nredness_mm = 0\nswelling = 'none'\ncrust_mm = 0\npain = 'none'";
    let row = |at_the_last_look: &str| {
        let kept = records(
            &[("P-001", &format!("{HOME}{closed}"))],
            &[
                ("P-001", "2026-11-09T0900-assessment.toml", &format!("exit = 'b'\n[site]\n{at_the_last_look}")),
                (
                    "P-001",
                    "2026-11-23T0900-change.toml",
                    &format!("exit = 'a'\n[left]\nanchor = 'in-place'\n[site]\n{dry}"),
                ),
            ],
        );
        let report = json(exitsite(kept.path()).args(["due", "--all", "--as-of", AS_OF]), 0);
        let rows = report["rows"].as_array().unwrap();
        assert_eq!((rows.len(), &rows[0]["exit"]), (1, &"a".into()));
        rows[0]["signals"].to_string()
    };
    assert!(row("drainage = 'purulent'").contains("\"name\":\"pus\""));
    assert!(!row(dry).contains("pus"));
}

#[test]
fn what_is_older_than_the_days_that_are_looked_at_raises_nothing_at_their_edge() {
    let dry = "[site]\ndrainage = 'none'\nredness_mm = 0\nswelling = 'none'\ncrust_mm = 0\npain = 'none'";
    let log = |from: &str, through: &str| format!("from = {from}\nthrough = {through}\ncomplete = true");
    let told = [
        ("2026-08-05T0900-log.toml", log("2026-06-30", "2026-08-04")),
        ("2026-09-05T0900-log.toml", log("2026-08-05", "2026-09-04")),
        ("2026-10-05T0900-log.toml", log("2026-09-05", "2026-10-04")),
        ("2026-11-05T0900-log.toml", log("2026-10-05", "2026-11-04")),
        ("2026-06-20T0900-assessment.toml", dry.to_owned()),
        ("2026-08-20T0900-assessment.toml", dry.to_owned()),
    ];
    let records = |events: &[(&str, String)], look_back_days: i64| {
        let events: Vec<(&str, &str, &str)> =
            events.iter().map(|(name, says)| ("P-001", *name, says.as_str())).collect();
        let kept = records(&[("P-001", LOG_HOUSEHOLD)], &events);
        let policy = fs::read_to_string(kept.path().join("policy.toml")).unwrap();
        let signals = format!("[signals]\nlook_back_days = {look_back_days}\n");
        fs::write(kept.path().join("policy.toml"), policy + &signals).unwrap();
        kept
    };
    let raised = |events: &[(&str, String)], arguments: &[&str]| {
        let kept = records(events, 100);
        let list = json(exitsite(kept.path()).args(arguments).args(["--as-of", "2026-11-20T07:15"]), 0);
        let names = list["signals"].as_array().unwrap().iter().map(|one| one["signal"].as_str().unwrap().to_owned());
        names.filter(|name| name == "log-late" || name == "not-looked-at").collect::<Vec<_>>()
    };
    // The log of 08-05 and the look of 06-20 are more than 100 days old, so they are not read.
    assert_eq!(raised(&told, &["signals", "--all"]), <[&str; 0]>::default());
    // A late log or look is shown.
    assert_eq!(raised(&[], &["signals"]), ["not-looked-at", "log-late"]);
    // Signals with a shorter look-back could never rise.
    let kept = records(&told, 92);
    let said = exitsite(kept.path()).args(["check", "--as-of", "2026-11-20T07:15"]).output().unwrap().stdout;
    let said = on_one_line(&said).replace("│ ", "");
    assert!(said.contains("Signals look back 92 days, but looks or logs can be 92 days apart"), "{said}");
}

#[test]
fn figures_say_that_a_name_in_patients_is_no_patients() {
    let kept = copy_of_demo();
    fs::create_dir(kept.path().join("patients/p-02")).unwrap();
    for command in ["missed", "grade"] {
        let report = json(exitsite(kept.path()).args([command, "--as-of", AS_OF]), 3);
        assert_eq!(report["unusable"][0]["file"], "patients/p-02");
        exitsite(kept.path()).args([command, "--as-of", AS_OF]).assert().code(3).stdout(contains("patients/p-02"));
    }
}

#[test]
fn a_file_is_named_though_a_patient_of_a_shorter_code_cannot_be_judged() {
    let kept = records(
        &[("P-1", HOME), ("P-10", HOME)],
        &[
            ("P-1", "2026-11-23T0900-change.toml", "nothing"),
            ("P-10", "2026-11-23T0900-change.toml", ""),
            ("P-10", "2026-11-20T1000-change.toml", "nothing"),
        ],
    );
    let assert = exitsite(kept.path()).args(["due", "--as-of", AS_OF]).assert().code(3);
    assert.stdout(contains("patients/P-10/2026/2026-11-20T1000-change.toml").and(contains("1 unreadable, 1 later")));
}

#[test]
fn a_gap_that_began_before_the_period_is_covered_by_the_logs_since_then() {
    let kept = records(
        &[("P-001", LOG_HOUSEHOLD)],
        &[
            ("P-001", "2026-09-20-change.toml", ""),
            ("P-001", "2026-11-10-change.toml", ""),
            ("P-001", "2026-10-10T1000-log.toml", "from = 2026-07-01\nthrough = 2026-10-09\ncomplete = true"),
            ("P-001", "2026-11-20T1000-log.toml", "from = 2026-10-10\nthrough = 2026-11-19\ncomplete = true"),
        ],
    );
    let report = json(exitsite(kept.path()).args(["missed", "--as-of", AS_OF]), 0);
    assert_eq!(report["rows"][0]["longest_gap_days"], 51);
}

#[test]
fn a_call_after_a_promise_is_shown_beside_it() {
    let call = "with = 'patient'\nabout = ['overdue']\n";
    let kept = records(
        &[("P-001", HOME)],
        &[
            ("P-001", "2026-11-20T0900-change.toml", ""),
            (
                "P-001",
                "2026-11-22T1000-contact.toml",
                &format!("{call}outcome = 'will-change'\nexpect_by = 2026-11-23T20:00:00"),
            ),
            ("P-001", "2026-11-23T2100-contact.toml", &format!("{call}outcome = 'no-answer'")),
        ],
    );
    let assert = exitsite(kept.path()).args(["due", "--as-of", AS_OF]).assert().code(0);
    let said = String::from_utf8(assert.get_output().stdout.clone()).unwrap();
    desk::keep("due_a_call_after_a_promise_is_shown_beside_it", &said);
}

#[cfg(target_os = "linux")]
#[test]
fn a_report_that_cannot_be_written_is_no_success() {
    let full = fs::OpenOptions::new().write(true).open("/dev/full").unwrap();
    let ran = std::process::Command::new(env!("CARGO_BIN_EXE_exitsite"))
        .args(["due", "P-014", "--as-of", AS_OF, "--records", "examples/demo"])
        .stdout(full)
        .output()
        .unwrap();
    assert_eq!(ran.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&ran.stderr).contains("the output could not be written"));
}

#[test]
fn a_log_is_looked_for_though_everything_else_was_told_since() {
    let told = "source = 'told'\n[left]\nanchor = 'in-place'\n[site]\ndrainage = 'none'";
    let call = "with = 'patient'\nabout = ['other']\noutcome = 'will-change'\nexpect_by = 2026-11-19T20:00:00";
    let kept = records(
        &[("P-001", LOG_HOUSEHOLD)],
        &[
            ("P-001", "2026-11-01T1000-log.toml", "from = 2026-07-01\nthrough = 2026-10-31\ncomplete = true"),
            ("P-001", "2026-11-16T1000-shower.toml", ""),
            ("P-001", "2026-11-17T0900-change.toml", told),
            ("P-001", "2026-11-18T0900-contact.toml", call),
            ("P-001", "2026-11-19T0900-change.toml", told),
        ],
    );
    let report = json(exitsite(kept.path()).args(["due", "--as-of", AS_OF]), 0);
    let row = &report["rows"][0];
    assert_eq!((&row["state"], &row["log_expected"]), (&"awaiting-log".into(), &"2026-12-05".into()));
    // A call does not cover a day.
    assert_eq!((&row["heard_through"], &row["heard_from"]), (&"2026-10-31".into(), &"2026-11-19".into()));
}

#[test]
fn a_household_whose_log_tells_of_no_change_is_overdue_since_it_was_due() {
    let log = "from = 2026-10-05\nthrough = 2026-11-23\ncomplete = true";
    let story = [
        ("P-001", "2026-10-04-change.toml", "source = 'log'"),
        ("P-001", "2026-10-05T1000-log.toml", "from = 2026-07-01\nthrough = 2026-10-04\ncomplete = true"),
        ("P-001", "2026-11-24T0700-log.toml", log),
        ("P-001", "2026-11-24T0705-contact.toml", "with = 'patient'\nabout = ['log']\noutcome = 'advised'"),
    ];
    let kept = records(&[("P-001", LOG_HOUSEHOLD)], &story);
    let list = json(exitsite(kept.path()).args(["due", "--as-of", AS_OF]), 0);
    let row = &list["rows"][0];
    assert_eq!((&row["state"], &row["because"]), (&"overdue".into(), &"interval".into()));
    assert_eq!((&row["due_on"], &row["deadline"]), (&"2026-10-06".into(), &"2026-10-07T03:00:00-05:00".into()));
    // 10-06 to 11-21, every other day; the change of 11-23 can still be made until 11-25.
    assert_eq!(row["missed_in_a_row"], 24);
    assert!(list["census"]["words"].as_str().is_none_or(|words| words.contains("1 overdue")));
    exitsite(kept.path()).args(["due", "--as-of", AS_OF]).assert().stdout(contains("overdue 48 d"));
    // The days that it does not report on are unknown.
    let state = |as_of: &str, events: &[(&str, &str, &str)]| {
        let kept = records(&[("P-001", LOG_HOUSEHOLD)], events);
        let report = json(exitsite(kept.path()).args(["due", "--as-of", as_of]), 0);
        report["rows"][0]["state"].as_str().unwrap().to_owned()
    };
    let shorter = log.replace("11-23", "10-07");
    let told = |says: &str| {
        [story[0], story[1], ("P-001", "2026-10-08T0700-log.toml", says)].map(|(a, b, c)| (a, b, c.to_owned()))
    };
    for (says, expected) in [
        (shorter.clone(), "overdue"),
        (shorter.replace("10-07", "10-06"), "awaiting-log"),
        (shorter.replace("true", "false"), "awaiting-log"),
    ] {
        let events = told(&says);
        let events: Vec<(&str, &str, &str)> = events.iter().map(|(a, b, c)| (*a, *b, c.as_str())).collect();
        assert_eq!(state("2026-11-01T07:15", &events), expected, "{says}");
    }
}

#[test]
fn a_signal_of_today_that_is_turned_off_is_named_wherever_none_could_be_missed() {
    let kept = copy_of_demo();
    let policy = fs::read_to_string(kept.path().join("policy.toml")).unwrap();
    let off = "[signals]\npus = { off = 'seen in clinic' }\nscore-rising = { off = 'too many' }\n";
    fs::write(kept.path().join("policy.toml"), format!("{policy}\n{off}")).unwrap();
    let said = |line: &[&str]| {
        let output = exitsite(kept.path()).args(line).args(["--as-of", AS_OF]).output().unwrap();
        String::from_utf8(output.stdout).unwrap().split_whitespace().collect::<Vec<_>>().join(" ")
    };
    for line in [&["due"][..], &["show", "P-014"], &["alert"]] {
        let said = said(line);
        assert!(said.contains("Signals for today turned off by the policy: pus"), "{line:?}: {said}");
        assert!(!said.contains("score-rising"), "{line:?}: {said}");
    }
    assert!(said(&["teaching", "P-005"]).contains("turned off by the policy: pus (seen in clinic)"));
    let list = json(exitsite(kept.path()).args(["due", "--as-of", AS_OF]), 0);
    assert_eq!(list["off"]["pus"], "seen in clinic");
    assert!(
        !String::from_utf8(demo().args(["due", "--as-of", AS_OF]).output().unwrap().stdout)
            .unwrap()
            .contains("turned off")
    );
}

#[test]
fn a_later_file_that_cannot_be_used_leaves_no_older_score_or_anchor_standing() {
    let good = "[left]\nanchor = 'in-place'\n[site]\ndrainage = 'none'\nredness_mm = 0\nswelling = 'none'\ncrust_mm = 0\npain = 'none'";
    let known = |broken: &[&str]| {
        let mut events = vec![
            ("P-001", "2026-11-21T0900-change.toml", good),
            ("P-001", "2026-11-20T0900-contact.toml", "with = 'patient'\nabout = ['other']\noutcome = 'advised'"),
            ("P-001", "2026-11-24T0700-change.toml", ""),
        ];
        events.extend(broken.iter().map(|name| ("P-001", *name, "no TOML")));
        let kept = records(&[("P-001", HOME)], &events);
        let status = if broken.is_empty() { 0 } else { 3 };
        let list = json(exitsite(kept.path()).args(["due", "P-001", "--as-of", AS_OF]), status);
        let row = &list["rows"][0];
        assert_eq!(row["state"], "upcoming", "{broken:?}: {row}");
        let text = exitsite(kept.path()).args(["due", "P-001", "--as-of", AS_OF]).output().unwrap().stdout;
        let text = String::from_utf8(text).unwrap().split_whitespace().collect::<Vec<_>>().join(" ");
        // `grade` names the open signals, which any record can raise.
        let grade = json(exitsite(kept.path()).args(["grade", "P-001", "--as-of", AS_OF]), status);
        let is_latest = grade["rows"][0]["later_unusable"].as_array().unwrap().is_empty();
        assert_eq!(is_latest, !row["score"].is_null(), "{broken:?}: {grade}");
        let said = exitsite(kept.path()).args(["grade", "P-001", "--as-of", AS_OF]).output().unwrap().stdout;
        assert_eq!(on_one_line(&said).contains("cannot be read and may be"), !is_latest, "{broken:?}");
        let of = |key: &str, words: &str| {
            assert_eq!(row[key].is_null(), text.contains(&format!("{words} not known")), "{broken:?}: {text}");
            !row[key].is_null()
        };
        (of("score", "score"), of("anchor", "anchor"), of("last_contact", "last contact"))
    };
    assert_eq!(known(&[]), (true, true, true));
    assert_eq!(known(&["2026-11-23T1905-change.toml"]), (false, false, true));
    assert_eq!(known(&["2026-11-23T1905-assessment.toml"]), (false, true, true));
    assert_eq!(known(&["2026-11-23T1905-inspection.toml"]), (true, false, true));
    assert_eq!(known(&["2026-11-23T1905-contact.toml"]), (true, true, false));
    // Without a time, on the day of the record used, it may be later; on an earlier day it is not.
    assert_eq!(known(&["2026-11-21-assessment.toml"]), (false, true, true));
    assert_eq!(known(&["2026-11-21T0859-change.toml", "2026-11-19T0900-contact.toml"]), (true, true, true));
}
