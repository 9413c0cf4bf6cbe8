//! A change because the dressing was wet, soiled or lifting, with the dressing found intact: asked about, and refused in a
//! script without `--yes`.

#![allow(clippy::unwrap_used, reason = "a test fails by panicking")]

mod desk;

use desk::{Desk, Person};

const FILE: &str = "patients/P-001/2026/2026-11-24T0640-change.toml";

#[test]
fn a_reason_that_contradicts_the_dressing_as_found_is_asked_about() {
    for (reason, found, is_asked) in [
        ("wet", "intact", true),
        ("lifting", "intact", true),
        ("soiled", "intact", true),
        ("wet", "wet", false),
        ("scheduled", "intact", false),
    ] {
        let said = format!("The reason is {reason}, and the dressing was found intact. One contradicts the other.");
        let desk = Desk::new();
        let answers = ["06:40", "rn-07", reason, "", "each", found, "in-place", "intact", "in-place"];
        let last: &[&str] = if is_asked { &["n", "discard"] } else { &["y"] };
        let person = Person::typing(&[&answers[..], last].concat());
        desk.run_as(Some("rn-07"), &["record", "change", "P-001"], Some(&person));
        assert_eq!(person.left(), 0, "{}", person.saw());
        assert_eq!(person.saw().contains(&said), is_asked, "{reason} {found}\n{}", person.saw());
        assert_eq!(desk.root().join(FILE).exists(), !is_asked, "{reason} {found}");
        let line = ["record", "change", "P-001", "--by", "rn-07", "--at", "06:40", "--source", "seen"];
        let line = [&line[..], &["--reason", reason, "--dressing-found", found]].concat();
        if is_asked {
            assert!(desk.refused(&line).contains(&said));
        }
        if is_asked {
            let outcome = desk.run(&[&line[..], &["--yes"]].concat());
            assert!(outcome.status == 0 && outcome.stderr.contains(&said), "{outcome:?}");
        }
    }
}

#[test]
fn a_round_asks_about_it_too() {
    let desk = Desk::new();
    let shower = "kind = 'shower'\nat = 2026-11-24T06:00:00\nby = 'p001-son'\nsource = 'told'\n";
    desk.put("patients/P-001/2026/2026-11-24T0600-shower.toml", shower);
    let person =
        Person::typing(&["d", "p001-son", "p001-son", "06:40", "wet", "", "intact", "", "", "n", "discard", "q"]);
    desk.run_as(Some("co-1"), &["round"], Some(&person));
    assert!(person.saw().contains("The reason is wet, and the dressing was found intact."), "{}", person.saw());
    assert!(!desk.root().join(FILE).exists());
}
