//! Logs and spreadsheets imported as records: all or nothing, twice is the same as once, and all bad rows are listed at
//! once.

#![allow(clippy::unwrap_used, clippy::expect_used, reason = "a test fails by panicking")]

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

use exitsite::command::{Outcome, Surroundings, Terminal, run};
use exitsite::problem::Failure;
use proptest::prelude::*;
use tempfile::TempDir;

const POLICY: &str = "schema = 1\nprogram = 'Invented'\ntime_zone = 'America/Chicago'\n";
const PEOPLE: &str = "[[person]]\ncode = 'co-1'\nrole = 'coordinator'\nmay_sign = true\nfrom = 2025-01-06\n";
const PATIENT: &str = "implanted = 2026-06-01
[[exit]]
id = 'a'
where = 'midline'
from = 2026-06-01
why = 'implant'
[[care]]
from = 2026-06-01
place = 'home'
reports = 'log'
[[caregiver]]
code = 'home-1'
relation = 'other'
";

/// A records folder of two patients, and a folder for the files to import.
struct Kept {
    folder: TempDir,
    now: &'static str,
}

impl Kept {
    fn new() -> Kept {
        let folder = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).unwrap();
        let kept = Kept { folder, now: "2026-11-24T13:15:00Z" };
        kept.write("policy.toml", POLICY);
        kept.write("people.toml", PEOPLE);
        for (code, caregiver) in [("P-001", "home-1"), ("P-002", "home-2")] {
            let patient = PATIENT.replace("home-1", caregiver);
            kept.write(&format!("patients/{code}/patient.toml"), &format!("code = '{code}'\n{patient}"));
        }
        kept
    }

    fn records(&self) -> PathBuf {
        self.folder.path().join("records")
    }

    fn write(&self, name: &str, text: &str) {
        let path = self.records().join(name);
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::write(path, text).unwrap();
    }

    fn run(&self, arguments: &[&str], terminal: Option<&dyn Terminal>) -> Outcome {
        let surroundings = Surroundings {
            now: self.now.parse().unwrap(),
            here: self.folder.path().to_owned(),
            records: Some(self.records()),
            writer: Some("co-1".to_owned()),
            terminal,
            width: Some(1_000),
            error_width: Some(1_000),
            ..Surroundings::default()
        };
        run(["exitsite", "import"].iter().chain(arguments).map(Into::into), &surroundings)
    }

    /// Imports a text as log.csv.
    fn import(&self, csv: &str, arguments: &[&str]) -> Outcome {
        self.import_bytes(csv.as_bytes(), arguments)
    }

    fn import_bytes(&self, csv: &[u8], arguments: &[&str]) -> Outcome {
        fs::write(self.folder.path().join("log.csv"), csv).unwrap();
        self.run(&[&["log.csv"], arguments].concat(), None)
    }

    fn import_with_map(&self, csv: &str, map: &str) -> Outcome {
        fs::write(self.folder.path().join("map.toml"), map).unwrap();
        self.import(csv, &["--map", "map.toml"])
    }

    /// Every file of the records with its text.
    fn files(&self) -> BTreeMap<String, String> {
        let mut files = BTreeMap::new();
        gather(&self.records(), &self.records(), &mut files);
        files
    }

    /// The new records, by the end of their path.
    fn events(&self) -> Vec<String> {
        let name = |file: String| file.strip_prefix("patients/")?.contains("/2").then_some(file);
        self.files().into_keys().filter_map(name).collect()
    }

    fn text(&self, name: &str) -> String {
        fs::read_to_string(self.records().join("patients").join(name)).unwrap()
    }

    /// Asserts that `check` passes.
    fn is_sound(&self) {
        let surroundings = Surroundings {
            now: self.now.parse().unwrap(),
            here: self.folder.path().to_owned(),
            records: Some(self.records()),
            ..Surroundings::default()
        };
        let outcome = run(["exitsite", "check"].map(Into::into), &surroundings);
        assert_eq!(outcome.status, 0, "{}", outcome.stdout);
    }
}

fn gather(root: &Path, folder: &Path, files: &mut BTreeMap<String, String>) {
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            gather(root, &path, files);
        } else {
            let name = path.strip_prefix(root).unwrap().to_str().unwrap().to_owned();
            files.insert(name, fs::read_to_string(path).unwrap());
        }
    }
}

fn done(outcome: &Outcome) -> &str {
    assert_eq!(outcome.status, 0, "{}", outcome.stderr);
    &outcome.stdout
}

/// Asserts that a file is refused and changes nothing. Returns the message.
fn refused(kept: &Kept, csv: &str, arguments: &[&str]) -> String {
    let before = kept.files();
    let Outcome { stdout, stderr, status, .. } = kept.import(csv, arguments);
    assert_eq!((status, stdout.as_str()), (2, ""), "{csv}: {stderr}");
    assert!(stderr.contains("Nothing was written") || !stderr.contains("line "), "{stderr}");
    assert_eq!(kept.files(), before, "{stderr}");
    stderr
}

fn says(text: &str, parts: &[&str]) {
    parts.iter().for_each(|part| assert!(text.contains(part), "{part} is not in:\n{text}"));
}

const LOG: &str = "\
patient,date,time,kind,by,found.dressing,site.drainage,site.redness_mm,site.odor,water,note
P-001,2026-11-03,18:40,shower,patient,,,,,shower,
P-001,2026-11-03,19:05,change,home-1,intact,none,0,no,,\"dry,
as always\"
P-001,2026-11-04,,,,,,,,,
P-001,2026-11-05,,change,home-1,lifting,serous,2.5,,,
P-002,2026-11-05,7:15 am,change,home-2,,,,,,
";

#[test]
fn a_log_becomes_records() {
    let kept = Kept::new();
    let outcome = kept.import(LOG, &[]);
    says(
        done(&outcome),
        &[
            "Imported 3 records for P-001, 2026-11-03 to 2026-11-05: 2 changes, 1 shower; already on file: 0; not filled in: 1.",
            "Imported 1 record for P-002, 2026-11-05: 1 change; already on file: 0; not filled in: 0.",
            "exitsite void FILE --why",
            "patients/P-001/2026/2026-11-03T1905-change.toml",
        ],
    );
    assert_eq!(
        kept.text("P-001/2026/2026-11-03T1905-change.toml"),
        "kind = \"change\"
at = 2026-11-03T19:05:00-06:00
by = \"home-1\"
source = \"log\"
note = \"dry,\\nas always\"

[found]
dressing = \"intact\"

[site]
drainage = \"none\"
redness_mm = 0
odor = false

[entered]
at = 2026-11-24T07:15:00-06:00
by = \"co-1\"
"
    );
    assert_eq!(kept.events().len(), 4);
    kept.is_sound();
}

#[test]
fn twice_is_the_same_as_once() {
    let mut kept = Kept::new();
    done(&kept.import(LOG, &["--log", "2026-11-01", "2026-11-23", "--yes"]));
    let before = kept.files();
    kept.now = "2026-11-25T13:15:00Z";
    let outcome = kept.import(LOG, &["--log", "2026-11-01", "2026-11-23"]);
    says(
        done(&outcome),
        &[
            "Nothing new for P-001; already on file: 3; not filled in: 1; log of 2026-11-01 to 2026-11-23 already on file.",
            "Nothing new for P-002; already on file: 1",
        ],
    );
    assert_eq!(kept.files(), before);
}

#[test]
fn any_separator_mark_and_line_end_gives_the_same_records() {
    let once = Kept::new();
    done(&once.import(LOG, &[]));
    for separator in [";", "\t"] {
        for (mark, end) in [("", "\n"), ("\u{feff}", "\r\n"), ("\u{feff}", "\n")] {
            let quoted = LOG.replace("\"dry,\nas always\"", "DRY").replace(',', separator);
            let text = quoted.replace("DRY", "\"dry,\nas always\"").replace('\n', end);
            let kept = Kept::new();
            done(&kept.import(&format!("{mark}{text}"), &[]));
            let same = |text: String| text.replace("\\r\\n", "\\n");
            let files: BTreeMap<String, String> =
                kept.files().into_iter().map(|(name, text)| (name, same(text))).collect();
            assert_eq!(files, once.files(), "{separator:?} {end:?}");
        }
    }
}

#[test]
fn every_bad_row_is_named_at_once_and_nothing_is_written() {
    let kept = Kept::new();
    let csv = "patient,on,kind,by,site.drainage,site.redness_mm,water,note\n\
        P-001,2026-11-03,change,home-1,clear,,,\n\
        P-01,2026-11-03,change,home-1,none,,,\n\
        P-001,11/3/2026,change,home-1,none,,,\n\
        P-001,2026-11-03,chnage,home-1,none,,,\"two\nlines\"\n\
        P-001,2026-11-05,change,home-1,none,900,,\n\
        P-001,2026-11-06,change,home-9,none,,,\n\
        P-001,2026-11-07,change,=cmd(),none,,,\n\
        P-001,2026-12-01,change,home-1,none,,,\n\
        P-001,2026-05-01,change,home-1,none,,,\n\
        P-001,yesterday,change,home-1,none,,,\n\
        P-001,2026-11-08,shower,home-1,none,,shower,\n\
        P-001,2026-11-09,change,,none,,,\n\
        P-001,2026-11-10,change,home-1,none,,,ring 312-555-0142\n\
        P-001,2026-11-11,change,home-1,none,x\u{1b}[2J,,\n\
        P-001,2026-11-12,change,home-1,none,,,,more\n\
        P-001,2026-11-13,,home-1,none,,,\n\
        patient,on,kind,by,site.drainage,site.redness_mm,water,note\n";
    let said = refused(&kept, csv, &[]);
    says(
        &said,
        &[
            "has 17 places to correct",
            "line 2: site.drainage: \"clear\" is not a choice. ",
            "se none, serous, serosanguineous, sanguineous or purulent",
            "line 3: patient: \"P-01\": No patient P-01 on file. Did you mean P-001?",
            "line 4: on: \"11/3/2026\" is not a date. Write 2026-11-23",
            "line 5: kind: \"chnage\" is not a kind of record; did you mean change?",
            "line 7: site.redness_mm: \"900\": `redness_mm` cannot be 900 mm",
            "line 8: by: \"home-9\": Unknown code home-9. Codes on file: ",
            "line 9: by: \"=cmd()\": `by` is not a person's code",
            "line 10: on: \"2026-12-01\" is in the future",
            "line 11: on: \"2026-05-01\": The patient was implanted on 2026-06-01",
            "line 12: on: \"yesterday\" is not a date",
            "line 13: site.drainage: \"none\": A shower record has no site.drainage, a change record has; one row is one record",
            "line 14: `by` is missing",
            "line 15: note: `note` contains what looks like a telephone number",
            "line 16: site.redness_mm: \"x\\u{1b}[2J\" is not a number",
            "line 17: column 9: \"more\": The row has more cells than the header",
            "line 18: `kind` is empty",
            "line 19: This is the header again",
        ],
    );
    assert!(!said.contains("555"), "a telephone number is repeated:\n{said}");
}

#[test]
fn every_bad_cell_of_a_row_is_named_at_once() {
    let kept = Kept::new();
    let csv = "patient,on,kind,by,found.dressing,site.drainage,site.redness_mm,site.amount,same\n\
        P-001,2026-11-03,change,home-9,intakt,clear,900,scant,perhaps\n\
        P-001,11/3/2026,change,home-9,intact,none,900,,\n\
        P-01,2026-11-03,chnage,home-9,intact,none,900,,\n";
    let said = refused(&kept, csv, &[]);
    says(
        &said,
        &[
            "has 10 places to correct",
            "line 2: by: \"home-9\": Unknown code home-9. Codes on file: ",
            "line 2: found.dressing: \"intakt\" is not a choice. Did you mean intact?",
            "line 2: site.drainage: \"clear\" is not a choice",
            "line 2: site.redness_mm: \"900\": `redness_mm` cannot be 900 mm",
            "line 2: same: \"perhaps\" is not a choice",
            "line 3: on: \"11/3/2026\" is not a date",
            "line 3: by: \"home-9\": Unknown code home-9",
            "line 3: site.redness_mm: \"900\"",
            "line 4: patient: \"P-01\": No patient P-01 on file",
            "line 4: kind: \"chnage\" is not a kind of record",
        ],
    );
}

#[test]
fn a_header_that_cannot_be_used_says_what_is_meant() {
    let kept = Kept::new();
    let check = |csv: &str, arguments: &[&str], parts: &[&str]| says(&refused(&kept, csv, arguments), parts);
    check(
        "patient,on,kind,by,site.drainge\nP-001,2026-11-03,change,home-1,none\n",
        &[],
        &["site.drainge", "Did you mean site.drainage?", "--map"],
    );
    check("patient,on,on,kind,by\nP-001,,,,\n", &[], &["\"on\" appears twice"]);
    check("on,kind,by\n2026-11-03,change,home-1\n", &[], &["--patient CODE"]);
    check("patient,on,by\nP-001,2026-11-03,home-1\n", &[], &["--kind change"]);
    check("patient,on,kind\nP-001,2026-11-03,change\n", &[], &["--by CODE"]);
    check("patient,kind,by\nP-001,change,home-1\n", &[], &["No column has the time"]);
    check("patient,on,kind,by\n", &[], &["no rows below the header"]);
    check("", &[], &["the file is empty"]);
    check("on,kind,by\n2026-11-03,change,home-1\n", &["--patient", "P-01"], &["Did you mean P-001?"]);
}

#[test]
fn what_the_file_does_not_say_is_said_once_for_all_rows() {
    let kept = Kept::new();
    let arguments = ["--patient", "P-001", "--kind", "change", "--by", "home-1"];
    done(&kept.import("on,note\n2026-11-03,dry\n", &arguments));
    says(&kept.text("P-001/2026/2026-11-03-change.toml"), &["by = \"home-1\"", "source = \"log\""]);
    let said = refused(&kept, "patient,on,note\nP-002,2026-11-05,dry\n", &arguments);
    says(&said, &["line 2: patient: \"P-002\" is not the patient of --patient, P-001"]);
}

#[test]
fn a_file_that_is_no_csv_in_utf8_is_refused_with_its_line() {
    let kept = Kept::new();
    let check = |bytes: &[u8], parts: &[&str]| {
        let Outcome { stdout, stderr, status, .. } = kept.import_bytes(bytes, &[]);
        assert_eq!((status, stdout.as_str()), (2, ""), "{stderr}");
        says(&stderr, parts);
    };
    check(b"patient,on\nP-001,2026-11-03\nP-001,caf\xe9\n", &["line 3", "CSV UTF-8"]);
    check(b"\xff\xfep\0a\0", &["UTF-16", "CSV UTF-8"]);
    check(b"patient,on\nP-001,\0\n", &["line 2", "zero byte"]);
    check(b"PK\x03\x04rest", &["workbook"]);
    check(b"patient,note\nP-001,\"dry\nP-001,wet\n", &["line 2", "never closed"]);
    check(b"patient,note\nP-001,\"dry\nP-001,\"wet\"\n", &["line 3", "middle of a text", "line 2"]);
    assert_eq!(kept.events(), [""; 0]);
}

#[test]
fn a_file_that_cannot_be_read_is_named() {
    let kept = Kept::new();
    fs::create_dir(kept.folder.path().join("folder.csv")).unwrap();
    for (name, part) in [("nowhere.csv", "does not exist"), ("folder.csv", "is a folder")] {
        let Outcome { stdout, stderr, status, .. } = kept.run(&[name], None);
        assert_eq!((status, stdout.as_str()), (2, ""));
        says(&stderr, &[name, part]);
    }
    let large = fs::File::create(kept.folder.path().join("large.csv")).unwrap();
    large.set_len(50_000_001).unwrap();
    says(&kept.run(&["large.csv"], None).stderr, &["more than 50 MB"]);
    std::os::unix::net::UnixListener::bind(kept.folder.path().join("s")).unwrap();
    assert_eq!(kept.run(&["s"], None).status, 2);
}

#[test]
fn who_writes_has_to_be_said_and_known() {
    let kept = Kept::new();
    says(&refused(&kept, LOG, &["--by-entered", "co-2"]), &["Unknown code co-2", "co-1", "--by-entered"]);
    fs::write(kept.folder.path().join("log.csv"), LOG).unwrap();
    let surroundings = Surroundings {
        now: kept.now.parse().unwrap(),
        here: kept.folder.path().to_owned(),
        records: Some(kept.records()),
        ..Surroundings::default()
    };
    let outcome = run(["exitsite", "import", "log.csv"].map(Into::into), &surroundings);
    assert_eq!(outcome.status, 2);
    says(&outcome.stderr, &["--by-entered", "EXITSITE_BY"]);
}

const TOLD: &str = "kind = 'change' # by telephone\nat = 2026-11-12T19:30:00-06:00\nby = 'home-1'\nsource = 'told'\n\n[left]\nanchor = 'in-place'\n";
const TOLD_FILE: &str = "patients/P-001/2026/2026-11-12T1930-change.toml";

fn told() -> Kept {
    let kept = Kept::new();
    kept.write(TOLD_FILE, TOLD);
    kept
}

const ALSO_IN_THE_LOG: &str = "patient,date,time,kind,by,left.dressing,left.anchor,note,same
P-001,2026-11-12,20:00,change,home-1,intact,in-place,dry,DECISION
";

#[test]
fn what_is_perhaps_the_same_stops_the_import() {
    let kept = told();
    let said = refused(&kept, &ALSO_IN_THE_LOG.replace("DECISION", ""), &["--yes"]);
    says(
        &said,
        &[
            "1 possible duplicate",
            "line 2: change at 2026-11-12 20:00 by home-1: possible duplicate of change at 2026-11-12 19:30 by home-1 (patients/P-001/2026/2026-11-12T1930-change.toml)",
            "Add a column named same",
        ],
    );
    says(&refused(&kept, &ALSO_IN_THE_LOG.replace("DECISION", "maybe"), &[]), &["\"maybe\" is not a choice"]);
}

#[test]
fn what_is_the_same_is_added_to_the_record_on_file() {
    let kept = told();
    let csv = ALSO_IN_THE_LOG.replace("DECISION", "same");
    says(
        done(&kept.import(&csv, &[])),
        &["Nothing new for P-001; added to 1 record on file; already on file: 0", TOLD_FILE],
    );
    assert_eq!(
        kept.text("P-001/2026/2026-11-12T1930-change.toml"),
        "kind = 'change' # by telephone
at = 2026-11-12T19:30:00-06:00
by = 'home-1'
source = 'told'
note = \"dry\"

[left]
dressing = \"intact\"
anchor = 'in-place'

[[amended]]
at = 2026-11-24T07:15:00-06:00
by = \"co-1\"
why = \"also in the log log.csv\"
was = \"left.dressing not given; note not given\"
"
    );
    let before = kept.files();
    says(done(&kept.import(&csv, &[])), &["already on file: 1"]);
    assert_eq!(kept.files(), before);
    kept.is_sound();
}

#[test]
fn what_is_the_same_and_says_something_else_is_refused_with_both() {
    let kept = told();
    let csv = ALSO_IN_THE_LOG.replace("DECISION", "same").replace("in-place", "loose");
    says(&refused(&kept, &csv, &[]), &["line 2: left.anchor: ", "\"loose\" here and \"in-place\" in", TOLD_FILE]);
    let csv = ALSO_IN_THE_LOG.replace("DECISION", "same").replace("2026-11-12", "2026-11-14");
    says(&refused(&kept, &csv, &[]), &["line 2: same: ", "Nothing on file or in this file is a possible duplicate"]);
}

#[test]
fn another_is_written_as_its_own_and_only_once() {
    let kept = told();
    let csv = ALSO_IN_THE_LOG.replace("DECISION", "another");
    done(&kept.import(&csv, &[]));
    let file = "patients/P-001/2026/2026-11-12T2000-change.toml";
    assert_eq!(kept.events(), [TOLD_FILE, file]);
    says(done(&kept.import(&csv, &[])), &["already on file: 1"]);
    assert_eq!(kept.events(), [TOLD_FILE, file]);
}

#[test]
fn two_rows_alike_are_one_until_somebody_says_otherwise() {
    let kept = Kept::new();
    let csv = "patient,on,kind,by,note,same\nP-001,2026-11-12,change,home-1,dry,\nP-001,2026-11-12,change,home-1,dry,DECISION\n";
    says(
        &refused(&kept, &csv.replace("DECISION", ""), &[]),
        &["possible duplicate of change on 2026-11-12 by home-1 (line "],
    );
    done(&kept.import(&csv.replace("DECISION", "another"), &[]));
    let both = ["patients/P-001/2026/2026-11-12-change-2.toml", "patients/P-001/2026/2026-11-12-change.toml"];
    assert_eq!(kept.events(), both);
    says(done(&kept.import(&csv.replace("DECISION", "another"), &[])), &["already on file: 2"]);
    assert_eq!(kept.events(), both);
    // The next run completes one that was killed between the two.
    fs::remove_file(kept.records().join(both[0])).unwrap();
    done(&kept.import(&csv.replace("DECISION", "another"), &[]));
    assert_eq!(kept.events(), both);
    let kept = Kept::new();
    let csv = csv.replace("dry,DECISION", ",same");
    done(&kept.import(&csv, &[]));
    says(done(&kept.import(&csv, &[])), &["already on file: 2"]);
    assert_eq!(kept.events(), [both[1]]);
}

#[test]
fn what_was_voided_or_amended_since_is_on_file_and_stays_as_it_is() {
    let kept = Kept::new();
    let csv = "patient,on,kind,by,found.anchor,note\nP-001,2026-11-12,change,home-1,loose,dry\nP-001,2026-11-14,change,home-1,,\nP-001,2026-11-16,culture,co-1,,\n";
    let csv = csv
        .replace("found.anchor", "specimen,found.anchor")
        .replace("home-1,", "home-1,,")
        .replace("co-1,", "co-1,blood,");
    done(&kept.import(&csv, &[]));
    let row = "at = 2026-11-20T10:00:00-06:00\nby = 'co-1'\nwhy = 'misread'\n";
    let change = |name: &str, change: &dyn Fn(String) -> String| {
        let text = change(kept.text(&format!("P-001/2026/{name}")));
        kept.write(&format!("patients/P-001/2026/{name}"), &text);
    };
    change("2026-11-12-change.toml", &|text| {
        text.replace("loose", "in-place") + "\n[[amended]]\n" + row + "was = 'found.anchor = \"loose\"'\n"
    });
    change("2026-11-14-change.toml", &|text| text + "\n[void]\n" + row);
    change("2026-11-16-culture.toml", &|text| {
        text.replace("\n[entered]", "\n[result]\non = 2026-11-18\ngrowth = false\n\n[entered]")
    });
    let before = kept.files();
    says(done(&kept.import(&csv, &[])), &["already on file: 3"]);
    assert_eq!(kept.files(), before);
}

#[test]
fn a_log_is_read_in_for_every_patient_of_the_file() {
    let kept = Kept::new();
    says(
        done(&kept.import(LOG, &["--log", "2026-11-01", "2026-11-23", "--incomplete"])),
        &["log of 2026-11-01 to 2026-11-23 recorded"],
    );
    for code in ["P-001", "P-002"] {
        let text = kept.text(&format!("{code}/2026/2026-11-24T0715-log.toml"));
        says(
            &text,
            &["by = \"co-1\"", "source = \"seen\"", "from = 2026-11-01", "through = 2026-11-23", "complete = false"],
        );
    }
    kept.is_sound();
    let kept = Kept::new();
    let said = refused(&kept, LOG, &["--log", "2026-11-04", "2026-11-23"]);
    says(&said, &["line 2: date: \"2026-11-03\": 2026-11-03 is outside the log", "line 3: "]);
    says(&refused(&kept, LOG, &["--log", "2026-11-01", "2026-11-30"]), &["--log: ", "after the day it was read in"]);
    says(&refused(&kept, LOG, &["--log", "2026-11-30", "2026-11-01"]), &["Swap the two days"]);
    says(&refused(&kept, LOG, &["--log", "November", "2026-11-01"]), &["Write 2026-11-01"]);
}

#[test]
fn a_log_that_shares_days_with_one_on_file_is_asked_about() {
    let kept = Kept::new();
    done(&kept.import(LOG, &["--log", "2026-11-01", "2026-11-23", "--yes"]));
    let before = kept.files();
    let again = kept.import(LOG, &["--log", "2026-11-01", "2026-11-22", "--incomplete"]);
    let doubt = "A log of 2026-11-01 to 2026-11-23 is already on file: patients/P-001/2026/2026-11-24T0715-log.toml";
    assert_eq!((again.status, again.stdout.as_str()), (2, ""));
    says(&again.stderr, &[doubt, "--yes"]);
    assert_eq!(kept.files(), before);
    // The days before it are another log.
    let header = LOG.lines().next().unwrap();
    let empty = format!("{header}\nP-001{}\n", ",".repeat(header.matches(',').count()));
    done(&kept.import(&empty, &["--log", "2026-10-30", "2026-10-31", "--incomplete"]));
}

#[test]
fn a_log_in_which_nothing_happened_is_a_log() {
    let kept = Kept::new();
    let csv = "patient,on,kind,by\nP-001,2026-11-03,,\n";
    let days = ["--log", "2026-11-01", "2026-11-23"];
    // It takes an overdue household off the list, so it needs a confirmation.
    let asked = kept.import(csv, &days);
    assert_eq!((asked.status, asked.stdout.as_str()), (2, ""));
    says(&asked.stderr, &["changes from 2026-11-01 to 2026-11-23 were missed", "--incomplete", "--yes"]);
    assert!(kept.events().is_empty());
    says(done(&kept.import(csv, &[&days[..], &["--yes"]].concat())), &["not filled in: 1; log of"]);
    assert_eq!(kept.events(), ["patients/P-001/2026/2026-11-24T0715-log.toml"]);
}

#[test]
fn a_dry_run_writes_nothing() {
    let kept = Kept::new();
    let before = kept.files();
    says(done(&kept.import(LOG, &["--dry-run"])), &["Would import 3 records for P-001", "Nothing was written."]);
    assert_eq!(kept.files(), before);
}

/// A person who gives the same answer to every question.
#[derive(Debug)]
struct Somebody(&'static str);

impl Terminal for Somebody {
    fn now(&self) -> chrono::DateTime<chrono::Utc> {
        "2026-11-24T13:15:00Z".parse().unwrap()
    }
    fn say(&self, _: &str) {}
    fn ask(&self, _: &str) -> Option<String> {
        Some(self.0.to_owned())
    }
    fn key(&self, _: &str) -> Option<char> {
        None
    }
    fn edit(&self, _: &str) -> Result<String, Failure> {
        Err(Failure::new("no"))
    }
    fn progress(&self, _: &str, _: usize, _: usize) {}

    fn end_progress(&self) {}
}

#[test]
fn what_is_only_unlikely_is_asked_about() {
    let kept = Kept::new();
    let csv = "patient,on,kind,by,site.redness_mm\nP-001,2026-11-03,change,home-1,80\n";
    says(&refused(&kept, csv, &[]), &["line 2: `redness_mm` of 80 mm is unlikely", "--yes"]);
    let answered = kept.run(&["log.csv"], Some(&Somebody("no")));
    assert_eq!((answered.status, kept.events().len()), (2, 0));
    done(&kept.run(&["log.csv"], Some(&Somebody("yes"))));
    assert_eq!(kept.events().len(), 1);
    let kept = Kept::new();
    done(&kept.import(csv, &["--yes"]));
    assert_eq!(kept.events().len(), 1);
}

#[test]
fn care_of_a_patient_who_is_elsewhere_is_asked_about() {
    let kept = Kept::new();
    let away = format!("code = 'P-001'\n{PATIENT}[[care]]\nfrom = 2026-11-10\nplace = 'elsewhere'\n");
    kept.write(
        "patients/P-001/patient.toml",
        &away.replace("[[caregiver]]\ncode = 'home-1'\nrelation = 'other'\n", ""),
    );
    let csv = "patient,on,kind,by\nP-001,2026-11-09,change,patient\nP-001,2026-11-12,change,patient\nP-001,2026-11-14,change,patient\n";
    let asked = kept.import(csv, &[]);
    assert_eq!((asked.status, kept.events().len()), (2, 0));
    says(
        &asked.stderr,
        &[
            "line 3: P-001 has been elsewhere since 2026-11-10, where no records are expected. Check the code. (2 such rows)",
        ],
    );
    done(&kept.import(csv, &["--yes"]));
}

#[test]
fn times_are_written_as_in_the_records_or_beside_the_day() {
    let kept = Kept::new();
    let csv = "patient,kind,by,at,on,date,time\n\
        P-001,shower,home-1,2026-11-02T18:40,,,\n\
        P-001,shower,home-1,2026-11-03 18:40,,,\n\
        P-001,shower,home-1,2026-11-04T18:40-07:00,,,\n\
        P-001,shower,home-1,2026-11-05,,,\n\
        P-001,shower,home-1,,2026-11-06,,\n\
        P-001,shower,home-1,,,2026-11-07,\n\
        P-001,shower,home-1,,,2026-11-08,6:40 pm\n";
    done(&kept.import(csv, &["--yes"]));
    let names = ["02T1840", "03T1840", "04T1940", "05", "06", "07", "08T1840"];
    let names: Vec<String> = names.iter().map(|day| format!("patients/P-001/2026/2026-11-{day}-shower.toml")).collect();
    assert_eq!(kept.events(), names);
    let bad = "patient,kind,by,at,on,date,time\n\
        P-001,shower,home-1,2026-11-01T01:30,,,\n\
        P-001,shower,home-1,2026-11-02,2026-11-02,,\n\
        P-001,shower,home-1,2026-11-02T18:40,,,18:40\n\
        P-001,shower,home-1,,,2026-11-02,now\n\
        P-001,shower,home-1,,,,18:40\n\
        P-001,shower,home-1,now,,,\n";
    says(
        &refused(&kept, bad, &[]),
        &[
            "line 2: at: ",
            "went back",
            "line 3: on: ",
            "line 4: time: ",
            "line 5: time: \"now\"",
            "line 6: ",
            "line 7: at: \"now\"",
        ],
    );
}

const MAP: &str = "date_form = 'day.month.year'
ignore = ['Initials']
[constants]
patient = 'P-001'
by = 'home-1'
[columns]
'Tag' = 'date'
[words.'Sekret']
'klar' = 'serous'
[[row]]
kind = 'shower'
when_column = 'Dusche'
[[row]]
kind = 'change'
when_column = 'Wechsel'
[row.columns]
'Wechsel' = 'time'
'Sekret' = 'site.drainage'
";
const OWN: &str =
    "Tag;Dusche;Wechsel;Sekret;Initials\n3.11.26;ja;18:40;klar;xy\n4.11.26;-;no;;xy\n5.11.26;;yes;none;xy\n";

#[test]
fn a_map_makes_records_of_a_spreadsheet() {
    let kept = Kept::new();
    says(done(&kept.import_with_map(OWN, MAP)), &["3 records for P-001", "2 changes, 1 shower", "not filled in: 1"]);
    let names = ["2026-11-03-shower", "2026-11-03T1840-change", "2026-11-05-change"];
    assert_eq!(kept.events(), names.map(|name| format!("patients/P-001/2026/{name}.toml")));
    says(&kept.text("P-001/2026/2026-11-03T1840-change.toml"), &["drainage = \"serous\"", "by = \"home-1\""]);
}

#[test]
fn a_map_that_does_not_fit_says_where() {
    let kept = Kept::new();
    let check = |csv: &str, map: &str, parts: &[&str]| {
        let outcome = kept.import_with_map(csv, map);
        assert_eq!((outcome.status, outcome.stdout.as_str()), (2, ""), "{map}");
        says(&outcome.stderr, parts);
    };
    check(OWN, &MAP.replace("ignore", "ignored"), &["map.toml:2", "ignored", "Did you mean `ignore`?"]);
    check(OWN, &MAP.replace("site.drainage", "site.drainige"), &["map.toml:18", "Did you mean site.drainage?"]);
    check(OWN, &MAP.replace("day.month.year", "day.month"), &["map.toml:1", "year, month and day"]);
    check(
        OWN,
        &MAP.replace("'Tag' =", "'Datum' ="),
        &["\"Datum\"", "does not have", "The map has no entry for the column \"Tag\""],
    );
    check(
        OWN,
        &MAP.replace("Initials", "Initialen"),
        &["The map has no entry for the column \"Initials\"", "Is it \"Initialen\" in ignore?"],
    );
    check(OWN, &MAP.replace("'klar'", "'trub'"), &["line 2: Sekret: \"klar\" is not a choice", "the map has trub"]);
    check(
        &OWN.replace("4.11.26;-;no;;", "4.11.26;;;klar;"),
        MAP,
        &["line 3: Sekret: ", "no record applies to the row", "Dusche or Wechsel"],
    );
    check(&OWN.replace("5.11.26", "2026-11-05"), MAP, &["line 4: Tag: ", "day.month.year, such as 23.11.2026"]);
    assert_eq!(kept.events(), [""; 0]);
}

#[test]
fn nothing_that_a_map_names_is_left_out_in_silence() {
    let kept = Kept::new();
    let check = |csv: &str, map: &str, part: &str| {
        let outcome = kept.import_with_map(csv, map);
        assert_eq!((outcome.status, outcome.stdout.as_str()), (2, ""), "{map}");
        says(&outcome.stderr, &[part]);
    };
    let common = MAP
        .replace("'Sekret' = 'site.drainage'", "")
        .replace("'Tag' = 'date'", "'Tag' = 'date'\n'Sekret' = 'site.drainage'");
    check(&OWN.replace("4.11.26;-;no;;", "4.11.26;ja;no;klar;"), &common, "line 3: Sekret: ");
    done(&kept.import_with_map(OWN, &common));
    assert_eq!(kept.events().len(), 3);
    let twice = MAP
        .replace("ignore = ['Initials']", "")
        .replace("'Sekret' = 'site.drainage'", "'Sekret' = 'note'\n'Initials' = 'note'");
    check(OWN, &twice, "\"Sekret\" and \"Initials\" are the same field");
}

#[test]
fn an_exit_site_that_the_sheet_names_is_no_fault_of_a_shower() {
    let kept = Kept::new();
    let csv = "patient,date,exit,kind,time,by\nP-001,2026-11-03,a,shower,,home-1\nP-001,2026-11-03,a,change,,home-1\nP-001,,a,,,\n";
    says(done(&kept.import(csv, &[])), &["1 change, 1 shower", "not filled in: 1"]);
    assert!(kept.text("P-001/2026/2026-11-03-change.toml").contains("exit = \"a\""));
    assert!(!kept.text("P-001/2026/2026-11-03-shower.toml").contains("exit"));
    // An exit that the patient does not have suggests a row of another patient.
    let kept = Kept::new();
    let said = refused(&kept, &csv.replace("03,a,shower", "03,b,shower"), &[]);
    says(
        &said,
        &[
            "line 2: exit: \"b\"",
            "P-001 has no such exit site, and records of the kind shower name none; clear the cell",
        ],
    );
}

#[test]
fn what_cannot_be_finished_is_taken_back() {
    let kept = told();
    // A file in place of the year's folder: nothing can be written there.
    kept.write("patients/P-002/2026", "");
    let before = kept.files();
    let csv = ALSO_IN_THE_LOG.replace("DECISION", "same");
    let csv = format!("{csv}P-001,2026-11-10,,change,home-1,,,,\nP-002,2026-11-12,,change,home-2,,,,\n");
    let Outcome { stdout, stderr, status, .. } = kept.import(&csv, &["--yes"]);
    assert_eq!((status, stdout.as_str()), (2, ""), "{stderr}");
    says(&stderr, &["is a file, not a folder", "Nothing was written"]);
    assert_eq!(kept.files(), before);
}

/// A copy of the invented program.
fn demo() -> Kept {
    fn copy(from: &Path, to: &Path) {
        fs::create_dir_all(to).unwrap();
        for entry in fs::read_dir(from).unwrap().map(Result::unwrap) {
            let (from, to) = (entry.path(), to.join(entry.file_name()));
            if from.is_dir() {
                copy(&from, &to);
            } else {
                fs::copy(from, to).unwrap();
            }
        }
    }
    let kept = Kept { folder: tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).unwrap(), now: "2026-11-24T13:15:00Z" };
    copy(&Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/demo"), &kept.records());
    kept
}

#[test]
fn the_invented_logs_are_imported_once() {
    let examples = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/log");
    let path = |name: &str| examples.join(name).to_str().unwrap().to_owned();
    let kept = demo();
    let paper = [path("paper-log.csv"), "--log".into(), "2026-11-01".into(), "2026-11-23".into()];
    let sheet = [
        path("spreadsheet.csv"),
        "--map".into(),
        path("map.toml"),
        "--log".into(),
        "2026-10-11".into(),
        "2026-11-21".into(),
    ];
    for (arguments, parts) in [
        (
            paper.as_slice(),
            [
                "13 records for P-007",
                "11 changes, 2 showers",
                "P-007: waiting for log: log complete through Mon Nov 23",
            ],
        ),
        (
            sheet.as_slice(),
            [
                "24 records for P-034",
                "21 changes, 3 showers",
                "P-034: waiting for log: log complete through Sat Nov 21",
            ],
        ),
    ] {
        let arguments: Vec<&str> = arguments.iter().map(String::as_str).collect();
        says(done(&kept.run(&arguments, None)), &parts);
        let before = kept.files();
        says(done(&kept.run(&arguments, None)), &["Nothing new for", "already on file."]);
        assert_eq!(kept.files(), before);
    }
    let bytes = fs::read(examples.join("spreadsheet.csv")).unwrap();
    assert!(
        bytes.starts_with("\u{feff}".as_bytes()) && bytes.windows(2).any(|end| end == b"\r\n") && bytes.contains(&b';')
    );
}

#[test]
fn a_file_full_of_faults_or_of_pairs_is_answered_in_a_bounded_number_of_lines() {
    let kept = Kept::new();
    let bad: String = (0..1_000).map(|n| format!("P-001,2026-11-99,change,home-1,{n}\n")).collect();
    let said = kept.import(&format!("patient,on,kind,by,note\n{bad}"), &[]);
    assert_eq!(said.status, 2);
    assert!(said.stderr.contains("has 1,000 places to correct"), "{}", said.stderr);
    assert!(said.stderr.ends_with("  and 800 more\n") && said.stderr.lines().count() == 202, "{}", said.stderr);
    let alike: String = (0..300).map(|n| format!("P-001,2026-11-03,shower,home-1,{n}\n")).collect();
    let said = kept.import(&format!("patient,on,kind,by,note\n{alike}"), &["--source", "log"]);
    assert_eq!(said.status, 2);
    // Each row against at most five earlier ones.
    let pairs = 1 + 2 + 3 + 4 + 295 * 5;
    assert_eq!(pairs, 1_485);
    assert!(said.stderr.contains("has 1,485 possible duplicates"), "{}", said.stderr);
    assert!(said.stderr.contains("\n  and 1,285 more\n"), "{}", said.stderr);
    assert_eq!(said.stderr.lines().count(), 203, "{}", said.stderr);
}

/// A row of an invented log: day, hour if any, change or shower, dry, decision.
fn row() -> impl Strategy<Value = (u32, Option<u32>, bool, bool, usize)> {
    (1..4u32, proptest::option::of(6..23u32), any::<bool>(), any::<bool>(), 0..3usize)
}

fn csv(rows: &[(u32, Option<u32>, bool, bool, usize)]) -> String {
    let line = |(day, hour, is_change, is_dry, decision): &(u32, Option<u32>, bool, bool, usize)| {
        let time = hour.map(|hour| format!("{hour:02}:00")).unwrap_or_default();
        let (kind, drainage) = match (is_change, is_dry) {
            (true, true) => ("change", "none"),
            (true, false) => ("change", "serous"),
            (false, _) => ("shower", ""),
        };
        format!("P-001,2026-11-{day:02},{time},{kind},home-1,{drainage},{}\n", ["", "same", "another"][*decision])
    };
    "patient,date,time,kind,by,site.drainage,same\n".to_owned() + &rows.iter().map(line).collect::<String>()
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 48, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn the_order_of_the_rows_decides_nothing_and_twice_is_once(
        (rows, shuffled) in proptest::collection::vec(row(), 1..8).prop_flat_map(|rows| (Just(rows.clone()), Just(rows).prop_shuffle())),
    ) {
        let (one, other) = (told_early(), told_early());
        let (first, second) = (one.import(&csv(&rows), &["--yes"]), other.import(&csv(&shuffled), &["--yes"]));
        prop_assert_eq!(first.status, second.status, "{}\n{}", first.stderr, second.stderr);
        prop_assert_eq!(one.files(), other.files());
        if first.status == 0 {
            let before = one.files();
            let again = one.import(&csv(&shuffled), &["--yes"]);
            prop_assert_eq!(again.status, 0, "{}\n{}", csv(&rows), again.stderr);
            prop_assert_eq!(one.files(), before);
        }
    }
}

/// Records with a change on the second day, reported by the household.
fn told_early() -> Kept {
    let kept = Kept::new();
    let text = "kind = 'change'\nat = 2026-11-02T09:00:00-06:00\nby = 'co-1'\nsource = 'told'\n";
    kept.write("patients/P-001/2026/2026-11-02T0900-change.toml", text);
    kept
}

/// Rows of one patient and one day at home, each at another minute or without a time.
fn of_one_day(rows: usize, is_timed: bool) -> String {
    let row = |n: usize| match is_timed {
        true => format!("P-001,2026-11-03T{:02}:{:02},inspection,home-1,{n}\n", 6 + n / 60 % 12, n % 60),
        false => format!("P-001,2026-11-03,inspection,home-1,{n}\n"),
    };
    format!("patient,{},kind,by,note\n{}", if is_timed { "at" } else { "on" }, (0..rows).map(row).collect::<String>())
}

#[test]
fn rows_of_one_day_are_not_compared_in_pairs() {
    for is_timed in [true, false] {
        let seconds = |rows: usize| {
            let kept = Kept::new();
            let csv = of_one_day(rows, is_timed);
            let start = std::time::Instant::now();
            says(&refused(&kept, &csv, &[]), &["possible duplicates", "and "]);
            start.elapsed().as_secs_f64()
        };
        let (few, many) = (seconds(1_000), seconds(10_000));
        // Ten times the rows take about ten times as long; comparing all pairs would take a hundred times as long.
        assert!(many < 40.0 * few.max(0.05), "{few} s, {many} s");
    }
}

#[test]
fn a_cell_and_a_flag_are_read_alike() {
    let kept = Kept::new();
    let csv = "patient,at,kind,by,source,site.drainage,site.redness_mm,site.temperature_c\n\
        P-001,2026-11-03T18:40,assessment,co-1,seen,pus,12 mm,98.6F\n";
    done(&kept.import(csv, &["--yes"]));
    let text = kept.text("P-001/2026/2026-11-03T1840-assessment.toml");
    says(&text, &["drainage = \"purulent\"", "redness_mm = 12\n", "temperature_c = 37\n"]);
}

#[test]
fn the_danger_of_several_patients_fits_the_width() {
    let kept = Kept::new();
    let csv = "patient,at,kind,by,source,site.drainage\n\
        P-001,2026-11-23T18:40,assessment,co-1,seen,purulent\n\
        P-002,2026-11-23T18:40,assessment,co-1,seen,purulent\n";
    fs::write(kept.folder.path().join("log.csv"), csv).unwrap();
    let surroundings = Surroundings {
        now: kept.now.parse().unwrap(),
        here: kept.folder.path().to_owned(),
        records: Some(kept.records()),
        writer: Some("co-1".to_owned()),
        width: Some(40),
        error_width: Some(40),
        ..Surroundings::default()
    };
    let outcome = run(["exitsite", "import", "log.csv", "--yes"].map(Into::into), &surroundings);
    let said = done(&outcome);
    for code in ["P-001", "P-002"] {
        let mut lines = said.lines().skip_while(|line| !line.starts_with(&format!("{code}: NEEDS REVIEW TODAY")));
        assert!(lines.next().is_some_and(|line| line.len() <= 40), "{said}");
        assert!(lines.next().is_some_and(|line| line.starts_with("  ") || line.starts_with("P-")), "{said}");
    }
}
