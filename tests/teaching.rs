//! Sign-offs, their expiry and their missing steps: each rule on days that a coordinator can check on a calendar.

#![allow(clippy::unwrap_used, clippy::expect_used, reason = "a test fails by panicking")]

mod desk;

use std::ffi::OsString;
use std::fs;
use std::path::Path;

use desk::{keep, screen};
use exitsite::command::{Outcome, Surroundings, run};
use serde_json::{Value, json};
use tempfile::TempDir;

const POLICY: &str = "schema = 1\nprogram = 'Invented'\ntime_zone = 'America/Chicago'\n";

/// A curriculum of two steps, the first one critical, for caregivers and for nurses.
const CURRICULA: &str = "[[curriculum]]\nname = 'change'\nrole = 'caregiver'\nversion = 1\nstep = [ { id = 'hands', text = 'Wash your hands.', critical = true }, { id = 'gauze', text = 'Gauze only for drainage.' } ]\n[[curriculum]]\nname = 'change'\nrole = 'nurse'\nversion = 1\nstep = [ { id = 'hands', text = 'Hand hygiene.', critical = true } ]\n";

/// The curriculum for caregivers in a second version.
const SECOND: &str = "[[curriculum]]\nname = 'change'\nrole = 'caregiver'\nversion = 2\nstep = [ { id = 'hands', text = 'Wash your hands.', critical = true }, { id = 'caps', text = 'Caps.', critical = true } ]\n";

const PEOPLE: &str = "[[person]]\ncode = 'ed-1'\nrole = 'educator'\nmay_sign = true\n[[person]]\ncode = 'rn-02'\nrole = 'nurse'\nmay_sign = true\nuntil = 2026-10-31\n[[person]]\ncode = 'rn-07'\nrole = 'nurse'\n";

const PATIENT: &str = "code = 'P-001'\nimplanted = 2026-08-03\n[[exit]]\nid = 'a'\nwhere = 'right-upper'\nfrom = 2026-08-03\nwhy = 'implant'\n[[care]]\nfrom = 2026-08-03\nplace = 'inpatient'\n[[caregiver]]\ncode = 'p001-son'\n";

const BOTH: &str = "unaided = ['hands', 'gauze']";

fn said(records: &Path, arguments: &[&str]) -> Outcome {
    let surroundings = Surroundings {
        now: "2026-11-24T13:15:00Z".parse().unwrap(),
        here: records.to_owned(),
        records: Some(records.to_owned()),
        ..Surroundings::default()
    };
    run(["exitsite"].iter().chain(arguments).map(OsString::from), &surroundings)
}

/// Runs commands, and keeps their screens.
fn kept(name: &str, records: &TempDir, commands: &[&[&str]]) {
    let run = |arguments: &&[&str]| screen(arguments, None, &said(records.path(), arguments));
    keep(name, &commands.iter().map(run).collect::<String>());
}

fn demo(arguments: &[&str]) -> Outcome {
    let records = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/demo");
    said(&records, &[arguments, &["--as-of", "2026-11-24T07:15"]].concat())
}

fn write(records: &TempDir, file: &str, text: &str) {
    let path = records.path().join(file);
    fs::create_dir_all(path.parent().unwrap()).unwrap();
    fs::write(path, text).unwrap();
}

/// A household with a son in training.
fn household(curricula: &str) -> TempDir {
    let records = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).unwrap();
    write(&records, "policy.toml", &format!("{POLICY}{curricula}"));
    write(&records, "people.toml", PEOPLE);
    write(&records, "patients/P-001/patient.toml", PATIENT);
    records
}

/// Adds a checkoff of the son: day, number within the day, observer, mode, further keys.
fn teach(records: &TempDir, day: &str, n: u32, observer: &str, mode: &str, says: &str) {
    let number = if n == 1 { String::new() } else { format!("-{n}") };
    let version = if says.contains("version") { "" } else { "version = 1\n" };
    write(
        records,
        &format!("patients/P-001/{}/{day}-teaching{number}.toml", &day[..4]),
        &format!(
            "kind = 'teaching'\non = {day}\nby = 'ed-1'\nlearner = 'p001-son'\nobserver = '{observer}'\ncurriculum = 'change'\n{version}mode = '{mode}'\n{says}\n"
        ),
    );
}

fn shows(records: &TempDir, day: &str, says: &str) {
    teach(records, day, 1, "ed-1", "return-demonstration", says);
}

/// The JSON report, checked against its schema.
fn report(outcome: &Outcome) -> Value {
    let report: Value = serde_json::from_str(&outcome.stdout).unwrap_or_else(|_| panic!("{}", outcome.stderr));
    jsonschema::validate(&exitsite::schema::schema("teaching-report").unwrap(), &report).unwrap();
    report
}

fn standing_of(records: &TempDir, as_of: &str) -> Value {
    let report = report(&said(records.path(), &["teaching", "p001-son", "--as-of", as_of, "--json"]));
    assert_eq!(report["people"].as_array().unwrap().len(), 1);
    report["people"][0]["standings"][0].clone()
}

/// The son's standing at the end of a day, in brief.
fn standing(records: &TempDir, as_of: &str) -> String {
    let standing = standing_of(records, as_of);
    let text = |key: &str| standing[key].as_str().map(|day| format!(" {key} {day}")).unwrap_or_default();
    let older = if standing["older_version"] == true { " older" } else { "" };
    format!(
        "{} {}/{}{}{}{older}",
        standing["state"].as_str().unwrap(),
        standing["qualifying"],
        standing["needed"],
        text("until"),
        text("lapsed_since")
    )
}

#[test]
fn two_qualifying_checkoffs_on_different_days_sign_off_from_the_second() {
    let records = household(CURRICULA);
    assert_eq!(standing(&records, "2026-09-01"), "not-started 0/2");
    shows(&records, "2026-09-01", BOTH);
    assert_eq!(standing(&records, "2026-08-31"), "not-started 0/2");
    assert_eq!(standing(&records, "2026-09-01"), "in-training 1/2");
    // again on the same day: that day counts once
    teach(&records, "2026-09-01", 2, "rn-02", "return-demonstration", BOTH);
    assert_eq!(standing(&records, "2026-09-01"), "in-training 1/2");
    shows(&records, "2026-09-03", BOTH);
    assert_eq!(standing(&records, "2026-09-02"), "in-training 1/2");
    // 365 days: through 2027-09-03
    assert_eq!(standing(&records, "2026-09-03"), "signed-off 2/2 until 2027-09-03");
    assert_eq!(standing(&records, "2027-09-03"), "signed-off 1/2 until 2027-09-03");
    assert_eq!(standing(&records, "2027-09-04"), "lapsed 0/2 until 2027-09-03 lapsed_since 2027-09-04");
    // one in time extends it
    shows(&records, "2027-08-20", BOTH);
    assert_eq!(standing(&records, "2027-08-20"), "signed-off 3/2 until 2028-08-19");
}

#[test]
fn after_a_lapse_training_starts_over() {
    let records = household(CURRICULA);
    shows(&records, "2025-09-01", BOTH);
    shows(&records, "2025-09-03", BOTH);
    shows(&records, "2026-10-01", BOTH);
    assert_eq!(standing(&records, "2026-10-01"), "lapsed 1/2 until 2026-09-03 lapsed_since 2026-09-04");
    shows(&records, "2026-10-02", BOTH);
    assert_eq!(standing(&records, "2026-10-02"), "signed-off 2/2 until 2027-10-02");
}

#[test]
fn what_does_not_qualify_says_why() {
    let cases = [
        ("ed-1", "assisted", BOTH, "assisted, no return demonstration"),
        ("ed-1", "return-demonstration", "unaided = ['gauze']\nprompted = ['hands']", "hands prompted, and critical"),
        ("ed-1", "return-demonstration", "unaided = ['gauze']", "hands not done, and critical"),
        ("ed-1", "return-demonstration", "unaided = ['hands']\nmissed = ['gauze']", "gauze missed"),
        ("rn-07", "return-demonstration", BOTH, "rn-07 may not sign that day"),
        ("rn-02", "return-demonstration", BOTH, "rn-02 may not sign that day"), // until 2026-10-31
        ("p001-son", "return-demonstration", BOTH, "the observer is the learner"),
        ("rn-07", "attested", "", "rn-07 may not sign that day"),
        (
            "ed-1",
            "return-demonstration",
            "version = 7\nunaided = ['hands', 'gauze']",
            "the policy has no change version 7",
        ),
    ];
    for (observer, mode, says, why) in cases {
        let records = household(CURRICULA);
        shows(&records, "2026-10-30", BOTH);
        teach(&records, "2026-11-02", 1, observer, mode, says);
        assert_eq!(standing(&records, "2026-11-02"), "in-training 1/2", "{why}");
        let checkoff = standing_of(&records, "2026-11-02")["checkoffs"][1].clone();
        assert_eq!((&checkoff["counts"], &checkoff["why_not"]), (&json!(false), &json!([why])), "{why}");
    }
    // a prompt at a step that is not critical does not count
    let records = household(CURRICULA);
    shows(&records, "2026-10-30", BOTH);
    shows(&records, "2026-11-02", "unaided = ['hands']\nprompted = ['gauze']");
    assert_eq!(standing(&records, "2026-11-02"), "signed-off 2/2 until 2027-11-02");
}

#[test]
fn what_is_missing_is_said_step_by_step() {
    let records = household(CURRICULA);
    teach(&records, "2026-09-01", 1, "ed-1", "assisted", "prompted = ['hands']");
    let missing = standing_of(&records, "2026-09-01")["missing"].clone();
    assert_eq!(
        missing,
        json!([{ "step": "hands", "text": "Wash your hands.", "critical": true, "last": "prompted" },
               { "step": "gauze", "text": "Gauze only for drainage.", "critical": false, "last": "not-done" }])
    );
    kept("teaching_what_is_missing_is_said_step_by_step", &records, &[&["teaching", "p001-son"]]);
    shows(&records, "2026-09-02", BOTH);
    assert_eq!(standing_of(&records, "2026-09-02")["missing"], json!([]));
}

#[test]
fn one_attested_checkoff_signs_off_alone() {
    let records = household(CURRICULA);
    teach(&records, "2026-09-01", 1, "ed-1", "attested", "");
    assert_eq!(standing(&records, "2026-09-01"), "signed-off 0/2 until 2027-09-01");
}

#[test]
fn a_new_version_does_not_take_away_a_sign_off() {
    let records = household(&format!("{CURRICULA}{SECOND}"));
    shows(&records, "2026-09-01", BOTH);
    shows(&records, "2026-09-03", BOTH);
    assert_eq!(standing(&records, "2026-11-24"), "signed-off 0/2 until 2027-09-03 older");
    assert_eq!(standing(&records, "2027-09-04"), "lapsed 0/2 until 2027-09-03 lapsed_since 2027-09-04");
    // one checkoff of the new version is not two, and the old sign-off is still valid
    shows(&records, "2026-11-20", "version = 2\nunaided = ['hands', 'caps']");
    assert_eq!(standing(&records, "2026-11-24"), "signed-off 1/2 until 2027-09-03 older");
    shows(&records, "2026-11-21", "version = 2\nunaided = ['hands', 'caps']");
    assert_eq!(standing(&records, "2026-11-24"), "signed-off 2/2 until 2027-11-21");
}

#[test]
fn versions_do_not_add_up() {
    let records = household(&format!("{CURRICULA}{SECOND}"));
    shows(&records, "2026-09-01", BOTH);
    shows(&records, "2026-09-03", "version = 2\nunaided = ['hands', 'caps']");
    assert_eq!(standing(&records, "2026-09-03"), "in-training 1/2");
}

#[test]
fn staff_learn_what_nurses_are_taught() {
    let records = household(CURRICULA);
    let says = |observer: &str| {
        format!(
            "by = 'ed-1'\nlearner = 'rn-07'\nobserver = '{observer}'\ncurriculum = 'change'\nversion = 1\nmode = 'return-demonstration'\nunaided = ['hands']\n"
        )
    };
    for day in ["2026-09-01", "2026-09-02"] {
        let text = format!("kind = 'teaching'\non = {day}\n{}", says("ed-1"));
        write(&records, &format!("staff/rn-07/2026/{day}-teaching.toml"), &text);
    }
    let found = report(&said(records.path(), &["teaching", "--json"]));
    let people: Vec<_> =
        found["people"].as_array().unwrap().iter().map(|one| one["person"].as_str().unwrap()).collect();
    assert_eq!(people, ["p001-son", "rn-07"]);
    assert_eq!(found["people"][1]["standings"][0]["until"], "2027-09-02");
    assert_eq!(found["may_sign"], json!(["ed-1"]));
    let codes: Vec<_> = found["not_listed"].as_array().unwrap().iter().map(|one| one["code"].clone()).collect();
    assert_eq!(codes, ["ed-1", "rn-02"]);
    // a person named on the command line is shown
    let named = report(&said(records.path(), &["teaching", "rn-02", "--json"]));
    assert_eq!(named["people"][0]["standings"][0]["state"], "not-started");
}

#[test]
fn within_says_who_lapses_ahead_of_time() {
    let records = household(CURRICULA);
    teach(&records, "2025-12-01", 1, "ed-1", "attested", ""); // until 2026-12-01, lapsed on 2026-12-02, 8 days from now
    let commands: [&[&str]; 2] = [&["teaching", "--within", "7"], &["teaching", "--within", "8"]];
    kept("teaching_within_says_who_lapses_ahead_of_time", &records, &commands);
}

#[test]
fn somebody_who_is_not_on_file_gets_the_same_code_written_otherwise_and_no_other() {
    let records = household(CURRICULA);
    for (typed, same) in [("P001-SON", Some("p001-son")), ("p-1", Some("P-001")), ("rn-7", Some("rn-07"))]
        .into_iter()
        .chain(["p001-sun", "P-002", "rn-08"].map(|other| (other, None)))
    {
        let Outcome { stdout, stderr, status, .. } = said(records.path(), &["teaching", typed]);
        assert_eq!((stdout.as_str(), status), ("", 2));
        assert!(stderr.contains(typed), "{stderr}");
        assert_eq!(stderr.contains("did you mean"), same.is_some(), "{stderr}");
        assert!(same.is_none_or(|same| stderr.contains(same)), "{stderr}");
    }
}

#[test]
fn only_a_qualifying_return_demonstration_makes_up_for_one_that_failed() {
    let records = household(CURRICULA);
    teach(&records, "2026-09-01", 1, "ed-1", "attested", "");
    shows(&records, "2026-10-01", "unaided = ['gauze']\nmissed = ['hands']");
    teach(&records, "2026-10-05", 1, "ed-1", "attested", "");
    let state = |day: &str| standing(&records, day).split(' ').next().unwrap().to_owned();
    assert_eq!(["2026-09-30", "2026-10-04", "2026-10-05"].map(state), ["signed-off", "suspended", "suspended"]);
    shows(&records, "2026-10-08", BOTH);
    assert_eq!(["2026-10-07", "2026-10-08"].map(state), ["suspended", "signed-off"]);
}

#[test]
fn a_patient_whose_state_cannot_be_judged_is_named_to_whoever_asks_about_the_household() {
    let records = household(CURRICULA);
    shows(&records, "2026-09-01", BOTH);
    write(&records, "patients/P-001/2026/2026-11-20T0900-change.toml", "kind = \n");
    for whom in ["P-001", "p001-son"] {
        let said = said(records.path(), &["teaching", whom, "--json"]);
        assert_eq!(said.status, 3, "{whom}: {}", said.stderr);
        let report = report(&said);
        let files: Vec<_> = report["unusable"].as_array().unwrap().iter().map(|one| one["file"].clone()).collect();
        assert!(files.contains(&json!("patients/P-001/2026/2026-11-20T0900-change.toml")), "{whom}: {files:?}");
        assert_eq!(report["people"][0]["standings"][0]["state"], "in-training");
    }
    let history = said(records.path(), &["history", "P-001"]);
    assert_eq!(history.status, 3, "{}", history.stderr);
    assert!(history.stderr.contains("2026-11-20T0900-change.toml"), "{}", history.stderr);
    // A caregiver of a household whose file cannot be read.
    write(&records, "patients/P-001/patient.toml", "code = \n");
    for arguments in [["teaching", "p001-son"], ["history", "P-001"]] {
        let said = said(records.path(), &arguments);
        assert_eq!(said.status, 3, "{arguments:?}: {}", said.stderr);
        assert!(said.stderr.contains("patients/P-001/patient.toml"), "{}", said.stderr);
    }
    assert!(said(records.path(), &["teaching", "p001-son"]).stdout.contains("P-001"));
    // If every file can be read, the code is unknown.
    write(&records, "patients/P-001/patient.toml", PATIENT);
    assert_eq!(said(records.path(), &["teaching", "p001-sun"]).status, 2);
}

#[test]
fn a_failed_return_demonstration_is_told_with_its_steps_until_it_is_made_up_for() {
    let records = household(CURRICULA);
    teach(&records, "2026-09-01", 1, "ed-1", "attested", "");
    let told = |failed: bool, suspended: bool| {
        for arguments in [&["teaching", "P-001"] as &[&str], &["teaching", "p001-son"], &["show", "P-001"]] {
            let text = said(records.path(), arguments).stdout.split_whitespace().collect::<Vec<_>>().join(" ");
            assert_eq!(
                text.contains("return demonstration of 2026-11-10 failed: hands"),
                failed,
                "{arguments:?} {text}"
            );
            let state = "sign-off suspended until a return demonstration is passed";
            assert_eq!(text.contains(state), suspended, "{arguments:?} {text}");
            assert_eq!(text.contains("signed off until 2027-09-01"), !suspended, "{arguments:?} {text}");
        }
    };
    told(false, false);
    shows(&records, "2026-11-10", "missed = ['hands']\nunaided = ['gauze']");
    told(true, true);
    kept("teaching_a_failed_return_demonstration_is_told_with_its_steps", &records, &[&["teaching", "P-001"]]);
    // A policy without suspension still reports the failure.
    write(&records, "policy.toml", &format!("{POLICY}[teaching]\nfailed_suspends = false\n{CURRICULA}"));
    told(true, false);
    write(&records, "policy.toml", &format!("{POLICY}{CURRICULA}"));
    shows(&records, "2026-11-20", BOTH);
    told(false, false);
}

#[test]
fn what_cannot_be_used_makes_a_sign_off_unknown_and_never_none() {
    // the staff list
    let records = household(CURRICULA);
    shows(&records, "2026-09-01", BOTH);
    write(&records, "people.toml", "[[person]\n");
    let outcome = said(records.path(), &["teaching", "P-001", "--json"]);
    let found = report(&outcome);
    assert_eq!((outcome.status, &found["people"][0]["standings"], &found["may_sign"]), (3, &json!(null), &json!(null)));
    assert_eq!(found["discharge"][0]["lines"][0]["state"], "not-known");
    // a part of the policy
    let records = household("[teaching]\nvalid_days = 'a year'\n");
    let outcome = said(records.path(), &["teaching", "--json"]);
    assert_eq!((outcome.status, &report(&outcome)["people"][0]["standings"]), (3, &json!(null)));
    // a checkoff
    let records = household(CURRICULA);
    teach(&records, "2026-09-01", 1, "ed-1", "return-demonstration", "unaided = ['hands'");
    let outcome = said(records.path(), &["teaching", "--json"]);
    assert_eq!((outcome.status, &report(&outcome)["people"][0]["standings"]), (3, &json!(null)));
    kept("teaching_a_sign_off_that_is_not_known", &records, &[&["teaching"]]);
    // another kind of record does not matter
    let records = household(CURRICULA);
    write(&records, "patients/P-001/2026/2026-09-01-change.toml", "kind = 'change");
    assert_eq!(said(records.path(), &["teaching"]).status, 0);
}

/// The state of each line of the checklist, line by line.
fn lines(found: &Value) -> Vec<String> {
    let line = |line: &Value| line["state"].as_str().unwrap().to_owned();
    found["discharge"][0]["lines"].as_array().unwrap().iter().map(line).collect()
}

#[test]
fn the_discharge_checklist_says_what_is_met_and_what_is_not() {
    let records = household(CURRICULA);
    let ask = || report(&said(records.path(), &["teaching", "P-001", "--as-of", "2026-11-24T07:15", "--json"]));
    assert_eq!(lines(&ask()), ["not-met", "not-known", "met", "not-met"]);
    teach(&records, "2026-09-01", 1, "ed-1", "attested", "");
    // inpatient, daily through POD 21 and every two days at home: 7 in 14 days
    let count = |n: u32| {
        let text =
            format!("kind = 'supply'\nat = 2026-11-20T09:00:00\nby = 'ed-1'\nitem = 'dressing-kit'\ncounted = {n}\n");
        write(&records, "patients/P-001/2026/2026-11-20T0900-supply.toml", &text);
    };
    let change = "kind = 'change'\nat = 2026-11-23T09:00:00\nby = 'ed-1'\n[left]\nanchor = 'in-place'\n";
    write(&records, "patients/P-001/2026/2026-11-23T0900-change.toml", change);
    count(6);
    assert_eq!(lines(&ask()), ["met", "not-met", "met", "met"]);
    count(7);
    assert_eq!(lines(&ask()), ["met", "met", "met", "met"]);
    // the anchor is off: needs review today
    let loose = "kind = 'inspection'\nat = 2026-11-23T12:00:00\nby = 'ed-1'\nanchor = 'loose'\n";
    write(&records, "patients/P-001/2026/2026-11-23T1200-inspection.toml", loose);
    assert_eq!(lines(&ask()), ["met", "met", "not-met", "met"]);
    kept("teaching_the_discharge_checklist", &records, &[&["teaching", "P-001"]]);
    let at = |as_of: &str| said(records.path(), &["teaching", "P-001", "--as-of", as_of]).stdout;
    let late = at("2026-11-25T07:15");
    assert!(late.contains("[ ] dressing change current: exit a overdue 4 h"), "{late}");
    // A change after a shower is open from the shower on.
    let shower = "kind = 'shower'\nat = 2026-11-24T06:30:00\nby = 'patient'\ndressing_before = 'intact'\n";
    write(&records, "patients/P-001/2026/2026-11-24T0630-shower.toml", shower);
    let open = at("2026-11-24T07:15");
    assert!(open.contains("[ ] dressing change current: exit a change by 08:30 after a shower"), "{open}");
    // A record that cannot be read may be the change.
    write(&records, "patients/P-001/2026/2026-11-24T0700-change.toml", "kind = 'change");
    assert!(
        at("2026-11-24T07:15").contains("[?] not known, dressing change current: next change not known"),
        "{}",
        at("2026-11-24T07:15")
    );
}

#[test]
fn the_invented_program_has_somebody_in_every_list() {
    let text = demo(&["teaching"]).stdout;
    for heading in ["Lapsed\n", "In training\n", "Not started\n", "Signed off\n", "May sign off today: co-1"] {
        assert!(text.contains(heading), "{heading} is not in\n{text}");
    }
    assert!(demo(&["teaching", "--within", "60"]).stdout.contains("Lapses within 60 days\n  rn-03"));
    let home = report(&demo(&["teaching", "P-005", "--json"]));
    assert_eq!(home["discharge"][0]["planned_on"], "2026-11-30");
    assert_eq!(lines(&home), ["not-met", "met", "met", "met"]);
}
