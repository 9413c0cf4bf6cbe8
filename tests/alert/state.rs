//! The state file: each alert once, one run at a time, and states that cannot be kept.

use std::fs;
use std::os::unix::fs::PermissionsExt;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::thread::{scope, sleep};
use std::time::Duration;

use crate::server::{Fault, Server};
use crate::{NOW, Office, about};

#[test]
fn a_state_file_that_cannot_be_used_is_kept_and_everything_is_told_again() {
    let office = Office::new();
    for (n, text) in ["", "{\"half\":", "{}", "{\"exitsite_alert_state\": 2}"].iter().enumerate() {
        office.printed_at(NOW);
        fs::write(office.state(), text).unwrap();
        let run = office.run(&["--state", office.state().to_str().unwrap()]);
        assert_eq!(run.status, Some(0), "{}", run.stderr);
        if n == 0 {
            office.keep("after_a_state_file_that_could_not_be_used", &run);
        }
        assert!(run.stdout.contains("P-001 a  overdue"), "{}", run.stdout);
        assert!(run.stderr.contains("all are repeated") && run.stderr.lines().count() == 1, "{}", run.stderr);
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
    // The records folder of another program, too.
    fs::create_dir(office.beside("other")).unwrap();
    fs::write(office.beside("other/policy.toml"), "schema = 1\n").unwrap();
    let files = |office: &Office| {
        let mut all = Vec::new();
        names_below(&office.beside(""), &mut all);
        all
    };
    let before = files(&office);
    // A folder, or any file in the records, cannot be meant. The alerts are printed, with the reason.
    for name in [
        "records",
        "folder",
        "records/policy.toml",
        "records/state.json",
        "link/new.json",
        "records/patients",
        "records/new/state.json",
        "other/state.json",
    ] {
        let run = office.run(&["--state", name]);
        assert_eq!(run.status, Some(2), "{name}: {run:?}");
        assert!(run.stdout.contains("P-001 a  overdue"), "{name}: {run:?}");
        assert!(run.stdout.contains("alert state not saved, so alerts repeat"), "{name}: {run:?}");
        assert!(run.stderr.contains("name another file with --state") && run.stderr.lines().count() == 1, "{run:?}");
    }
    // Another program's file: the alerts are printed, and no state is kept.
    for name in ["notes.txt", "other.json", "/dev/null"] {
        let run = office.run_at("2026-11-24T08:00", &["--state", name]);
        assert_eq!(run.status, Some(2), "{name}: {run:?}");
        assert!(run.stdout.contains("P-001 a  overdue"), "{name}: {run:?}");
        assert!(run.stdout.contains("all are repeated"), "{name}: {run:?}");
        assert!(run.stderr.contains("is unchanged") && run.stderr.lines().count() == 1, "{name}: {}", run.stderr);
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
fn a_dry_run_changes_nothing() {
    let office = Office::new();
    let arguments =
        ["--state", "state.json", "--smtp", "smtp://127.0.0.1:1", "--from", "exitsite@example.org", "--dry-run"];
    let run = office.run(&arguments);
    assert_eq!((run.status, run.stderr.as_str()), (Some(0), ""));
    office.keep("in_a_dry_run_is_printed_as_a_mail", &run);
    assert!(!run.stdout.contains("md@example.org"), "{}", run.stdout);
    assert!(!office.state().exists() && !office.beside("state.json.lock").exists());
}

#[test]
fn a_moment_that_is_not_now_is_not_remembered() {
    let office = Office::new();
    let mut command = office.command(&["--state", "state.json", "--as-of", "2027-01-01T08:00"]);
    let output = command.output().unwrap();
    let said = String::from_utf8(output.stderr).unwrap();
    assert_eq!((output.status.code(), output.stdout.as_slice()), (Some(2), &b""[..]), "{said}");
    assert!(said.contains("add --dry-run") && !office.state().exists(), "{said}");
    let run = office.run(&["--state", "state.json", "--dry-run"]);
    assert_eq!((run.status, about(&run.stdout).len()), (Some(0), 1), "{run:?}");
    assert!(!office.state().exists());
    assert_eq!(about(&office.printed_at(NOW)).len(), 1);
}

#[test]
fn a_folder_of_the_state_is_made_where_its_parent_is() {
    let office = Office::new();
    let state = office.beside("new/state.json");
    let run = office.run(&["--state", "new/state.json", "--dry-run"]);
    assert!(run.status == Some(0) && !office.beside("new").exists(), "{run:?}");
    let run = office.run(&["--state", "new/state.json"]);
    assert_eq!((run.status, run.stderr.as_str()), (Some(0), ""));
    assert!(state.exists());
    assert_eq!(office.run(&["--state", "new/state.json"]).stdout, "");
}

/// Runs every quarter of an hour for a day and returns the number of mails for each address.
fn a_day_of_mails(office: &Office, arguments: &[&str]) -> Vec<(String, usize)> {
    let server = Server::new(Fault::None);
    let url = server.url();
    let from = ["--from", "exitsite@example.org", "--fallback", "it@example.org", "--smtp", &url];
    for quarter in 0..96 {
        let now = format!("2026-11-24T{:02}:{:02}", quarter / 4, quarter % 4 * 15);
        office.run_at(&now, &[&from[..], arguments].concat());
    }
    let whom = server.whom();
    let count = |to: &str| (to.to_owned(), whom.iter().filter(|whom| *whom == to).count());
    ["co@example.org", "md@example.org", "it@example.org"].map(count).to_vec()
}

#[test]
fn where_the_state_cannot_be_kept_nobody_is_told_everything_at_each_run() {
    let office = Office::new();
    office.event("P-002", "2026-11-24T1007-trauma", "");
    let mails = a_day_of_mails(&office, &["--state", "no such/folder/state.json"]);
    let expected = [("co@example.org", 25), ("md@example.org", 1), ("it@example.org", 24)];
    assert_eq!(mails, expected.map(|(whom, count)| (whom.to_owned(), count)), "once an hour, and the pull at 10:15");
    // With a usable state, as usual.
    let kept = a_day_of_mails(&office, &["--state", "state.json"]);
    assert_eq!((kept[0].1, kept[1].1, kept[2].1), (2, 1, 0), "{kept:?}");
}

#[test]
fn where_the_state_cannot_be_kept_each_hour_is_told_once_at_any_minute() {
    for minute in [0, 14, 15, 20, 59] {
        let office = Office::new();
        for hour in 8..12 {
            let run = office.run_at(&format!("2026-11-24T{hour:02}:{minute:02}"), &["--state", "/dev/null"]);
            assert_eq!(about(&run.stdout).iter().filter(|line| line.starts_with("P-001")).count(), 1, "{run:?}");
        }
    }
    // The binary, too, which passes on the system's temporary folder.
    let office = Office::new();
    for _ in 0..2 {
        office.command(&["--state", "/dev/null"]).output().unwrap();
    }
    let names: Vec<_> =
        fs::read_dir(office.temporary.path()).unwrap().map(|entry| entry.unwrap().file_name()).collect();
    assert!(matches!(&names[..], [name] if name.to_string_lossy().starts_with("exitsite-alert-")), "{names:?}");
}

#[test]
fn where_not_even_the_hour_can_be_kept_every_run_tells() {
    let office = Office::new();
    fs::set_permissions(office.temporary.path(), fs::Permissions::from_mode(0o555)).unwrap();
    let is_kept = fs::write(office.temporary.path().join("try"), "").is_ok();
    let told = |now: &str| office.run_at(now, &["--state", "/dev/null"]).stdout.contains("P-001 a  overdue");
    if is_kept {
        // Permissions do not stop this user; a folder in place of the marker does.
        told("2026-11-24T07:20");
        let marker = |entry: &fs::DirEntry| entry.file_name().to_string_lossy().starts_with("exitsite-alert-");
        let markers = fs::read_dir(office.temporary.path()).unwrap().map(|entry| entry.unwrap());
        let marker = markers.into_iter().find(marker).unwrap().path();
        fs::remove_file(&marker).unwrap();
        fs::create_dir(&marker).unwrap();
    }
    for minute in [10, 20, 35, 50] {
        assert!(told(&format!("2026-11-24T08:{minute}")), "{minute}");
    }
    fs::set_permissions(office.temporary.path(), fs::Permissions::from_mode(0o755)).unwrap();
}

#[test]
fn a_state_that_cannot_be_kept_is_told_with_the_reason() {
    // A missing folder, and a folder in place of the file.
    for (state, shown) in [("no such/folder/state.json", "no such/folder"), ("records/patients", "records/patients")] {
        let office = Office::new();
        let server = Server::new(Fault::None);
        let url = server.url();
        let arguments = ["--state", state, "--from", "a@example.org", "--smtp", &url];
        let run = office.run_at("2026-11-24T08:00", &[&arguments[..], &["--fallback", "it@example.org"]].concat());
        assert_eq!((run.status, run.stderr.lines().count()), (Some(2), 1), "{run:?}");
        assert!(run.stderr.contains("alerts of this run will be repeated"), "{}", run.stderr);
        let text = |n: usize| server.taken()[n].text.replace("=\r\n", "");
        for (n, whom) in [(0, "coordinator"), (1, "fallback")] {
            assert!(text(n).contains(shown), "{}", text(n));
            office.keep_mail(&format!("state_not_saved_in_{}_to_the_{whom}", shown.replace([' ', '/'], "_")), &text(n));
        }
        assert_eq!(server.whom(), ["co@example.org", "it@example.org"]);
        assert!(text(0).contains("P-001 a  overdue") && !text(1).contains("P-001"), "{}", text(1));
    }
}

#[test]
fn a_disk_that_is_full_is_known_before_anything_is_told() {
    let office = Office::of_last_year();
    fs::write(office.state(), "{\"exitsite_alert_state\": 1, \"checked\": \"2026-11-24T13:15:00Z\", \"told\": []}")
        .unwrap();
    let server = Server::new(Fault::None);
    let url = server.url();
    let arguments =
        ["--state", "state.json", "--from", "a@example.org", "--smtp", &url, "--fallback", "it@example.org"];
    // No file can grow, as on a full disk.
    let command = office.command(&arguments);
    let mut limited = Command::new("sh");
    limited.args(["-c", "trap '' XFSZ; ulimit -f 0; exec \"$0\" \"$@\""]).arg(command.get_program());
    limited.args(command.get_args()).current_dir(office.beside("")).env_clear();
    limited.env("PATH", std::env::var_os("PATH").unwrap()).env("GIT_CEILING_DIRECTORIES", office.beside(""));
    let output = limited.output().unwrap();
    let said = String::from_utf8(output.stderr).unwrap();
    assert_eq!((output.status.code(), said.lines().count()), (Some(2), 1), "{said}");
    assert!(said.contains("alerts of this run will be repeated") && said.contains("state.json"), "{said}");
    // All of it is old by the clock, so that physicians get nothing.
    assert!(!server.whom().contains(&"md@example.org".to_owned()), "{:?}", server.whom());
}

#[test]
fn the_same_line_of_standard_error_is_printed_once_a_day() {
    let office = Office::new();
    let arguments = ["--state", "state.json", "--from", "a@example.org", "--smtp", "smtp://127.0.0.1:1"];
    let lines = |now: &str| office.run_at(now, &arguments).stderr.lines().count();
    assert_eq!((lines(NOW), lines("2026-11-24T07:30"), lines("2026-11-25T02:45")), (1, 0, 0));
    assert_eq!(lines("2026-11-25T07:30"), 1);
    assert_eq!(office.run_at("2026-11-25T07:45", &arguments).status, Some(2));
}

/// Creates a pipe without a reader or a writer.
fn pipe(path: &Path) {
    assert!(Command::new("mkfifo").arg(path).status().unwrap().success());
}

#[test]
fn a_pipe_in_the_place_of_the_state_or_its_lock_holds_nothing_up() {
    for name in ["state.json", "state.json.lock"] {
        let office = Office::new();
        pipe(&office.beside(name));
        let run = office.run_at("2026-11-24T08:00", &["--state", "state.json"]);
        assert_eq!((run.status, run.stderr.lines().count()), (Some(2), 1), "{name}: {run:?}");
        assert!(run.stdout.contains("P-001 a  overdue"), "{name}: {run:?}");
    }
}

#[test]
fn another_run_at_work_is_waited_for_and_then_left_alone() {
    let office = Office::new();
    let lock = fs::File::create(office.beside("state.json.lock")).unwrap();
    lock.lock().unwrap();
    let run = office.run(&["--state", office.state().to_str().unwrap()]);
    assert_eq!((run.status, run.stdout.as_str()), (Some(2), ""));
    assert!(run.stderr.contains("another run is sending"), "{}", run.stderr);
    scope(|threads| {
        let waiting = threads.spawn(|| office.printed_at(NOW));
        sleep(Duration::from_millis(600));
        lock.unlock().unwrap();
        assert!(waiting.join().unwrap().contains("P-001"));
    });
}

#[test]
fn what_is_printed_into_a_full_disk_is_not_taken_for_told() {
    let office = Office::new();
    let full = || fs::File::options().write(true).open("/dev/full").unwrap();
    let mut command = office.command(&["--state", "state.json"]);
    assert_eq!(command.stdout(full()).status().unwrap().code(), Some(2));
    let output = office.command(&["--state", "state.json"]).output().unwrap();
    assert!(String::from_utf8(output.stdout).unwrap().contains("P-001 a  overdue"));
}
