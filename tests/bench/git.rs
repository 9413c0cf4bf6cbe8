//! The time of the git commands in a repository of 50,000 commits: the history of one patient of 200, the due list of
//! long ago, and the checks of a week's push.
//!
//! ```text
//! cargo bench --bench git
//! ```
//!
//! The repository is created once, in the temporary folder, with one record per commit as `record --commit` writes
//! them.
//! Figures are printed, never asserted: a time is a fact about a machine.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::print_stdout,
    reason = "a bench prints, and fails by panicking"
)]

mod measure;

use std::fmt::Write as _;
use std::fs;
use std::io::Write as _;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use chrono::{DateTime, TimeDelta, Utc};

const COMMITS: i64 = 50_000;
const PATIENTS: i64 = 200;

/// Minutes from one commit to the next: 50,000 of them are five years.
const APART: i64 = 52;

fn main() {
    let repository = repository();
    measure::head();
    println!("{COMMITS} commits of {PATIENTS} patients in {}", repository.display());
    let middle = format!("HEAD~{}", COMMITS / 2);
    let then = moment(COMMITS / 2).format("%Y-%m-%dT%H:%M").to_string();
    let now = moment(COMMITS).format("%Y-%m-%dT%H:%M").to_string();
    let week = format!("HEAD~{}", 7 * 1440 / APART);
    let questions: [&[&str]; 5] = [
        &["history", "P-007", "--as-of", &now],
        &["history", "--as-of", &now],
        &["due", "--at-commit", &middle, "--as-of", &then],
        &["check", "--since", &week, "patients/P-007", "--as-of", &now],
        &["check", "--since", &week, "--at-commit", "HEAD", "patients/P-007", "--as-of", &now],
    ];
    let mut commands: Vec<Command> = questions.iter().map(|question| asked(&repository, question)).collect();
    for (question, figure) in questions.iter().zip(measure::in_turn(&mut commands)) {
        measure::print(&question.join(" "), &figure, None);
    }
    // `init` writes a commit graph of changed paths, and `git gc` keeps it.
    git(&repository, &["commit-graph", "write", "--reachable", "--changed-paths", "--no-progress"], "");
    let figures = measure::in_turn(&mut commands[..1]);
    fs::remove_file(repository.join(".git/objects/info/commit-graph")).unwrap();
    measure::print("the first, with a commit graph of changed paths", &figures[0], None);
}

fn asked(repository: &Path, question: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_exitsite"));
    command.args(question).arg("--records").arg(repository);
    let status = command.stdout(Stdio::null()).status().unwrap();
    assert_eq!(status.code(), Some(0), "{question:?}");
    command
}

/// The time of commit `n`.
fn moment(n: i64) -> DateTime<Utc> {
    "2021-11-24T00:00:00Z".parse::<DateTime<Utc>>().unwrap() + TimeDelta::minutes(APART * n)
}

fn repository() -> PathBuf {
    let repository = std::env::temp_dir().join("exitsite-bench-50000-commits");
    if repository.join("policy.toml").exists() {
        return repository;
    }
    _ = fs::remove_dir_all(&repository);
    git(&repository, &["init", "--quiet", "--initial-branch=main", "."], "");
    git(&repository, &["fast-import", "--quiet"], &stream());
    git(&repository, &["repack", "-a", "-d", "-q"], "");
    git(&repository, &["checkout", "--quiet", "--force", "main"], "");
    repository
}

/// The input of `git fast-import`: a commit with the patients, then one for each record.
fn stream() -> String {
    let mut stream = String::new();
    for n in 0..COMMITS {
        let at = moment(n);
        let seconds = at.timestamp();
        writeln!(stream, "commit refs/heads/main\ncommitter Invented <nurse@example.org> {seconds} +0000").unwrap();
        stream.push_str("data 6\nrecord\n");
        if n == 0 {
            file(&mut stream, "policy.toml", "schema = 1\nprogram = 'Invented'\ntime_zone = 'UTC'\n");
            (0..PATIENTS).for_each(|n| patient(&mut stream, n));
        }
        let code = format!("P-{:03}", n * 7919 % PATIENTS);
        let name = format!("patients/{code}/{}-change.toml", at.format("%Y/%Y-%m-%dT%H%M"));
        let text = format!(
            "kind = \"change\"\nat = {at}\nby = \"patient\"\n\n[left]\nanchor = \"in-place\"\n\n[entered]\nat = {at}\nby = \"rn-07\"\n",
            at = at.format("%Y-%m-%dT%H:%M:%SZ")
        );
        file(&mut stream, &name, &text);
    }
    stream
}

fn patient(stream: &mut String, n: i64) {
    let text = format!(
        "code = \"P-{n:03}\"\nimplanted = 2021-11-24\n[[exit]]\nid = \"a\"\nwhere = \"midline\"\nfrom = 2021-11-24\nwhy = \"implant\"\n[[care]]\nfrom = 2021-11-24\nplace = \"home\"\n"
    );
    file(stream, &format!("patients/P-{n:03}/patient.toml"), &text);
}

fn file(stream: &mut String, name: &str, text: &str) {
    write!(stream, "M 100644 inline {name}\ndata {}\n{text}\n", text.len()).unwrap();
}

fn git(repository: &Path, arguments: &[&str], said: &str) {
    fs::create_dir_all(repository).unwrap();
    let mut run = Command::new("git").current_dir(repository).args(arguments).stdin(Stdio::piped()).spawn().unwrap();
    run.stdin.take().unwrap().write_all(said.as_bytes()).unwrap();
    assert!(run.wait().unwrap().success(), "git {arguments:?}");
}
