//! Safe writing on a real disk: many processes at once, killed ones, full disks, folders without permission, and the
//! order of the system calls. In every case a record is complete under its name or absent, and no record on file is
//! lost.
//!
//! On Linux this needs `strace`, to stop a process at one system call or make the call fail and to see their order, and
//! `setpriv`.

#![allow(clippy::unwrap_used, clippy::expect_used, reason = "a test fails by panicking")]

#[cfg(target_os = "linux")]
mod failing;
mod import;
mod killed;
mod many;
#[cfg(target_os = "linux")]
mod order;
mod place;
mod replace;

use std::collections::BTreeMap;
use std::fs;
use std::os::unix::fs::{MetadataExt, PermissionsExt};
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

use tempfile::TempDir;

const POLICY: &str = "schema = 1\nprogram = \"Invented\"\ntime_zone = \"America/Chicago\"\n";

const PEOPLE: &str = "[[person]]\ncode = \"rn-07\"\nrole = \"nurse\"\nmay_sign = true\nfrom = 2024-01-01\n";

const PATIENT: &str = r#"code = "P-001"
implanted = 2024-01-10
records_from = 2024-01-10

[[exit]]
id = "a"
where = "right-upper"
from = 2024-01-10
why = "implant"

[[care]]
from = 2024-01-10
place = "home"
"#;

/// The folder for the records of 2025.
const YEAR: &str = "patients/P-001/2025";

/// A program of one patient. `has_year` creates its folder of 2025 in advance.
fn records(has_year: bool) -> TempDir {
    let kept = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).unwrap();
    let root = kept.path();
    fs::create_dir_all(root.join(if has_year { YEAR } else { "patients/P-001" })).unwrap();
    for (file, text) in [("policy.toml", POLICY), ("people.toml", PEOPLE), ("patients/P-001/patient.toml", PATIENT)] {
        fs::write(root.join(file), text).unwrap();
    }
    kept
}

/// The arguments that record one shower.
fn shower<'a>(at: &'a str, note: &'a str) -> Vec<&'a str> {
    vec!["record", "shower", "P-001", "--at", at, "--by", "rn-07", "--note", note, "--yes"]
}

/// The text of that shower, without author and time of entry.
fn shower_text(at: &str, note: &str) -> String {
    format!(
        "kind = \"shower\"\nat = {at}\nby = \"rn-07\"\nsource = \"seen\"\nnote = \"{note}\"\n\n[entered]\nby = \"rn-07\"\n"
    )
}

/// A program with an empty environment but for PATH.
fn program(name: &str) -> Command {
    let mut command = Command::new(name);
    command.env_clear().env("PATH", std::env::var_os("PATH").unwrap_or_default());
    command
}

/// The binary with these records.
fn exitsite(root: &Path, arguments: &[&str]) -> Command {
    behind(&[], root, arguments)
}

/// The binary with these records, started by another program such as `strace -f`.
fn behind(before: &[&str], root: &Path, arguments: &[&str]) -> Command {
    let binary = env!("CARGO_BIN_EXE_exitsite");
    let mut command = program(before.first().unwrap_or(&binary));
    if let [_, before @ ..] = before {
        command.args(before).arg(binary);
    }
    command.current_dir(root).arg("--records").arg(root).args(arguments);
    command
}

fn said(output: &Output) -> (Option<i32>, String, String) {
    let text = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
    (output.status.code(), text(&output.stdout), text(&output.stderr))
}

/// All paths in a folder, each with its mode and, for a file, its text.
fn tree(root: &Path) -> BTreeMap<PathBuf, (u32, String)> {
    fn gather(folder: &Path, root: &Path, tree: &mut BTreeMap<PathBuf, (u32, String)>) {
        for entry in fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            let about = path.symlink_metadata().unwrap();
            let bytes = if about.is_file() { fs::read(&path).unwrap() } else { Vec::new() };
            let text = String::from_utf8_lossy(&bytes).into_owned();
            tree.insert(path.strip_prefix(root).unwrap().to_owned(), (about.mode(), text));
            if about.is_dir() {
                gather(&path, root, tree);
            }
        }
    }
    let mut found = BTreeMap::new();
    gather(root, root, &mut found);
    found
}

/// The names in a folder, either hidden or visible ones; none if the folder does not exist.
fn names(folder: &Path, are_hidden: bool) -> Vec<String> {
    let entries = fs::read_dir(folder).into_iter().flatten();
    let mut names: Vec<String> = entries.map(|entry| entry.unwrap().file_name().into_string().unwrap()).collect();
    names.retain(|name| name.starts_with('.') == are_hidden);
    names.sort();
    names
}

/// A record's text without the time of entry.
fn without_entry(text: &str) -> String {
    let (event, entered) = text.split_once("\n[entered]\nat = ").unwrap_or((text, ""));
    let (moment, rest) = entered.split_once('\n').unwrap_or_default();
    assert!(chrono::DateTime::parse_from_rfc3339(moment).is_ok(), "not whole: {text}");
    format!("{event}\n[entered]\n{rest}")
}

/// The rules broken according to `check`, each once. Left out: records that begin long before the first event, as in
/// all these tests.
fn rules_found(root: &Path) -> Vec<String> {
    let output = exitsite(root, &["check", "--json"]).output().unwrap();
    let report: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
    let rule = |finding: &serde_json::Value| finding["rule"].as_str().unwrap().to_owned();
    let mut rules: Vec<String> = report["findings"].as_array().unwrap().iter().map(rule).collect();
    rules.retain(|rule| rule != "records-begin-early");
    rules.sort();
    rules.dedup();
    rules
}

fn set_mode(path: &Path, mode: u32) {
    fs::set_permissions(path, fs::Permissions::from_mode(mode)).unwrap();
}

fn mode(path: &Path) -> u32 {
    path.symlink_metadata().unwrap().mode() & 0o7777
}
