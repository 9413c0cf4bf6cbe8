//! A possible duplicate of which only one has a time: a numbered choice at a terminal, without a default; the record without
//! the time is voided as `exitsite void` does. In a script the commands are printed, as before.

#![allow(clippy::unwrap_used, reason = "a test fails by panicking")]

mod desk;

use desk::{Desk, Person};

const UNTIMED: &str = "patients/P-001/2026/2026-11-23-change.toml";
const TIMED: &str = "patients/P-001/2026/2026-11-23T1800-change.toml";

/// A desk with an untimed change of Monday, with these findings.
fn desk(found: &str) -> Desk {
    let desk = Desk::new().at_80_columns();
    desk.put(UNTIMED, &format!("kind = 'change'\non = 2026-11-23\nby = 'rn-07'\nsource = 'seen'\n{found}"));
    desk
}

/// Records a change of Monday 18:00 with these last answers, and returns what was shown.
fn change(desk: &Desk, at: &str, last: &[&str]) -> String {
    let person = Person::typing(&[&[at, "1", "scheduled", "", ""][..], last].concat());
    let outcome = desk.run_as(Some("rn-07"), &["record", "change", "P-001"], Some(&person));
    assert_eq!((outcome.status, person.left()), (0, 0), "{outcome:?}\n{}", person.saw());
    [person.saw(), outcome.stdout, outcome.stderr].join("\n").split_whitespace().collect::<Vec<_>>().join(" ")
}

fn has(desk: &Desk, file: &str) -> bool {
    desk.root().join(file).exists()
}

#[test]
fn the_same_change_is_saved_with_its_time_and_the_other_is_voided() {
    let desk = desk("");
    let shown = change(&desk, "yesterday 18:00", &["", "5", "1", "y", "y"]);
    for part in [
        "Possible duplicate of the change of Mon Nov 23 (no time). Which is it? 1 the same change (save this one and void \
         the other), 2 another change (save this one too), 3 stop",
        "Required.",
        "5 is not a choice.",
        "Void it? [y/N]",
        "Voided patients/P-001/2026/2026-11-23-change.toml",
        "2026-11-23T1800-change.toml replaces it.",
    ] {
        assert!(shown.contains(part), "{part}\n{shown}");
    }
    assert!(!shown.contains("--replaced-by"), "{shown}");
    let voided = desk.get(UNTIMED);
    for line in [
        "[void]",
        "by = \"rn-07\"",
        "why = \"same change, now with its time\"",
        "replaced_by = \"2026-11-23T1800-change.toml\"",
    ] {
        assert!(voided.contains(line), "{line}\n{voided}");
    }
    assert!(desk.get(TIMED).contains("at = 2026-11-23T18:00:00-06:00"));
    assert_eq!(desk.findings(), [""; 0]);
}

#[test]
fn the_same_change_never_drops_a_finding_without_naming_it() {
    let asked = "Only the change of Mon Nov 23 (no time) has this: drainage serous, redness 12 mm, found dressing wet, note \"sore\". \
                 Void it anyway? 1 yes, 2 no";
    let found = "note = 'sore'\n[found]\ndressing = 'wet'\n[site]\ndrainage = 'serous'\nredness_mm = 12\n";
    // A no asks again which it is, and both can stay.
    let kept = desk(found);
    let shown = change(&kept, "yesterday 18:00", &["1", "", "no", "2", "y"]);
    assert!(shown.contains(asked) && shown.contains("Required."), "{shown}");
    assert!(has(&kept, TIMED) && !kept.get(UNTIMED).contains("[void]"));
    let kept = desk(found);
    change(&kept, "yesterday 18:00", &["1", "yes", "y", "y"]);
    assert!(kept.get(UNTIMED).contains("[void]"));
}

#[test]
fn a_record_that_is_dropped_as_the_same_names_what_only_it_has() {
    let desk = Desk::new();
    desk.put(TIMED, "kind = 'change'\nat = 2026-11-23T18:00:00-06:00\nby = 'rn-07'\nsource = 'seen'\n");
    let before = desk.everything();
    let shown = change(&desk, "yesterday", &["1", "2", "3", "2", "1", "1"]);
    assert!(shown.contains("Only your record has this: reason scheduled. Drop it anyway? 1 yes, 2 no"), "{shown}");
    assert_eq!(desk.everything(), before);
}

#[test]
fn a_change_after_the_shower_is_not_the_one_before_it() {
    let desk = Desk::new();
    desk.put(TIMED, "kind = 'change'\nat = 2026-11-23T18:00:00-06:00\nby = 'rn-07'\nsource = 'seen'\n");
    let shower = "kind = 'shower'\nat = 2026-11-23T19:00:00-06:00\nby = 'p001-son'\nsource = 'told'\n";
    desk.put("patients/P-001/2026/2026-11-23T1900-shower.toml", shower);
    let person = Person::typing(&["yesterday", "rn-07", "after", "", "", "1", "y"]);
    desk.run_as(Some("rn-07"), &["record", "change", "P-001"], Some(&person));
    let shown = person.saw().split_whitespace().collect::<Vec<_>>().join(" ");
    let asked = "On file before the shower of that day: the change of Mon Nov 23 (18:00). Yours was after the shower. \
                 Which is it? 1 another change (save this one too), 2 stop";
    assert!(shown.contains(asked) && !shown.contains("the same change"), "{shown}");
    assert!(has(&desk, UNTIMED), "{shown}");
}

#[test]
fn another_change_is_saved_beside_it_and_stop_saves_nothing() {
    let kept = desk("");
    change(&kept, "yesterday 18:00", &["2", "y"]);
    assert!(has(&kept, TIMED) && !kept.get(UNTIMED).contains("[void]"));
    let kept = desk("");
    let before = kept.everything();
    let shown = change(&kept, "yesterday 18:00", &["3", "2", "3", "discard"]);
    assert!(shown.contains("Not saved yet: 1 go back and correct, 2 answer it again"), "{shown}");
    assert_eq!(kept.everything(), before);
}

#[test]
fn a_declined_void_leaves_both_on_file_and_says_so() {
    let desk = desk("");
    let shown = change(&desk, "yesterday 18:00", &["1", "y", "n"]);
    let left = format!("Not voided: {UNTIMED} stays on file, and so does {TIMED}. Both count.");
    assert!(shown.contains(&left), "{shown}");
    assert!(has(&desk, TIMED) && !desk.get(UNTIMED).contains("[void]"));
}

#[test]
fn what_the_void_ends_is_asked_as_void_asks_it() {
    let desk = desk("[site]\ndrainage = 'purulent'\n");
    let shown = change(&desk, "yesterday 18:00", &["1", "yes", "y", "n"]);
    assert!(shown.contains("This ends: pus") && shown.contains("Not voided:"), "{shown}");
    assert!(has(&desk, TIMED) && !desk.get(UNTIMED).contains("[void]"));
    let desk = self::desk("[site]\ndrainage = 'purulent'\n");
    let shown = change(&desk, "yesterday 18:00", &["1", "yes", "y", "y", "y"]);
    assert!(shown.contains("This ends: pus") && desk.get(UNTIMED).contains("[void]"), "{shown}");
}

#[test]
fn a_change_without_its_time_does_not_replace_the_one_with_it() {
    let desk = Desk::new();
    desk.put(TIMED, "kind = 'change'\nat = 2026-11-23T18:00:00-06:00\nby = 'rn-07'\nsource = 'seen'\n");
    let before = desk.everything();
    let shown = change(&desk, "yesterday", &["1", "yes"]);
    assert!(shown.contains("1 the same change (keep the one on file, with its time)"), "{shown}");
    assert!(shown.contains(&format!("exitsite amend {TIMED} --set reason=scheduled")), "{shown}");
    assert_eq!(desk.everything(), before);
    change(&desk, "yesterday", &["2", "y"]);
    assert!(has(&desk, UNTIMED));
}

#[test]
fn a_time_that_no_longer_fits_after_going_back_voids_nothing() {
    let desk = desk("");
    // `<` at the write goes back through the questions to the time.
    let back = ["1", "<", "<", "<", "<", "<", "today 06:00", "", "", "", "", "y"];
    let shown = change(&desk, "yesterday 18:00", &back);
    assert!(!desk.get(UNTIMED).contains("[void]"), "{shown}");
    assert!(has(&desk, "patients/P-001/2026/2026-11-24T0600-change.toml"), "{shown}");
}

#[test]
fn a_round_asks_the_same_about_a_change_told_in_a_call() {
    let desk = desk("");
    let on = "patients/P-001/2026/2026-11-24-change.toml";
    desk.put(on, "kind = 'change'\non = 2026-11-24\nby = 'p001-son'\nsource = 'told'\n");
    desk.put("policy.toml", &format!("{}[signals]\nhome-untaught = {{ off = 'x' }}\n", desk.get("policy.toml")));
    let answers = ["d", "2", "2", "06:30", "scheduled", "", "", "", "1", "y", "y", "q"];
    let person = Person::typing(&answers);
    // On the list because of a shower.
    let shower = "kind = 'shower'\nat = 2026-11-24T06:40:00\nby = 'p001-son'\nsource = 'told'\n";
    desk.put("patients/P-001/2026/2026-11-24T0640-shower.toml", shower);
    desk.run_as(Some("co-1"), &["round"], Some(&person));
    let saw = person.saw();
    assert!(saw.contains("Possible duplicate of the change of Tue Nov 24 (no time)."), "{saw}");
    assert!(desk.get(on).contains("why = \"same change, now with its time\""), "{saw}");
}

#[test]
fn a_call_to_another_person_is_no_duplicate() {
    let call = |with: &'static str, at: &'static str| {
        [
            "record",
            "contact",
            "P-001",
            "--by",
            "co-1",
            "--with",
            with,
            "--about",
            "other",
            "--outcome",
            "advised",
            "--at",
            at,
        ]
    };
    let desk = Desk::new();
    desk.done(&[&call("p001-son", "07:00")[..], &["--yes"]].concat());
    let other = desk.run(&[&call("md-3", "07:01")[..], &["--yes"]].concat());
    assert!(other.status == 0 && !other.stderr.contains("duplicate"), "{other:?}");
    let same = desk.run(&[&call("p001-son", "07:02")[..], &["--yes"]].concat());
    assert!(same.stderr.contains("Possible duplicate"), "{same:?}");
}
