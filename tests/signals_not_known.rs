//! Unknown signals: an unreadable part of the policy, or a file that blocks a patient's state, is named wherever
//! signals are shown; never an all-clear, never 0, never an empty list.

#![allow(clippy::unwrap_used, clippy::expect_used, reason = "a test fails by panicking")]

mod desk;

use desk::Desk;
use serde_json::{Value, json};

const POLICY: &str = "schema = 1\nprogram = 'Invented'\ntime_zone = 'America/Chicago'\n";
const SCORE: &str = "[score]\nrubric = 'nowhere'\n";
const SIGNALS: &str = "[signals]\nlook_back_days = 'long'\n";
const TEACHING: &str = "[teaching]\nvalid_days = 'long'\n";
const LOOK: &str = "[site]\ndrainage = 'none'\nredness_mm = 0\nswelling = 'none'\ncrust_mm = 0\npain = 'none'\n[left]\nanchor = 'in-place'\n";
const FEVER_AND_PUS: &str = "[site]\ndrainage = 'purulent'\ntemperature_c = 38.6\n";

/// A desk with an addition to the policy and a look at the patient yesterday.
fn desk(policy: &str) -> Desk {
    let desk = Desk::new().at_80_columns();
    desk.put("policy.toml", &format!("{POLICY}{policy}"));
    desk.put("patients/P-001/patient.toml", &at_home("2026-08-03"));
    event(&desk, "2026-11-23T0900-change", LOOK);
    desk
}

/// A patient at home since the implant.
fn at_home(since: &str) -> String {
    let (head, care) = desk::PATIENT.split_once("\n[[care]]").unwrap();
    let people = &care[care.find("\n[[caregiver]]").unwrap()..];
    let text = format!("{head}\n[[care]]\nfrom = 2026-08-03\nplace = 'home'\n{people}");
    text.replace("2026-08-03", since)
}

fn event(desk: &Desk, name: &str, says: &str) {
    let (day, kind) = (&name[..10], &name[16..]);
    let at = format!("{day}T{}:{}:00-06:00", &name[11..13], &name[13..15]);
    let file = format!("patients/P-001/{}/{name}.toml", &day[..4]);
    desk.put(&file, &format!("kind = '{kind}'\nat = {at}\nby = 'rn-07'\n{says}"));
}

/// The JSON answer of a command, with its exit status.
#[track_caller]
fn answer(desk: &Desk, arguments: &[&str]) -> (Value, i32) {
    let run = desk.unkept(&[arguments, &["--json"]].concat());
    let value = serde_json::from_str(&run.stdout);
    (value.unwrap_or_else(|_| panic!("{arguments:?}: {}{}", run.stdout, run.stderr)), i32::from(run.status))
}

/// The names in a list of signals or of signal names.
fn names(of: &Value) -> Vec<&str> {
    let name = |one: &'_ Value| ["signal", "name"].into_iter().find(|key| one.get(key).is_some());
    let each = of.as_array().unwrap().iter();
    each.map(|one| name(one).map_or(one, |key| &one[key]).as_str().unwrap()).collect()
}

const OF_A_SCORE: [&str; 7] = [
    "score-review",
    "score-with-growth",
    "score-rising",
    "redness-spreading",
    "drainage-more",
    "drainage-lasting",
    "not-looked-at",
];

#[test]
fn an_error_in_the_score_leaves_the_signals_that_need_none() {
    let desk = desk(SCORE);
    event(&desk, "2026-11-24T0600-assessment", FEVER_AND_PUS);
    event(&desk, "2026-11-24T0630-inspection", "dressing = 'wet'\nanchor = 'loose'\n");
    let (report, status) = answer(&desk, &["signals"]);
    assert_eq!(status, 3);
    let mut open = names(&report["signals"]);
    open.sort();
    assert_eq!(open, ["anchor-off", "fever", "pus", "water-at-site"]);
    assert_eq!(names(&report["signals_not_known"]), OF_A_SCORE);
    assert_eq!(report["not_known"], json!(["P-001"]));
    let (page, _) = answer(&desk, &["show", "P-001"]);
    assert_eq!((page["signals"].as_array().unwrap().len(), names(&page["signals_not_known"]).len()), (4, 7));
    desk.run(&["show", "P-001"]);
    desk.keep_screens("signals_not_known_an_error_in_the_score_leaves_the_signals_that_need_none");
    let (row, _) = answer(&desk, &["due"]);
    let mut open = names(&row["rows"][0]["signals"]);
    open.sort();
    assert_eq!(open, ["anchor-off", "fever", "pus", "water-at-site"]);
    assert_eq!(names(&row["signals_not_known"]), OF_A_SCORE);
}

#[test]
fn what_cannot_be_judged_is_never_an_all_clear() {
    for (policy, name) in [(SCORE, "score"), (SIGNALS, "signals"), (TEACHING, "teaching")] {
        let desk = desk(policy);
        for command in [&["signals"] as &[&str], &["due"], &["signals", "P-001"]] {
            let run = desk.run(command);
            assert_eq!(run.status, 3, "{policy}");
            assert!(!run.stdout.contains("0 signals need review today"), "{policy}: {}", run.stdout);
        }
        desk.keep_screens(&format!("signals_not_known_what_cannot_be_judged_is_no_all_clear_{name}"));
        // The open signals are unknown, so no list is given as complete.
        assert_eq!(answer(&desk, &["due"]).0["rows"][0]["signals"], Value::Null, "{policy}");
        assert_eq!(answer(&desk, &["show", "P-001"]).0["signals"], Value::Null, "{policy}");
        assert_eq!(answer(&desk, &["signals"]).0["not_known"], json!(["P-001"]), "{policy}");
    }
    let sound = desk("");
    assert!(sound.done(&["signals"]).contains("0 signals need review today"));
    assert_eq!(answer(&sound, &["signals"]), (answer(&sound, &["signals"]).0, 0));
    assert_eq!(answer(&sound, &["signals"]).0["signals_not_known"], json!([]));
    assert_eq!(answer(&sound, &["due"]).0["rows"][0]["signals"], json!([]));
}

#[test]
fn an_error_in_the_signals_or_the_schedule_leaves_none_known() {
    for policy in [SIGNALS, "[windows]\nafter_shower_hours = 'two'\n", "= \n"] {
        let desk = desk(policy);
        event(&desk, "2026-11-24T0600-assessment", FEVER_AND_PUS);
        let (report, status) = answer(&desk, &["signals"]);
        assert_eq!((&report["signals"], status), (&json!([]), 3), "{policy}");
        let not_known = names(&report["signals_not_known"]);
        assert!(not_known.contains(&"fever") && not_known.contains(&"pus") && not_known.len() == 30, "{not_known:?}");
        assert!(!not_known.contains(&"overdue") && !not_known.contains(&"signals"), "{not_known:?}");
    }
}

#[test]
fn a_staff_list_that_cannot_be_used_leaves_looks_and_sign_offs_not_known() {
    let desk = desk("");
    desk.put("people.toml", "[[person]]\ncode = 3\n");
    let (report, status) = answer(&desk, &["signals"]);
    assert_eq!((names(&report["signals_not_known"]), status), (vec!["home-untaught", "not-looked-at", "untaught"], 3));
}

#[test]
fn a_signal_that_the_policy_has_turned_off_is_not_one_that_is_not_known() {
    let desk = desk(&format!("{SCORE}[signals.pus]\noff = 'tried for a month'\n"));
    let (report, _) = answer(&desk, &["signals"]);
    assert!(!names(&report["signals_not_known"]).contains(&"pus"));
    assert_eq!(report["off"], json!({ "pus": "tried for a month" }));
}

#[test]
fn an_audit_gives_no_number_where_a_signal_is_not_known() {
    for policy in [SCORE, SIGNALS] {
        let desk = desk(policy);
        event(&desk, "2026-11-24T0600-assessment", FEVER_AND_PUS);
        let (report, status) = answer(&desk, &["audit", "--month", "2026-11"]);
        assert_eq!(status, 3);
        let signals = &report["signals"];
        for key in ["episodes", "by_name", "unanswered", "learnt_late", "median_hours_to_answer"] {
            assert_eq!(signals[key], Value::Null, "{policy} {key}");
        }
        assert!(names(&signals["signals_not_known"]).contains(&"score-review"), "{policy}");
        let text = desk.unkept(&["audit", "--month", "2026-11"]).stdout;
        assert!(!text.contains("No signal opened"), "{text}");
        assert!(text.contains("Not known, because policy.toml or people.toml cannot be used."), "{text}");
    }
    let sound = desk("");
    assert_eq!(answer(&sound, &["audit", "--month", "2026-11"]).0["signals"]["episodes"], json!(0));
}

#[test]
fn a_checklist_waits_for_the_signals_of_today_that_are_not_known() {
    let line = |desk: &Desk| {
        let (report, _) = answer(desk, &["teaching", "P-001"]);
        let text = report.to_string();
        assert!(text.contains("no-signal-of-today"), "{text}");
        text
    };
    assert!(line(&desk(SCORE)).contains("not all signals are known"));
    assert!(!line(&desk("")).contains("not all signals are known"));
}

#[test]
fn an_alert_tells_the_signals_that_are_known_and_the_error() {
    let desk = desk(&format!("{SCORE}[alerts]\ncoordinator = ['co@example.org']\nphysician = ['md@example.org']\n"));
    event(&desk, "2026-11-24T0600-assessment", FEVER_AND_PUS);
    let run = desk.run(&["alert", "--json"]);
    let report: Value = serde_json::from_str(&run.stdout).unwrap_or_else(|_| panic!("{}{}", run.stdout, run.stderr));
    assert_eq!(run.status, 3);
    let text = report.to_string();
    assert!(text.contains("needs review today, since 2026-11-24 06:00") && text.contains("policy.toml"), "{text}");
    assert!(
        text.contains("exitsite: error in policy.toml, 2 signals need review today")
            && !text.contains("could be judged"),
        "{text}"
    );
}

#[test]
fn a_patient_whose_state_is_blocked_is_named() {
    let desk = desk("");
    let old = Desk::new();
    // The last change is before the look-back, and unreadable.
    old.put("patients/P-001/patient.toml", &at_home("2024-08-03"));
    event(&old, "2024-11-23T0900-change", "[left\n");
    for (desk, name) in [(&old, "old"), (&desk, "stray")] {
        if name == "stray" {
            desk.put("patients/P-001/2026/2026-11-20T0900-chnage.toml", "left here");
        }
        let due = desk.run(&["due", "--json"]);
        let due: Value = serde_json::from_str(&due.stdout).unwrap();
        assert_eq!(due["rows"][0]["state"], "unusable", "{name}");
        for arguments in [&["signals"] as &[&str], &["signals", "P-001"]] {
            let (report, status) = answer(desk, arguments);
            assert_eq!((&report["not_known"], status), (&json!(["P-001"]), 3), "{name}");
            let text = desk.run(arguments).stdout;
            assert!(text.contains("Not all signals are known for P-001: run `exitsite check`"), "{name}: {text}");
            assert!(!text.contains("0 signals need review today"), "{name}: {text}");
        }
    }
}
