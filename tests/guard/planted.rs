//! Programs named by a folder's `.git/config`, attributes and hooks, and pipes in place of git's files.

use std::fs;
use std::os::unix::fs::PermissionsExt;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::mpsc::channel;
use std::thread;
use std::time::Duration;

use exitsite::command::Outcome;

use crate::desk::Desk;

const EVENT: &str = "patients/P-001/2026/2026-11-23T1840-shower.toml";

/// The commands that call git, alone or among other work.
const READING: [&[&str]; 9] = [
    &["history"],
    &["history", "P-001"],
    &["check", "--since", "HEAD"],
    &["check", "--since", "HEAD", "--at-commit", "HEAD"],
    &["audit", "--month", "2026-10", "--json"],
    &["due", "--at-commit", "HEAD"],
    &["alert", "--json"],
    &["handoff", "--at-commit", "HEAD"],
    &["show", "P-001", "--at-commit", "HEAD"],
];

/// Settings that name a program.
const SETTINGS: [&str; 19] = [
    "core.fsmonitor",
    "core.pager",
    "pager.log",
    "pager.rev-list",
    "core.editor",
    "core.sshCommand",
    "core.askPass",
    "core.gitProxy",
    "core.alternateRefsCommand",
    "credential.helper",
    "diff.external",
    "diff.trap.command",
    "diff.trap.textconv",
    "filter.trap.clean",
    "filter.trap.smudge",
    "filter.trap.process",
    "gpg.program",
    "remote.origin.uploadpack",
    "interactive.diffFilter",
];

fn git(root: &Path, arguments: &[&str]) {
    let mut command = Command::new("git");
    command.env("GIT_CONFIG_GLOBAL", "/dev/null").env("GIT_CONFIG_SYSTEM", "/dev/null").current_dir(root);
    command.args(["-c", "user.name=Invented Nurse", "-c", "user.email=nurse@example.org"]).args(arguments);
    let done = command.output().unwrap();
    assert!(done.status.success(), "git {arguments:?}: {}", String::from_utf8_lossy(&done.stderr));
}

/// A program under git with one event committed and another changed since.
fn committed() -> Desk {
    let desk = Desk::new();
    desk.put(EVENT, "kind = \"shower\"\nat = 2026-11-23T18:40:00-06:00\nby = \"patient\"\n");
    git(desk.root(), &["init", "--quiet", "--initial-branch=main"]);
    git(desk.root(), &["add", "--all", "."]);
    git(desk.root(), &["commit", "--quiet", "--message", "records"]);
    desk
}

/// A script that leaves a trace under `ran` and then does not end.
fn script(beside: &Path) -> (PathBuf, PathBuf) {
    let (script, ran) = (beside.join("trap"), beside.join("ran"));
    fs::write(&script, format!("#!/bin/sh\necho \"$0 $*\" >> '{}'\nsleep 300\n", ran.display())).unwrap();
    fs::set_permissions(&script, fs::Permissions::from_mode(0o755)).unwrap();
    (script, ran)
}

/// Runs a command, which must end long before the 30 seconds after which git is killed.
fn ends(desk: Desk, arguments: &'static [&'static str]) -> (Desk, Outcome) {
    let (says, ended) = channel();
    thread::spawn(move || {
        let outcome = desk.run(arguments);
        _ = says.send((desk, outcome));
    });
    ended.recv_timeout(Duration::from_secs(25)).unwrap_or_else(|_| panic!("{arguments:?} hangs"))
}

#[test]
fn no_program_that_the_folder_names_is_run() {
    let away = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).unwrap();
    let (script, ran) = script(away.path());
    let mut desk = committed();
    let config = |key: &str, value: &str| git(desk.root(), &["config", key, value]);
    SETTINGS.iter().for_each(|key| config(key, script.to_str().unwrap()));
    let hooks = away.path().join("hooks");
    fs::create_dir(&hooks).unwrap();
    for name in ["post-index-change", "reference-transaction", "post-checkout", "pre-commit", "fsmonitor-watchman"] {
        fs::copy(&script, hooks.join(name)).unwrap();
    }
    for command in ["rev-parse", "rev-list", "ls-tree", "ls-files", "cat-file", "diff-tree", "status"] {
        config(&format!("alias.{command}"), &format!("!{}", script.display()));
    }
    config("core.hooksPath", hooks.to_str().unwrap());
    config("log.showSignature", "true");
    config("filter.trap.required", "true");
    config("core.fsmonitorHookVersion", "2");
    // Objects missing from a partial clone would be fetched from the address that the folder names.
    config("remote.origin.url", &format!("ext::{}", script.display()));
    config("remote.origin.promisor", "true");
    config("extensions.partialClone", "origin");
    config("protocol.allow", "always");
    config("protocol.ext.allow", "always");
    let more = away.path().join("more");
    fs::write(&more, format!("[core]\n\tfsmonitor = {}\n", script.display())).unwrap();
    config("include.path", more.to_str().unwrap());
    fs::write(desk.root().join(".git/info/attributes"), "* filter=trap diff=trap\n").unwrap();
    desk.put(".gitattributes", "* filter=trap diff=trap text=auto\n");
    // The file was changed after git's last look, so a comparison has to read it.
    desk.put(EVENT, "kind = \"shower\"\nat = 2026-11-23T18:40:00-06:00\nby = \"p001-son\"\n");
    desk.put(
        "patients/P-001/2026/2026-11-22T1840-shower.toml",
        "kind = \"shower\"\non = 2026-11-22\nby = \"patient\"\n",
    );
    for arguments in READING {
        let outcome;
        (desk, outcome) = ends(desk, arguments);
        assert!(!ran.exists(), "{arguments:?} ran {}", fs::read_to_string(&ran).unwrap());
        assert_ne!(outcome.status, 2, "{arguments:?}: {}", outcome.stderr);
    }
    // The edit is found nevertheless.
    let findings = desk.findings_of(&["check", "--since", "HEAD"]);
    assert!(findings.contains(&"edited-after-commit".to_owned()), "{findings:?}");
    // A missing object is not fetched.
    let objects = desk.root().join(".git/objects");
    for folder in fs::read_dir(&objects).unwrap() {
        let folder = folder.unwrap().path();
        if folder.file_name().unwrap().len() == 2 {
            fs::remove_dir_all(folder).unwrap();
        }
    }
    for arguments in READING {
        (desk, _) = ends(desk, arguments);
        assert!(!ran.exists(), "{arguments:?} ran {}", fs::read_to_string(&ran).unwrap());
    }
}

#[test]
fn a_flag_in_the_index_hides_no_edit() {
    let desk = committed();
    git(desk.root(), &["update-index", "--assume-unchanged", EVENT]);
    desk.put(EVENT, "kind = \"shower\"\nat = 2026-11-23T18:40:00-06:00\nby = \"p001-son\"\n");
    let findings = desk.findings_of(&["check", "--since", "HEAD"]);
    assert_eq!(findings, ["edited-after-commit"]);
    assert!(desk.done(&["history"]).contains("edited"));
}

#[test]
fn a_pipe_where_git_expects_a_file_hangs_nothing() {
    for name in ["HEAD", "index", "config", "packed-refs", "index.lock", "shallow", "MERGE_HEAD"] {
        let mut desk = committed();
        let path = desk.root().join(".git").join(name);
        _ = fs::remove_file(&path);
        assert!(Command::new("mkfifo").arg(&path).status().unwrap().success());
        for arguments in READING {
            let outcome;
            (desk, outcome) = ends(desk, arguments);
            // Alerts and figures do without git; the other commands name the obstacle.
            let is_said = outcome.status == 2 && outcome.stderr.contains(&format!(".git/{name} is a pipe"));
            let does_without = ["audit", "alert"].contains(&arguments[0]) && outcome.status != 2;
            assert!(is_said || does_without, "{name} {arguments:?}: {} {}", outcome.status, outcome.stderr);
        }
    }
}

#[test]
fn a_pipe_under_the_name_of_a_lock_hangs_nothing() {
    let away = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).unwrap();
    assert!(Command::new("mkfifo").arg(away.path().join("state.json.lock")).status().unwrap().success());
    let state: &'static str = Box::leak(away.path().join("state.json").display().to_string().into_boxed_str());
    let arguments: &'static [&'static str] = Box::leak(Box::new(["alert", "--state", state]));
    let (_, outcome) = ends(Desk::new(), arguments);
    assert_eq!(outcome.status, 2, "{}", outcome.stderr);
    assert!(outcome.stderr.contains("state.json.lock"), "{}", outcome.stderr);
}

#[test]
fn a_moment_before_the_first_commit_is_an_error() {
    let desk = committed();
    for revision in ["HEAD@{1000000 years ago}", "HEAD@{1999-01-01}", "main@{10 years ago}", "HEAD@{2126-01-01}"] {
        for arguments in [["due", "--at-commit", revision], ["check", "--since", revision]] {
            let said = desk.run(&arguments);
            assert_eq!((said.status, said.stdout.as_str()), (2, ""), "{arguments:?}");
            assert!(said.stderr.contains("is not a commit") && said.stderr.lines().count() == 1, "{}", said.stderr);
        }
    }
    assert_eq!(desk.run(&["due", "--at-commit", "HEAD@{0}"]).status, 0);
}
