//! Handoffs of a call: the person it was passed on to, and the signals of today that no one has acted on for some
//! hours.

#![allow(clippy::unwrap_used, reason = "a test fails by panicking")]

mod desk;

use desk::{Desk, Person};
use serde_json::{Value, json};

const PUS: &str = "kind = \"assessment\"\nat = 2026-11-24T03:30:00\nby = \"rn-07\"\nsource = \"seen\"\n[site]\ndrainage = \"purulent\"\n";

/// The patient at home, with pus since 03:30.
fn desk() -> Desk {
    let desk = Desk::new().at_80_columns();
    desk.put(
        "policy.toml",
        &format!("{}[signals]\nhome-untaught = {{ off = \"taught elsewhere\" }}\n", desk.get("policy.toml")),
    );
    desk.put("patients/P-001/2026/2026-11-24T0330-assessment.toml", PUS);
    desk
}

/// The text of the only contact.
fn contact(desk: &Desk) -> String {
    let files = desk.everything();
    files.into_iter().find(|(file, _)| file.ends_with("-contact.toml")).unwrap().1
}

#[test]
fn a_round_asks_to_whom_a_call_was_passed_on() {
    let desk = desk();
    let person = Person::typing(&["c", "2", "escalated", "1", "1", "", "y", "yes", "q"]);
    let outcome = desk.run_as(Some("co-1"), &["round"], Some(&person));
    assert_eq!(outcome.status, 0, "{outcome:?}");
    let text = contact(&desk);
    assert!(text.contains("outcome = \"escalated\"\nescalated_to = \"md-3\"\n"), "{text}");
    desk.done(&["handoff"]);
    desk.keep_screens("told_a_round_asks_to_whom_a_call_was_passed_on");
    // A call that was not passed on has none of these questions.
    let desk = self::desk();
    let person = Person::typing(&["c", "2", "advised", "1", "", "yes", "q"]);
    desk.run_as(Some("co-1"), &["round"], Some(&person));
    assert!(!person.saw().contains("Escalated to") && !contact(&desk).contains("escalated_to"), "{}", person.saw());
}

#[test]
fn a_record_says_to_whom_or_leaves_it_out_and_no_other_outcome_does() {
    let call = ["record", "contact", "P-001", "--by", "co-1", "--at", "07:00", "--with", "p001-son", "--about", "pus"];
    let record = |desk: &Desk, more: &[&str]| desk.run(&[&call[..], &["--source", "told", "--yes"], more].concat());
    let desk = desk();
    let outcome = record(&desk, &["--outcome", "escalated", "--escalated-to", "md-3"]);
    assert_eq!(outcome.status, 0, "{}", outcome.stderr);
    desk.done(&["show", "P-001"]);
    desk.keep_screens("told_a_record_says_to_whom");
    let desk = self::desk();
    desk.refused(&[&call[..], &["--source", "told", "--outcome", "advised", "--escalated-to", "md-3"]].concat());
    desk.refused(&[&call[..], &["--source", "told", "--outcome", "escalated", "--escalated-to", "md3"]].concat());
    desk.keep_screens("told_no_other_outcome_says_to_whom");
    assert_eq!(record(&desk, &["--outcome", "escalated"]).status, 0);
}

/// The signals waiting for at least some hours.
fn waiting(desk: &Desk, hours: &str) -> Value {
    let report = desk.json(&["signals", "--waiting", hours]);
    jsonschema::validate(&exitsite::schema::schema("signals").unwrap(), &report).unwrap();
    report
}

fn names(report: &Value) -> Vec<&str> {
    report["signals"].as_array().unwrap().iter().map(|signal| signal["signal"].as_str().unwrap()).collect()
}

#[test]
fn a_signal_of_today_waits_from_when_it_was_known_until_somebody_acts() {
    let desk = desk();
    assert_eq!(names(&waiting(&desk, "3")), ["pus"]);
    assert_eq!(names(&waiting(&desk, "4")), [] as [&str; 0]);
    assert_eq!(waiting(&desk, "4")["waiting"], json!({ "hours": 4, "open": 1 }));
    desk.done(&["signals", "--waiting", "3"]);
    // No signal has waited that long, but that is no all-clear.
    desk.done(&["signals", "--waiting", "4"]);
    // A call to the household does not act on it, and is shown.
    let call = |with: &str| {
        let text = format!(
            "kind = \"contact\"\nat = 2026-11-24T05:00:00\nby = \"co-1\"\nwith = \"{with}\"\nabout = [\"pus\"]\noutcome = \"advised\"\n"
        );
        desk.put("patients/P-001/2026/2026-11-24T0500-contact.toml", &text);
    };
    call("p001-son");
    desk.done(&["signals", "--waiting", "3"]);
    desk.keep_screens("told_a_signal_of_today_waits_until_somebody_acts");
    // Reaching a physician does; worse news after that starts a new wait.
    call("md-3");
    assert_eq!(waiting(&desk, "0")["waiting"], json!({ "hours": 0, "open": 0 }));
    for at in ["04:30", "06:00"] {
        let text = format!("kind = \"trauma\"\nat = 2026-11-24T{at}:00\nby = \"p001-son\"\nsource = \"told\"\n");
        desk.put(&format!("patients/P-001/2026/2026-11-24T{}-trauma.toml", at.replace(':', "")), &text);
    }
    desk.put(
        "patients/P-001/2026/2026-11-24T0515-contact.toml",
        "kind = \"contact\"\nat = 2026-11-24T05:15:00\nby = \"co-1\"\nwith = \"md-3\"\nabout = [\"line-pulled\"]\noutcome = \"advised\"\n",
    );
    assert_eq!(names(&waiting(&desk, "1")), ["line-pulled"]);
    assert_eq!(names(&waiting(&desk, "2")), [] as [&str; 0]);
    for more in [&["--waiting", "2", "--all"][..], &["--waiting", "soon"], &["--waiting"]] {
        desk.refused(&[&["signals"], more].concat());
    }
}

#[test]
fn what_is_not_known_is_said_on_the_screen_of_the_ward() {
    let desk = desk();
    desk.put("patients/P-001/2026/2026-11-24T0600-change.toml", "kind = \"change\"\nat = \n");
    desk.run(&["signals", "--waiting", "1"]);
    desk.keep_screens("told_what_is_not_known_is_said_on_the_screen_of_the_ward");
}
