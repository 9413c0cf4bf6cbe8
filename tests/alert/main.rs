//! Alerts: what is told to whom, once, again and worse; a mail server and a mail program that fail at every step; and
//! that a crash repeats an alert and never loses one.

#![allow(clippy::unwrap_used, clippy::expect_used, reason = "a test fails by panicking")]

mod mail;
mod server;

use std::fs;
use std::path::{Path, PathBuf};

use assert_cmd::Command;
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

/// A full look that finds nothing.
const LOOK: &str = "source = 'seen'
[site]
drainage = 'none'
redness_mm = 0
swelling = 'none'
crust_mm = 0
pain = 'none'
";

/// The patient may go home.
const SIGNED_OFF: &str = "learner = 'patient'
observer = 'rn-07'
curriculum = 'dressing-change'
version = 1
mode = 'attested'
";

/// Tuesday morning in Chicago: a change of the 20th was due on the 22nd, so it is overdue for 28 hours.
const NOW: &str = "2026-11-24T07:15";

/// A records folder, and beside it a place for a state file.
pub(crate) struct Office {
    folder: TempDir,
}

/// How a run ended.
#[derive(Debug)]
pub(crate) struct Run {
    pub(crate) status: Option<i32>,
    pub(crate) stdout: String,
    pub(crate) stderr: String,
}

impl Office {
    /// A program with two addresses, one patient 28 hours overdue and another who had a change this morning.
    pub(crate) fn new() -> Office {
        let office = Office { folder: tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).unwrap() };
        office.put("policy.toml", &format!("{POLICY}{ADDRESSES}"));
        office.put("people.toml", "[[person]]\ncode = 'rn-07'\nrole = 'nurse'\nmay_sign = true\n");
        office.patient("P-001");
        office.event("P-001", "2026-11-20T0900-change", "");
        office.patient("P-002");
        office.event("P-002", "2026-11-22T1900-change", "");
        office.event("P-002", "2026-11-24T0700-change", "");
        // Staff looked at both, so that nothing else is to be said.
        for code in ["P-001", "P-002"] {
            office.event(code, "2026-11-01T0900-assessment", LOOK);
            office.event(code, "2026-08-26T0900-teaching", SIGNED_OFF);
        }
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

    /// A record, as `2026-11-20T0900-change`.
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

    /// The binary with nothing of the surroundings in its environment.
    pub(crate) fn command(&self, arguments: &[&str]) -> std::process::Command {
        let mut command = std::process::Command::new(env!("CARGO_BIN_EXE_exitsite"));
        command.env_clear().env("PATH", std::env::var_os("PATH").unwrap()).current_dir(self.folder.path());
        // No repository around the place of the tests keeps these records.
        command.env("GIT_CEILING_DIRECTORIES", self.folder.path());
        command.arg("alert").arg("--records").arg(self.records()).args(arguments);
        command
    }

    pub(crate) fn run(&self, arguments: &[&str]) -> Run {
        self.run_at(NOW, arguments)
    }

    pub(crate) fn run_at(&self, now: &str, arguments: &[&str]) -> Run {
        let mut command = Command::from_std(self.command(arguments));
        let output = command.args(["--as-of", now]).output().unwrap();
        let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
        Run { status: output.status.code(), stdout: text(output.stdout), stderr: text(output.stderr) }
    }

    /// With a state file.
    fn printed_at(&self, now: &str) -> String {
        let run = self.run_at(now, &["--state", self.state().to_str().unwrap()]);
        assert_eq!(run.status, Some(0), "{}", run.stderr);
        run.stdout
    }

    fn json(&self, now: &str) -> Value {
        let run = self.run_at(now, &["--json"]);
        serde_json::from_str(&run.stdout).unwrap_or_else(|error| panic!("{error}: {run:?}"))
    }

    /// Who stands there as overdue.
    fn overdue_at(&self, now: &str) -> Vec<String> {
        self.standing_at(now).into_iter().filter(|said| said.contains("overdue")).collect()
    }

    /// What stands, as "P-001 overdue", with "+" where physicians are told, too.
    fn standing_at(&self, now: &str) -> Vec<String> {
        let report = self.json(now);
        let row = |row: &Value| {
            let patient = row["patient"].as_str().unwrap_or("program");
            let plus = if row["to_physician"] == true { " +" } else { "" };
            format!("{patient} {}{plus}", row["what"].as_str().unwrap())
        };
        report["alerts"].as_array().unwrap().iter().map(row).collect()
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
        assert!(run.stdout.starts_with("1 overdue.\n"), "{}", run.stdout);
        assert!(run.stdout.contains("  exitsite due P-001\n"), "{}", run.stdout);
        assert!(
            run.stdout
                .contains("\nheartbeat: 2 on file read, 1 overdue, 0 unusable, newest record 0 h ago, no commit\n")
        );
        assert!(run.stdout.contains("finds or excludes no infection"));
    }
    let quiet = office.run_at("2026-11-24T02:00", &["--heartbeat"]).stdout;
    assert!(quiet.contains("Nothing new.\n\nheartbeat: "), "{quiet}");
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
    assert_eq!(about(&worse), ["P-001 a  overdue for 49 h, since 2026-11-23 03:00 (worse than when it was told)"]);
    assert_eq!(office.printed_at("2026-11-25T05:00"), "");
    // The file says when all was looked at last, whether or not anything was told.
    assert!(fs::read_to_string(office.state()).unwrap().contains("\"checked\": \"2026-11-25T11:00:00Z\""));
    let again = office.printed_at("2026-11-26T04:00");
    assert!(again.contains("P-001 a  overdue for 73 h, since 2026-11-23 03:00 (told before)"), "{again}");
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
    let late = "P-001 a  overdue for 205 h, since 2026-11-21 20:00; learned only 8 days later";
    assert!(run.stdout.lines().any(|line| line == late), "{}", run.stdout);
}

#[test]
fn a_promise_that_holds_keeps_it_back_for_a_day_at_most() {
    let office = Office::new();
    let promise = "with = 'patient'\nabout = ['overdue']\noutcome = 'will-change'\nexpect_by = 2026-11-28T12:00:00\n";
    office.event("P-001", "2026-11-23T1000-contact", promise);
    assert_eq!(office.overdue_at("2026-11-24T03:01"), [] as [&str; 0]);
    assert_eq!(office.overdue_at("2026-11-25T03:00"), [] as [&str; 0]);
    assert_eq!(office.overdue_at("2026-11-25T03:01"), ["P-001 overdue"]);
    assert_eq!(office.overdue_at("2026-11-26T03:01"), ["P-001 overdue +"]);
    // Broken, it keeps nothing back.
    office.event("P-001", "2026-11-23T1000-contact", &promise.replace("28T12", "24T05"));
    assert_eq!(office.overdue_at("2026-11-24T05:00"), [] as [&str; 0]);
    assert_eq!(office.overdue_at("2026-11-24T05:01"), ["P-001 overdue"]);
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
    let fever = "P-002  signal for today, since 2026-11-10 08:00; learned only 13 days later";
    assert!(run.stdout.lines().any(|line| line == fever), "{}", run.stdout);
    assert!(office.standing_at(NOW).contains(&"P-002 signal +".to_owned()));
    assert!(run.stdout.contains("  exitsite signals P-002"), "{}", run.stdout);
    assert!(!run.stdout.contains("fever"), "{}", run.stdout);
    office.put("policy.toml", &format!("{POLICY}{ADDRESSES}findings_in_messages = true\n"));
    let run = office.run(&[]);
    assert!(run.stdout.contains("fever") && run.stdout.contains("38.6"), "{}", run.stdout);
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
    assert!(pulls(&told) == 1 && told.contains("(worse than when it was told)"), "{told}");
    assert_eq!(pulls(&office.printed_at("2026-11-25T08:30")), 0);
}

#[test]
fn what_is_news_in_a_signal_that_was_answered_is_told_once_as_worse() {
    let of_today = |text: &str| -> Vec<&'static str> {
        let lines = about(text).into_iter().filter(|line| line.starts_with("P-002") && line.contains("for today"));
        let why = |line: &str| match () {
            () if line.ends_with("(worse than when it was told)") => "worse",
            () if line.ends_with("(told before)") => "again",
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
        // Not answered yet, it is told again after a day.
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
        about(&text).iter().any(|line| line.starts_with("P-002") && line.contains("for today"))
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
        about(&text).iter().filter(|line| line.starts_with("P-002") && line.contains("for today")).count()
    };
    office.event("P-002", "2026-11-24T0705-assessment", &pus);
    assert_eq!(told("2026-11-24T07:15"), 1);
    office.event("P-002", "2026-11-24T0720-contact", "with = 'patient'\nabout = ['pus']\noutcome = 'coming-in'\n");
    // The answer did not make it go away: that is told once.
    for (day, times) in [("25", 1), ("26", 0), ("27", 0), ("28", 0)] {
        office.event("P-002", &format!("2026-11-{day}T0700-assessment"), &pus);
        assert_eq!(told(&format!("2026-11-{day}T07:15")), times, "{day}");
    }
    // Better, then there again.
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
    assert_eq!(about(&first.stdout), ["P-001  1 file cannot be used"]);
    assert!(first.stdout.contains("exitsite check"), "{}", first.stdout);
    assert_eq!(run().stdout, "");
    office.event("P-001", "2026-11-23T1000-change", "no TOML");
    assert_eq!(about(&run().stdout), ["P-001  2 files cannot be used (worse than when it was told)"]);
    fs::create_dir(office.records().join("patients/somebody")).unwrap();
    assert!(run().stdout.contains("\nsomebody  1 file cannot be used\n"));
    assert!(office.json(NOW)["alerts"].to_string().contains("somebody"));
}

#[test]
fn what_was_told_of_a_patient_is_not_forgotten_while_nobody_knows_what_stands() {
    let office = Office::new();
    // The second change in a row is missed: a signal of this week.
    let now = "2026-11-27T04:00";
    office.event("P-002", "2026-11-26T0700-change", "");
    let told = office.printed_at(now);
    assert!(told.contains("P-001 a  signal for this week"), "{told}");
    let good = fs::read_to_string(office.records().join("patients/P-001/patient.toml")).unwrap();
    office.put("patients/P-001/patient.toml", "no TOML");
    let run = office.run_at(now, &["--state", "state.json"]);
    assert_eq!(about(&run.stdout), ["P-001  1 file cannot be used"]);
    office.put("patients/P-001/patient.toml", &good);
    assert_eq!(office.printed_at(now), "");
}

#[test]
fn a_move_home_to_a_household_that_is_not_signed_off_is_told_a_week_before() {
    let office = Office::new();
    let patient = PATIENT.replace("2026-08-27", "2026-12-01");
    let caregiver = "[[caregiver]]\ncode = 'home-1'\nrelation = 'son'\n";
    office.put("patients/P-001/patient.toml", &format!("code = 'P-001'\n{patient}{caregiver}"));
    office.event("P-001", "2026-11-24T0600-change", "");
    fs::remove_file(office.records().join("patients/P-001/2026/2026-08-26T0900-teaching.toml")).unwrap();
    let has = |now: &str| office.standing_at(now).contains(&"P-001 sign-off".to_owned());
    assert!(!has("2026-11-23T20:00") && has("2026-11-24T07:15") && has("2026-11-30T20:00") && !has("2026-12-01T07:15"));
    let steps =
        "learner = 'home-1'\nobserver = 'rn-07'\ncurriculum = 'dressing-change'\nversion = 1\nmode = 'attested'\n";
    office.event("P-001", "2026-11-23T0900-teaching", steps);
    assert!(!has("2026-11-24T07:15"));
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
    assert!(run.stdout.contains("program  nothing was entered for 40 h, since 2026-11-24 07:00"), "{}", run.stdout);
    // What was written down counts, not what it tells of.
    office.event("P-002", "2026-11-20T0900-inspection", "[entered]\nat = 2026-11-25T12:00:00\nby = 'rn-07'\n");
    assert!(!office.standing_at("2026-11-25T23:30").contains(&"program quiet".to_owned()));
    fs::remove_dir_all(office.records().join("patients")).unwrap();
    assert_eq!(office.standing_at(NOW), ["program quiet"]);
}

#[test]
fn a_state_file_that_cannot_be_used_is_kept_and_everything_is_told_again() {
    let office = Office::new();
    for (n, text) in ["", "{\"half\":", "{}", "{\"exitsite_alert_state\": 2}"].iter().enumerate() {
        office.printed_at(NOW);
        fs::write(office.state(), text).unwrap();
        let run = office.run(&["--state", office.state().to_str().unwrap()]);
        assert_eq!(run.status, Some(0), "{}", run.stderr);
        assert!(run.stdout.contains("P-001 a  overdue"), "{}", run.stdout);
        assert!(run.stdout.contains("What was told before is not known"), "{}", run.stdout);
        assert!(run.stderr.contains("everything is told again") && run.stderr.lines().count() == 1, "{}", run.stderr);
        let aside = if n == 0 { "state.json.unusable".to_owned() } else { format!("state.json.unusable.{}", n + 1) };
        assert_eq!(fs::read_to_string(office.beside(&aside)).unwrap(), *text);
        assert_eq!(office.printed_at(NOW), "");
    }
}

#[test]
fn what_is_no_state_file_stays_where_it_is() {
    let office = Office::new();
    fs::write(office.beside("notes.txt"), "Call P-001.\n").unwrap();
    fs::write(office.beside("other.json"), "{\"name\": \"another program\"}\n").unwrap();
    fs::create_dir(office.beside("folder")).unwrap();
    std::os::unix::fs::symlink(office.records(), office.beside("link")).unwrap();
    let files = |office: &Office| {
        let mut all = Vec::new();
        names_below(&office.beside(""), &mut all);
        all
    };
    let before = files(&office);
    // A folder, and whatever lies in the records: it cannot be meant.
    for name in ["records", "folder", "records/policy.toml", "records/state.json", "link/new.json", "records/patients"]
    {
        let run = office.run(&["--state", name]);
        assert_eq!((run.status, run.stdout.as_str()), (Some(2), ""), "{name}: {}", run.stderr);
        assert!(run.stderr.contains("name another file with --state") && run.stderr.lines().count() == 1, "{run:?}");
    }
    // A file of somebody's: the alerts are told, and nothing is kept.
    for name in ["notes.txt", "other.json", "/dev/null"] {
        let run = office.run(&["--state", name]);
        assert_eq!(run.status, Some(2), "{name}: {run:?}");
        assert!(run.stdout.contains("P-001 a  overdue"), "{name}: {run:?}");
        assert!(run.stdout.contains("everything is told again"), "{name}: {run:?}");
        assert!(run.stderr.contains("stays as it is") && run.stderr.lines().count() == 1, "{name}: {}", run.stderr);
    }
    assert_eq!(files(&office), before);
    assert_eq!(fs::read_to_string(office.beside("notes.txt")).unwrap(), "Call P-001.\n");
}

/// Every file and folder below a folder.
fn names_below(folder: &Path, names: &mut Vec<PathBuf>) {
    let mut entries: Vec<PathBuf> = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    entries.sort();
    for path in entries {
        names.push(path.clone());
        if path.is_dir() && !path.is_symlink() {
            names_below(&path, names);
        }
    }
}

#[test]
fn a_state_that_cannot_be_kept_is_said_and_holds_nothing_up() {
    let office = Office::new();
    let run = office.run(&["--state", office.beside("no such folder/state.json").to_str().unwrap()]);
    assert_eq!(run.status, Some(2));
    assert!(run.stdout.contains("P-001 a  overdue"), "{}", run.stdout);
    assert!(run.stderr.contains("what is told now will be told again"), "{}", run.stderr);
}

#[test]
fn another_run_at_work_is_waited_for_and_then_left_alone() {
    let office = Office::new();
    let lock = fs::File::create(office.beside("state.json.lock")).unwrap();
    lock.lock().unwrap();
    let run = office.run(&["--state", office.state().to_str().unwrap()]);
    assert_eq!((run.status, run.stdout.as_str()), (Some(2), ""));
    assert!(run.stderr.contains("another run is sending"), "{}", run.stderr);
    let waiting = office.command(&["--as-of", NOW, "--state", office.state().to_str().unwrap()]);
    let mut waiting = Command::from_std(waiting);
    let waiting = std::thread::spawn(move || waiting.output().unwrap());
    std::thread::sleep(std::time::Duration::from_millis(600));
    lock.unlock().unwrap();
    let output = waiting.join().unwrap();
    assert_eq!(output.status.code(), Some(0), "{output:?}");
    assert!(String::from_utf8(output.stdout).unwrap().contains("P-001"));
}

#[test]
fn a_dry_run_changes_nothing() {
    let office = Office::new();
    let arguments =
        ["--state", "state.json", "--smtp", "smtp://127.0.0.1:1", "--from", "exitsite@example.org", "--dry-run"];
    let run = office.run(&arguments);
    assert_eq!((run.status, run.stderr.as_str()), (Some(0), ""));
    assert!(
        run.stdout.starts_with("To: co@example.org\nSubject: exitsite: 1 overdue\n\n1 overdue.\n"),
        "{}",
        run.stdout
    );
    assert!(!run.stdout.contains("md@example.org"), "{}", run.stdout);
    assert!(!office.state().exists() && !office.beside("state.json.lock").exists());
}

#[test]
fn what_is_printed_into_a_full_disk_is_not_taken_for_told() {
    let office = Office::new();
    let full = || fs::File::options().write(true).open("/dev/full").unwrap();
    let mut command = office.command(&["--as-of", NOW, "--state", "state.json"]);
    assert_eq!(command.stdout(full()).status().unwrap().code(), Some(2));
    assert!(office.printed_at(NOW).contains("P-001 a  overdue"));
}

#[test]
fn a_policy_that_cannot_be_used_is_a_failure_in_one_line() {
    let office = Office::new();
    for broken in [
        "[windows]\nafter_shower_hours = 'two'\n",
        "[score]\nrubric = 'none of ours'\n",
        "= \n",
        "[alerts]\nrepeat_hours = 'x'\n",
    ] {
        office.put("policy.toml", &format!("{POLICY}{broken}"));
        let run = office.run_at(NOW, &["--json"]);
        assert_eq!((run.status, run.stdout.as_str()), (Some(2), ""), "{broken}");
        assert!(run.stderr.contains("nothing could be judged") && run.stderr.lines().count() == 1, "{}", run.stderr);
    }
    assert!(Path::new(&office.records()).exists());
}
