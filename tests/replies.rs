//! Replies that say what was written, what ends, what is not read, and how to take it back.

#![allow(clippy::unwrap_used, reason = "a test fails by panicking")]

mod desk;

use desk::{Desk, Person};

const PUS: &str = "patients/P-001/2026/2026-11-24T0600-assessment.toml";

const FILE: &str = "patients/P-001/patient.toml";

/// The lines from `first` to `last` that a reply names, as they stand in a file.
fn named_lines(desk: &Desk, reply: &str, file: &str) -> String {
    let words = reply.split("remove lines ").nth(1).unwrap_or_else(|| panic!("{reply}"));
    let numbers: Vec<usize> = words.split([' ', ',']).filter_map(|word| word.parse().ok()).take(2).collect();
    let text = desk.get(file);
    text.lines().skip(numbers[0] - 1).take(numbers[1] - numbers[0] + 1).collect::<Vec<_>>().join("\n")
}

#[test]
fn the_preview_of_a_new_patient_is_in_words() {
    let desk = Desk::new();
    let answers = [
        "2026-08-03",
        "right-upper",
        "home",
        "2026-09-01",
        "2026-09-15",
        "inpatient",
        "0",
        "2026-08-31",
        "p002-son:son",
        "log",
        "none",
        "y",
    ];
    let person = Person::typing(&answers);
    let outcome = desk.run_as(Some("co-1"), &["patient", "add", "P-002"], Some(&person));
    let shown = person.saw();
    assert_eq!((outcome.status, person.left()), (0, 0), "{shown}");
    for line in [
        "Implanted Aug 3, 2026 (POD 113). Exit site a, right upper.",
        "Records begin Sep 1, 2026. Driveline infections before: 0. Last change before: Aug 31, 2026.",
        "Inpatient from Sep 1, 2026. Home from Sep 15, 2026; the household keeps a log. Caregivers: p002-son (son).",
        "No known intolerances.",
    ] {
        assert!(shown.contains(line), "{line}\n{shown}");
    }
    assert!(!shown.contains("implanted =") && !shown.contains("[[care]]"), "{shown}");
}

#[test]
fn a_row_of_the_course_is_taken_back_by_the_lines_that_the_reply_names() {
    let desk = Desk::new();
    let before = desk.get(FILE);
    let line = ["patient", "move", "P-001", "--place", "inpatient", "--from", "today", "--by", "co-1", "--yes"];
    let reply = desk.done(&line);
    let row = named_lines(&desk, &reply, FILE);
    assert_eq!(row, "[[care]]\nfrom = 2026-11-24\nplace = \"inpatient\"\nby = \"co-1\"");
    let after = desk.get(FILE);
    assert_eq!(
        after.replace(&row, "").split_whitespace().collect::<Vec<_>>(),
        before.split_whitespace().collect::<Vec<_>>()
    );
    let reply = desk.done(&["patient", "caregiver", "P-001", "--code", "p001-aunt", "--by", "co-1", "--yes"]);
    assert_eq!(named_lines(&desk, &reply, FILE), "[[caregiver]]\ncode = \"p001-aunt\"\nby = \"co-1\"");
    let exit = ["--id", "b", "--where", "left-upper", "--why", "relocation", "--from", "2026-11-23"];
    let reply = desk.done(&[&["patient", "exit", "P-001", "--by", "co-1", "--yes"][..], &exit].concat());
    assert!(named_lines(&desk, &reply, FILE).starts_with("[[exit]]\nid = \"b\"\n"), "{reply}");
}

#[test]
fn a_script_learns_what_a_void_would_end_and_what_it_ended() {
    let desk = Desk::new();
    let pus = "kind = 'assessment'\nat = 2026-11-24T06:00:00-06:00\nby = 'rn-07'\nsource = 'seen'\n[site]\ndrainage = 'purulent'\n";
    desk.put(PUS, pus);
    let void = ["void", PUS, "--by", "co-1", "--why", "wrong patient", "--source", "told"];
    let refused = desk.refused(&void);
    assert!(refused.contains("P-001: This ends: pus (rn-07, today 06:00).") && refused.contains("--yes"), "{refused}");
    let done = desk.done(&[&void[..], &["--yes"]].concat());
    assert!(done.contains("Ended: pus at exit a (rn-07, today 06:00)."), "{done}");
}

#[test]
fn a_script_learns_what_a_record_would_end() {
    let desk = Desk::new();
    let pus = "kind = 'assessment'\nat = 2026-11-24T06:00:00-06:00\nby = 'rn-07'\nsource = 'seen'\n[site]\ndrainage = 'purulent'\n";
    desk.put(PUS, pus);
    let look = ["record", "assessment", "P-001", "--by", "rn-07", "--source", "seen", "--site", "none-noted"];
    let refused = desk.refused(&look);
    assert!(refused.contains("P-001: This ends: pus (rn-07, today 06:00)."), "{refused}");
}

#[test]
fn a_sheet_without_a_telephone_number_says_so() {
    let desk = Desk::new();
    let sheet = ["sheet", "P-001", "--month", "2026-12"];
    let outcome = desk.run(&sheet);
    let said = "exitsite: The sheet has no telephone number: set `numbers` in [sheet] of policy.toml.\n";
    assert_eq!((outcome.status, outcome.stderr.as_str()), (0, said));
    desk.put("policy.toml", &format!("{}[sheet]\nnumbers = ['555-0100']\n", desk.get("policy.toml")));
    assert_eq!(desk.run(&sheet).stderr, "");
}

#[test]
fn check_names_the_copies_of_records_that_are_not_read() {
    let desk = Desk::new();
    let copies = ["2026-11-20-change.toml.rej", "2026-11-20-change.toml.orig", "2026-11-20-change.toml~"];
    for copy in copies {
        desk.put(&format!("patients/P-001/2026/{copy}"), "not [ toml");
    }
    desk.put(&format!("{FILE}.rej"), "not [ toml");
    let outcome = desk.run(&["check"]);
    assert_eq!(outcome.status, 0, "{outcome:?}");
    for copy in copies.iter().chain(&["patient.toml.rej"]) {
        assert!(outcome.stdout.contains(copy), "{copy}\n{}", outcome.stdout);
    }
    assert!(outcome.stdout.contains("This copy of a record is not read"), "{}", outcome.stdout);
    let due = desk.unkept(&["due", "P-001"]);
    assert!(due.status == 0 && !due.stdout.contains(".rej"), "{due:?}");
}
