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

/// The doubts of a script about a record of P-001 with a note.
fn doubted(args: &[&str], note: &str) -> String {
    let desk = desk();
    let said = desk.run_as(
        Some("rn-07"),
        &[&["record"], args, &["--by", "rn-07", "--at", "07:00", "--source", "seen", "--note", note, "--dry-run"]]
            .concat(),
        None,
    );
    assert!(!said.has_written, "{said:?}");
    said.stderr.split_whitespace().collect::<Vec<_>>().join(" ")
}

const NOTE: &str = "pus on the gauze and it stinks";

#[test]
fn a_note_of_any_record_is_looked_at_before_the_write() {
    let change = ["change", "P-001"];
    for (args, note, expected) in [
        (
            &change[..],
            NOTE,
            "The note mentions \"pus\", \"stinks\". A note raises no signal. Record it as a finding of this change: `--drainage purulent`, `--odor yes`.",
        ),
        (&["change", "P-001", "--drainage", "none"][..], NOTE, "The note mentions \"pus\", \"stinks\"."),
        (&change[..], "fever 101.5", "Record it as a finding of this change: `--temperature-c`."),
        (&change[..], "gauze soaked", "Record it as a finding of this change: `--dressing-found`."),
        (
            &change[..],
            "the anchor came off",
            "The note mentions \"anchor off\". A note raises no signal. Record it as a finding of this change: `--anchor-found`.",
        ),
        (&change[..], "line got yanked", "Record it too: `exitsite record trauma`."),
        (&change[..], "dizzy, confused", "Call the clinician about it, and record that call."),
        (
            &["assessment", "P-001", "--drainage", "serous"][..],
            "looks infected, pus",
            "The note mentions \"pus\". A note raises no signal. Record it as a finding of this assessment: `--drainage purulent`.",
        ),
        (
            &["shower", "P-001", "--dressing-after", "intact"][..],
            "smelly, dressing soaked",
            "Record it as a finding of this shower: `--dressing-after`.",
        ),
        (
            &["inspection", "P-001", "--dressing", "intact"][..],
            "bleeding a lot",
            "Record it too: `exitsite record assessment`.",
        ),
        (&["trauma", "P-001"][..], "yanked, anchor off", "Record it as a finding of this trauma: `--anchor`."),
    ] {
        let said = doubted(args, note);
        assert!(said.contains(expected), "{args:?} {note}\n{said}");
    }
}

#[test]
fn a_note_whose_findings_the_record_says_too_is_no_doubt() {
    for (args, note) in [
        (&["change", "P-001", "--drainage", "purulent", "--odor", "yes"][..], NOTE),
        (&["change", "P-001", "--drainage", "serous"][..], "yellow drainage, looks infected"),
        (&["change", "P-001", "--temperature-c", "38.6"][..], "fever this morning"),
        (&["change", "P-001", "--dressing-found", "wet"][..], "soaked"),
        (&["change", "P-001"][..], "no redness, swelling or pus; not smelly"),
        (&["change", "P-001"][..], "mother back at noon"),
        (&["inspection", "P-001", "--anchor", "absent"][..], "anchor came off"),
        (&["trauma", "P-001", "--site-bleeding", "yes"][..], "yanked, bled a little"),
    ] {
        let said = doubted(args, note);
        assert!(!said.contains("The note mentions"), "{args:?} {note}\n{said}");
    }
}

#[test]
fn a_note_of_a_change_is_on_the_due_list_and_in_the_handoff_until_the_finding_is_recorded() {
    let desk = desk();
    let change =
        ["record", "change", "P-001", "--by", "p001-son", "--by-entered", "rn-07", "--source", "told", "--at", "06:40"];
    let noted = [&change[..], &["--reason", "scheduled", "--note", NOTE]].concat();
    let said = desk.refused(&noted);
    assert!(said.contains("The note mentions \"pus\", \"stinks\"."), "{said}");
    desk.done(&[&noted[..], &["--yes"]].concat());
    let expected = "note of today 06:40 mentions pus, stinks, not recorded as a finding";
    let row = |desk: &Desk| desk.done(&["due", "P-001"]).split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(row(&desk).contains(expected), "{}", row(&desk));
    let list = desk.done(&["due"]).split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(list.contains(expected), "{list}");
    let found = &desk.json(&["due"])["rows"][0]["findings_in_notes"];
    let words: Vec<&str> = found.as_array().unwrap().iter().map(|one| one["word"].as_str().unwrap()).collect();
    assert_eq!(words, ["pus", "stinks"]);
    assert_eq!(found[0]["finding"], "site");
    let handoff = desk.done(&["handoff", "--since", "05:00"]);
    assert!(handoff.contains("change: P-001 (note mentions pus, stinks)"), "{handoff}");
    let recorded = &desk.json(&["handoff", "--since", "05:00"])["recorded"][0]["findings_in_note"];
    assert_eq!(*recorded, serde_json::json!(["pus", "stinks"]));
    // A look at the site after it holds the finding.
    desk.done(&[
        "record",
        "assessment",
        "P-001",
        "--by",
        "rn-07",
        "--source",
        "seen",
        "--at",
        "07:00",
        "--drainage",
        "purulent",
        "--odor",
        "yes",
        "--yes",
    ]);
    assert!(!row(&desk).contains("not recorded as a finding"), "{}", row(&desk));
}

#[test]
fn a_change_that_says_what_its_note_says_is_not_named() {
    let desk = desk();
    let change =
        ["record", "change", "P-001", "--by", "rn-07", "--source", "seen", "--at", "06:40", "--drainage", "purulent"];
    desk.done(&[&change[..], &["--note", "pus on the gauze", "--yes"]].concat());
    assert_eq!(desk.json(&["due"])["rows"][0]["findings_in_notes"], serde_json::json!([]));
    let handoff = desk.done(&["handoff", "--since", "05:00"]);
    assert!(!handoff.contains("note mentions"), "{handoff}");
}

#[test]
fn the_note_of_a_change_in_a_round_is_asked_about_unless_the_change_says_it() {
    let desk = desk();
    let before = desk.everything();
    let person =
        Person::typing(&["d", "2", "2", "today", "", "", "", "", "m", "smelly, pus on the gauze", "y", "y", "q"]);
    desk.run_as(Some("co-1"), &["round"], Some(&person));
    let saw = person.saw().split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(saw.contains("The note mentions \"smelly\", \"pus\". A note raises no signal."), "{saw}");
    assert!(new(&desk, &before).contains("note = \"smelly, pus on the gauze\""), "{saw}");
}

#[test]
fn a_note_at_a_terminal_is_asked_about_before_the_change_is_written() {
    let desk = desk();
    let before = desk.everything();
    let answers = ["", "1", "", "", "1", "m", "", "", "", "", "", "", "smelly, pus on the gauze", "y", "y"];
    let person = Person::typing(&answers);
    desk.run_as(Some("rn-07"), &["record", "change", "P-001"], Some(&person));
    let saw = person.saw().split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(saw.contains("The note mentions \"smelly\", \"pus\"."), "{saw}");
    assert!(saw.contains("Site not recorded. Write it?"), "{saw}");
    assert!(new(&desk, &before).contains("note = \"smelly, pus on the gauze\""), "{saw}");
}

#[test]
fn a_change_written_with_a_call_says_what_the_note_of_the_call_says() {
    let entered = "[entered]\nat = 2026-11-24T07:00:00-06:00\nby = 'co-1'\n";
    let call = format!(
        "kind = 'contact'\nat = 2026-11-24T06:50:00\nby = 'co-1'\nsource = 'told'\nwith = 'p001-son'\nabout = ['other']\noutcome = 'advised'\nnote = 'pus, red'\n{entered}"
    );
    let change = format!(
        "kind = 'change'\nat = 2026-11-24T06:40:00\nby = 'p001-son'\nsource = 'told'\n[site]\ndrainage = 'purulent'\n{entered}"
    );
    let words = |change: &str, later: &str| {
        let desk = desk();
        desk.put("patients/P-001/2026/2026-11-24T0650-contact.toml", &call);
        desk.put("patients/P-001/2026/2026-11-24T0640-change.toml", change);
        if !later.is_empty() {
            let look = format!(
                "kind = 'assessment'\nat = 2026-11-24T07:05:00\nby = 'rn-07'\nsource = 'seen'\n[site]\n{later}\n"
            );
            desk.put("patients/P-001/2026/2026-11-24T0705-assessment.toml", &look);
        }
        let found = desk.json(&["due"])["rows"][0]["findings_in_notes"].clone();
        found.as_array().unwrap().iter().map(|one| one["word"].as_str().unwrap().to_owned()).collect::<Vec<_>>()
    };
    assert_eq!(words(&change, ""), ["red"]);
    assert_eq!(words(&change.replace("purulent", "serous"), ""), ["pus", "red"]);
    // A temperature is no look at the site.
    assert_eq!(words(&change, "temperature_c = 36.8"), ["red"]);
    assert!(words(&change, "redness_mm = 12").is_empty());
}
