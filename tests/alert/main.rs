//! Alerts: their recipients, first messages, repeats and changes for the worse; failures of a mail server and a mail
//! program at every step; and crashes, which may repeat an alert but never lose one.

#![allow(clippy::unwrap_used, clippy::expect_used, reason = "a test fails by panicking")]

#[path = "../desk/mod.rs"]
mod desk;
mod hold;
mod hostile;
mod log;
mod mail;
mod policy;
mod server;
mod state;

use std::ffi::OsString;
use std::fs;
use std::path::PathBuf;

use assert_cmd::Command;
use chrono::{NaiveDateTime, TimeZone};
use chrono_tz::America::Chicago;
use exitsite::command::{self, Outcome, Surroundings};
use serde_json::Value;
use tempfile::TempDir;

const POLICY: &str = "schema = 1\nprogram = 'Invented'\ntime_zone = 'America/Chicago'\n";
const ADDRESSES: &str = "[alerts]\ncoordinator = ['co@example.org']\nphysician = ['md@example.org']\n";
const PATIENT: &str = "implanted = 2026-08-03
[[exit]]
id = 'a'
where = 'midline'
from = 2026-08-03
why = 'implant'
[[care]]
from = 2026-08-03
place = 'inpatient'
[[care]]
from = 2026-08-27
place = 'home'
";

/// A full look without findings.
const LOOK: &str = "source = 'seen'
[site]
drainage = 'none'
redness_mm = 0
swelling = 'none'
crust_mm = 0
pain = 'none'
";

/// The checkoff that completed the sign-off for the move home.
const SIGNED_OFF: &str = "2026-08-26T0900-teaching";

fn attested(learner: &str) -> String {
    format!(
        "learner = '{learner}'\nobserver = 'rn-07'\ncurriculum = 'dressing-change'\nversion = 1\nmode = 'attested'\n"
    )
}

/// Tuesday, 07:15 in Chicago. After a change on the 20th the next was due on the 22nd, so it is 28 hours overdue.
const NOW: &str = "2026-11-24T07:15";

/// A records folder, in a folder that also has room for a state file.
pub(crate) struct Office {
    folder: TempDir,
    /// The system's temporary folder during these runs.
    temporary: TempDir,
}

/// The outcome of a run.
#[derive(Debug)]
pub(crate) struct Run {
    pub(crate) status: Option<i32>,
    pub(crate) stdout: String,
    pub(crate) stderr: String,
}

impl Office {
    /// A program with two addresses, one patient 28 hours overdue and another with a change this morning.
    pub(crate) fn new() -> Office {
        let folder = || tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).unwrap();
        let office = Office { folder: folder(), temporary: folder() };
        office.put("policy.toml", &format!("{POLICY}{ADDRESSES}"));
        office.put("people.toml", "[[person]]\ncode = 'rn-07'\nrole = 'nurse'\nmay_sign = true\n");
        office.patient("P-001");
        office.event("P-001", "2026-11-20T0900-change", "");
        office.patient("P-002");
        office.event("P-002", "2026-11-22T1900-change", "");
        office.event("P-002", "2026-11-24T0700-change", "");
        // Staff looked at both, so that there is no other alert.
        for code in ["P-001", "P-002"] {
            office.event(code, SIGNED_OFF, &attested("patient"));
            office.event(code, "2026-11-01T0900-assessment", LOOK);
        }
        office
    }

    /// A program with one patient, overdue since last year, so that the real clock of the binary does not affect the
    /// alerts.
    pub(crate) fn of_last_year() -> Office {
        let office = Office::new();
        fs::remove_dir_all(office.records().join("patients")).unwrap();
        let patient = PATIENT.replace("2026-", "2025-");
        office.put("patients/P-001/patient.toml", &format!("code = 'P-001'\n{patient}"));
        office.event("P-001", "2025-11-01T0900-assessment", LOOK);
        office.event("P-001", "2025-11-20T0900-change", "");
        office
    }

    pub(crate) fn records(&self) -> PathBuf {
        self.folder.path().join("records")
    }

    pub(crate) fn beside(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    pub(crate) fn state(&self) -> PathBuf {
        self.beside("state.json")
    }

    pub(crate) fn put(&self, name: &str, text: &str) {
        let path = self.records().join(name);
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::write(path, text).unwrap();
    }

    pub(crate) fn patient(&self, code: &str) {
        self.put(&format!("patients/{code}/patient.toml"), &format!("code = '{code}'\n{PATIENT}"));
    }

    /// Adds a record, named like `2026-11-20T0900-change`.
    pub(crate) fn event(&self, code: &str, name: &str, facts: &str) {
        let (date, rest) = name.split_at(10);
        let (time, kind) = rest.split_once('-').unwrap();
        let kind = kind.trim_end_matches(|c: char| c == '-' || c.is_ascii_digit());
        let when = match time.strip_prefix('T') {
            Some(time) => format!("at = {date}T{}:{}:00", &time[..2], &time[2..]),
            None => format!("on = {date}"),
        };
        let text = format!("kind = '{kind}'\n{when}\nby = 'rn-07'\n{facts}");
        self.put(&format!("patients/{code}/{}/{name}.toml", &date[..4]), &text);
    }

    /// The binary with an empty environment but for PATH.
    pub(crate) fn command(&self, arguments: &[&str]) -> std::process::Command {
        let mut command = std::process::Command::new(env!("CARGO_BIN_EXE_exitsite"));
        command.env_clear().env("PATH", std::env::var_os("PATH").unwrap()).current_dir(self.folder.path());
        command.env("TMPDIR", self.temporary.path());
        // The records are in no repository, even if these tests are.
        command.env("GIT_CEILING_DIRECTORIES", self.folder.path());
        command.arg("alert").arg("--records").arg(self.records()).args(arguments);
        command
    }

    pub(crate) fn run(&self, arguments: &[&str]) -> Run {
        self.run_at(NOW, arguments)
    }

    /// Runs at a given time. With a state file the run is in this process, where the clock can be set.
    pub(crate) fn run_at(&self, now: &str, arguments: &[&str]) -> Run {
        if arguments.contains(&"--state") && !arguments.contains(&"--dry-run") {
            return self.run_by_clock(now, arguments);
        }
        let mut command = Command::from_std(self.command(arguments));
        let output = command.args(["--as-of", now]).output().unwrap();
        let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
        Run { status: output.status.code(), stdout: text(output.stdout), stderr: text(output.stderr) }
    }

    fn run_by_clock(&self, now: &str, arguments: &[&str]) -> Run {
        let wall: NaiveDateTime = format!("{now}:00").parse().unwrap();
        let now = Chicago.from_local_datetime(&wall).unwrap().to_utc();
        let records = Some(self.records());
        let temporary = Some(self.temporary.path().to_owned());
        let surroundings =
            Surroundings { now, here: self.folder.path().to_owned(), temporary, records, ..Surroundings::default() };
        let words = ["exitsite", "alert"].iter().chain(arguments).map(OsString::from);
        let Outcome { stdout, stderr, status, .. } = command::run(words, &surroundings);
        Run { status: Some(i32::from(status)), stdout, stderr }
    }

    /// Runs with a state file and returns standard output.
    fn printed_at(&self, now: &str) -> String {
        let run = self.run_at(now, &["--state", self.state().to_str().unwrap()]);
        assert_eq!(run.status, Some(0), "{}", run.stderr);
        run.stdout
    }

    fn json(&self, now: &str) -> Value {
        let run = self.run_at(now, &["--json"]);
        serde_json::from_str(&run.stdout).unwrap_or_else(|error| panic!("{error}: {run:?}"))
    }

    /// The overdue alerts.
    fn overdue_at(&self, now: &str) -> Vec<String> {
        self.standing_at(now).into_iter().filter(|said| said.contains("overdue")).collect()
    }

    /// The alerts, as "P-001 overdue", with "+" if physicians are alerted, too.
    fn standing_at(&self, now: &str) -> Vec<String> {
        let report = self.json(now);
        let row = |row: &Value| {
            let patient = row["patient"].as_str().unwrap_or("program");
            let plus = if row["to_physician"] == true { " +" } else { "" };
            format!("{patient} {}{plus}", row["what"].as_str().unwrap())
        };
        report["alerts"].as_array().unwrap().iter().map(row).collect()
    }

    /// Compares a run with `tests/screens/stories/alert_NAME.snap`.
    pub(crate) fn keep(&self, name: &str, run: &Run) {
        let error = if run.stderr.is_empty() { String::new() } else { format!("--- standard error\n{}", run.stderr) };
        let status = run.status.map(|status| format!("--- exit status {status}\n")).unwrap_or_default();
        desk::keep(&format!("alert_{name}"), &self.masked(&format!("{}{error}{status}", run.stdout)));
    }

    /// Compares a mail with `tests/screens/stories/alert_NAME.snap`, without its time and its identifier.
    pub(crate) fn keep_mail(&self, name: &str, text: &str) {
        let text = text.replace("\r\n", "\n").replace("=\n", "");
        let is_of_a_run = |line: &&str| !line.starts_with("Message-ID: ") && !line.starts_with("Date: ");
        let lines: Vec<&str> = text.trim_end_matches("\n.\n").lines().filter(is_of_a_run).collect();
        desk::keep(&format!("alert_{name}"), &self.masked(&lines.join("\n")));
    }

    /// A text without this folder and without the commit of the repository that these tests may be in.
    fn masked(&self, text: &str) -> String {
        let text = text.replace(&self.folder.path().display().to_string(), "FOLDER").replace(", no commit", ", COMMIT");
        let mut parts = text.split(", commit ");
        let first = parts.next().unwrap().to_owned();
        parts.fold(first, |text, part| text + ", COMMIT" + part.trim_start_matches(|c: char| c.is_ascii_hexdigit()))
    }
}

fn about(text: &str) -> Vec<&str> {
    text.lines().filter(|line| line.starts_with("P-") || line.starts_with("program")).collect()
}

#[test]
fn without_a_state_file_all_that_stands_is_printed() {
    let office = Office::new();
    for _ in 0..2 {
        let run = office.run(&[]);
        assert_eq!((run.status, run.stderr.as_str()), (Some(0), ""));
        assert_eq!(about(&run.stdout), ["P-001 a  overdue for 28 h, since 2026-11-23 03:00"]);
        office.keep("without_a_state_file_all_that_stands_is_printed", &run);
    }
    office.keep("with_nothing_new", &office.run_at("2026-11-24T02:00", &["--heartbeat"]));
    assert_eq!(office.run(&["--exit-code"]).status, Some(1));
    assert_eq!(office.run_at("2026-11-24T02:00", &["--exit-code"]).status, Some(0));
}

#[test]
fn the_same_is_printed_once_and_again_when_it_got_worse_or_after_a_day() {
    let office = Office::new();
    assert_eq!(about(&office.printed_at(NOW)).len(), 1);
    assert_eq!(office.printed_at(NOW), "");
    assert_eq!(office.printed_at("2026-11-24T20:00"), "");
    let worse = office.printed_at("2026-11-25T04:00");
    assert_eq!(about(&worse), ["P-001 a  overdue for 49 h, since 2026-11-23 03:00 (worse than when sent)"]);
    assert_eq!(office.printed_at("2026-11-25T05:00"), "");
    // The state has the time of the last check, whether or not there were alerts.
    assert!(fs::read_to_string(office.state()).unwrap().contains("\"checked\": \"2026-11-25T11:00:00Z\""));
    let again = office.printed_at("2026-11-26T04:00");
    assert!(again.contains("P-001 a  overdue for 3 days, since 2026-11-23 03:00 (sent before)"), "{again}");
}

#[test]
fn overdue_is_told_after_a_day_and_to_physicians_after_two() {
    let office = Office::new();
    assert_eq!(office.overdue_at("2026-11-24T03:00"), [] as [&str; 0]);
    assert_eq!(office.overdue_at("2026-11-24T03:01"), ["P-001 overdue"]);
    assert_eq!(office.overdue_at("2026-11-25T03:00"), ["P-001 overdue"]);
    assert_eq!(office.overdue_at("2026-11-25T03:01"), ["P-001 overdue +"]);
}

#[test]
fn overdue_after_a_shower_is_told_at_once() {
    let office = Office::new();
    office.event("P-002", "2026-11-24T0710-shower", "dressing_before = 'intact'\n");
    assert_eq!(office.overdue_at("2026-11-24T09:10"), ["P-001 overdue"]);
    assert_eq!(office.overdue_at("2026-11-24T09:11"), ["P-002 overdue", "P-001 overdue"]);
}

#[test]
fn what_a_late_log_told_is_said_to_be_learnt_late() {
    let office = Office::new();
    office.event("P-002", "2026-11-24T0701-change", "");
    office.event("P-001", "2026-11-21T1800-shower", "[entered]\nat = 2026-11-30T09:00:00\nby = 'rn-07'\n");
    let run = office.run_at("2026-11-30T09:30", &[]);
    office.keep("of_a_late_log_says_that_it_was_reported_late", &run);
}

#[test]
fn signals_are_told_by_their_urgency_and_one_learnt_late_says_so() {
    let office = Office::new();
    office.event(
        "P-002",
        "2026-11-10T0800-contact",
        "with = 'patient'\nabout = ['other']\noutcome = 'advised'\ntemperature_c = 38.6\n[entered]\nat = 2026-11-24T07:00:00\nby = 'rn-07'\n",
    );
    let run = office.run(&[]);
    office.keep("of_a_fever_names_no_finding", &run);
    assert!(office.standing_at(NOW).contains(&"P-002 signal +".to_owned()));
    assert!(!run.stdout.contains("fever"), "{}", run.stdout);
    office.put("policy.toml", &format!("{POLICY}{ADDRESSES}findings_in_messages = true\n"));
    office.keep("of_a_fever_names_the_finding_where_the_policy_allows_it", &office.run(&[]));
}

#[test]
fn another_pull_is_told_although_the_one_before_was_answered() {
    let office = Office::new();
    let pulls = |text: &str| about(text).iter().filter(|line| line.starts_with("P-002")).count();
    office.event("P-002", "2026-11-24T0701-trauma", "");
    assert_eq!(pulls(&office.printed_at("2026-11-24T07:15")), 1);
    office.event(
        "P-002",
        "2026-11-24T0720-contact",
        "with = 'patient'\nabout = ['line-pulled']\noutcome = 'coming-in'\n",
    );
    assert_eq!(pulls(&office.printed_at("2026-11-25T07:30")), 0);
    office.event("P-002", "2026-11-25T0800-trauma", "");
    let told = office.printed_at("2026-11-25T08:15");
    assert!(pulls(&told) == 1 && told.contains("(worse than when sent)"), "{told}");
    assert_eq!(pulls(&office.printed_at("2026-11-25T08:30")), 0);
}

#[test]
fn what_is_news_in_a_signal_that_was_answered_is_told_once_as_worse() {
    let of_today = |text: &str| -> Vec<&'static str> {
        let lines = about(text).into_iter().filter(|line| line.starts_with("P-002") && line.contains("review today"));
        let why = |line: &str| match () {
            () if line.ends_with("(worse than when sent)") => "worse",
            () if line.ends_with("(sent before)") => "again",
            () => "new",
        };
        lines.map(why).collect()
    };
    let grown =
        |on: &str| format!("specimen = 'blood'\n[result]\non = {on}\ngrowth = true\norganisms = ['Invented']\n");
    let bleeding = format!("{LOOK}bleeding = true\n");
    let happened = |kind: &str, facts: &str| (kind.to_owned(), facts.to_owned());
    for (name, first, second) in [
        ("culture-growth", happened("culture", &grown("2026-11-24")), happened("culture", &grown("2026-11-26"))),
        ("bleeding-at-site", happened("assessment", &bleeding), happened("assessment", &bleeding)),
        ("line-pulled", happened("trauma", ""), happened("trauma", "")),
    ] {
        let office = Office::new();
        let told = |now: &str| of_today(&office.printed_at(now));
        let call = format!("with = 'patient'\nabout = ['{name}']\noutcome = 'escalated'\n");
        office.event("P-002", &format!("2026-11-24T0705-{}", first.0), &first.1);
        assert_eq!(told("2026-11-24T07:15"), ["new"], "{name}");
        office.event("P-002", "2026-11-24T0720-contact", &call);
        assert_eq!(told("2026-11-25T07:30"), [] as [&str; 0], "{name}");
        office.event("P-002", &format!("2026-11-26T0700-{}", second.0), &second.1);
        assert_eq!(told("2026-11-26T07:15"), ["worse"], "{name}");
        assert_eq!(told("2026-11-26T08:15"), [] as [&str; 0], "{name}");
        // Not acted on, it is sent again after a day.
        assert_eq!(told("2026-11-27T07:15"), ["again"], "{name}");
        office.event("P-002", "2026-11-27T0720-contact", &call);
        assert_eq!(told("2026-11-28T07:30"), [] as [&str; 0], "{name}");
    }
}

#[test]
fn a_wet_dressing_is_told_again_after_a_day_whoever_was_called_and_no_more_once_it_is_changed() {
    let office = Office::new();
    let is_told = |now: &str| {
        let text = office.printed_at(now);
        about(&text).iter().any(|line| line.starts_with("P-002") && line.contains("review today"))
    };
    office.event("P-002", "2026-11-24T0705-inspection", "dressing = 'wet'\n");
    assert!(is_told("2026-11-24T07:15"));
    let call = "with = 'patient'\nabout = ['water-at-site']\noutcome = 'coming-in'\n";
    office.event("P-002", "2026-11-24T0720-contact", call);
    assert!(is_told("2026-11-25T07:30"));
    office.event("P-002", "2026-11-25T0800-change", "");
    assert!(!is_told("2026-11-26T08:15"));
}

#[test]
fn the_same_pus_seen_each_day_is_told_once_more_after_the_answer_and_when_it_has_come_back() {
    let office = Office::new();
    let pus = LOOK.replace("'none'\nredness", "'purulent'\nredness");
    let told = |now: &str| {
        let text = office.printed_at(now);
        about(&text).iter().filter(|line| line.starts_with("P-002") && line.contains("review today")).count()
    };
    office.event("P-002", "2026-11-24T0705-assessment", &pus);
    assert_eq!(told("2026-11-24T07:15"), 1);
    office.event("P-002", "2026-11-24T0720-contact", "with = 'patient'\nabout = ['pus']\noutcome = 'coming-in'\n");
    // The act did not resolve it: that is sent once.
    for (day, times) in [("25", 1), ("26", 0), ("27", 0), ("28", 0)] {
        office.event("P-002", &format!("2026-11-{day}T0700-assessment"), &pus);
        assert_eq!(told(&format!("2026-11-{day}T07:15")), times, "{day}");
    }
    // Reported improved, then back.
    office.event("P-002", "2026-11-28T1900-assessment", &LOOK.replace("seen", "told"));
    assert_eq!(told("2026-11-28T19:15"), 0);
    office.event("P-002", "2026-11-29T0700-assessment", &pus);
    assert_eq!(told("2026-11-29T07:15"), 1);
}

#[test]
fn records_that_cannot_be_used_are_told_and_more_of_them_are_worse() {
    let office = Office::new();
    office.event("P-001", "2026-11-23T0900-change", "no TOML");
    let state = office.state();
    let run = || office.run(&["--state", state.to_str().unwrap()]);
    let first = run();
    assert_eq!(first.status, Some(3));
    office.keep("of_a_record_that_cannot_be_read", &first);
    assert_eq!(run().stdout, "");
    office.event("P-001", "2026-11-23T1000-change", "no TOML");
    assert_eq!(about(&run().stdout), ["P-001  2 files cannot be read (worse than when sent)"]);
    fs::create_dir(office.records().join("patients/somebody")).unwrap();
    assert!(run().stdout.contains("\nsomebody  1 file cannot be read\n"));
    assert!(office.json(NOW)["alerts"].to_string().contains("somebody"));
}

#[test]
fn what_was_told_of_a_patient_is_not_forgotten_while_nobody_knows_what_stands() {
    let office = Office::new();
    // The second consecutive change is missed: a signal of this week.
    let now = "2026-11-27T04:00";
    office.event("P-002", "2026-11-26T0700-change", "");
    let told = office.printed_at(now);
    assert!(told.contains("P-001 a  needs review this week"), "{told}");
    let good = fs::read_to_string(office.records().join("patients/P-001/patient.toml")).unwrap();
    office.put("patients/P-001/patient.toml", "no TOML");
    let run = office.run_at(now, &["--state", "state.json"]);
    assert_eq!(about(&run.stdout), ["P-001  1 file cannot be read"]);
    office.put("patients/P-001/patient.toml", &good);
    assert_eq!(office.printed_at(now), "");
}

#[test]
fn a_move_home_to_a_household_that_is_not_signed_off_is_told_a_week_before() {
    let office = Office::new();
    let patient = PATIENT.replace("2026-08-27", "2026-12-01");
    let caregiver = "[[caregiver]]\ncode = 'home-1'\nrelation = 'son'\n";
    office.put("patients/P-001/patient.toml", &format!("code = 'P-001'\n{patient}{caregiver}"));
    fs::remove_file(office.records().join(format!("patients/P-001/2026/{SIGNED_OFF}.toml"))).unwrap();
    office.event("P-001", "2026-11-24T0600-change", "");
    let has = |now: &str| office.standing_at(now).contains(&"P-001 sign-off".to_owned());
    assert!(!has("2026-11-23T20:00") && has("2026-11-24T07:15") && has("2026-11-30T20:00") && !has("2026-12-01T07:15"));
    office.event("P-001", "2026-11-23T0900-teaching", &attested("home-1"));
    assert!(!has("2026-11-24T07:15"));
    // Home, two days elsewhere, and home again: that second move home counts, too.
    let back = "[[care]]\nfrom = 2026-12-10\nplace = 'elsewhere'\n[[care]]\nfrom = 2026-12-12\nplace = 'home'\n";
    office.patient("P-003");
    let text = fs::read_to_string(office.records().join("patients/P-003/patient.toml")).unwrap();
    office.put("patients/P-003/patient.toml", &format!("{text}{back}"));
    assert!(office.standing_at("2026-12-08T07:15").contains(&"P-003 sign-off".to_owned()));
    assert!(!office.standing_at("2026-12-04T07:15").contains(&"P-003 sign-off".to_owned()));
}

#[test]
fn the_end_of_support_is_told_once() {
    let office = Office::new();
    let ended = "[ended]\non = 2026-11-23\nwhy = 'transplant'\n";
    office.put("patients/P-001/patient.toml", &format!("code = 'P-001'\n{PATIENT}{ended}"));
    assert_eq!(about(&office.printed_at(NOW)), ["P-001  support ended on 2026-11-23"]);
    for now in [NOW, "2026-11-25T07:15", "2026-12-20T07:15"] {
        assert!(!office.printed_at(now).contains("P-001"), "{now}");
    }
    assert!(!office.standing_at("2027-01-20T07:15").contains(&"P-001 support-ended".to_owned()));
}

#[test]
fn silence_is_told() {
    let office = Office::new();
    assert!(!office.standing_at("2026-11-25T19:00").contains(&"program quiet".to_owned()));
    assert!(office.standing_at("2026-11-25T19:01").contains(&"program quiet".to_owned()));
    let run = office.run_at("2026-11-25T23:30", &[]);
    office.keep("of_no_records_entered", &run);
    // The time of entry counts, not the time of the event.
    office.event("P-002", "2026-11-20T0900-inspection", "[entered]\nat = 2026-11-25T12:00:00\nby = 'rn-07'\n");
    assert!(!office.standing_at("2026-11-25T23:30").contains(&"program quiet".to_owned()));
    fs::remove_dir_all(office.records().join("patients")).unwrap();
    assert_eq!(office.standing_at(NOW), ["program quiet"]);
}
