//! Slips at every question of a real terminal of 60 columns: the question is asked again with what is wrong, the answers so
//! far are kept, Ctrl-C and the end of input drop nothing without a yes, and nothing is written before the end.
//!
//! Each case is a command with the beginning of each question, its kind, and the right answer. The invented program's zone is
//! one in which it is about noon.

#![allow(clippy::unwrap_used, clippy::expect_used, reason = "a test fails by panicking")]

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use chrono::{Days, FixedOffset, NaiveDate, Timelike, Utc};
use rexpect::session::{PtySession, spawn_command};
use tempfile::TempDir;

/// The time limit for one answer on a slow machine, in milliseconds.
const PATIENCE: u64 = 30_000;

const COLUMNS: usize = 60;

/// The kind of a question, which decides what is a slip.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Asks {
    /// One of several choices, or a code; required.
    Choice,
    /// One of several choices; Enter leaves it open.
    Open,
    /// A length in mm.
    Millimeters,
    /// A body temperature.
    Degrees,
    /// A time; Enter means now.
    Time,
    /// A day; required.
    Day,
    /// Any text.
    Text,
    /// Yes or no; Enter is no.
    YesNo,
}

impl Asks {
    /// The slips at a question of this kind. A no after the ambiguous date is its second line.
    fn slips(self) -> &'static [&'static str] {
        match self {
            Asks::Choice => &["", "zzz", "99", "12/15/2099"],
            Asks::Open => &["zzz", "99", "12/15/2099"],
            Asks::Millimeters => &["zzz", "999", "12/15/2099"],
            Asks::Degrees => &["zzz", "60", "12/15/2099"],
            Asks::Time => &["zzz", "99:99", "13/45/2026", "12/15/2099", "9", "last night", "3/4/2026 18:00\nn"],
            Asks::Day => &["", "zzz", "99", "13/45/2026", "3/4/2026\nn"],
            Asks::Text => &[],
            Asks::YesNo => &["zzz", "99", "12/15/2026"],
        }
    }

    /// The end of the prompt.
    fn prompt(self) -> &'static str {
        if self == Asks::YesNo { "[y/N]" } else { "> " }
    }
}

/// The beginning of a question, its kind, and the right answer.
type Step = (&'static str, Asks, &'static str);

const CASES: [(&[&str], &[Step]); 5] = [
    (
        &["record", "change", "P-014"],
        &[
            ("When was it", Asks::Time, "yesterday 18:40"),
            ("Who did or saw it?", Asks::Choice, "p014-spouse"),
            ("How do you know?", Asks::Choice, "told"),
            ("Why was the dressing changed?", Asks::Open, "1"),
            ("Exit site: ", Asks::Open, "f"),
            ("Which kind of drainage?", Asks::Open, "serous"),
            ("How much drainage?", Asks::Open, "scant"),
            ("How far does redness", Asks::Millimeters, ""),
            ("Is there swelling?", Asks::Open, "1"),
            ("How far does crust", Asks::Millimeters, ""),
            ("Is there pain", Asks::Open, "1"),
            ("Which are present?", Asks::Open, "none"),
            ("What is the body", Asks::Degrees, ""),
            ("Dressing and anchor", Asks::Open, "1"),
            ("Write it?", Asks::YesNo, "y"),
        ],
    ),
    (
        &["record", "shower", "P-014"],
        &[
            ("When was it", Asks::Time, "yesterday 18:40"),
            ("Who did or saw it?", Asks::Choice, "patient"),
            ("How do you know?", Asks::Choice, "told"),
            ("Which kind of water?", Asks::Open, "1"),
            ("How was the dressing before", Asks::Open, "1"),
            ("How was the dressing after", Asks::Open, "1"),
            ("How is the anchor?", Asks::Open, "1"),
            ("Any note?", Asks::Text, "well"),
            ("Write it?", Asks::YesNo, "y"),
        ],
    ),
    (
        &["record", "contact", "P-014"],
        &[
            ("When was it", Asks::Time, "yesterday 18:40"),
            ("Who did or saw it?", Asks::Choice, "rn-07"),
            ("Who was reached?", Asks::Choice, "patient"),
            ("What was the call about?", Asks::Choice, "overdue"),
            ("Outcome of the call?", Asks::Choice, "advised"),
        ],
    ),
    (
        &["patient", "move", "P-014", "--why", "discharged", "--from", "today"],
        &[("Where does the patient move?", Asks::Choice, "inpatient")],
    ),
    (
        &["patient", "end", "P-014", "--ends-signals"],
        &[("On which day did support end?", Asks::Day, "today"), ("Why did support end?", Asks::Choice, "transplant")],
    ),
];

fn hours_to_noon() -> i32 {
    12 - i32::try_from(Utc::now().hour()).unwrap()
}

fn days_ago(days: u64) -> NaiveDate {
    let offset = FixedOffset::east_opt(3600 * hours_to_noon()).unwrap();
    Utc::now().with_timezone(&offset).date_naive() - Days::new(days)
}

fn records() -> TempDir {
    let kept = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).unwrap();
    let zone = format!("Etc/GMT{:+}", -hours_to_noon());
    let put = |file: &str, text: String| {
        let path = kept.path().join(file);
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::write(path, text).unwrap();
    };
    let (since, changed) = (days_ago(100), days_ago(4));
    put("policy.toml", format!("schema = 1\nprogram = \"Invented\"\ntime_zone = \"{zone}\"\n"));
    put("people.toml", format!("[[person]]\ncode = \"rn-07\"\nrole = \"nurse\"\nfrom = {since}\n"));
    put(
        "patients/P-014/patient.toml",
        format!(
            "code = \"P-014\"\nimplanted = {since}\n\n[[exit]]\nid = \"a\"\nwhere = \"midline\"\nfrom = {since}\nwhy = \"implant\"\n\n[[care]]\nfrom = {since}\nplace = \"home\"\n\n[[caregiver]]\ncode = \"p014-spouse\"\nrelation = \"spouse\"\n"
        ),
    );
    put(
        &format!("patients/P-014/{}/{changed}T0800-change.toml", changed.format("%Y")),
        format!("kind = \"change\"\nat = {changed}T08:00:00\nby = \"patient\"\nsource = \"told\"\n"),
    );
    kept
}

fn files(folder: &Path) -> BTreeMap<PathBuf, String> {
    let mut found = BTreeMap::new();
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        match path.is_dir() {
            true => found.extend(files(&path)),
            false => _ = found.insert(path.clone(), fs::read_to_string(&path).unwrap()),
        }
    }
    found
}

/// A person at the terminal, and everything shown so far.
struct Sitter {
    session: PtySession,
    shown: String,
}

impl Sitter {
    fn of(kept: &TempDir, arguments: &[&str]) -> Sitter {
        let script = format!("stty cols {COLUMNS} rows 40; trap : INT; \"$@\"; echo \"the end, status $?\"");
        // Tests run in the background may have inherited an ignored Ctrl-C.
        let mut command = Command::new("env");
        command.args(["--default-signal=INT", "sh"]);
        command.env_clear().env("PATH", std::env::var_os("PATH").unwrap_or_default()).env("TERM", "xterm");
        command.env("EXITSITE_BY", "rn-07").current_dir(kept.path());
        command.arg("-c").arg(script).arg("sh").arg(env!("CARGO_BIN_EXE_exitsite")).args(arguments);
        Sitter { session: spawn_command(command, Some(PATIENCE)).unwrap(), shown: String::new() }
    }

    /// Waits for a text, and returns what was shown before it.
    fn waits(&mut self, text: &str) -> String {
        let before = self.session.exp_string(text).unwrap_or_else(|error| panic!("{text}: {error}\n{}", self.shown));
        self.shown.push_str(&before);
        self.shown.push_str(text);
        before
    }

    fn types(&mut self, keys: &str) {
        // What is typed is not echoed, so that a reply follows its prompt on one line.
        self.shown.push('\n');
        self.session.send(keys).unwrap();
        self.session.flush().unwrap();
    }

    /// Waits for a question and its prompt.
    fn asked(&mut self, (question, asks, _): Step) -> String {
        let before = self.waits(question);
        self.waits(asks.prompt());
        before
    }

    fn is_narrow(&self) {
        // No reply is echoed: what is said next stands on the line of its question.
        let shown =
            self.shown.replace("[y/N] ", "[y/N]\n").replace("note) ", "note)\n").replace("(< goes back) ", "\n");
        for line in shown.split('\n').map(|line| line.trim_end_matches('\r')) {
            // The space of a prompt stands before the reply. Each byte was read as a character.
            let line = line.strip_prefix(' ').unwrap_or(line);
            let bytes: Vec<u8> = line.chars().map(|byte| byte as u8).collect();
            let width = String::from_utf8_lossy(&bytes).chars().count();
            // A command to paste is one line at every width.
            assert!(width <= COLUMNS || line.contains("exitsite "), "{width}: {line}\n{}", self.shown);
        }
    }
}

#[test]
fn a_slip_at_any_question_is_asked_again_with_what_is_wrong_and_nothing_is_written() {
    for (arguments, steps) in CASES {
        let kept = records();
        let before = files(kept.path());
        let mut sitter = Sitter::of(&kept, arguments);
        for step in steps {
            sitter.asked(*step);
            for slip in step.1.slips() {
                for line in slip.split('\n') {
                    sitter.types(&format!("{line}\n"));
                    if line != slip.rsplit('\n').next().unwrap() {
                        sitter.waits("right? [y/N]");
                    }
                }
                let said = sitter.asked(*step);
                let said: Vec<&str> = said.lines().map(str::trim).filter(|line| !line.is_empty()).collect();
                let is_said = said.iter().any(|line| line.ends_with('.') || line.ends_with(','));
                assert!(is_said, "{arguments:?} {}: {slip:?}: {said:?}", step.0);
            }
            assert_eq!(files(kept.path()), before, "{arguments:?} {}", step.0);
            sitter.types(&format!("{}\n", step.2));
        }
        if steps.last().is_some_and(|step| step.0 == "Write it?") {
            sitter.waits("the end, status 0");
            assert_eq!(files(kept.path()).len(), before.len() + 1, "{arguments:?}");
        }
        sitter.is_narrow();
    }
}

#[test]
fn ctrl_c_and_the_end_of_input_at_any_question_drop_nothing_without_a_yes() {
    for (arguments, steps) in CASES {
        let kept = records();
        let before = files(kept.path());
        let mut sitter = Sitter::of(&kept, arguments);
        for (n, step) in steps.iter().enumerate() {
            sitter.asked(*step);
            for key in ["\u{3}", "\u{4}"].iter().filter(|_| n > 0) {
                sitter.types(key);
                sitter.waits("Stop and drop th");
                sitter.waits("[y/N]");
                sitter.types("n\n");
                sitter.asked(*step);
            }
            if n + 1 < steps.len() {
                sitter.types(&format!("{}\n", step.2));
            }
        }
        if !steps.is_empty() {
            sitter.types("\u{3}");
            if steps.len() > 1 {
                sitter.waits("Stop and drop th");
                sitter.types("\u{3}");
            }
            sitter.waits("the end, status 130");
        }
        assert_eq!(files(kept.path()), before, "{arguments:?}");
        sitter.is_narrow();
    }
}
