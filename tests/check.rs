//! Findings of `check`: for every rule, the fixtures of its name yield exactly that finding and no other.
//!
//! A fixture (`tests/fixtures/RULE.txt`) is a small records folder in one text, added to the sound program `base.txt`;
//! `=== sentence` begins another fixture of the same rule.
//!
//! ```text
//! # The fault, for a person.
//! --- patients/P-001/2026/2026-11-23T1840-shower.toml
//! kind = "shower"
//! at = 2026-11-23T18:40:00-06:00
//! #! unknown-person: words of the message
//! #! help: words of the help
//! #! beside: file:line of the related place
//! #! marks: "rn-08"
//! by = "rn-08"
//! ```
//!
//! The expectation is above the faulty line; its lines are not part of the file. Anything that a text cannot express
//! comes before the first file: `link NAME -> TARGET`, `fifo NAME`, `folder NAME`, `bytes NAME = ff fe` (appended to
//! the text of that file, if there is one), `size NAME = BYTES`, `expect FILE[:LINE]: RULE: words`.
//!
//! Left out on purpose: permissions, since a user who may read everything, such as root, would see no fault.

#![allow(clippy::unwrap_used, clippy::expect_used)] // a test fails by panicking

use std::collections::BTreeSet;
use std::ffi::{OsStr, OsString};
use std::fs::{self, File};
use std::os::unix::ffi::OsStrExt;
use std::os::unix::fs::symlink;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::mpsc;
use std::thread;
use std::time::Duration;

use exitsite::command::{Outcome, Surroundings, run};
use exitsite::day::Instant;
use exitsite::folder::Folder;
use exitsite::problem::{Level, Rule};
use exitsite::program::Program;
use exitsite::word::Word;
use serde_json::Value;
use tempfile::TempDir;

/// The clock of every run: 07:15 in Chicago.
const NOW: &str = "2026-11-24T13:15:00Z";

/// An expected finding.
#[derive(Debug, Default, PartialEq)]
struct Expected {
    rule: String,
    file: String,
    line: Option<u64>,
    words: String,
    help: String,
    beside: Vec<String>,
    /// The marked characters, and their line.
    marks: Option<(String, String)>,
}

/// A records folder in one text.
#[derive(Debug, Default)]
struct Fixture {
    about: String,
    /// Lines for everything that a text cannot express.
    made: Vec<String>,
    files: Vec<(String, String)>,
    expected: Vec<Expected>,
}

impl Fixture {
    fn read(text: &str) -> Fixture {
        let mut fixture = Fixture::default();
        let mut waiting: Option<Expected> = None;
        for line in text.lines() {
            if let Some(file) = line.strip_prefix("--- ") {
                fixture.files.push((file.to_owned(), String::new()));
            } else if let Some(said) = line.strip_prefix("#! ") {
                let (key, words) = said.split_once(": ").expect("an expectation is `key: words`");
                let words = words.to_owned();
                match (key, &mut waiting) {
                    ("help", Some(expected)) => expected.help = words,
                    ("beside", Some(expected)) => expected.beside.push(words),
                    ("marks", Some(expected)) => expected.marks = Some((words, String::new())),
                    (rule, _) => {
                        waiting = Some(Expected { rule: rule.to_owned(), words, ..Expected::default() });
                    }
                }
            } else if let Some((file, written)) = fixture.files.last_mut() {
                if let Some(mut expected) = waiting.take() {
                    expected.file = file.clone();
                    expected.line = Some(written.lines().count() as u64 + 1);
                    expected.marks = expected.marks.map(|(marked, _)| (marked, line.to_owned()));
                    fixture.expected.push(expected);
                }
                *written += &format!("{line}\n");
            } else if let Some(said) = line.strip_prefix("expect ") {
                let (place, rest) = said.split_once(": ").expect("`expect FILE: rule: words`");
                let (rule, words) = rest.split_once(": ").expect("`expect FILE: rule: words`");
                let (file, line) = match place.rsplit_once(':') {
                    Some((file, line)) => (file, line.parse().ok()),
                    None => (place, None),
                };
                fixture.expected.push(Expected {
                    rule: rule.to_owned(),
                    file: file.to_owned(),
                    line,
                    words: words.to_owned(),
                    ..Expected::default()
                });
            } else if let Some(about) = line.strip_prefix("# ") {
                fixture.about = about.to_owned();
            } else if !line.is_empty() {
                fixture.made.push(line.to_owned());
            }
        }
        fixture
    }

    fn lay_out(&self, root: &Path) {
        for (file, text) in &self.files {
            fs::write(ready(root, file), text).unwrap();
        }
        for line in &self.made {
            let (what, rest) = line.split_once(' ').unwrap_or_else(|| panic!("a line that makes nothing: {line}"));
            match what {
                "link" => {
                    let (name, target) = rest.split_once(" -> ").expect("link NAME -> TARGET");
                    let path = ready(root, name);
                    _ = fs::remove_file(&path);
                    symlink(target, path).unwrap();
                }
                "fifo" => fifo(&ready(root, rest)),
                "folder" => fs::create_dir_all(root.join(rest)).unwrap(),
                "bytes" => {
                    let (name, bytes) = rest.split_once(" = ").expect("bytes NAME = ff fe");
                    let path = ready(root, name);
                    let mut whole = fs::read(&path).unwrap_or_default();
                    whole.extend(bytes.split(' ').map(|byte| u8::from_str_radix(byte, 16).unwrap()));
                    fs::write(path, whole).unwrap();
                }
                "size" => {
                    let (name, bytes) = rest.split_once(" = ").expect("size NAME = BYTES");
                    File::create(ready(root, name)).unwrap().set_len(bytes.parse().unwrap()).unwrap();
                }
                _ => panic!("a line that makes nothing: {line}"),
            }
        }
    }
}

/// Creates the parent folder of a file and returns the file's path.
fn ready(root: &Path, file: &str) -> PathBuf {
    let path = root.join(file);
    fs::create_dir_all(path.parent().unwrap()).unwrap();
    path
}

fn fifo(path: &Path) {
    assert!(Command::new("mkfifo").arg(path).status().unwrap().success());
}

fn fixtures_folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/fixtures")
}

/// All fixtures by file name, in order, without the base.
fn fixtures() -> Vec<(String, Vec<Fixture>)> {
    let names = fs::read_dir(fixtures_folder()).unwrap().map(|entry| entry.unwrap().file_name());
    let names: BTreeSet<String> = names.map(|name| name.into_string().unwrap()).collect();
    names
        .into_iter()
        .filter(|name| name != "base.txt")
        .map(|name| {
            let text = fs::read_to_string(fixtures_folder().join(&name)).unwrap();
            let text = text.replace("\n=== ", "\n===\n# ");
            let variants = text.split("\n===\n").map(Fixture::read).collect();
            (name.strip_suffix(".txt").unwrap_or(&name).to_owned(), variants)
        })
        .collect()
}

/// Writes the sound program and a fixture on top of it to a new folder.
fn laid_out(fixture: &Fixture) -> TempDir {
    let root = TempDir::new().unwrap();
    let base = fs::read_to_string(fixtures_folder().join("base.txt")).unwrap();
    Fixture::read(&base).lay_out(root.path());
    fixture.lay_out(root.path());
    root
}

fn records(text: &str) -> TempDir {
    laid_out(&Fixture::read(text))
}

fn now() -> Instant {
    NOW.parse().unwrap()
}

fn run_check(root: &Path, arguments: &[&str]) -> Outcome {
    let surroundings =
        Surroundings { now: now(), here: root.to_owned(), records: Some(root.to_owned()), ..Surroundings::default() };
    let line = ["exitsite", "check"].iter().chain(arguments).map(OsString::from);
    run(line, &surroundings)
}

/// The JSON report with its exit status.
fn report(root: &Path, arguments: &[&str]) -> (Value, u8) {
    let outcome = run_check(root, &[&["--json"], arguments].concat());
    assert_eq!(outcome.stderr, "");
    (serde_json::from_str(&outcome.stdout).unwrap(), outcome.status)
}

fn findings(root: &Path) -> Vec<Value> {
    report(root, &[]).0["findings"].as_array().unwrap().clone()
}

/// Rule, file and line of each finding, for messages and short comparisons.
fn places(findings: &[Value]) -> Vec<String> {
    let place = |finding: &Value| {
        let line = finding["line"].as_u64().map(|line| format!(":{line}")).unwrap_or_default();
        format!("{} {}{line}", text(finding, "rule"), text(finding, "file"))
    };
    findings.iter().map(place).collect()
}

fn text<'a>(finding: &'a Value, key: &str) -> &'a str {
    finding[key].as_str().unwrap_or_default()
}

/// The difference between the one expected finding and the actual ones; `None` if there is none.
fn difference(fixture: &Fixture, root: &Path) -> Option<String> {
    let [expected] = fixture.expected.as_slice() else { return Some("does not expect one finding".into()) };
    let findings = findings(root);
    let line = expected.line.map(|line| format!(":{line}")).unwrap_or_default();
    let place = format!("{} {}{line}", expected.rule, expected.file);
    if places(&findings) != [place.clone()] {
        return Some(format!("expected {place}, got {:?}", places(&findings)));
    }
    let finding = &findings[0];
    let level = Rule::from_word(&expected.rule)?.level().to_string();
    for (key, words) in [("message", &expected.words), ("help", &expected.help), ("level", &level)] {
        if !text(finding, key).contains(words.as_str()) {
            return Some(format!("expected {key} with {words:?}, got {:?}", text(finding, key)));
        }
    }
    let related: Vec<String> = finding["related"]
        .as_array()?
        .iter()
        .map(|place| format!("{}:{}", text(place, "file"), place["line"].as_u64().unwrap_or_default()))
        .collect();
    if related != expected.beside {
        return Some(format!("expected beside it {:?}, got {related:?}", expected.beside));
    }
    let (marked, line) = expected.marks.as_ref()?;
    let before = line.split_once(marked.as_str()).expect("what is marked stands in the line").0;
    let column = before.chars().count() as u64 + 1;
    if finding["column"].as_u64() != Some(column) {
        return Some(format!("expected column {column}, got {}", finding["column"]));
    }
    let found = marked_characters(root);
    (found != *marked).then(|| format!("expected {marked:?} to be marked, got {found:?}"))
}

/// The characters marked by the first finding.
fn marked_characters(root: &Path) -> String {
    let program = Program::open(Folder::find(Some(root), root).unwrap()).unwrap();
    let problems = exitsite::check::check(&program, now(), None);
    let excerpt = problems.into_iter().next().unwrap().place.excerpt.unwrap();
    excerpt.text[excerpt.marked].to_owned()
}

/// Fails with one line for each fixture for which `fault` returns a fault.
fn every_fixture(fault: impl Fn(&str, &Fixture, &Path) -> Option<String>) {
    let mut faults = Vec::new();
    for (name, variants) in fixtures() {
        for fixture in variants {
            let root = laid_out(&fixture);
            let said = fault(&name, &fixture, root.path());
            faults.extend(said.map(|said| format!("{name} ({}): {said}", fixture.about)));
        }
    }
    assert!(faults.is_empty(), "{} fixtures:\n{}", faults.len(), faults.join("\n"));
}

#[test]
fn the_base_of_the_fixtures_is_sound() {
    let root = records("");
    assert_eq!(places(&findings(root.path())), Vec::<String>::new());
    let outcome = run_check(root.path(), &["--fail-on", "warning"]);
    assert_eq!((outcome.stdout.as_str(), outcome.status), ("No problems found in the records.\n", 0));
}

#[test]
fn every_fixture_yields_exactly_its_finding() {
    every_fixture(|name, fixture, root| {
        let is_its_own = fixture.expected.iter().all(|expected| expected.rule == name);
        if is_its_own { difference(fixture, root) } else { Some("expects another rule than its name".into()) }
    });
}

/// Rules that need more than a folder: git, a file that the disk cannot read, or another branch. `tests/git/` has their
/// tests.
const SHOWN_WITH_GIT: [&str; 6] =
    ["edited-after-commit", "deleted-record", "cannot-be-read", "missing-here", "earlier-here", "differs-there"];

/// Rules about files outside the records, with their tests in `tests/photo.rs`.
const SHOWN_WITH_PICTURES: [&str; 2] = ["photo-missing", "photo-altered"];

#[test]
fn every_rule_has_a_fixture_and_every_fixture_is_a_rule() {
    let shown = SHOWN_WITH_GIT.map(str::to_owned);
    let pictures = fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/photo.rs")).unwrap();
    assert!(SHOWN_WITH_PICTURES.iter().all(|rule| pictures.contains(rule)), "tests/photo.rs does not show each");
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/git");
    let tests: String =
        ["main.rs", "at_commit.rs", "against.rs"].map(|file| fs::read_to_string(folder.join(file)).unwrap()).concat();
    shown.iter().for_each(|rule| assert!(tests.contains(&format!("\"{rule}\"")), "tests/git/ does not show {rule}"));
    let names: BTreeSet<String> = fixtures()
        .into_iter()
        .map(|(name, _)| name)
        .chain(shown)
        .chain(SHOWN_WITH_PICTURES.map(str::to_owned))
        .collect();
    let rules: BTreeSet<String> = Rule::ALL.iter().map(|rule| rule.word().to_owned()).collect();
    assert_eq!(rules.difference(&names).collect::<Vec<_>>(), Vec::<&String>::new(), "rules without a fixture");
    assert_eq!(names.difference(&rules).collect::<Vec<_>>(), Vec::<&String>::new(), "fixtures without a rule");
}

#[test]
fn levels_are_those_that_were_agreed() {
    let warnings = [
        "unlikely-number",
        "control-characters",
        "unusual-offset",
        "stray-elsewhere",
        "photograph",
        "photo-place",
        "differs-there",
        "care-day-in-clock-change",
        "unknown-person",
        "another-household",
        "person-not-active",
        "exit-not-named",
        "before-implant",
        "before-exit",
        "after-exit",
        "after-end",
        "in-the-future",
        "perhaps-the-same",
        "older-than-its-event",
        "contradiction",
        "resolved-before-onset",
        "onset-outside",
        "infection-twice",
        "records-begin-early",
        "recurrence-of-nothing",
        "organisms-without-growth",
        "not-a-physician",
        "step-twice",
        "unknown-curriculum",
        "unknown-step",
        "anchor-not-left-in-place",
        "driveline-cleansed-without-drainage",
        "gauze-over-dry-site",
        "disc-not-moistened",
        "intolerance-ignored",
        "private-data",
        "interval-long",
    ];
    let notes = ["foreign-file", "leftover-of-a-write", "orders-disagree", "untimed-today", "log-gap"];
    for rule in Rule::ALL {
        let agreed = match rule.word() {
            word if warnings.contains(&word) => Level::Warning,
            word if notes.contains(&word) => Level::Note,
            _ => Level::Error,
        };
        assert_eq!(rule.level(), agreed, "{}", rule.word());
    }
}

#[test]
fn the_text_of_every_finding_begins_with_one_plain_sentence() {
    every_fixture(|name, fixture, root| {
        let outcome = run_check(root, &[]);
        let level = Rule::from_word(name)?.level();
        let head: Vec<&str> =
            outcome.stdout.lines().take_while(|line| !line.contains('╭') && !line.contains("help:")).collect();
        let head = head.join(" ").replace('│', " ").split_whitespace().collect::<Vec<_>>().join(" ");
        let expected = fixture.expected.first()?;
        let begins = format!("{level}: {}", expected.file);
        let is_plain = head.contains(&begins) && head.ends_with(&format!("[{name}]"));
        (!is_plain).then(|| format!("expected `{begins}… [{name}]`, got {head:?}"))
    });
}

#[test]
fn no_control_character_is_ever_printed() {
    every_fixture(|_, _, root| {
        let printed = [run_check(root, &[]).stdout, run_check(root, &["--json"]).stdout].concat();
        let raw = printed.chars().find(|c| *c != '\n' && exitsite::text::is_unprintable(*c))?;
        Some(format!("{raw:?} is printed"))
    });
}

#[test]
fn names_and_texts_that_steer_a_terminal_are_shown_not_obeyed() {
    let root = records(
        "--- patients/P-001/2026/2026-11-23T1840-shower.toml\nkind = \"shower\u{202e}\"\n\
         \"k\\u001b[2J\" = \"\\u0007\"\n\
         at = 2026-11-23T18:40:00-06:00\nby = \"p001\\u001b[2J\"\nnote = \"a\\u202eb\\u2028c\"\n",
    );
    let names: [&[u8]; 4] =
        [b"2026-\x1b[2J.toml", "2026\u{202e}.toml".as_bytes(), "Р-002.toml".as_bytes(), b"\xff.toml"];
    for name in names.map(OsStr::from_bytes) {
        fs::write(root.path().join("patients/P-001/2026").join(name), "").unwrap();
        fs::write(root.path().join("patients").join(name), "").unwrap();
    }
    for arguments in [&[][..], &["--json"]] {
        let printed = run_check(root.path(), arguments).stdout;
        let raw = printed.chars().find(|c| *c != '\n' && exitsite::text::is_unprintable(*c));
        assert_eq!(raw, None, "{printed}");
    }
    let strays: Vec<String> =
        places(&findings(root.path())).into_iter().filter(|place| place.starts_with("stray-folder")).collect();
    assert_eq!(
        strays,
        [
            "stray-folder patients/2026-\\u{1b}[2J.toml",
            "stray-folder patients/2026\\u{202e}.toml",
            "stray-folder patients/\\u{420}-002.toml",
            "stray-folder patients/\\xFF.toml"
        ]
    );
}

#[test]
fn private_data_is_found_in_every_free_text_and_never_repeated() {
    let shower = "kind = \"shower\"\nat = 2026-11-23T18:40:00-06:00\nby = \"p001-spouse\"\n";
    let amended = "[[amended]]\nat = 2026-11-23T19:00:00-06:00\nby = \"co-1\"\n";
    let change = "kind = \"change\"\nat = 2026-11-23T18:40:00-06:00\nby = \"p001-spouse\"\n";
    let culture = "kind = \"culture\"\nat = 2026-11-23T18:40:00-06:00\nby = \"rn-07\"\nspecimen = \"blood\"\n";
    let cases = [
        ("shower", format!("{shower}note = \"ring 312-555-0142\"\n"), "312-555-0142"),
        ("shower", format!("{shower}note = \"wrote from somebody@example.org\"\n"), "somebody@example.org"),
        ("shower", format!("{shower}note = \"MRN 0044123\"\n"), "0044123"),
        ("shower", format!("{shower}note = \"Mary Example, 00441239\"\n"), "Mary Example"),
        ("shower", format!("{shower}note = '''\nfirst\nring 312-555-0142\n'''\n"), "312-555-0142"),
        ("shower", format!("{shower}{amended}why = \"ring 312-555-0142\"\nwas = \"x\"\n"), "312-555-0142"),
        ("shower", format!("{shower}{amended}why = \"x\"\nwas = \"ring 312-555-0142\"\n"), "312-555-0142"),
        ("change", format!("{change}steps_missed = [\"hands\"]\nnote = \"ring (312) 555 0142\"\n"), "555 0142"),
        (
            "culture",
            format!("{culture}[result]\non = 2026-11-23\ngrowth = true\norganisms = [\"see 312-555-0142\"]\n"),
            "312-555-0142",
        ),
    ];
    let mut faults = Vec::new();
    for (kind, content, private) in &cases {
        let root = records(&format!("--- patients/P-001/2026/2026-11-23T1840-{kind}.toml\n{content}"));
        let found: Vec<String> = findings(root.path()).iter().map(|finding| text(finding, "rule").to_owned()).collect();
        if found != ["private-data"] {
            faults.push(format!("found {found:?} in\n{content}"));
        }
        for arguments in [&[][..], &["--json"]] {
            if run_check(root.path(), arguments).stdout.contains(private) {
                faults.push(format!("{arguments:?} repeats {private:?} of\n{content}"));
            }
        }
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

#[test]
fn what_is_harmless_stays_harmless() {
    let change = "kind = \"change\"\nby = \"p001-spouse\"\n";
    let root = records("folder patients/P-001/2025\nfolder staff/rn-07\nfolder .git\n");
    let year = root.path().join("patients/P-001/2026");
    let write = |name: &str, content: &str| fs::write(ready(&year, name), content).unwrap();
    // Copies of a record are not read either; `check` names them.
    let beside = [".swp", ".tmp"].map(|ending| format!("2026-11-20-change.toml{ending}"));
    for name in beside.iter().map(String::as_str).chain([
        ".2026-11-20-change.toml.x1.tmp",
        "#2026-11-20-change.toml#",
        ".hidden.toml",
    ]) {
        write(name, "not [ toml");
        for folder in ["", "patients", "patients/P-001", "staff"] {
            fs::write(ready(root.path(), format!("{folder}/{name}").trim_start_matches('/')), "no").unwrap();
        }
    }
    symlink("user@host.4711:1", year.join(".#2026-11-20-change.toml")).unwrap();
    symlink("nowhere", year.join("2026-11-20-change.toml.bak~")).unwrap();
    fs::write(root.path().join("README.md"), "# Records\n").unwrap();
    // A byte order mark, foreign line ends, seconds in `at`, no offset, a number without its predecessors.
    write("2026-11-10-change.toml", &format!("\u{feff}{change}on = 2026-11-10\n"));
    write("2026-11-11T1855-change.toml", &format!("{change}at = 2026-11-11T18:55:59-06:00\n").replace('\n', "\r\n"));
    write("2026-11-12T1855-change.toml", &format!("{change}at = 2026-11-12T18:55:00\nnote = '''\nÄ\ttab\n'''\n"));
    write("2026-11-13T1855-change-7.toml", &format!("{change}at = 2026-11-13 18:55:00-06:00\n"));
    write("2026-11-14T0059-change-999.toml", &format!("{change}at = 2026-11-14T00:59:00-06:00\n"));
    // Within ten minutes of the clock; 91 minutes apart.
    write("2026-11-24T0725-change.toml", &format!("{change}at = 2026-11-24T07:25:00-06:00\n"));
    write("2026-11-24T0554-change.toml", &format!("{change}at = 2026-11-24T05:54:00-06:00\n"));
    // The limits of plausible values, and usual practice over a site with drainage.
    write(
        "2026-11-15T1855-change.toml",
        &format!(
            "{change}at = 2026-11-15T18:55:00-06:00\n[site]\nredness_mm = 60\ncrust_mm = 0.5\ntemperature_c = 34\n"
        ),
    );
    write(
        "2026-11-16T1855-change.toml",
        &format!(
            "{change}at = 2026-11-16T18:55:00-06:00\n[site]\nredness_mm = 0\ntemperature_c = 42.5\n\
             drainage = \"serous\"\namount = \"scant\"\n\
             [materials]\ngauze = true\ndisc = \"dry\"\ndriveline_cleansed = true\n"
        ),
    );
    // The contents of a voided record are not checked as long as it can be parsed.
    write(
        "2026-11-17T1855-change.toml",
        &format!(
            "{change}at = 2026-11-17T18:55:00-06:00\nexit = \"z\"\n\
             [site]\nredness_mm = 900\ndrainage = \"none\"\namount = \"small\"\n\
             [void]\nat = 2026-11-18T08:00:00-06:00\nby = \"co-1\"\nwhy = \"another patient\"\n"
        ),
    );
    // Days, times, measurements and file names are not numbers of people.
    write(
        "2026-11-18T1855-change.toml",
        &format!(
            "{change}at = 2026-11-18T18:55:00-06:00\n\
             note = \"as on 2026-11-16, 18:55-19:10; 12 mm; \
             see 2026-11-16T1855-change.toml, lot 4711\"\n"
        ),
    );
    // The night shift before the start of the care day.
    write("2026-11-19T0130-change.toml", &format!("{change}at = 2026-11-19T01:30:00-06:00\n"));
    let worse: Vec<String> = places(
        &findings(root.path()).into_iter().filter(|finding| text(finding, "level") != "note").collect::<Vec<_>>(),
    );
    assert_eq!(worse, Vec::<String>::new());
}

#[test]
fn a_program_without_patients_or_staff_is_no_fault() {
    let root = TempDir::new().unwrap();
    fs::write(root.path().join("policy.toml"), "schema = 1\nprogram = \"P\"\ntime_zone = \"UTC\"\n").unwrap();
    assert_eq!((findings(root.path()).len(), run_check(root.path(), &[]).status), (0, 0), "no patients/ at all");
    fs::create_dir(root.path().join("patients")).unwrap();
    assert_eq!((findings(root.path()).len(), run_check(root.path(), &[]).status), (0, 0), "an empty patients/");
}

#[test]
fn without_a_staff_list_every_code_but_a_caregivers_warns() {
    let root = records(
        "--- patients/P-001/2026/2026-11-20T1840-shower.toml\nkind = \"shower\"\n\
         at = 2026-11-20T18:40:00-06:00\nby = \"rn-07\"\n\
         --- patients/P-001/2026/2026-11-21T1840-shower.toml\nkind = \"shower\"\n\
         at = 2026-11-21T18:40:00-06:00\nby = \"p001-spouse\"\n",
    );
    fs::remove_file(root.path().join("people.toml")).unwrap();
    assert_eq!(places(&findings(root.path())), ["unknown-person patients/P-001/2026/2026-11-20T1840-shower.toml:3"]);
}

#[test]
fn a_policy_that_cannot_be_used_does_not_hide_the_rest() {
    let root = records(
        "--- policy.toml\nschema = 1\nprogram = \"P\"\n--- patients/P-001/2026/2026-11-20T1840-shower.toml\n\
         kind = \"shower\"\nat = 2026-11-20T18:40:00-06:00\nby = \"nobody\"\n",
    );
    assert_eq!(
        places(&findings(root.path())),
        ["unknown-person patients/P-001/2026/2026-11-20T1840-shower.toml:3", "missing-key policy.toml:1"]
    );
}

#[test]
fn a_policy_of_a_newer_form_stops_with_one_sentence() {
    let root = records("--- policy.toml\nschema = 2\nprogram = \"P\"\ntime_zone = \"UTC\"\n");
    let outcome = run_check(root.path(), &[]);
    assert_eq!((outcome.stdout.as_str(), outcome.status), ("", 2));
    assert!(outcome.stderr.contains("written for a newer version of exitsite"), "{}", outcome.stderr);
}

/// Runs `work` and fails if it takes longer than a minute.
fn within_a_minute<T: Send + 'static>(work: impl FnOnce() -> T + Send + 'static) -> T {
    let (done, waiting) = mpsc::channel();
    thread::spawn(move || done.send(work()));
    waiting.recv_timeout(Duration::from_secs(60)).expect("it hangs or panicked")
}

#[test]
fn a_pipe_does_not_hang_wherever_it_stands() {
    let mut faults = Vec::new();
    for file in
        ["patients/P-001/2026/2026-11-23T1840-shower.toml", "patients/P-001/patient.toml", "people.toml", "policy.toml"]
    {
        let root = records("");
        _ = fs::remove_file(root.path().join(file));
        fifo(&ready(root.path(), file));
        let here = root.path().to_owned();
        let found = within_a_minute(move || places(&findings(&here)));
        if found != [format!("not-a-regular-file {file}")] {
            faults.push(format!("{file}: {found:?}"));
        }
    }
    let root = records("");
    fifo(&root.path().join("staff"));
    let here = root.path().to_owned();
    let found = within_a_minute(move || places(&findings(&here)));
    if found.len() != 1 {
        faults.push(format!("staff: {found:?}"));
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

#[test]
fn a_huge_file_is_never_read_whole() {
    // Ten gigabytes of zeros: reading the whole file would exhaust memory or time.
    for (file, bytes) in [("patients/P-001/2026/2026-11-23T1840-shower.toml", 10 << 20), ("people.toml", 10 << 30)] {
        let root = records("");
        File::create(ready(root.path(), file)).unwrap().set_len(bytes).unwrap();
        let here = root.path().to_owned();
        let found = within_a_minute(move || places(&findings(&here)));
        assert_eq!(found, [format!("too-large {file}")]);
    }
}

#[test]
fn what_lies_too_deep_is_found_before_it_is_parsed() {
    let deep: Vec<(&str, String)> = vec![
        ("65 lists", format!("note = {}{}", "[".repeat(65), "]".repeat(65))),
        ("65 tables in braces", format!("note = {}1{}", "{a=".repeat(65), "}".repeat(65))),
        ("a key of 65 dots", format!("note{} = 1", ".a".repeat(65))),
        ("a header of 65 dots", format!("[note{}]", ".a".repeat(65))),
        ("100000 lists that are never closed", format!("note = {}", "[".repeat(100_000))),
        ("200000 dots", format!("note{}", ".".repeat(200_000))),
        (
            "100000 dots behind a text that ends in four quotes",
            format!("note = ['''x'''', {{a{} = 1}}]", ".a".repeat(100_000)),
        ),
        ("a header and a key, 80 levels together", format!("[note{}]\na{} = 1", ".a".repeat(40), ".a".repeat(40))),
        (
            "tables in braces with dotted keys, 4000 levels",
            format!("note = {}1{}", format!("{{a{} = ", ".a".repeat(62)).repeat(63), "}".repeat(63)),
        ),
    ];
    let mut faults = Vec::new();
    for (about, content) in deep {
        for file in ["patients/P-001/2026/2026-11-23T1840-shower.toml", "policy.toml"] {
            let root = records("");
            fs::write(ready(root.path(), file), format!("{content}\n")).unwrap();
            // In a separate process: a stack overflow kills the process.
            let mut command = Command::new(env!("CARGO_BIN_EXE_exitsite"));
            command.args(["check", "--json", "--records"]).arg(root.path());
            let outcome = within_a_minute(move || command.output().unwrap());
            let rules = match serde_json::from_slice::<Value>(&outcome.stdout) {
                Ok(report) => places(report["findings"].as_array().unwrap()),
                Err(_) => vec![outcome.status.to_string()],
            };
            let is_too_deep = rules.len() == 1 && rules[0].starts_with(&format!("too-deep {file}"));
            if !is_too_deep {
                faults.push(format!("{about} in {file}: {rules:?}"));
            }
        }
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

#[test]
fn fail_on_says_from_which_level_the_exit_status_is_1() {
    let each = fixtures();
    let root_of = |name: &str| laid_out(&each.iter().find(|(known, _)| known == name).unwrap().1[0]);
    for (name, plain, strict) in [("log-gap", 0, 0), ("unlikely-number", 0, 1), ("unknown-word", 1, 1)] {
        let root = root_of(name);
        assert_eq!(run_check(root.path(), &[]).status, plain, "{name}");
        assert_eq!(run_check(root.path(), &["--fail-on", "error"]).status, plain, "{name}");
        assert_eq!(run_check(root.path(), &["--fail-on", "warning"]).status, strict, "{name}");
    }
}

#[test]
fn every_rule_can_be_turned_down_in_the_policy_except_those_for_unreadable_records() {
    every_fixture(|name, _, root| {
        let policy = root.join("policy.toml");
        let written = fs::read_to_string(&policy).ok()?;
        let rule = Rule::from_word(name)?;
        let level = rule.level();
        // Left out: findings in the policy itself, and rules that are notes already.
        if level == Level::Note || findings(root).iter().any(|finding| text(finding, "file") == "policy.toml") {
            return None;
        }
        fs::write(&policy, format!("{written}\n[check]\n{name} = {{ severity = \"note\", why = \"tested\" }}\n"))
            .ok()?;
        let (report, status) = report(root, &["--fail-on", "warning"]);
        if !rule.can_be_turned_down() {
            let found = places(report["findings"].as_array()?);
            let says = |rule: &str| found.iter().any(|place| place.starts_with(&format!("{rule} ")));
            let is_seen = says("check-setting") && says(name) && status == 1;
            return (!is_seen).then(|| format!("{found:?}, exit {status}"));
        }
        let levels: Vec<&str> = report["findings"].as_array()?.iter().map(|finding| text(finding, "level")).collect();
        (levels != ["note"] || status != 0).then(|| format!("levels {levels:?}, exit {status}"))
    });
}

#[test]
fn a_rule_is_turned_down_only_with_a_reason_and_never_up() {
    let policy = "schema = 1\nprogram = \"P\"\ntime_zone = \"UTC\"\n[check]\n";
    for (row, rule) in [
        ("unlikely-number = { severity = \"note\" }", "missing-key"),
        ("unlikely-number = { severity = \"off\", why = \"x\" }", "unknown-word"),
        ("unlikely-number = { severity = \"warning\", why = \"x\" }", "check-setting"),
        ("unlikely-numbr = { severity = \"note\", why = \"x\" }", "check-setting"),
        ("private-data = { severity = \"note\", why = \"\" }", "check-setting"),
        ("private-data = { severity = \"note\", why = \" \" }", "check-setting"),
        ("syntax = { severity = \"note\", why = \"x\" }", "check-setting"),
        ("name-disagrees = { severity = \"warning\", why = \"x\" }", "check-setting"),
    ] {
        let root = records(&format!("--- policy.toml\n{policy}{row}\n"));
        assert_eq!(places(&findings(root.path())), [format!("{rule} policy.toml:5")], "{row}");
    }
    // A signal turned off needs a reason, too.
    for reason in ["", " "] {
        let row = format!("[signals]\npus = {{ off = \"{reason}\" }}\n");
        let root = records(&format!("--- policy.toml\nschema = 1\nprogram = \"P\"\ntime_zone = \"UTC\"\n{row}"));
        assert_eq!(places(&findings(root.path())), ["check-setting policy.toml:5"], "{row}");
    }
    // An unreadable file is an error whatever the policy says, and the hook does not pass it.
    let row = "syntax = { severity = \"note\", why = \"x\" }";
    let broken = "--- patients/P-001/2026/2026-11-23T1840-shower.toml\nkind = \n";
    let root = records(&format!("--- policy.toml\n{policy}{row}\n{broken}"));
    assert_eq!(run_check(root.path(), &[]).status, 1);
}

#[test]
fn twenty_findings_of_one_rule_in_one_file_are_listed_and_the_rest_counted() {
    let keys: String = (1..=25).map(|n| format!("zz{n} = 1\n")).collect();
    let root = records(&format!(
        "--- patients/P-001/2026/2026-11-23T1840-shower.toml\nkind = \"shower\"\nat = 2026-11-23T18:40:00-06:00\n\
         by = \"p001-spouse\"\n{keys}"
    ));
    let found = findings(root.path());
    assert_eq!(found.len(), 21);
    assert!(text(&found[20], "message").starts_with("5 more"), "{}", found[20]);
    assert_eq!(found[19]["line"], 23);
}

#[test]
fn a_partial_check_says_that_the_rest_was_not_checked() {
    let broken = "--- patients/P-001/2026/2026-11-23T1840-shower.toml\nkind = \n";
    let root = records(broken);
    let said = |paths: &[&str]| {
        let outcome = run_check(root.path(), paths);
        (outcome.status, outcome.stdout.lines().last().unwrap_or_default().to_owned())
    };
    let clean = "No problems found in people.toml, policy.toml. Nothing else was checked.";
    assert_eq!(said(&["people.toml", "policy.toml"]), (0, clean.to_owned()));
    assert_eq!(said(&["."]).0, 1);
    std::fs::remove_file(root.path().join("patients/P-001/2026/2026-11-23T1840-shower.toml")).unwrap();
    assert_eq!(said(&[]), (0, "No problems found in the records.".to_owned()));
    assert_eq!(said(&["."]), (0, "No problems found in the records.".to_owned()));
}

#[test]
fn findings_are_sorted_by_file_and_line_and_a_path_narrows_them() {
    let root = records(
        "--- patients/P-001/2026/2026-11-23T1840-shower.toml\nkind = \"shower\"\nat = 2026-11-23T18:40:00-06:00\n\
         by = \"rn-08\"\nwater = \"rain\"\n--- patients/P-001/2026/2026-11-20T1840-shower.toml\nkind = \"shower\"\n\
         at = 2026-11-20T18:40:00-06:00\nby = \"rn-08\"\n",
    );
    let later = "unknown-word patients/P-001/2026/2026-11-23T1840-shower.toml:4";
    assert_eq!(
        places(&findings(root.path())),
        ["unknown-person patients/P-001/2026/2026-11-20T1840-shower.toml:3", later]
    );
    let (narrow, status) = report(root.path(), &["patients/P-001/2026/2026-11-23T1840-shower.toml"]);
    assert_eq!((places(narrow["findings"].as_array().unwrap()), status), (vec![later.to_owned()], 1));
}

#[test]
fn a_long_line_is_cut_around_the_value() {
    let long = "x".repeat(5000);
    let root = records(&format!(
        "--- patients/P-001/2026/2026-11-23T1840-shower.toml\nkind = \"shower\"\nat = 2026-11-23T18:40:00-06:00\n\
         by = \"p001-spouse\"\nwater = \"{long}\"\n{long} = 1\n"
    ));
    let printed = run_check(root.path(), &[]).stdout;
    let widest = printed.lines().map(|line| line.chars().count()).max();
    assert!(widest <= Some(130), "{widest:?}: 120 of the excerpt, and the line number beside it");
}

#[test]
fn what_cannot_be_read_at_all_stands_in_unusable_and_never_exits_3() {
    every_fixture(|name, fixture, root| {
        let unread =
            ["syntax", "not-utf8", "conflict-markers", "missing-file", "too-large", "too-deep", "not-a-regular-file"];
        let (report, status) = report(root, &[]);
        let files: Vec<&str> = report["unusable"].as_array()?.iter().map(|unusable| text(unusable, "file")).collect();
        let expected = fixture.expected.first()?;
        let is_right = files == if unread.contains(&name) { vec![expected.file.as_str()] } else { vec![] };
        let is_error = Rule::from_word(name)?.level() == Level::Error;
        (!is_right || status != u8::from(is_error)).then(|| format!("unusable {files:?}, exit {status}"))
    });
}

#[test]
fn every_rule_is_explained() {
    let root = records("");
    let all = run_check(root.path(), &["--explain", "all"]).stdout;
    let words = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
    for rule in Rule::ALL {
        let outcome = run_check(root.path(), &["--explain", rule.word()]);
        assert_eq!((outcome.stderr.as_str(), outcome.status), ("", 0), "{}", rule.word());
        let said = words(&outcome.stdout);
        assert!(said.starts_with(&format!("{} ({})", rule.word(), rule.level())), "{said}");
        assert!(said.contains(&words(rule.why())), "{said}");
        assert!(words(&all).contains(&said), "{said}");
    }
    let outcome = run_check(root.path(), &["--explain", "unknown-persn"]);
    assert_eq!((outcome.stdout.as_str(), outcome.status), ("", 2));
    assert!(outcome.stderr.contains("did you mean unknown-person?"), "{}", outcome.stderr);
}
