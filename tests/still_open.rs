//! Everything still open is shown wherever a screen could be read as an all-clear: an ended treatment, a broken
//! promise, a missing time, a record without effect.

#![allow(clippy::unwrap_used, reason = "a test fails by panicking")]

mod desk;

use desk::{Desk, Person};

/// The patient at home with a change on Sunday.
fn desk() -> Desk {
    let desk = Desk::new().at_80_columns();
    desk.put(
        "policy.toml",
        &format!(
            "{}[signals]\nhome-untaught = {{ off = \"taught elsewhere\" }}\n[photos]\nkept_at = [\"imaging\"]\n",
            desk.get("policy.toml")
        ),
    );
    event(&desk, "2026-11-22T0800", "change", "by = \"rn-07\"\nsource = \"seen\"\n");
    desk
}

/// Adds a record of P-001 at a time such as `2026-11-24T0600`, or on a day such as `2026-11-24`.
fn event(desk: &Desk, at: &str, kind: &str, more: &str) {
    let when = match at.split_once('T') {
        Some((day, time)) => format!("at = {day}T{}:{}:00", &time[..2], &time[2..]),
        None => format!("on = {at}"),
    };
    desk.put(&format!("patients/P-001/2026/{at}-{kind}.toml"), &format!("kind = \"{kind}\"\n{when}\n{more}"));
}

fn with_pus() -> Desk {
    let desk = desk();
    event(
        &desk,
        "2026-11-10T0900",
        "assessment",
        "by = \"rn-07\"\nsource = \"seen\"\n[site]\ndrainage = \"purulent\"\n",
    );
    desk
}

fn treated(desk: &Desk, at: &str, what: &str, until: &str) {
    let until = if until.is_empty() { String::new() } else { format!("until = {until}\n") };
    event(desk, at, "treatment", &format!("by = \"md-3\"\nsource = \"seen\"\nwhat = \"{what}\"\n{until}"));
}

/// A picture outside the records.
fn picture() -> (tempfile::TempDir, String) {
    let kept = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).unwrap();
    let path = kept.path().join("site.jpg");
    std::fs::write(&path, "a picture").unwrap();
    let path = path.to_str().unwrap().to_owned();
    (kept, path)
}

/// The reports that name the patient's open signals.
const SCREENS: [&[&str]; 5] = [&["due"], &["due", "P-001"], &["signals", "P-001"], &["handoff"], &["show", "P-001"]];

#[test]
fn an_ended_treatment_is_said_beside_the_signal_it_acted_on() {
    let desk = with_pus();
    treated(&desk, "2026-11-11T1000", "oral-antibiotic", "2026-11-20");
    for screen in SCREENS {
        desk.done(screen);
    }
    desk.keep_screens("still_open_an_ended_treatment_is_said_beside_the_signal");
    let report = desk.json(&["signals"]);
    let pus = report["signals"].as_array().unwrap().iter().find(|signal| signal["signal"] == "pus").unwrap();
    assert_eq!(pus["treatment_ended"]["until"], "2026-11-20");
    assert!(!pus["answered"].is_null(), "acted on is acted on: {pus}");
    // As of its last day it is current.
    let then = desk.done(&["due", "--as-of", "2026-11-20"]);
    assert!(!then.contains("antibiotic ended"), "{then}");
    // Another treatment is current.
    treated(&desk, "2026-11-20T1000", "intravenous-antibiotic", "");
    for screen in SCREENS {
        let said = desk.done(screen);
        assert!(!said.contains("antibiotic ended"), "{screen:?}\n{said}");
    }
    // An operation has no duration, so it does not end.
    let desk = with_pus();
    treated(&desk, "2026-11-11T1000", "debridement", "");
    assert!(!desk.done(&["due"]).contains("ended"), "{}", desk.done(&["due"]));
}

#[test]
fn a_promise_without_a_time_is_printed_with_the_policys_and_broken_when_it_has_passed() {
    let desk = desk();
    event(&desk, "2026-11-23T2130", "inspection", "by = \"p001-son\"\nsource = \"told\"\ndressing = \"wet\"\n");
    let call = "by = \"co-1\"\nwith = \"p001-son\"\nabout = [\"water-at-site\"]\noutcome = \"will-change\"\n";
    event(&desk, "2026-11-23T2140", "contact", call);
    for screen in [&["signals", "--waiting", "2"][..], &["due"], &["handoff"]] {
        desk.done(screen);
    }
    // Before that time it is pending.
    desk.done(&["signals", "--waiting", "1", "--as-of", "2026-11-23T23:00"]);
    desk.keep_screens("still_open_a_promise_without_a_time_is_broken_when_it_has_passed");
    // A script without a time gets a message with the one that counts.
    let desk = self::desk();
    let contact = ["record", "contact", "P-001", "--by", "co-1", "--with", "p001-son", "--about", "overdue"];
    desk.done(&[&contact[..], &["--outcome", "will-change", "--at", "07:00", "--yes"]].concat());
    // At a terminal, Enter stores no time, either.
    let person = Person::typing(&["", "", "y"]);
    desk.run_as(
        Some("co-1"),
        &[&contact[..], &["--outcome", "will-change", "--at", "07:10", "--source", "told"]].concat(),
        Some(&person),
    );
    let person = Person::typing(&["07:12", "1", "1", "will change", "", "overdue", "", "", "y"]);
    desk.run_as(Some("co-1"), &["record", "contact", "P-001"], Some(&person));
    desk.keep_screens("still_open_a_promise_without_a_time_is_recorded_with_the_policys");
}

#[test]
fn a_record_without_a_time_opens_on_a_day_and_not_at_a_clock() {
    let desk = desk();
    event(&desk, "2026-11-23", "inspection", "by = \"p001-son\"\nsource = \"told\"\ndressing = \"off\"\n");
    for screen in SCREENS {
        let said = desk.done(screen);
        assert!(!said.contains("02:59"), "{screen:?}\n{said}");
    }
    desk.keep_screens("still_open_a_record_without_a_time_opens_on_a_day");
    let alert = desk.run(&["alert"]);
    assert!(alert.stdout.contains("since 2026-11-23") && !alert.stdout.contains("02:59"), "{alert:?}");
}

#[test]
fn after_midnight_today_is_the_date_on_the_wall() {
    let desk = desk();
    event(&desk, "2026-11-24T2130", "inspection", "by = \"p001-son\"\nsource = \"told\"\ndressing = \"wet\"\n");
    let said = desk.done(&["due", "--as-of", "2026-11-25T01:30"]);
    assert!(!said.contains("today 21:30"), "{said}");
    let later = desk.done(&["due", "P-001", "--as-of", "2026-11-25T01:30"]);
    assert!(!later.contains("due today"), "{later}");
    desk.keep_screens("still_open_after_midnight_today_is_the_date_on_the_wall");
}

#[test]
fn a_receipt_names_first_what_is_open_and_overdue() {
    let desk = with_pus();
    treated(&desk, "2026-11-11T1000", "oral-antibiotic", "2026-11-20");
    let sum = "ab".repeat(32);
    desk.done(&[
        "record",
        "photo",
        "P-001",
        "--by",
        "rn-07",
        "--at",
        "07:00",
        "--sha256",
        &sum,
        "--kept-at",
        "imaging",
        "--yes",
    ]);
    // Today's regular change is not overdue; two days later it is.
    let treatment =
        ["record", "treatment", "P-001", "--by", "md-3", "--what", "oral-antibiotic", "--yes", "--source", "seen"];
    desk.run_at(("2026-11-26T13:15:00Z", 80), Some("rn-07"), &treatment, None);
    desk.keep_screens("still_open_a_receipt_names_first_what_is_open_and_overdue");
}

#[test]
fn a_photo_asks_for_its_file_and_never_for_the_digits() {
    let desk = desk();
    let (_kept, picture) = picture();
    let person = Person::typing(&["nowhere.jpg", &picture, "07:00", "rn-07", "", "y"]);
    let outcome = desk.run_as(Some("rn-07"), &["record", "photo", "P-001"], Some(&person));
    let saw = person.saw();
    assert!(saw.contains("Picture file: its path") && saw.contains("nowhere.jpg"), "{saw}");
    assert!(!saw.to_lowercase().contains("sha256"), "{saw}");
    assert_eq!((outcome.status, person.left()), (0, 0), "{outcome:?}\n{saw}");
    assert!(outcome.stdout.contains("Recorded patients/P-001/2026/2026-11-24T0700-photo.toml"), "{outcome:?}");
}

#[test]
fn a_change_after_one_of_two_reports_ends_neither_by_its_reason() {
    let desk = desk();
    event(&desk, "2026-11-24T0600", "inspection", "by = \"p001-son\"\nsource = \"told\"\ndressing = \"wet\"\n");
    event(&desk, "2026-11-24T0630", "inspection", "by = \"p001-son\"\nsource = \"told\"\ndressing = \"lifting\"\n");
    let person = Person::typing(&["d", "2", "2", "today", "", "yes", "no", "", "", "", "y", "y", "q"]);
    desk.run_as(Some("co-1"), &["round"], Some(&person));
    let file = desk.everything().into_iter().find(|(file, _)| file.ends_with("2026-11-24-change.toml"));
    let (_, text) = file.unwrap_or_else(|| panic!("{}", person.saw()));
    assert!(text.contains("reason = \"other\""), "{text}");
    desk.keep_screens("still_open_a_change_after_one_of_two_reports_ends_neither");
    assert_eq!(desk.json(&["due"])["rows"][0]["because"], "damage");
}

#[test]
fn a_score_of_0_names_the_findings_that_it_does_not_score() {
    let desk = desk();
    let dry = "drainage = \"none\"\nredness_mm = 0\nswelling = \"none\"\ncrust_mm = 0\npain = \"none\"\n";
    event(
        &desk,
        "2026-11-23T0900",
        "assessment",
        &format!("by = \"rn-07\"\nsource = \"seen\"\n[site]\n{dry}odor = true\nwarmth = true\nbleeding = false\n"),
    );
    for screen in [["due", "P-001"], ["grade", "P-001"], ["show", "P-001"]] {
        let said = desk.done(&screen);
        assert!(!said.contains("no findings recorded"), "{screen:?}\n{said}");
    }
    let report = desk.json(&["grade"]);
    let score = &report["rows"][0]["assessments"][0];
    assert_eq!((&score["band"], &score["unscored"]), (&"none-noted".into(), &serde_json::json!(["odor", "warmth"])));
    event(
        &desk,
        "2026-11-24T0600",
        "assessment",
        &format!("by = \"rn-07\"\nsource = \"seen\"\n[site]\n{dry}odor = false\n"),
    );
    desk.done(&["grade", "P-001"]);
    desk.keep_screens("still_open_a_score_of_0_names_the_findings_that_it_does_not_score");
}

#[test]
fn a_finding_that_only_the_note_of_a_call_mentions_is_asked_about_and_handed_on() {
    let desk = Desk::new().at_80_columns();
    let call = ["record", "contact", "P-001", "--with", "p001-son", "--about", "other", "--outcome", "advised"];
    let call = [&call[..], &["--by", "co-1", "--at", "06:40"]].concat();
    let before = desk.everything();
    desk.run_as(
        Some("co-1"),
        &[&call[..], &["--note", "fever 102, pus at site"]].concat(),
        Some(&Person::typing(&[""; 3])),
    );
    assert_eq!(desk.everything(), before);
    desk.done(&[&call[..], &["--note", "no fever; back at noon", "--yes"]].concat());
    desk.done(&["handoff"]);
    desk.keep_screens("still_open_a_finding_that_only_the_note_of_a_call_mentions");
}

#[test]
fn a_clinician_told_of_a_wet_dressing_is_named_while_it_is_not_changed() {
    let desk = desk();
    event(&desk, "2026-11-23T2130", "inspection", "by = \"p001-son\"\nsource = \"told\"\ndressing = \"wet\"\n");
    let call = |with: &str, outcome: &str, more: &str| {
        format!("by = \"co-1\"\nwith = \"{with}\"\nabout = [\"signals\"]\noutcome = \"{outcome}\"\n{more}")
    };
    event(&desk, "2026-11-24T0626", "contact", &call("p001-son", "advised", ""));
    event(&desk, "2026-11-24T0628", "contact", &call("md-3", "escalated", ""));
    let screens: [&[&str]; 3] = [&["signals", "P-001"], &["handoff"], &["signals", "--waiting", "2"]];
    let holds = |part: &str| {
        for screen in screens {
            let said = desk.done(screen).split_whitespace().collect::<Vec<_>>().join(" ").to_lowercase();
            assert!(said.contains(part), "{screen:?} {part}\n{said}");
        }
    };
    holds("called p001-son today 06:26: advised; told md-3 today 06:28, dressing not changed yet");
    let show = desk.done(&["show", "P-001"]).split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(show.contains("not acted on; told md-3 today 06:28"), "{show}");
    let signal = &desk.json(&["signals"])["signals"][0];
    assert_eq!((&signal["answered"], &signal["told"]["clinician"]), (&serde_json::Value::Null, &"md-3".into()));
    // A later call to the household stands after it, and one that was passed on names the clinician once.
    event(&desk, "2026-11-24T0640", "contact", &call("p001-son", "advised", ""));
    holds("told md-3 today 06:28, dressing not changed yet; called p001-son today 06:40: advised");
    event(&desk, "2026-11-24T0650", "contact", &call("p001-son", "escalated", "escalated_to = \"md-3\"\n"));
    holds("told md-3 today 06:50, dressing not changed yet");
    // An escalation to no one named hides no clinician.
    event(&desk, "2026-11-24T0652", "contact", &call("p001-son", "escalated", ""));
    holds("told md-3 today 06:50, dressing not changed yet; called p001-son today 06:52, escalated to a clinician");
    // A physician who did not answer was told nothing.
    event(&desk, "2026-11-24T0655", "contact", &call("md-3", "no-answer", ""));
    holds("told md-3 today 06:50, dressing not changed yet");
}
