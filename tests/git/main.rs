//! Records under git: as of a commit, changes since a commit, the hooks of `init`, and the history.
//!
//! Each test has its own repository, with authors, times and settings that do not depend on the machine. The hooks are
//! run by `git commit` and `git push`, the latter to a bare repository on this disk.

#![allow(clippy::unwrap_used, clippy::expect_used, reason = "a test fails by panicking")]

mod against;
mod at_commit;
mod history;
mod hooks;
mod policy;
mod server;
mod since;
mod together;

use std::env;
use std::ffi::{OsStr, OsString};
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};
use std::time::SystemTime;

use serde_json::Value;
use tempfile::TempDir;

/// The `as_of` of most tests.
pub(crate) const AS_OF: [&str; 2] = ["--as-of", "2026-11-24T07:15"];

pub(crate) const CHANGE: &str = "patients/P-001/2026/2026-11-22T1855-change.toml";
pub(crate) const CULTURE: &str = "patients/P-001/2026/2026-11-20T0900-culture.toml";
pub(crate) const ROW: &str =
    "[[amended]]\nat = 2026-11-23T08:00:00-06:00\nby = \"co-1\"\nwhy = \"misread\"\nwas = \"2\"\n";
pub(crate) const VOID: &str = "[void]\nat = 2026-11-23T08:00:00-06:00\nby = \"co-1\"\nwhy = \"told twice\"\n";

/// A folder with a repository in or above it.
pub(crate) struct Records {
    pub(crate) kept: TempDir,
    /// The records folder.
    pub(crate) root: PathBuf,
}

/// The output and exit status of a run.
#[derive(Debug, PartialEq)]
pub(crate) struct Said {
    pub(crate) stdout: String,
    pub(crate) stderr: String,
    pub(crate) status: i32,
}

impl From<Output> for Said {
    fn from(output: Output) -> Said {
        let text = |bytes: Vec<u8>| String::from_utf8_lossy(&bytes).into_owned();
        Said { stdout: text(output.stdout), stderr: text(output.stderr), status: output.status.code().unwrap_or(-1) }
    }
}

/// A command in an environment of its own, with `path` as its PATH.
pub(crate) fn command(program: impl AsRef<OsStr>, dir: &Path, home: &Path, path: &OsStr) -> Command {
    let mut command = Command::new(program);
    command.current_dir(dir).env_clear().env("PATH", path).env("HOME", home).env("LC_ALL", "C");
    command.env("GIT_CONFIG_GLOBAL", "/dev/null").env("GIT_CONFIG_SYSTEM", "/dev/null").env("GIT_CONFIG_NOSYSTEM", "1");
    for who in ["AUTHOR", "COMMITTER"] {
        command.env(format!("GIT_{who}_NAME"), "Invented Nurse").env(format!("GIT_{who}_EMAIL"), "nurse@example.org");
        command.env(format!("GIT_{who}_DATE"), "2026-11-22T20:00:00-06:00");
    }
    command
}

/// A PATH with git and the shell, without exitsite.
pub(crate) fn path_without_exitsite() -> OsString {
    env::var_os("PATH").unwrap()
}

/// That PATH with the binary under test in front.
pub(crate) fn path() -> OsString {
    let own = Path::new(env!("CARGO_BIN_EXE_exitsite")).parent().unwrap().to_owned();
    env::join_paths([own].into_iter().chain(env::split_paths(&path_without_exitsite()))).unwrap()
}

impl Records {
    /// A sound program of two patients in a repository of its own, not yet committed.
    pub(crate) fn new() -> Records {
        Records::below("")
    }

    /// A sound program in a folder of a repository, not yet committed.
    pub(crate) fn below(folder: &str) -> Records {
        let kept = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).unwrap();
        let root = kept.path().join("repository").join(folder);
        fs::create_dir_all(&root).unwrap();
        let records = Records { kept, root };
        records.git_at(&records.repository(), &["init", "--quiet", "--initial-branch=main"]);
        records.write("policy.toml", "schema = 1\nprogram = \"Invented\"\ntime_zone = \"America/Chicago\"\n");
        records.write(
            "people.toml",
            "[[person]]\ncode = \"co-1\"\nrole = \"coordinator\"\n[[person]]\ncode = \"rn-07\"\nrole = \"nurse\"\n",
        );
        for code in ["P-001", "P-002"] {
            let course = format!(
                "code = \"{code}\"\nimplanted = 2026-08-03\n[[exit]]\nid = \"a\"\nwhere = \"midline\"\nfrom = 2026-08-03\nwhy = \"implant\"\n[[care]]\nfrom = 2026-08-03\nplace = \"home\"\n"
            );
            records.write(&format!("patients/{code}/patient.toml"), &course);
        }
        records.write(CHANGE, &change("2026-11-22T18:55"));
        records.write(
            CULTURE,
            "kind = \"culture\"\nat = 2026-11-20T09:00:00-06:00\nby = \"rn-07\"\nspecimen = \"exit-site\"\n",
        );
        records
    }

    /// A sound program in a repository of its own, committed.
    pub(crate) fn committed() -> Records {
        let records = Records::new();
        records.commit("records");
        records
    }

    pub(crate) fn repository(&self) -> PathBuf {
        self.kept.path().join("repository")
    }

    pub(crate) fn write(&self, file: &str, text: &str) {
        let path = self.root.join(file);
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::write(path, text).unwrap();
    }

    pub(crate) fn read(&self, file: &str) -> String {
        fs::read_to_string(self.root.join(file)).unwrap()
    }

    /// Replaces words in a file.
    pub(crate) fn edit(&self, file: &str, from: &str, to: &str) {
        let text = self.read(file);
        assert!(text.contains(from), "{file} has no {from}");
        self.write(file, &text.replace(from, to));
    }

    pub(crate) fn append(&self, file: &str, more: &str) {
        self.write(file, &(self.read(file) + more));
    }

    pub(crate) fn remove(&self, file: &str) {
        fs::remove_file(self.root.join(file)).unwrap();
    }

    pub(crate) fn rename(&self, from: &str, to: &str) {
        fs::create_dir_all(self.root.join(to).parent().unwrap()).unwrap();
        fs::rename(self.root.join(from), self.root.join(to)).unwrap();
    }

    pub(crate) fn command(&self, program: impl AsRef<OsStr>) -> Command {
        command(program, &self.root, self.kept.path(), &path())
    }

    pub(crate) fn try_git(&self, arguments: &[&str]) -> Said {
        self.command("git").args(arguments).output().unwrap().into()
    }

    pub(crate) fn git_at(&self, dir: &Path, arguments: &[&str]) -> String {
        let said: Said = self.command("git").current_dir(dir).args(arguments).output().unwrap().into();
        assert_eq!(said.status, 0, "git {arguments:?}: {}{}", said.stdout, said.stderr);
        said.stdout.trim_end().to_owned()
    }

    pub(crate) fn git(&self, arguments: &[&str]) -> String {
        self.git_at(&self.root, arguments)
    }

    /// Commits everything and returns the short id.
    pub(crate) fn commit(&self, message: &str) -> String {
        self.git(&["add", "--all", "."]);
        self.git(&["commit", "--quiet", "--allow-empty", "-m", message]);
        self.head()
    }

    pub(crate) fn head(&self) -> String {
        self.git(&["rev-parse", "--short=7", "HEAD"])
    }

    pub(crate) fn exitsite(&self, arguments: &[&str]) -> Said {
        self.command(env!("CARGO_BIN_EXE_exitsite")).args(arguments).output().unwrap().into()
    }

    pub(crate) fn json(&self, arguments: &[&str]) -> Value {
        let said = self.exitsite(&[arguments, &["--json"], &AS_OF].concat());
        serde_json::from_str(&said.stdout).unwrap_or_else(|error| panic!("{arguments:?}: {error}: {}", said.stderr))
    }

    /// Rule and file of each finding of `check --since` from git.
    pub(crate) fn since(&self, revision: &str, more: &[&str]) -> Vec<String> {
        let report = self.json(&[&["check", "--since", revision], more].concat());
        let findings = report["findings"].as_array().unwrap().iter();
        let of_git = findings
            .filter(|finding| ["edited-after-commit", "deleted-record"].contains(&finding["rule"].as_str().unwrap()));
        of_git
            .map(|found| format!("{} {}: {}", word(found, "rule"), word(found, "file"), word(found, "message")))
            .collect()
    }
}

pub(crate) fn word<'a>(value: &'a Value, key: &str) -> &'a str {
    value[key].as_str().unwrap_or_default()
}

pub(crate) fn change(time: &str) -> String {
    format!(
        "kind = \"change\"\nat = {time}:00-06:00\nby = \"rn-07\"\n\n[left]\nanchor = \"in-place\"\n\n[site]\nredness_mm = 2\n"
    )
}

/// Every path below a folder, git's own included, with its modification time and size.
pub(crate) fn state(folder: &Path) -> Vec<(PathBuf, SystemTime, u64)> {
    let mut found = Vec::new();
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        let about = path.symlink_metadata().unwrap();
        found.push((path.clone(), about.modified().unwrap(), about.len()));
        if about.is_dir() {
            found.extend(state(&path));
        }
    }
    found.sort();
    found
}

pub(crate) const EVERY_REPORT: [&[&str]; 8] = [
    &["due", "--all"],
    &["due", "P-001"],
    &["missed"],
    &["grade", "--each"],
    &["show", "P-001", "--all"],
    &["check"],
    &["check", "patients/P-001"],
    &["history", "P-001"],
];

/// The output of every command, as text and as JSON.
pub(crate) fn every_report(records: &Records, more: &[&str]) -> Vec<Said> {
    let reports = EVERY_REPORT.iter().flat_map(|report| [report.to_vec(), [report, &["--json"][..]].concat()]);
    reports.map(|report| records.exitsite(&[&report, more, &AS_OF].concat())).collect()
}

pub(crate) const NOTHING: &[&str] = &[];

/// Creates two branches from one commit; the second is checked out again at the end.
pub(crate) fn branches(records: &Records, first: fn(&Records), second: fn(&Records)) {
    records.git(&["checkout", "--quiet", "-b", "other"]);
    second(records);
    records.commit("on the other");
    records.git(&["checkout", "--quiet", "main"]);
    first(records);
    records.commit("on main");
}

pub(crate) const ELSEWHERE: &str = "patients/P-002/2026/2026-11-23T0800-change.toml";
