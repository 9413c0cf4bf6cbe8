//! No screen contains a retired word of the glossary, shows a key in place of its words, or begins a sentence with a
//! clause in place of a noun.
//!
//! A screen is checked once its command is in [`SCREENS`]; the `--help` of every command is checked.

#![allow(clippy::unwrap_used, reason = "a test fails by panicking")]

mod simulator;

use std::ffi::OsString;
use std::fs;
use std::path::Path;

use exitsite::command::{Outcome, Surroundings, run};
use exitsite::event::Signal;
use exitsite::word::Word;
use simulator::simulate;

/// The commands whose screens are checked.
const SCREENS: &[&[&str]] = &[
    &["signals"],
    &["signals", "--all"],
    &["signals", "--waiting", "2"],
    &["teaching"],
    &["teaching", "--within", "400"],
    &["supplies"],
    &["handoff"],
    &["alert", "--dry-run"],
];

/// The screens of some patients of the invented program.
const OF_PATIENTS: &[&[&str]] = &[&["teaching", "P-005", "P-014"], &["signals", "P-009"], &["supplies", "P-014"]];

/// The phrases retired by the glossary, in lower case; in help, too.
const RETIRED: &[&str] = &[
    "not heard from",
    "heard through",
    "awaiting a log",
    "cannot be judged",
    "unusable",
    "to be looked at",
    "answered",
    "better, not confirmed",
    "learnt late",
    "learned late",
    "days in date",
    "nothing entered for",
    "outside of the house",
    "is no word for it",
    "this has to be said",
    "somebody",
    "nobody has",
    "qualifying",
    "does not count",
    "write it all the same",
    "what is usual",
    "in no way",
    "is none",
    "it is not given",
    "has not come yet",
    "handed on",
    "nothing heard",
    "counts for nothing",
    "what came since",
];

/// The keys that a screen shows as words; help shows them, since they are typed.
const KEYS: &[&str] = &[
    "none-noted",
    "undetermined",
    "redness_mm",
    "crust_mm",
    "temperature_c",
    "return-demonstration",
    "no-answer",
    "will-change",
    "coming-in",
    "in-place",
    "in-training",
    "not-started",
    "signed-off",
];

/// The words that no sentence begins with.
const BEGINNINGS: &[&str] = &["What ", "Who ", "Whether ", "Of whom ", "The same ", "So many "];

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

fn said(arguments: &[&str], records: &Path, now: &str) -> String {
    let surroundings = Surroundings {
        now: now.parse().unwrap(),
        here: records.to_owned(),
        records: Some(records.to_owned()),
        ..Surroundings::default()
    };
    let Outcome { stdout, stderr, .. } = run(["exitsite"].iter().chain(arguments).map(OsString::from), &surroundings);
    stdout + &stderr
}

/// The faults of a text.
fn faults(text: &str, is_screen: bool) -> Vec<String> {
    // A phrase may be broken over two lines; the path of a record is not text of the screen.
    let flat = text.split_whitespace().filter(|word| !word.contains("patients/")).collect::<Vec<_>>().join(" ");
    let small = flat.to_lowercase();
    let keys = Signal::WORDS.iter().filter(|word| word.contains('-')).chain(KEYS).filter(|_| is_screen);
    let holds = |phrase: &&&str| {
        let is_part = |c: char| c.is_alphanumeric() || c == '-' || c == '_';
        small
            .match_indices(**phrase)
            .any(|(at, found)| !small[..at].ends_with(is_part) && !small[at + found.len()..].starts_with(is_part))
    };
    let mut faults: Vec<String> =
        RETIRED.iter().chain(keys).filter(holds).map(|phrase| format!("\"{phrase}\"")).collect();
    let begins = |start: &&&str| {
        flat.match_indices(**start).any(|(at, _)| flat[..at].is_empty() || flat[..at].ends_with(". "))
            || text.lines().any(|line| line.trim_start().starts_with(**start))
    };
    faults.extend(BEGINNINGS.iter().filter(begins).map(|start| format!("a sentence that begins with \"{start}\"")));
    faults
}

/// Asserts that the screens of a program have no faults.
fn check(records: &Path, now: &str, screens: &[&[&str]]) {
    let mut found = Vec::new();
    for arguments in screens {
        let text = said(arguments, records, now);
        assert!(text.lines().count() > 2, "{arguments:?}: {text}");
        found.extend(faults(&text, true).iter().map(|fault| format!("{arguments:?}: {fault}")));
    }
    assert!(found.is_empty(), "{}", found.join("\n"));
}

#[test]
fn the_screens_of_the_invented_program_use_the_words_of_the_glossary() {
    check(&root().join("examples/demo"), "2026-11-24T13:15:00Z", &[SCREENS, OF_PATIENTS].concat());
}

#[test]
fn the_screens_of_a_simulated_program_use_the_words_of_the_glossary() {
    let simulated = simulate("mixed", 12, 1, 7, "2026-11-24");
    check(&simulated.records, "2026-11-24T13:15:00Z", SCREENS);
}

/// The words of each command, from the names of the man pages.
fn commands() -> Vec<Vec<String>> {
    let pages = fs::read_dir(root().join("completions/man")).unwrap();
    let names = pages.map(|page| page.unwrap().file_name().into_string().unwrap());
    let words = names.filter_map(|name| name.strip_suffix(".1").map(str::to_owned));
    words.map(|name| name.split('-').skip(1).map(str::to_owned).collect()).collect()
}

#[test]
fn the_help_of_each_command_uses_the_words_of_the_glossary() {
    let commands = commands();
    assert!(commands.len() > 20, "{}", commands.len());
    let mut found = Vec::new();
    for command in commands {
        let arguments: Vec<&str> = command.iter().map(String::as_str).chain(["--help"]).collect();
        let text = said(&arguments, root(), "2026-11-24T13:15:00Z");
        found.extend(faults(&text, false).iter().map(|fault| format!("{}: {fault}", command.join(" "))));
    }
    assert!(found.is_empty(), "{}", found.join("\n"));
}

#[test]
fn a_fault_is_found() {
    for (text, expected) in [
        ("  log-late since Mon", 1),
        ("To be looked\n  at today", 1),
        ("Turned off. What is left is this.", 1),
        ("Log overdue since Mon.", 0),
        ("unanswered", 0),
        ("The list: patients/P-001/2026/2026-11-24T0615-change.toml is none", 1),
    ] {
        assert_eq!(faults(text, true).len(), expected, "{text} {:?}", faults(text, true));
    }
}
