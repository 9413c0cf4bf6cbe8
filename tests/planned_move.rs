//! Moves around a planned one, and ends that take an overdue change or a running clock off the list: each is asked about,
//! also if it is in the future.

#![allow(clippy::unwrap_used, reason = "a test fails by panicking")]

mod desk;

use desk::{Desk, Person};

const FILE: &str = "patients/P-001/patient.toml";

/// Inpatient since Friday, home planned for November 30.
fn planned() -> Desk {
    let desk = Desk::new();
    let rows = "[[care]]\nfrom = 2026-11-20\nplace = \"inpatient\"\n\n[[care]]\nfrom = 2026-11-30\nplace = \"home\"\nreports = \"log\"\nby = \"co-1\"\n\n[[caregiver]]";
    desk.put(FILE, &desk::PATIENT.replace("[[caregiver]]", rows));
    change(&desk);
    desk
}

fn change(desk: &Desk) {
    let text = "kind = 'change'\nat = 2026-11-24T06:00:00\nby = 'rn-07'\nsource = 'seen'\n";
    desk.put("patients/P-001/2026/2026-11-24T0600-change.toml", text);
}

fn moves(more: &[&'static str]) -> Vec<&'static str> {
    [&["patient", "move", "P-001", "--by", "co-1"], more].concat()
}

#[test]
fn a_planned_move_gets_an_earlier_day_with_a_reason() {
    let desk = planned();
    let said = desk.refused(&moves(&["--place", "home", "--yes"]));
    assert!(said.contains("Required: --why, the reason why the planned day changes"), "{said}");
    let said = desk.refused(&moves(&["--place", "home", "--why", "bed needed"]));
    assert!(
        said.contains("The move (home) was planned for 2026-11-30. Its row gets the new day, 2026-11-24."),
        "{said}"
    );
    desk.done(&moves(&["--place", "home", "--why", "bed needed", "--yes"]));
    let text = desk.get(FILE);
    let row = "[[care]]\nfrom = 2026-11-24\nplace = \"home\"\nreports = \"log\"\nby = \"co-1\"\nwhy = \"bed needed\"\n";
    assert!(text.contains(row) && !text.contains("2026-11-30"), "{text}");
    // At a terminal the reason is asked for, and the checklist of a discharge is shown.
    let desk = planned();
    let person = Person::typing(&["", "bed needed", "y", "y", "y", "y", "y"]);
    let outcome =
        desk.run_as(Some("co-1"), &["patient", "move", "P-001", "--place", "home", "--from", "today"], Some(&person));
    let saw = person.saw();
    assert!(
        saw.contains("A move there is already planned. Why is the day changing?") && saw.contains("Required."),
        "{saw}"
    );
    assert!(saw.contains("Its row gets the new day"), "{saw}");
    // The checklist is that of the new day.
    let checklist = saw.split("Discharge of").nth(1).unwrap_or_default();
    let before_questions = checklist.split("was planned for").next().unwrap_or_default();
    assert!(before_questions.contains("2026-11-24") && !before_questions.contains("2026-11-30"), "{saw}");
    assert!(outcome.status == 0 && desk.get(FILE).contains("why = \"bed needed\""), "{outcome:?}\n{saw}");
}

#[test]
fn the_day_of_a_move_is_asked_for_if_another_one_is_planned() {
    let desk = planned();
    let person = Person::typing(&["", "2026-11-27", "bed needed", "y", "y", "y", "y", "y", "y"]);
    desk.run_as(Some("co-1"), &["patient", "move", "P-001", "--place", "home"], Some(&person));
    let saw = person.saw();
    assert!(saw.contains("A move (home) is planned for 2026-11-30.") && saw.contains("Required."), "{saw}");
    assert!(saw.contains("Its row gets the new day, 2026-11-27."), "{saw}");
    assert!(desk.get(FILE).contains("from = 2026-11-27\nplace = \"home\""), "{saw}");
}

#[test]
fn a_move_elsewhere_before_a_planned_move_stands_before_it() {
    let desk = planned();
    let file = desk.get(FILE).replace("reports = \"log\"\n", "");
    desk.put(FILE, &file);
    let said = desk.run(&moves(&["--place", "elsewhere", "--ends-signals", "--yes"]));
    assert!(
        said.status == 0 && said.stderr.contains("The move planned for 2026-11-30 (home) stays planned."),
        "{said:?}"
    );
    let text = desk.get(FILE);
    let rows = [
        "from = 2026-11-20\nplace = \"inpatient\"",
        "from = 2026-11-24\nplace = \"elsewhere\"",
        "from = 2026-11-30\nplace = \"home\"",
    ];
    let at = rows.map(|row| text.find(row).unwrap_or_else(|| panic!("{row}\n{text}")));
    assert!(at.is_sorted(), "{text}");
    assert_eq!(desk.findings(), [""; 0]);
    // A plan that says more than the move is not rewritten.
    let said = planned().refused(&moves(&["--place", "elsewhere", "--yes"]));
    assert!(said.contains("P-001 is at home from 2026-11-30, with reports, which this move lacks."), "{said}");
}

/// At home, with a shower of 06:30 that no change has followed.
fn showered() -> Desk {
    let desk = Desk::new();
    change(&desk);
    let text = "kind = 'shower'\nat = 2026-11-24T06:30:00\nby = 'p001-son'\nsource = 'told'\ndressing_before = 'intact'\ndressing_after = 'intact'\n";
    desk.put("patients/P-001/2026/2026-11-24T0630-shower.toml", text);
    desk
}

const CLOCK: &str = "Shower, today 06:30: the change at exit a is due by today 08:30.";

#[test]
fn a_running_clock_is_asked_about_before_it_leaves_the_list() {
    for (arguments, off) in [
        (moves(&["--place", "elsewhere"]), "This takes it off the list."),
        (
            vec!["patient", "end", "P-001", "--on", "today", "--why", "death", "--by", "co-1"],
            "This takes it off the list.",
        ),
        (
            moves(&["--place", "elsewhere", "--from", "2026-11-26"]),
            "If it is not done by then, this takes it off the list on 2026-11-26.",
        ),
        (
            vec!["patient", "end", "P-001", "--on", "2026-11-26", "--why", "transplant", "--by", "co-1"],
            "If it is not done by then, this takes it off the list on 2026-11-26.",
        ),
    ] {
        let said = showered().refused(&[&arguments[..], &["--yes"]].concat());
        assert!(
            said.contains(&format!("{CLOCK} {off}")) && said.contains("Type --ends-signals"),
            "{arguments:?}: {said}"
        );
        let desk = showered();
        let before = desk.everything();
        let person = Person::typing(if arguments[1] == "end" { &["y", "n"] } else { &["n"] });
        desk.run_as(Some("co-1"), &arguments, Some(&person));
        assert!(person.saw().contains(CLOCK), "{}", person.saw());
        assert_eq!(desk.everything(), before, "{arguments:?}");
        desk.done(&[&arguments[..], &["--ends-signals", "--yes"]].concat());
    }
    // A move to the ward ends no clock.
    let said = showered().run(&moves(&["--place", "inpatient", "--yes"]));
    assert!(said.status == 0 && !said.stderr.contains("off the list"), "{said:?}");
}

#[test]
fn a_future_end_asks_about_what_is_open_today() {
    let desk = Desk::new();
    change(&desk);
    let pus =
        "kind = 'assessment'\nat = 2026-11-24T06:30:00\nby = 'rn-07'\nsource = 'seen'\n[site]\ndrainage = 'purulent'\n";
    desk.put("patients/P-001/2026/2026-11-24T0630-assessment.toml", pus);
    let end = ["patient", "end", "P-001", "--on", "2026-12-02", "--why", "transplant", "--by", "co-1", "--yes"];
    let said = desk.refused(&end);
    assert!(said.contains("This ends: ") && said.contains("pus (rn-07, Nov 24 06:30)"), "{said}");
}

#[test]
fn the_reply_to_a_move_says_what_became_of_the_change_also_beside_an_open_signal() {
    let desk = Desk::new();
    change(&desk);
    let said = desk.done(&moves(&["--place", "elsewhere", "--yes"]));
    assert!(said.contains("schedule: was on Thu Nov 26, now nothing due (away since today"), "{said}");
}
