//! Dangers that are told, charted or implied: a temperature in the note of a call, a culture beside open signals, the source
//! of a look at home, and answers that are easily given by mistake.

#![allow(clippy::unwrap_used, reason = "a test fails by panicking")]

mod desk;

use desk::{Desk, Person};

/// P-001 overdue, with pus seen this morning.
fn desk() -> Desk {
    let desk = Desk::new();
    let policy = format!("{}[signals]\nhome-untaught = {{ off = 'x' }}\n", desk.get("policy.toml"));
    desk.put("policy.toml", &policy);
    let change = "kind = 'change'\nat = 2026-11-21T06:00:00\nby = 'rn-07'\nsource = 'seen'\n";
    desk.put("patients/P-001/2026/2026-11-21T0600-change.toml", change);
    desk
}

fn with_pus() -> Desk {
    let desk = desk();
    let pus =
        "kind = 'assessment'\nat = 2026-11-24T06:30:00\nby = 'rn-07'\nsource = 'seen'\n[site]\ndrainage = 'purulent'\n";
    desk.put("patients/P-001/2026/2026-11-24T0630-assessment.toml", pus);
    desk
}

fn new(desk: &Desk, before: &[(String, String)]) -> String {
    desk.everything().into_iter().filter(|file| !before.contains(file)).map(|(_, text)| text).collect()
}

#[test]
fn a_temperature_in_the_note_of_a_call_is_asked_for_and_recorded() {
    for (note, degrees, stored) in [
        ("T 101.5 this morning", "101.5F", Some("temperature_c = 38.61")),
        ("temp 101", "38.3C", Some("temperature_c = 38.3")),
        ("has a fever", "", None),
    ] {
        let desk = desk();
        let before = desk.everything();
        let mut answers = vec!["c", "2", "advised", "", note, "hot", degrees, "y", "q"];
        if stored.is_none() {
            answers.insert(7, "y"); // the doubt about the note
        }
        let person = Person::typing(&answers);
        let outcome = desk.run_as(Some("co-1"), &["round"], Some(&person));
        let saw = person.saw();
        assert_eq!((outcome.status, person.left()), (0, 0), "{note}\n{saw}");
        assert!(saw.contains("hot is not a body temperature.") && saw.contains("Which one was told?"), "{saw}");
        let new = new(&desk, &before);
        assert_eq!(new.contains("temperature_c"), stored.is_some(), "{new}");
        assert!(
            stored.is_none_or(|stored| new.contains(stored) && saw.contains("NEEDS REVIEW TODAY: fever")),
            "{new}\n{saw}"
        );
    }
}

#[test]
fn a_less_than_sign_at_a_doubt_of_a_round_goes_back_to_the_note() {
    let desk = desk();
    let before = desk.everything();
    let answers = ["c", "2", "advised", "", "green drng", "<", "mother back at noon", "y", "q"];
    let person = Person::typing(&answers);
    desk.run_as(Some("co-1"), &["round"], Some(&person));
    assert_eq!(person.left(), 0, "{}", person.saw());
    assert!(new(&desk, &before).contains("note = \"mother back at noon\""), "{}", person.saw());
}

#[test]
fn a_culture_is_charted_without_a_claim_about_the_signals_that_it_acts_on() {
    let desk = with_pus();
    let person = Person::typing(&["07:00", "1", "exit-site", "", "", "y"]);
    let outcome = desk.run_as(Some("rn-07"), &["record", "culture", "P-001"], Some(&person));
    let shown = [person.saw(), outcome.stdout.clone()].concat().split_whitespace().collect::<Vec<_>>().join(" ");
    assert_eq!((outcome.status, person.left()), (0, 0), "{outcome:?}\n{shown}");
    assert!(!shown.contains("Is that right?"), "{shown}");
    for part in [
        "Counts as acted on: ",
        "pus (rn-07, today 06:30)",
        "No contact with a clinician about ",
        "is on file. Tell the coordinator or the physician on call now.",
    ] {
        assert!(shown.contains(part), "{part}\n{shown}");
    }
    // A call about it that reached the physician is named no more as missing.
    let desk = with_pus();
    let call =
        ["record", "contact", "P-001", "--by", "co-1", "--with", "md-3", "--about", "pus,score-rising,drainage-more"];
    desk.done(&[&call[..], &["--outcome", "advised", "--at", "06:45", "--source", "seen", "--yes"]].concat());
    let culture = ["record", "culture", "P-001", "--by", "rn-07", "--specimen", "exit-site", "--at", "07:00", "--yes"];
    let said = desk.done(&culture);
    assert!(!said.contains("about pus is on file"), "{said}");
    // A word that is typed as a claim is still asked about.
    let said = with_pus().refused(&[&call[..], &["--outcome", "advised", "--at", "06:45", "--yes"]].concat());
    assert!(said.contains("This counts as acted on: "), "{said}");
}

#[test]
fn a_script_types_the_source_of_a_change_that_settles_a_clock_at_home() {
    let showered = |place: &str| {
        let desk = desk();
        let shower =
            "kind = 'shower'\nat = 2026-11-24T06:30:00\nby = 'p001-son'\nsource = 'told'\ndressing_before = 'intact'\n";
        desk.put("patients/P-001/2026/2026-11-24T0630-shower.toml", shower);
        desk.put(
            "patients/P-001/patient.toml",
            &desk::PATIENT.replace("place = \"home\"", &format!("place = \"{place}\"")),
        );
        desk
    };
    let flags = ["record", "change", "P-001", "--by", "rn-07", "--at", "07:00", "--yes"];
    let said = showered("home").refused(&flags);
    let expected =
        "This settles: Change due by today 08:30 at exit a, after the shower. Required: --source: seen if staff saw it";
    assert!(said.contains(expected), "{said}");
    showered("home").done(&[&flags[..], &["--source", "told"]].concat());
    // By the household it was reported; on the ward, and without a clock, nothing is at stake.
    let by_son = flags.map(|word| if word == "rn-07" { "p001-son" } else { word });
    showered("home").done(&[&by_son[..], &["--by-entered", "rn-07"]].concat());
    showered("inpatient").done(&flags);
    desk().done(&flags);
}

#[test]
fn a_yes_is_no_note_and_an_i_is_no_finding() {
    let desk = desk();
    let before = desk.everything();
    let answers = ["", "1", "", "", "i", "int", "1", "m", "", "", "", "", "", "", "y", "no", "", "y"];
    let person = Person::typing(&answers);
    desk.run_as(Some("rn-07"), &["record", "change", "P-001"], Some(&person));
    let saw = person.saw();
    assert!(saw.contains("i is not a choice. Use 1 to 2, or intact or each."), "{saw}");
    assert!(saw.contains("int is not a choice."), "{saw}");
    assert!(saw.contains("Type the note itself, or press Enter for none."), "{saw}");
    let new = new(&desk, &before);
    assert!(new.contains("dressing = \"intact\"") && !new.contains("note"), "{new}\n{saw}");
}

#[test]
fn a_change_told_to_be_after_a_shower_keeps_that_as_its_reason() {
    let desk = desk();
    let shower = "kind = 'shower'\nat = 2026-11-24T06:30:00\nby = 'p001-son'\nsource = 'told'\ndressing_before = 'intact'\ndressing_after = 'intact'\n";
    desk.put("patients/P-001/2026/2026-11-24T0630-shower.toml", shower);
    let before = desk.everything();
    let person = Person::typing(&["d", "2", "2", "today", "", "yes", "", "", "", "y", "q"]);
    desk.run_as(Some("co-1"), &["round"], Some(&person));
    let saw = person.saw();
    assert!(saw.contains("Was the change after that?"), "{saw}");
    assert!(new(&desk, &before).contains("reason = \"after-shower\""), "{}\n{saw}", new(&desk, &before));
}
