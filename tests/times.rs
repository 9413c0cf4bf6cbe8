//! A time typed without am or pm: asked about if the other half of the day is nearer, and refused in a script.

#![allow(clippy::unwrap_used, reason = "a test fails by panicking")]

mod desk;

use desk::{Desk, Person};

/// Tuesday, 19:05 in Chicago.
const EVENING: &str = "2026-11-25T01:05:00Z";

fn change(desk: &Desk, answers: &[&str]) -> String {
    let person = Person::typing(answers);
    let outcome = desk.run_at((EVENING, 80), Some("rn-07"), &["record", "change", "P-001"], Some(&person));
    assert_eq!((outcome.status, person.left()), (0, 0), "{outcome:?}\n{}", person.saw());
    person.saw()
}

#[test]
fn a_time_in_either_half_of_the_day_is_asked_about_without_a_default() {
    for (typed, picks, file) in [
        ("6:40", &["", "3", "2"][..], "2026-11-24T1840"),
        ("6:40", &["1"], "2026-11-24T0640"),
        ("640", &["this evening"], "2026-11-24T1840"),
        ("6:40", &["18:40"], "2026-11-24T1840"),
        ("yesterday 6:40", &["2"], "2026-11-23T1840"),
        // `<` asks for the time again.
        ("6:40", &["<", "06:41"], "2026-11-24T0641"),
        ("06:40", &[], "2026-11-24T0640"),
        ("6:40 pm", &[], "2026-11-24T1840"),
    ] {
        let desk = Desk::new();
        let shown = change(&desk, &[&[typed][..], picks, &["rn-07", "1", "", "", "y"]].concat());
        let question = "6:40: 1 this morning 06:40, 2 this evening 18:40";
        assert_eq!(shown.contains(question), typed == "6:40", "{typed} {picks:?}\n{shown}");
        assert!(
            desk.root().join(format!("patients/P-001/2026/{file}-change.toml")).exists(),
            "{typed} {picks:?}\n{shown}"
        );
    }
}

#[test]
fn the_picked_half_is_kept_when_the_question_comes_again() {
    let desk = Desk::new();
    let shown = change(&desk, &["6:40", "2", "<", "", "rn-07", "1", "", "", "y"]);
    assert!(shown.contains("[Enter: keep 18:40]"), "{shown}");
    assert!(desk.root().join("patients/P-001/2026/2026-11-24T1840-change.toml").exists());
}

#[test]
fn a_script_is_refused_with_both_times() {
    let desk = Desk::new();
    let before = desk.everything();
    for (typed, said) in [
        ("6:40", "\"6:40\" could be more than one time. Type 06:40 or 18:40."),
        ("yesterday 6:40", "Type \"yesterday 06:40\" or \"yesterday 18:40\"."),
        ("yesterday 11:30", "Type \"yesterday 11:30am\" or \"yesterday 23:30\"."),
    ] {
        let line = ["record", "change", "P-001", "--by", "rn-07", "--site", "none-noted", "--yes", "--at", typed];
        let outcome = desk.run_at((EVENING, 200), Some("rn-07"), &line, None);
        assert_eq!(outcome.status, 2, "{outcome:?}");
        assert!(outcome.stderr.contains(said), "{said}\n{}", outcome.stderr);
    }
    assert_eq!(desk.everything(), before);
}

#[test]
fn a_change_told_in_a_round_is_asked_about_too() {
    let desk = Desk::new();
    let shower = "kind = 'shower'\nat = 2026-11-24T06:00:00\nby = 'p001-son'\nsource = 'told'\n";
    desk.put("patients/P-001/2026/2026-11-24T0600-shower.toml", shower);
    let person =
        Person::typing(&["d", "p001-son", "p001-son", "yesterday 6:40", "2", "scheduled", "", "", "", "y", "q"]);
    desk.run_as(Some("co-1"), &["round"], Some(&person));
    let question = "yesterday 6:40: 1 yesterday morning 06:40, 2 yesterday evening 18:40";
    assert!(person.saw().contains(question), "{}", person.saw());
    assert!(desk.root().join("patients/P-001/2026/2026-11-23T1840-change.toml").exists(), "{}", person.saw());
}
