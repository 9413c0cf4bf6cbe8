//! The law of every question: Enter alone never ends, acts on or hides a signal of today, except as stated on the
//! command line.
//!
//! Each scene is a patient with an open signal of today. [`law`] runs a command on every scene with a person who types
//! the given lines and then only Enter, and compares the open signals. A command with questions adds its lines here.

#![allow(clippy::unwrap_used, reason = "a test fails by panicking")]

mod desk;

use desk::{Desk, Person};

/// A number of Enters that answers every question of every command.
const ENTERS: usize = 80;

/// Signals of today, each with the record that raises it: kind and contents.
const SCENES: [(&str, &str, &str); 13] = [
    ("pus", "assessment", "[site]\ndrainage = 'purulent'\n"),
    (
        "score-review",
        "assessment",
        "[site]\ndrainage = 'serous'\namount = 'large'\nredness_mm = 15\nswelling = 'exit'\ncrust_mm = 9\npain = 'severe'\n",
    ),
    ("redness-wide", "assessment", "[site]\nredness_mm = 25\n"),
    ("swelling-tunnel", "assessment", "[site]\nswelling = 'tunnel'\n"),
    ("bleeding-at-site", "assessment", "[site]\nbleeding = true\n"),
    ("fever", "assessment", "[site]\ntemperature_c = 38.6\n"),
    ("line-pulled", "trauma", "mechanism = 'snag'\n"),
    ("anchor-off", "inspection", "anchor = 'absent'\n"),
    ("water-at-site", "inspection", "dressing = 'wet'\n"),
    (
        "culture-growth",
        "culture",
        "specimen = 'exit-site'\n[result]\non = 2026-11-23\ngrowth = true\norganisms = ['S. aureus']\n",
    ),
    ("immersed", "shower", "water = 'pool'\ndressing_before = 'intact'\n"),
    ("order-violated", "shower", "water = 'shower'\ndressing_before = 'intact'\n"),
    // No one in the household is signed off; the record itself raises nothing.
    ("home-untaught", "inspection", "dressing = 'intact'\n"),
];

/// The desk of a scene, with the patient at home or in the hospital.
fn scene((_, kind, says): (&str, &str, &str), is_home: bool) -> Desk {
    let desk = Desk::new();
    let order = "\n[[order]]\nfrom = 2026-11-20\nno_showers = true\nby = 'md-3'\n";
    let home = "[[care]]\nfrom = 2026-08-27\nplace = \"home\"\n";
    let course = if is_home { desk::PATIENT.to_owned() } else { desk::PATIENT.replace(home, "") };
    desk.put("patients/P-001/patient.toml", &format!("{course}{order}"));
    let record = |name: &str, kind: &str, at: &str, says: &str| {
        let text = format!("kind = '{kind}'\nat = {at}\nby = 'rn-07'\nsource = 'seen'\n{says}");
        desk.put(&format!("patients/P-001/2026/{name}-{kind}.toml"), &text);
    };
    record("2026-11-22T0800", "change", "2026-11-22T08:00:00-06:00", "");
    record("2026-11-23T1900", kind, "2026-11-23T19:00:00-06:00", says);
    desk
}

/// The open signals of today, each with true if acted on.
fn open(desk: &Desk) -> Vec<(String, bool)> {
    let report = desk.run(&["signals", "--json"]).stdout;
    let report: serde_json::Value = serde_json::from_str(&report).unwrap();
    let signals = report["signals"].as_array().unwrap().iter().filter(|signal| signal["urgency"] == "today");
    signals.map(|signal| (signal["signal"].as_str().unwrap().to_owned(), !signal["answered"].is_null())).collect()
}

/// Asserts that a command, with these lines and then only Enter, leaves every signal of today open and not acted on,
/// except those in `said`, which the command line ends by its own statement.
fn law(arguments: &[&str], typed: &[&str], said: &[&str]) {
    for is_home in [true, false] {
        // Only a patient at home can have a household without a sign-off.
        for scene_of in SCENES.into_iter().filter(|(name, ..)| is_home || *name != "home-untaught") {
            let desk = scene(scene_of, is_home);
            let before = open(&desk);
            let name = scene_of.0;
            assert!(before.contains(&(name.to_owned(), false)), "{name} is not open: {before:?}");
            let lines: Vec<&str> = typed.iter().copied().chain([""; ENTERS]).collect();
            let person = Person::typing(&lines);
            desk.run_as(Some("rn-07"), arguments, Some(&person));
            let after = open(&desk);
            for signal in before.iter().filter(|(name, _)| !said.contains(&name.as_str())) {
                assert!(after.contains(signal), "{arguments:?} {typed:?} {name} {signal:?}\n{}", person.saw());
            }
        }
    }
}

#[test]
fn record_closes_nothing_by_enter_alone() {
    for kind in [
        "assessment",
        "change",
        "contact",
        "culture",
        "infection",
        "inspection",
        "log",
        "shower",
        "supply",
        "teaching",
        "trauma",
        "treatment",
    ] {
        let said: &[&str] = if kind == "change" { &["water-at-site"] } else { &[] };
        law(&["record", kind, "P-001"], &[], said);
    }
}

#[test]
fn record_closes_nothing_by_enter_behind_who_and_how() {
    let change: &[&str] = &["water-at-site"];
    for by in ["1", "rn-07", "patient", "p001-son"] {
        law(&["record", "change", "P-001"], &["", by], change);
        law(&["record", "change", "P-001"], &["", by, "told"], change);
        law(&["record", "change", "P-001"], &["", by, "seen"], change);
        law(&["record", "inspection", "P-001"], &["", by, "told"], &[]);
        law(&["record", "assessment", "P-001"], &["", by, "told"], &[]);
        // The findings one by one, each skipped.
        law(&["record", "assessment", "P-001"], &["", by, "f"], &[]);
        law(&["record", "change", "P-001"], &["", by, "", "f"], change);
    }
}

#[test]
fn record_asks_before_a_full_look_ends_something_and_enter_is_no() {
    law(&["record", "assessment", "P-001"], &["", "rn-07", "none"], &[]);
    law(&["record", "change", "P-001"], &["", "rn-07", "scheduled", "none", "1"], &["water-at-site"]);
    law(&["record", "change", "P-001", "--by", "rn-07", "--site", "none-noted"], &[], &["water-at-site"]);
}

#[test]
fn round_closes_nothing_by_enter_alone_behind_any_key() {
    for key in ["c", "d", "w", "i", "n", "u"] {
        law(&["round"], &[key], &[]);
    }
    // Also if someone was reached and all else is Enter.
    for typed in [
        &["c", "2", "advised"][..],
        &["c", "2", "coming-in"],
        &["c", "3", "1", "escalated", "", "all"],
        &["i", "3", "1", "", "all"],
        &["w", "2", "", "all"],
        &["w", "2", "tomorrow 23:00", "y", "all"],
        &["w", "2", "tomorrow 23:00"],
        &["n", "yes", "u"],
        &["c", "3", "1", "escalated", "all", "", "n"],
    ] {
        law(&["round"], typed, &[]);
    }
    for when in ["today", "this morning", "yesterday", "06:30"] {
        law(&["round"], &["d", "2", "2", when], &[]);
        law(&["round"], &["d", "2", "2", when, "", "none", "1"], &[]);
    }
}

#[test]
fn enter_names_no_author_on_a_ward_either() {
    let desk = Desk::new();
    let home = "[[care]]\nfrom = 2026-08-27\nplace = \"home\"\n";
    desk.put("patients/P-001/patient.toml", &desk::PATIENT.replace(home, ""));
    let person = Person::typing(&["", "", "", ""]);
    desk.run_as(Some("co-1"), &["record", "change", "P-001"], Some(&person));
    assert_eq!(person.asked().iter().filter(|question| question.contains("Who did or saw it?")).count(), 4);
    assert!(person.saw().contains("Required.") && !person.saw().contains("[Enter: co-1]"), "{}", person.saw());
}

#[test]
fn patient_closes_nothing_by_enter_alone() {
    let end: &[&str] = &["patient", "end", "P-001", "--on", "today", "--why", "transplant"];
    let opened: &[&str] =
        &["patient", "exit", "P-001", "--id", "b", "--where", "midline", "--why", "relocation", "--from", "today"];
    let replaced = [opened, &["--closes", "a"]].concat();
    for arguments in [
        &["patient", "end", "P-001"][..],
        end,
        &["patient", "exit", "P-001"],
        &["patient", "exit", "P-001", "--id", "a", "--until", "today"],
        opened,
        &replaced,
        &["patient", "move", "P-001"],
        &["patient", "move", "P-001", "--place", "home"],
        &["patient", "move", "P-001", "--place", "inpatient"],
        &["patient", "caregiver", "P-001", "--code", "p001-wife"],
        &["patient", "order", "P-001", "--every-days", "300", "--by", "md-3", "--why", "dry"],
        &["patient", "add", "P-001"],
    ] {
        // A move ends a stay at home without a sign-off.
        let said: &[&str] = if arguments.contains(&"move") { &["home-untaught"] } else { &[] };
        law(arguments, &[], said);
    }
}

#[test]
fn corrections_close_nothing_by_enter_alone() {
    let who = ["--by", "co-1", "--why", "wrong line"];
    law(&["void", "P-001"], &[], &[]);
    law(&["amend", "P-001"], &["1"], &[]);
    law(&["amend", "P-001"], &["1", "3", "-"], &[]);
    law(&[&["void", "P-001"][..], &who].concat(), &["1"], &[]);
    // One of these is in the record of each scene; the others are refused.
    for set in ["drainage=none", "redness_mm=0", "bleeding=no", "temperature_c=36.8", "anchor=in-place"] {
        law(&[&["amend", "P-001", "--set", set][..], &who].concat(), &["1"], &[]);
    }
    law(&["result", "P-001"], &["1"], &[]);
    law(&["resolve", "P-001"], &["1"], &[]);
}

#[test]
fn an_import_closes_nothing_by_enter_alone() {
    let folder = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).unwrap();
    let sheet = folder.path().join("log.csv");
    let look = "seen,none,0,none,0,none,false,false,false,false,36.8,intact,in-place";
    let header = "patient,at,kind,by,source,site.drainage,site.redness_mm,site.swelling,site.crust_mm,site.pain,site.odor,site.warmth,site.overgranulation,site.bleeding,site.temperature_c,found.dressing,left.anchor";
    std::fs::write(&sheet, format!("{header}\nP-001,2026-11-24T06:00,change,rn-07,{look}\n")).unwrap();
    law(&["import", sheet.to_str().unwrap(), "--by-entered", "co-1"], &[], &[]);
    law(&["import", sheet.to_str().unwrap(), "--by-entered", "co-1", "--yes"], &[], &[]);
}
