//! Complete screens: each command on the invented program as displayed, at three widths, with its exit status.
//!
//! The screens are kept in `tests/screens/`. `INSTA_UPDATE=always cargo test --test screens` rewrites them; the diff
//! then shows each changed line.

#![allow(clippy::unwrap_used, reason = "a test fails by panicking")]

use std::ffi::OsString;
use std::fmt::Write;
use std::fs::{self, Permissions};
use std::os::unix::fs::PermissionsExt;
use std::path::Path;

use exitsite::command::{Outcome, Surroundings, run};
use tempfile::TempDir;

/// Reading commands, by the name of their screen.
const READ: &[(&str, &str)] = &[
    ("due", "due"),
    ("due_all", "due --all"),
    ("due_of_a_patient", "due P-009"),
    ("due_of_an_unreadable_patient", "due P-003"),
    ("handoff", "handoff"),
    ("signals", "signals"),
    ("signals_waiting", "signals --waiting 2"),
    ("signals_all", "signals --all P-009"),
    ("show", "show P-009"),
    ("show_infection", "show P-024"),
    ("show_two_exits", "show P-014 --all"),
    ("missed", "missed"),
    ("grade", "grade"),
    ("grade_each", "grade P-009 --each"),
    ("teaching", "teaching"),
    ("teaching_of_a_household", "teaching P-005"),
    ("supplies", "supplies"),
    ("sheet", "sheet P-012 --month 2026-12"),
    ("sheet_checkoff", "sheet P-014 --checkoff dressing-change --for p014-spouse"),
    ("check", "check"),
    ("history", "history P-014"),
    ("alert", "alert"),
    ("audit", "audit --month 2026-10"),
    ("pool", "pool examples/pool/east.json examples/pool/north.json examples/pool/south.json examples/pool/west.json"),
];

/// A changed policy of the invented program.
const CHANGED_POLICY: &str = "[windows]\nafter_shower_hours = 4\n[signals]\nredness-wide = { mm = 10 }\nscore-rising = { points = 1, within_days = 30 }\n\
     [[phase]]\nname = \"early\"\nthrough_pod = 21\nevery_days = 1\nlook_days = 2\n[[phase]]\nname = \"home\"\nevery_days = 3\n";

/// Commands that write, each on its own copy of the invented program.
const WRITE: &[(&str, &str)] = &[
    (
        "record_change",
        "record change P-014 --at 2026-11-24T07:10 --by p014-spouse --source told --reason scheduled --dressing-found intact \
         --anchor-found in-place --anchor-left in-place --site none-noted --yes",
    ),
    (
        "record_pus",
        "record assessment P-014 --at 2026-11-24T07:10 --by rn-07 --source seen --drainage purulent --redness-mm 12 --yes",
    ),
    (
        "record_photo",
        "record photo P-014 --at 2026-11-24T07:10 --by p014-spouse --source told --file rustfmt.toml --yes",
    ),
    ("record_shower", "record shower P-009 --at 2026-11-24T06:50 --by patient --source told --yes"),
    ("patient_move", "patient move P-026 --place inpatient --why fever --yes"),
    ("patient_order", "patient order P-009 --every-days 1 --by md-3 --why redness --yes"),
    ("staff_retire", "staff retire rn-03 --until 2026-11-30 --yes"),
    ("import", "import examples/log/paper-log.csv --log 2026-11-01 2026-11-23 --by-entered co-1 --dry-run"),
    ("no_such_patient", "record change P-14"),
    ("no_such_staff", "record change P-014 --by co1 --source seen --reason scheduled --at 07:10 --yes"),
];

/// Usage: help pages and mistyped commands.
const USAGE: &[(&str, &str)] = &[
    ("bare", ""),
    ("help", "--help"),
    ("help_due", "due --help"),
    ("mistyped", "dew"),
    ("help_record", "record --help"),
];

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

fn copy(from: &Path, to: &Path) {
    fs::create_dir_all(to).unwrap();
    for entry in fs::read_dir(from).unwrap() {
        let entry = entry.unwrap();
        let to = to.join(entry.file_name());
        if entry.file_type().unwrap().is_dir() {
            copy(&entry.path(), &to);
        } else {
            fs::copy(entry.path(), to).unwrap();
        }
    }
}

/// A copy outside any repository, so that no screen shows a commit.
fn demo() -> TempDir {
    let kept = tempfile::tempdir().unwrap();
    copy(&root().join("examples/demo"), kept.path());
    kept
}

/// Commands that show the contacts file, or compare it with the records.
const NAMED: &[(&str, &str)] =
    &[("due_with_names", "due"), ("show_with_names", "show P-022"), ("contacts_check", "contacts check")];

/// A contacts file of some households.
const CONTACTS: &str = "code,name,telephone,language,note
P-014,Dana Field,555-0142,English,rings twice
p014-spouse,Sam Field,555-0143,,after 16:00
P-016,Ana Ruiz,555-0150,Spanish,
P-022,Noor Haddad,555-0161,Arabic,speak slowly
p022-aunt,Leila Haddad,555-0162,,
P-34,Ines Moreau,555-0170,French,
";

/// A command line with its output and exit status.
fn screen(command: &str, records: &Path, width: usize) -> String {
    screen_with(None, command, records, width)
}

fn screen_with(contacts: Option<&Path>, command: &str, records: &Path, width: usize) -> String {
    let surroundings = Surroundings {
        now: "2026-11-24T13:15:00Z".parse().unwrap(),
        here: root().to_owned(),
        records: Some(records.to_owned()),
        contacts: contacts.map(Path::to_owned),
        writer: Some("co-1".to_owned()),
        width: Some(width),
        error_width: Some(width),
        ..Surroundings::default()
    };
    let arguments = ["exitsite"].into_iter().chain(command.split_whitespace()).map(OsString::from);
    let Outcome { stdout, stderr, status, .. } = run(arguments, &surroundings);
    let mut screen = format!("$ exitsite {command}\n{stdout}");
    if !stderr.is_empty() {
        write!(screen, "--- standard error\n{stderr}").unwrap();
    }
    writeln!(screen, "--- exit status {status}").unwrap();
    screen.replace(records.to_str().unwrap(), "RECORDS")
}

fn keep(name: &str, screen: &str) {
    let mut settings = insta::Settings::clone_current();
    settings.set_snapshot_path("screens");
    settings.set_prepend_module_to_snapshot(false);
    settings.set_omit_expression(true);
    settings.bind(|| insta::assert_snapshot!(name, screen));
}

#[test]
fn reading_commands() {
    let records = demo();
    for (name, command) in READ {
        for width in [60, 80, 120] {
            keep(&format!("{name}_{width}"), &screen(command, records.path(), width));
        }
    }
}

#[test]
fn names_from_the_contacts_file() {
    let (records, kept) = (demo(), tempfile::tempdir().unwrap());
    let contacts = kept.path().join("contacts.csv");
    fs::write(&contacts, CONTACTS).unwrap();
    fs::set_permissions(&contacts, Permissions::from_mode(0o600)).unwrap();
    for (name, command) in NAMED {
        for width in [60, 80] {
            keep(&format!("{name}_{width}"), &screen_with(Some(&contacts), command, records.path(), width));
        }
    }
}

#[test]
fn a_policy_that_changed() {
    let records = demo();
    let git = |arguments: &[&str]| {
        let mut command = std::process::Command::new("git");
        command.env("GIT_CONFIG_GLOBAL", "/dev/null").env("GIT_CONFIG_SYSTEM", "/dev/null").current_dir(records.path());
        for who in ["AUTHOR", "COMMITTER"] {
            command
                .env(format!("GIT_{who}_NAME"), "Invented Nurse")
                .env(format!("GIT_{who}_EMAIL"), "nurse@example.org");
            command.env(format!("GIT_{who}_DATE"), "2026-11-22T20:00:00-06:00");
        }
        assert!(command.args(arguments).status().unwrap().success(), "{arguments:?}");
    };
    git(&["init", "--quiet", "--initial-branch=main"]);
    git(&["add", "policy.toml"]);
    git(&["commit", "--quiet", "-m", "policy"]);
    let policy = fs::read_to_string(records.path().join("policy.toml")).unwrap();
    fs::write(records.path().join("policy.toml"), policy + CHANGED_POLICY).unwrap();
    for width in [60, 80, 120] {
        let shown = screen("policy diff main", records.path(), width);
        // The commit contains the demo's policy, which no screen needs to show.
        let commit = shown.split_once("main (").and_then(|(_, rest)| rest.split_once(')')).map(|(id, _)| id.to_owned());
        keep(&format!("policy_diff_{width}"), &shown.replace(&commit.unwrap(), "COMMITCOMM"));
    }
}

#[test]
fn writing_commands() {
    for (name, command) in WRITE {
        keep(name, &screen(command, demo().path(), 80));
    }
}

#[test]
fn usage() {
    for (name, command) in USAGE {
        keep(name, &screen(command, Path::new("nowhere"), 80));
    }
}

#[test]
fn no_line_of_a_screen_is_longer_than_the_terminal() {
    let records = demo();
    let mut long = Vec::new();
    for width in [60, 80] {
        for (_, command) in READ {
            let screen = screen(command, records.path(), width);
            // Paths and command lines are not wrapped.
            let is_whole = |line: &str| line.contains("patients/") || line.contains("exitsite ");
            // The mail program wraps the lines of a mail.
            if *command == "alert" {
                continue;
            }
            let lines = screen.lines().filter(|line| line.chars().count() > width && !is_whole(line));
            long.extend(lines.map(|line| format!("{width}: {command}: {line}")));
        }
    }
    assert!(long.is_empty(), "{}", long.join("\n"));
}

#[test]
fn standard_error_fits_the_terminal_and_breaks_no_word() {
    let records = demo();
    for width in [60, 80] {
        for command in ["due", "due --as-of yesterday", "record change P-14", "alert --state nowhere/at/all/state.json"]
        {
            let screen = screen(command, records.path(), width);
            let said = screen.split("--- standard error\n").nth(1).unwrap();
            let is_a_path = |line: &str| line.trim().split(' ').count() == 1;
            for line in said.lines().filter(|line| line.chars().count() > width) {
                assert!(is_a_path(line), "{width}: {command}: {line}");
            }
        }
    }
}
