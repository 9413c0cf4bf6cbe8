//! A person at a real terminal of 60 columns, in the records of an invented program.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use chrono::{Days, FixedOffset, NaiveDate, Timelike, Utc};
use rexpect::session::{PtySession, spawn_command};
use tempfile::TempDir;

use crate::asks::{Asks, Case, Step, prompt};

/// The time limit for one answer on a slow machine, in milliseconds.
const PATIENCE: u64 = 30_000;

const COLUMNS: usize = 60;

fn hours_to_noon() -> i32 {
    12 - i32::try_from(Utc::now().hour()).unwrap()
}

fn days_ago(days: u64) -> NaiveDate {
    let offset = FixedOffset::east_opt(3600 * hours_to_noon()).unwrap();
    Utc::now().with_timezone(&offset).date_naive() - Days::new(days)
}

/// The records folder of an invented program with two patients.
pub(crate) fn records() -> TempDir {
    let kept = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).unwrap();
    let zone = format!("Etc/GMT{:+}", -hours_to_noon());
    let put = |file: &str, text: String| {
        let path = kept.path().join(file);
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::write(path, text).unwrap();
    };
    let (since, changed) = (days_ago(100), days_ago(4));
    put("policy.toml", format!("schema = 1\nprogram = \"Invented\"\ntime_zone = \"{zone}\"\n"));
    let person = |code: &str, role: &str| format!("[[person]]\ncode = \"{code}\"\nrole = \"{role}\"\nfrom = {since}\n");
    put("people.toml", format!("{}\n{}", person("rn-07", "nurse"), person("md-3", "physician")));
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
    let (implanted, onset) = (days_ago(9), days_ago(6));
    put(
        "patients/P-021/patient.toml",
        format!(
            "code = \"P-021\"\nimplanted = {implanted}\n\n[[exit]]\nid = \"a\"\nwhere = \"midline\"\nfrom = {implanted}\nwhy = \"implant\"\n\n[[care]]\nfrom = {implanted}\nplace = \"inpatient\"\n"
        ),
    );
    let clinical = format!("patients/P-021/{}/{onset}", onset.format("%Y"));
    put(
        &format!("{clinical}-culture.toml"),
        format!("kind = \"culture\"\non = {onset}\nby = \"rn-07\"\nsource = \"seen\"\nspecimen = \"exit-site\"\n"),
    );
    put(
        &format!("{clinical}-infection.toml"),
        format!(
            "kind = \"infection\"\non = {onset}\nby = \"md-3\"\npart = \"driveline-superficial\"\ncertainty = \"probable\"\nonset = {onset}\n"
        ),
    );
    let row = days_ago(2);
    put("log.csv", format!("patient,kind,at,by,source,site.redness_mm\nP-014,change,{row}T08:00:00,patient,log,70\n"));
    kept
}

/// Each file of a folder with its bytes.
pub(crate) fn files(folder: &Path) -> BTreeMap<PathBuf, Vec<u8>> {
    let mut found = BTreeMap::new();
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        match path.is_dir() {
            true => found.extend(files(&path)),
            false => _ = found.insert(path.clone(), fs::read(&path).unwrap()),
        }
    }
    found
}

/// A person at the terminal, and everything shown so far.
pub(crate) struct Sitter {
    session: PtySession,
    pub(crate) shown: String,
}

impl Sitter {
    pub(crate) fn of(kept: &TempDir, case: Case) -> Sitter {
        let script = format!("stty cols {COLUMNS} rows 40; trap : INT; \"$@\"; echo \"the end, status $?\"");
        // Tests run in the background may have inherited an ignored Ctrl-C.
        let mut command = Command::new("env");
        command.args(["--default-signal=INT", "sh"]);
        command.env_clear().env("PATH", std::env::var_os("PATH").unwrap_or_default()).env("TERM", "xterm");
        command.current_dir(kept.path());
        if case.has_writer {
            command.env("EXITSITE_BY", "rn-07");
        }
        command.arg("-c").arg(script).arg("sh").arg(env!("CARGO_BIN_EXE_exitsite")).args(case.arguments);
        Sitter { session: spawn_command(command, Some(PATIENCE)).unwrap(), shown: String::new() }
    }

    /// Waits for a text, and returns what was shown before it.
    pub(crate) fn waits(&mut self, text: &str) -> String {
        let before = self.session.exp_string(text).unwrap_or_else(|error| panic!("{text}: {error}\n{}", self.shown));
        self.shown.push_str(&before);
        self.shown.push_str(text);
        before
    }

    /// Types keys as they are.
    pub(crate) fn types(&mut self, keys: &str) {
        // What is typed is not echoed, so that a reply follows its prompt on one line.
        self.shown.push('\n');
        self.session.send(keys).unwrap();
        self.session.flush().unwrap();
    }

    /// Types the answer to a question.
    pub(crate) fn answers(&mut self, asks: Asks, answer: &str) {
        match asks {
            Asks::Key => self.types(answer),
            _ => self.types(&format!("{answer}\n")),
        }
    }

    /// Waits for a question and its prompt, and returns what was shown before it.
    pub(crate) fn asked(&mut self, step: Step) -> String {
        let before = self.waits(step.0);
        self.waits(prompt(step));
        before
    }

    /// Fails if a line is wider than the terminal.
    pub(crate) fn is_narrow(&self) {
        // No reply is echoed: what is said next stands on the line of its question.
        let shown =
            self.shown.replace("[y/N] ", "[y/N]\n").replace("note) ", "note)\n").replace("(< goes back) ", "\n");
        for line in shown.split('\n').map(|line| line.trim_end_matches('\r')) {
            // The space of a prompt stands before the reply. Each byte was read as a character.
            let line = line.strip_prefix(' ').unwrap_or(line);
            let bytes: Vec<u8> = line.chars().map(|byte| byte as u8).collect();
            let width =
                String::from_utf8_lossy(&bytes).replace("\u{1b}[1m", "").replace("\u{1b}[0m", "").chars().count();
            // A command to paste is one line at every width.
            assert!(width <= COLUMNS || line.contains("exitsite "), "{width}: {line}\n{}", self.shown);
        }
    }
}
