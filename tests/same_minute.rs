//! A change and a shower or damage in one minute: a person is asked which came first, without a default; a script says it by
//! the reason or by another time.

#![allow(clippy::unwrap_used, reason = "a test fails by panicking")]

mod desk;

use desk::{Desk, Person};

const ASKED: &str = "Both were at 06:40. Was the dressing changed after the shower? 1 yes, 2 no";

const YEAR: &str = "patients/P-001/2026";

/// A desk with a shower of this morning, typed in the second half of its minute.
fn showered() -> Desk {
    let desk = Desk::new();
    let shower = "kind = 'shower'\nat = 2026-11-24T06:40:30-06:00\nby = 'p001-son'\nsource = 'told'\ndressing_before = 'intact'\ndressing_after = 'intact'\n";
    desk.put(&format!("{YEAR}/2026-11-24T0640-shower.toml"), shower);
    desk
}

/// A desk with a change of this morning.
fn changed() -> Desk {
    let desk = Desk::new();
    let change = "kind = 'change'\nat = 2026-11-24T06:40:10-06:00\nby = 'p001-son'\nsource = 'told'\n";
    desk.put(&format!("{YEAR}/2026-11-24T0640-change.toml"), change);
    desk
}

fn types(desk: &Desk, kind: &str, answers: &[&str]) -> String {
    let person = Person::typing(answers);
    let outcome = desk.run_as(Some("rn-07"), &["record", kind, "P-001"], Some(&person));
    assert_eq!((outcome.status, person.left()), (0, 0), "{outcome:?}\n{}", person.saw());
    person.saw()
}

/// The reasons why the change of the patient is due.
fn because(desk: &Desk) -> Vec<String> {
    let rows = desk.json(&["due", "P-001"])["rows"].clone();
    let site = &rows[0];
    let also = site["also"].as_array().unwrap().iter().map(|one| one["because"].as_str().unwrap().to_owned());
    site["because"].as_str().map(str::to_owned).into_iter().chain(also).collect()
}

#[test]
fn a_change_after_the_shower_of_its_minute_settles_it() {
    let desk = showered();
    let shown = types(&desk, "change", &["06:40", "rn-07", "", "", "yes", "", "", "y"]);
    assert!(shown.contains(ASKED) && shown.contains("Required."), "{shown}");
    let change = desk.get(&format!("{YEAR}/2026-11-24T0640-change.toml"));
    assert!(change.contains("at = 2026-11-24T06:40:30-06:00\n"), "{change}");
    assert!(change.contains("reason = \"after-shower\"\n"), "{change}");
    assert!(!because(&desk).contains(&"after-shower".to_owned()), "{:?}", because(&desk));
}

#[test]
fn an_answered_reason_is_kept_and_one_that_names_the_shower_is_the_answer() {
    let desk = showered();
    let shown = types(&desk, "change", &["06:40", "rn-07", "scheduled", "1", "", "", "y"]);
    assert!(shown.contains(ASKED), "{shown}");
    assert!(desk.get(&format!("{YEAR}/2026-11-24T0640-change.toml")).contains("reason = \"scheduled\"\n"));
    assert!(!because(&desk).contains(&"after-shower".to_owned()));
    let desk = showered();
    let shown = types(&desk, "change", &["06:40", "rn-07", "after", "", "", "y"]);
    assert!(!shown.contains("Both were at"), "{shown}");
    assert!(!because(&desk).contains(&"after-shower".to_owned()));
}

#[test]
fn a_change_before_the_shower_of_its_minute_gets_another_time_and_the_clock_runs_on() {
    let desk = showered();
    let shown = types(&desk, "change", &["06:40", "rn-07", "scheduled", "no", "06:30", "", "", "y"]);
    assert!(shown.contains("Then type the time of the change, earlier than 06:40."), "{shown}");
    assert!(desk.root().join(YEAR).join("2026-11-24T0630-change.toml").exists());
    assert!(because(&desk).contains(&"after-shower".to_owned()), "{:?}", because(&desk));
}

#[test]
fn a_shower_in_the_minute_of_a_change_is_asked_about_too() {
    let answers = |last: &[&'static str]| {
        [&["06:40", "patient", "told", "shower", "intact", "intact", ""][..], last, &["", "y"]].concat()
    };
    let desk = changed();
    let shown = types(&desk, "shower", &answers(&["1"]));
    assert!(shown.contains(ASKED), "{shown}");
    assert!(!because(&desk).contains(&"after-shower".to_owned()), "{:?}", because(&desk));
    let desk = changed();
    let shown = types(&desk, "shower", &answers(&["2", "06:41"]));
    assert!(shown.contains("Then type the time of this record, later than 06:40."), "{shown}");
    assert!(because(&desk).contains(&"after-shower".to_owned()), "{:?}", because(&desk));
}

#[test]
fn damage_in_the_minute_of_a_change_is_asked_about_too() {
    let desk = changed();
    let shown = types(&desk, "inspection", &["06:40", "rn-07", "wet", "", "1", "", "y"]);
    assert!(shown.contains("Was the dressing changed after it was wet? 1 yes, 2 no"), "{shown}");
    assert!(!because(&desk).contains(&"damage".to_owned()), "{:?}", because(&desk));
}

#[test]
fn a_script_says_the_order_by_the_reason_or_another_time() {
    let desk = showered();
    let line =
        ["record", "change", "P-001", "--by", "rn-07", "--source", "seen", "--site", "none-noted", "--yes", "--at"];
    let refused = |more: &[&str]| desk.refused(&[&line[..], more].concat());
    for more in [&["06:40"][..], &["06:40", "--reason", "scheduled"]] {
        let said = refused(more);
        assert!(said.contains("same minute, 06:40. If the dressing was changed after the shower, type --reason after-shower; if before, type an earlier time."), "{said}");
    }
    desk.done(&[&line[..], &["06:40", "--reason", "after-shower"]].concat());
    assert!(!because(&desk).contains(&"after-shower".to_owned()), "{:?}", because(&desk));
    let desk = changed();
    let shower =
        ["record", "shower", "P-001", "--by", "p001-son", "--source", "told", "--by-entered", "rn-07", "--yes", "--at"];
    let said = desk.refused(&[&shower[..], &["06:40"]].concat());
    assert!(said.contains("If the dressing was changed after the shower, type an earlier time for this record; if before, a later one."), "{said}");
    desk.done(&[&shower[..], &["06:41"]].concat());
    assert!(because(&desk).contains(&"after-shower".to_owned()), "{:?}", because(&desk));
}

#[test]
fn a_change_told_in_a_round_is_asked_about_too() {
    let desk = showered();
    let person = Person::typing(&["d", "p001-son", "p001-son", "06:40", "", "no", "06:30", "", "", "", "y", "q"]);
    desk.run_as(Some("co-1"), &["round"], Some(&person));
    assert!(person.saw().contains(ASKED), "{}", person.saw());
    assert!(because(&desk).contains(&"after-shower".to_owned()), "{}", person.saw());
    let desk = showered();
    let person = Person::typing(&["d", "p001-son", "p001-son", "06:40", "", "yes", "", "", "", "y", "q"]);
    desk.run_as(Some("co-1"), &["round"], Some(&person));
    assert!(!because(&desk).contains(&"after-shower".to_owned()), "{}", person.saw());
}

#[test]
fn a_shower_is_asked_about_unless_the_change_of_each_exit_site_says_the_order() {
    for (reason, is_said) in [("", false), ("reason = 'after-shower'\n", true)] {
        let desk = Desk::new();
        let second = "[[exit]]\nid = 'b'\nwhere = 'left-upper'\nfrom = 2026-10-01\nwhy = 'relocation'\n\n[[care]]";
        desk.put("patients/P-001/patient.toml", &desk::PATIENT.replacen("[[care]]", second, 1));
        let change = |exit: &str, reason: &str| {
            format!(
                "kind = 'change'\nat = 2026-11-24T06:40:10-06:00\nby = 'p001-son'\nsource = 'told'\nexit = '{exit}'\n{reason}"
            )
        };
        desk.put(&format!("{YEAR}/2026-11-24T0640-change.toml"), &change("a", "reason = 'after-shower'\n"));
        desk.put(&format!("{YEAR}/2026-11-24T0640-change-2.toml"), &change("b", reason));
        let shower = ["record", "shower", "P-001", "--by", "p001-son", "--source", "told", "--by-entered", "rn-07"];
        let outcome = desk.run(&[&shower[..], &["--at", "06:40", "--yes"]].concat());
        assert_eq!(
            (outcome.status == 0, outcome.stderr.contains("same minute, 06:40")),
            (is_said, !is_said),
            "{outcome:?}"
        );
    }
}
