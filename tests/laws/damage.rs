//! Files of arbitrary bytes: each ends in a report or a stated reason.

use std::ffi::OsString;
use std::fs;
use std::path::Path;
use std::sync::Arc;

use chrono::{DateTime, Duration, NaiveDateTime, NaiveTime};
use exitsite::command::{Surroundings, run};
use exitsite::event::{Event, EventName, Kind};
use exitsite::patient::Patient;
use exitsite::people::People;
use exitsite::place::RecordText;
use exitsite::policy::Policy;
use proptest::prelude::*;
use proptest::sample::select;

use crate::stories::{PLAN, cases, day};

const POLICY: &str = include_str!("../../records-template/policy.toml");

const PEOPLE: &str = "[[person]]\ncode = 'rn-07'\nrole = 'nurse'\nmay_sign = true\nfrom = 2025-01-06\n\n[[person]]\ncode = 'md-3'\nrole = 'physician'\nuntil = 2026-12-31\n";

const PATIENT: &str = "code = 'P-001'\nimplanted = 2026-08-03\nintolerances = ['silicone']\n\n[[exit]]\nid = 'a'\nwhere = 'right-upper'\nfrom = 2026-08-03\nwhy = 'implant'\n\n[[care]]\nfrom = 2026-08-03\nplace = 'inpatient'\n\n[[care]]\nfrom = 2026-08-27\nplace = 'home'\nreports = 'each'\ntime_zone = 'America/Denver'\nwhy = 'discharged'\n\n[[order]]\nfrom = 2026-10-01\nuntil = 2026-10-14\non_weekdays = ['mon', 'thu']\nmin_days = 2\nby = 'md-3'\n\n[[caregiver]]\ncode = 'p001-spouse'\nrelation = 'spouse'\n";

/// One sound event of each kind: its file name and its text.
const EVENTS: [(&str, &str); Kind::ALL.len()] = [
    (
        "2026-11-20T0915-change.toml",
        "kind = 'change'\nat = 2026-11-20T09:15:00-07:00\nby = 'p001-spouse'\nsource = 'told'\nreason = 'scheduled'\nnote = 'as taught'\n[found]\ndressing = 'intact'\nanchor = 'in-place'\n[materials]\ncleanser = 'chlorhexidine'\ndisc = 'moistened'\n[left]\nanchor = 'in-place'\n[site]\ndrainage = 'serous'\namount = 'scant'\nredness_mm = 2.5\npain = 'none'\n[entered]\nat = 2026-11-20T10:00:00-07:00\nby = 'rn-07'\n[[amended]]\nat = 2026-11-20T11:00:00-07:00\nby = 'rn-07'\nwhy = 'slip'\nwas = 'redness_mm = 25'\n",
    ),
    (
        "2026-11-21T1840-shower.toml",
        "kind = 'shower'\nat = 2026-11-21T18:40:00\nby = 'patient'\nwater = 'shower'\ndressing_before = 'intact'\ndressing_after = 'wet'\nanchor = 'in-place'\n",
    ),
    (
        "2026-11-21T1930-change.toml",
        "kind = 'change'\nat = 2026-11-21T19:30:00\nby = 'p001-spouse'\nreason = 'after-shower'\n",
    ),
    (
        "2026-11-22-inspection.toml",
        "kind = 'inspection'\non = 2026-11-22\nby = 'rn-07'\ndressing = 'intact'\nanchor = 'in-place'\n",
    ),
    (
        "2026-11-22T1000-assessment.toml",
        "kind = 'assessment'\nat = 2026-11-22T10:00:00\nby = 'rn-07'\nsource = 'image'\n[site]\ndrainage = 'none'\nredness_mm = 0\nswelling = 'none'\ncrust_mm = 1\npain = 'none'\ntemperature_c = 36.8\nodor = false\n",
    ),
    (
        "2026-11-22T1100-trauma.toml",
        "kind = 'trauma'\nat = 2026-11-22T11:00:00\nby = 'patient'\nmechanism = 'snag'\nsite_bleeding = false\n",
    ),
    (
        "2026-11-22T1200-culture.toml",
        "kind = 'culture'\nat = 2026-11-22T12:00:00\nby = 'rn-07'\nspecimen = 'exit-site'\n",
    ),
    (
        "2026-11-22T1300-infection.toml",
        "kind = 'infection'\nat = 2026-11-22T13:00:00\nby = 'md-3'\npart = 'driveline-superficial'\ncertainty = 'possible'\nonset = 2026-11-21\n",
    ),
    (
        "2026-11-22T1400-treatment.toml",
        "kind = 'treatment'\nat = 2026-11-22T14:00:00\nby = 'md-3'\nwhat = 'oral-antibiotic'\nuntil = 2026-12-01\n",
    ),
    (
        "2026-11-22T1500-contact.toml",
        "kind = 'contact'\nat = 2026-11-22T15:00:00\nby = 'rn-07'\nwith = 'patient'\nabout = ['line-pulled', 'other']\noutcome = 'will-change'\nexpect_by = 2026-11-23T18:00:00\n",
    ),
    (
        "2026-11-22T1600-log.toml",
        "kind = 'log'\nat = 2026-11-22T16:00:00\nby = 'rn-07'\nfrom = 2026-11-01\nthrough = 2026-11-21\ncomplete = true\n",
    ),
    (
        "2026-11-22T1700-supply.toml",
        "kind = 'supply'\nat = 2026-11-22T17:00:00\nby = 'rn-07'\nitem = 'kit'\ncounted = 12\n",
    ),
    (
        "2026-11-22T1800-teaching.toml",
        "kind = 'teaching'\nat = 2026-11-22T18:00:00\nby = 'rn-07'\nlearner = 'p001-spouse'\nobserver = 'rn-07'\ncurriculum = 'dressing-change'\nversion = 1\nmode = 'return-demonstration'\nunaided = ['hands']\n",
    ),
];

/// Every file of the sound records, by path.
fn sound() -> Vec<(String, &'static str)> {
    let mut files = vec![
        ("policy.toml".to_owned(), POLICY),
        ("people.toml".to_owned(), PEOPLE),
        ("patients/P-001/patient.toml".to_owned(), PATIENT),
    ];
    files.extend(EVENTS.iter().map(|(name, text)| (format!("patients/P-001/2026/{name}"), *text)));
    files
}

fn lay_out(root: &Path) {
    for (path, text) in sound() {
        fs::create_dir_all(root.join(&path).parent().unwrap()).unwrap();
        fs::write(root.join(&path), text).unwrap();
    }
}

/// Every command that reads the records, with and without JSON.
fn questions() -> Vec<Vec<&'static str>> {
    let mut questions = vec![
        vec!["check"],
        vec!["due", "--all"],
        vec!["due"],
        vec!["missed"],
        vec!["grade", "P-001"],
        vec!["show", "P-001", "--all"],
        vec!["show", "P-001"],
    ];
    let in_json: Vec<_> = questions.iter().map(|words| words.iter().copied().chain(["--json"]).collect()).collect();
    questions.extend(in_json);
    questions
}

/// Runs one command line on a folder. It ends with a known exit status and gives the reason of a failure.
fn runs(root: &Path, words: &[&str]) -> exitsite::command::Outcome {
    let now = "2026-11-24T13:15:00Z".parse::<DateTime<chrono::Utc>>().unwrap();
    let surroundings = Surroundings {
        now,
        here: root.to_owned(),
        records: Some(root.to_owned()),
        width: Some(80),
        error_width: Some(80),
        ..Surroundings::default()
    };
    let outcome = run(["exitsite"].iter().chain(words).map(OsString::from), &surroundings);
    assert!(outcome.status <= 3, "{words:?} {outcome:?}");
    if outcome.status == 2 {
        assert!(outcome.stderr.starts_with("exitsite: ") || outcome.stderr.starts_with("error: "), "{outcome:?}");
        assert_eq!(outcome.stdout, "");
    } else if words.contains(&"--json") {
        let report: serde_json::Value = serde_json::from_str(&outcome.stdout).unwrap();
        assert!(report.is_object(), "{words:?}");
    } else {
        assert_ne!(outcome.stdout, "", "{words:?}");
    }
    outcome
}

/// One edit of a file's bytes.
#[derive(Debug, Clone)]
enum Slip {
    /// Bytes inserted at a fraction of the length.
    Insert(f64, Vec<u8>),
    /// Bytes removed.
    Delete(f64, usize),
    /// A piece repeated.
    Repeat(f64, usize),
    /// One byte changed.
    Flip(f64, u8),
    /// A new value on a line that has one.
    Value(f64, &'static str),
    /// A line inserted before another.
    Line(f64, &'static str),
    /// A line removed.
    Without(f64),
}

const VALUES: &[&str] = &[
    "0",
    "1",
    "-1",
    "366",
    "400",
    "9223372036854775807",
    "-9223372036854775808",
    "1e308",
    "-0.0",
    "nan",
    "-inf",
    "true",
    "''",
    "'none'",
    "'P-001'",
    "\"\\u202e\"",
    "'''\n'''",
    "[]",
    "[[]]",
    "['mon']",
    "[1, 'a']",
    "{}",
    "{ a = 1 }",
    "2026-02-30",
    "0000-01-01",
    "0001-01-01",
    "1990-01-01",
    "2199-12-31",
    "2200-01-01",
    "9999-12-31",
    "03:00:00",
    "11:59:59",
    "23:59:60",
    "2026-03-08T02:30:00",
    "2026-11-01T01:30:00",
    "2026-11-24T07:15:00+23:59",
    "9999-12-31T23:59:59-23:59",
    "0001-01-01T00:00:00+23:59",
    "2026-11-24T07:15:00.123456789Z",
    "'America/Chicago'",
    "'Pacific/Apia'",
    "'Nowhere/Else'",
    "'home'",
    "'elsewhere'",
    "'2026-11-20T0915-change.toml'",
    "0x7f",
    "1_000",
];

const LINES: &[&str] = &[
    "",
    "[site]",
    "[[site]]",
    "[void]",
    "[[exit]]",
    "[[care]]",
    "[[order]]",
    "[[phase]]",
    "[[rubric]]",
    "[ended]",
    "on = 2026-11-24",
    "exit = 'a'",
    "kind = 'change'",
    "a.b.c = 1",
    "'' = 1",
    "=======",
    "<<<<<<< HEAD",
    "\u{feff}",
    "\0",
    "# \u{1b}[31m",
    "x = '\u{202e}\u{1f600}e\u{301}'",
    "note = '+1 312 555 0100 Mrs. Smith'",
    "]",
    "{",
    "\"\"\"",
    "every_days = 1",
    "until = 2026-08-01",
    "schema = 2",
    "time_zone = 'UTC'",
    "reports = 'log'",
    "place = 'elsewhere'",
];

fn slips() -> impl Strategy<Value = Vec<Slip>> {
    let at = || 0.0..1.0_f64;
    let slip = prop_oneof![
        1 => (at(), prop::collection::vec(any::<u8>(), 1..6)).prop_map(|(at, bytes)| Slip::Insert(at, bytes)),
        1 => (at(), "[\\[\\]{}'\"=#.,\\n 0-9a-z]{1,6}").prop_map(|(at, text)| Slip::Insert(at, text.into_bytes())),
        1 => (at(), 1..30_usize).prop_map(|(at, length)| Slip::Delete(at, length)),
        1 => (at(), 1..60_usize).prop_map(|(at, length)| Slip::Repeat(at, length)),
        1 => (at(), 1..=255_u8).prop_map(|(at, bits)| Slip::Flip(at, bits)),
        6 => (at(), select(VALUES)).prop_map(|(at, value)| Slip::Value(at, value)),
        3 => (at(), select(LINES)).prop_map(|(at, line)| Slip::Line(at, line)),
        2 => at().prop_map(Slip::Without),
    ];
    prop::collection::vec(slip, 1..5)
}

impl Slip {
    fn happen(&self, bytes: &mut Vec<u8>) {
        let place = |at: f64, length: usize| (at * length as f64) as usize;
        let length = bytes.len();
        let mut lines: Vec<Vec<u8>> = bytes.split(|byte| *byte == b'\n').map(<[u8]>::to_vec).collect();
        match self {
            Slip::Insert(at, more) => {
                bytes.splice(place(*at, length)..place(*at, length), more.iter().copied());
            }
            Slip::Delete(at, few) => {
                bytes.drain(place(*at, length)..(place(*at, length) + few).min(length));
            }
            Slip::Repeat(at, few) => {
                let piece = bytes[place(*at, length)..(place(*at, length) + few).min(length)].to_vec();
                bytes.splice(place(*at, length)..place(*at, length), piece);
            }
            Slip::Flip(at, bits) => {
                if let Some(byte) = bytes.get_mut(place(*at, length)) {
                    *byte ^= bits;
                }
            }
            Slip::Value(at, value) => {
                let is_pair = |line: &&mut Vec<u8>| line.contains(&b'=') && !line.starts_with(b"#");
                let mut pairs: Vec<&mut Vec<u8>> = lines.iter_mut().filter(is_pair).collect();
                let count = pairs.len();
                if let Some(line) = pairs.get_mut(place(*at, count)) {
                    let equals = line.iter().position(|byte| *byte == b'=').unwrap();
                    line.truncate(equals + 1);
                    line.extend(value.bytes());
                }
                *bytes = lines.join(&b'\n');
            }
            Slip::Line(at, line) => {
                lines.insert(place(*at, lines.len()), line.as_bytes().to_vec());
                *bytes = lines.join(&b'\n');
            }
            Slip::Without(at) => {
                lines.remove(place(*at, lines.len()));
                *bytes = lines.join(&b'\n');
            }
        }
    }
}

/// The index of a file, with its new bytes.
fn damaged() -> impl Strategy<Value = (String, Vec<u8>)> {
    // The policy and the patient file are chosen as often as all events together.
    let file = || prop_oneof![Just(0_usize), Just(1), Just(2), Just(2), 3..3 + EVENTS.len()];
    let slipped = (file(), slips()).prop_map(|(file, slips)| {
        let mut bytes = sound()[file].1.as_bytes().to_vec();
        slips.iter().for_each(|slip| slip.happen(&mut bytes));
        (file, bytes)
    });
    let toml_like =
        "([a-z_]{1,8} ?= ?('[^']{0,5}'|[0-9:T-]{1,12}|\\[|\\{ ?|true)\\n|\\[{1,2}[a-z]{0,6}\\]{1,2}\\n|.){0,12}";
    let other = prop_oneof![
        prop::collection::vec(any::<u8>(), 0..200),
        "\\PC{0,80}".prop_map(String::into_bytes),
        toml_like.prop_map(String::into_bytes),
    ];
    prop_oneof![4 => slipped, 1 => (file(), other)].prop_map(|(file, bytes)| (sound()[file].0.clone(), bytes))
}

#[test]
fn the_records_that_are_damaged_below_are_sound() {
    let folder = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).unwrap();
    lay_out(folder.path());
    for words in questions() {
        assert_eq!(runs(folder.path(), &words).status, 0, "{words:?}: {}", runs(folder.path(), &words).stdout);
    }
}

proptest! {
    #![proptest_config(cases(40))]

    #[test]
    fn any_bytes_in_a_file_end_in_a_report_or_a_reason((path, bytes) in damaged()) {
        let folder = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).unwrap();
        lay_out(folder.path());
        fs::write(folder.path().join(path), bytes).unwrap();
        for words in questions() {
            runs(folder.path(), &words);
        }
    }
}

proptest! {
    #![proptest_config(cases(1000))]

    #[test]
    fn any_text_is_read_as_records_or_as_problems((path, bytes) in damaged()) {
        let text = String::from_utf8_lossy(&bytes).into_owned();
        let source = Arc::new(RecordText { file: path.clone(), text });
        let mut problems = Vec::new();
        let name = path.rsplit('/').next().unwrap();
        let is_read = match EventName::read(name) {
            Some(name) => Event::read(&source, name, &PLAN.calendar, &mut problems).is_some(),
            None if name == "policy.toml" => Policy::read(&source, &mut problems).is_ok_and(|policy| policy.is_some()),
            None if name == "people.toml" => People::read(&source, &mut problems).is_some(),
            None => Patient::read(&source, "P-001", &PLAN.calendar, &mut problems).is_some(),
        };
        // Each unreadable file has a reason, and each reason has a place in the text.
        prop_assert!(is_read || !problems.is_empty() || name == "policy.toml");
        for problem in &problems {
            let lines = source.text.split('\n').count();
            prop_assert!(problem.place.line.is_none_or(|line| (1..=lines).contains(&line)), "{:?}", problem);
            prop_assert!(!problem.message.is_empty() && !problem.message.contains('\u{1b}'), "{:?}", problem);
        }
    }

    #[test]
    fn any_words_for_a_moment_are_a_moment_or_a_sentence(text in prop_oneof![
        "\\PC{0,24}",
        "[0-9]{4}-[0-9]{2}-[0-9]{2}",
        "(19|20|21)[0-9]{2}-[01][0-9]-[0-3][0-9]T[0-2][0-9]:[0-6][0-9](:[0-6][0-9])?(Z|[+-][0-2][0-9]:?[0-6][0-9])?",
    ]) {
        match exitsite::day::AsOf::read(&text, &PLAN.calendar) {
            Ok(as_of) => prop_assert!(as_of.is_given),
            Err(sentence) => prop_assert!(!sentence.is_empty()),
        }
    }
}

#[test]
fn a_wall_time_and_its_instant_lead_back_to_each_other() {
    let calendar = &PLAN.calendar;
    let walls = (0..60 * 24 * 30).step_by(7).map(|minute| day(0).and_time(NaiveTime::MIN) + Duration::minutes(minute));
    for wall in walls {
        let Ok(instant) = calendar.instant(wall) else { continue };
        let day = calendar.care_day(wall);
        let back: NaiveDateTime = calendar.on_the_wall(instant, day).naive_local();
        assert_eq!((back, calendar.today(instant)), (wall, day));
    }
}
