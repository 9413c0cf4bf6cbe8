//! The records under git: as they were at a commit, what was done to them since one, the hooks that `init` lays out, and
//! the history.
//!
//! Each test has a repository of its own, with authors, times and settings that no machine changes. The hooks are run by
//! `git commit` and `git push`, the latter to a bare repository on this disk.

#![allow(clippy::unwrap_used, clippy::expect_used, reason = "a test fails by panicking")]

use std::env;
use std::ffi::{OsStr, OsString};
use std::fs;
use std::os::unix::ffi::OsStrExt;
use std::os::unix::fs::{PermissionsExt, symlink};
use std::path::{Path, PathBuf};
use std::process::{Command, Output};
use std::time::SystemTime;

use exitsite::ask;
use exitsite::day::{AsOf, Calendar};
use exitsite::folder::Folder;
use exitsite::program::Program;
use serde_json::Value;
use tempfile::TempDir;

/// The moment that most is asked about.
const AS_OF: [&str; 2] = ["--as-of", "2026-11-24T07:15"];

const CHANGE: &str = "patients/P-001/2026/2026-11-22T1855-change.toml";
const CULTURE: &str = "patients/P-001/2026/2026-11-20T0900-culture.toml";
const ROW: &str = "[[amended]]\nat = 2026-11-23T08:00:00-06:00\nby = \"co-1\"\nwhy = \"misread\"\nwas = \"2\"\n";
const VOID: &str = "[void]\nat = 2026-11-23T08:00:00-06:00\nby = \"co-1\"\nwhy = \"told twice\"\n";

/// A folder with a repository in or above it.
struct Records {
    kept: TempDir,
    /// The records folder, inside.
    root: PathBuf,
}

/// What a run said.
#[derive(Debug, PartialEq)]
struct Said {
    stdout: String,
    stderr: String,
    status: i32,
}

impl From<Output> for Said {
    fn from(output: Output) -> Said {
        let text = |bytes: Vec<u8>| String::from_utf8_lossy(&bytes).into_owned();
        Said { stdout: text(output.stdout), stderr: text(output.stderr), status: output.status.code().unwrap_or(-1) }
    }
}

/// A command in a world of its own. `path` is where programs are looked for.
fn command(program: impl AsRef<OsStr>, dir: &Path, home: &Path, path: &OsStr) -> Command {
    let mut command = Command::new(program);
    command.current_dir(dir).env_clear().env("PATH", path).env("HOME", home).env("LC_ALL", "C");
    command.env("GIT_CONFIG_GLOBAL", "/dev/null").env("GIT_CONFIG_SYSTEM", "/dev/null").env("GIT_CONFIG_NOSYSTEM", "1");
    for who in ["AUTHOR", "COMMITTER"] {
        command.env(format!("GIT_{who}_NAME"), "Invented Nurse").env(format!("GIT_{who}_EMAIL"), "nurse@example.org");
        command.env(format!("GIT_{who}_DATE"), "2026-11-22T20:00:00-06:00");
    }
    command
}

/// Where git and the shell are, without exitsite.
fn path_without_exitsite() -> OsString {
    env::var_os("PATH").unwrap()
}

/// The same with the binary under test.
fn path() -> OsString {
    let own = Path::new(env!("CARGO_BIN_EXE_exitsite")).parent().unwrap().to_owned();
    env::join_paths([own].into_iter().chain(env::split_paths(&path_without_exitsite()))).unwrap()
}

impl Records {
    /// A sound program of two patients in a repository of its own, not committed yet.
    fn new() -> Records {
        Records::below("")
    }

    /// The same in a folder of a repository.
    fn below(folder: &str) -> Records {
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

    /// The same, committed.
    fn committed() -> Records {
        let records = Records::new();
        records.commit("records");
        records
    }

    fn repository(&self) -> PathBuf {
        self.kept.path().join("repository")
    }

    fn write(&self, file: &str, text: &str) {
        let path = self.root.join(file);
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::write(path, text).unwrap();
    }

    fn read(&self, file: &str) -> String {
        fs::read_to_string(self.root.join(file)).unwrap()
    }

    /// Replaces words in a file.
    fn edit(&self, file: &str, from: &str, to: &str) {
        let text = self.read(file);
        assert!(text.contains(from), "{file} has no {from}");
        self.write(file, &text.replace(from, to));
    }

    fn append(&self, file: &str, more: &str) {
        self.write(file, &(self.read(file) + more));
    }

    fn remove(&self, file: &str) {
        fs::remove_file(self.root.join(file)).unwrap();
    }

    fn rename(&self, from: &str, to: &str) {
        fs::create_dir_all(self.root.join(to).parent().unwrap()).unwrap();
        fs::rename(self.root.join(from), self.root.join(to)).unwrap();
    }

    fn command(&self, program: impl AsRef<OsStr>) -> Command {
        command(program, &self.root, self.kept.path(), &path())
    }

    fn try_git(&self, arguments: &[&str]) -> Said {
        self.command("git").args(arguments).output().unwrap().into()
    }

    fn git_at(&self, dir: &Path, arguments: &[&str]) -> String {
        let said: Said = self.command("git").current_dir(dir).args(arguments).output().unwrap().into();
        assert_eq!(said.status, 0, "git {arguments:?}: {}{}", said.stdout, said.stderr);
        said.stdout.trim_end().to_owned()
    }

    fn git(&self, arguments: &[&str]) -> String {
        self.git_at(&self.root, arguments)
    }

    /// Commits everything; the short id.
    fn commit(&self, message: &str) -> String {
        self.git(&["add", "--all", "."]);
        self.git(&["commit", "--quiet", "--allow-empty", "-m", message]);
        self.head()
    }

    fn head(&self) -> String {
        self.git(&["rev-parse", "--short=7", "HEAD"])
    }

    fn exitsite(&self, arguments: &[&str]) -> Said {
        self.command(env!("CARGO_BIN_EXE_exitsite")).args(arguments).output().unwrap().into()
    }

    fn json(&self, arguments: &[&str]) -> Value {
        let said = self.exitsite(&[arguments, &["--json"], &AS_OF].concat());
        serde_json::from_str(&said.stdout).unwrap_or_else(|error| panic!("{arguments:?}: {error}: {}", said.stderr))
    }

    /// Rule and file of what `check --since` finds with git.
    fn since(&self, revision: &str, more: &[&str]) -> Vec<String> {
        let report = self.json(&[&["check", "--since", revision], more].concat());
        let findings = report["findings"].as_array().unwrap().iter();
        let of_git = findings
            .filter(|finding| ["edited-after-commit", "deleted-record"].contains(&finding["rule"].as_str().unwrap()));
        of_git
            .map(|found| format!("{} {}: {}", word(found, "rule"), word(found, "file"), word(found, "message")))
            .collect()
    }
}

#[test]
fn a_file_that_the_repository_lacks_is_found_and_its_patient_cannot_be_judged() {
    let records = Records::committed();
    let blob = records.git(&["rev-parse", "HEAD:patients/P-001/patient.toml"]);
    fs::remove_file(records.repository().join(".git/objects").join(&blob[..2]).join(&blob[2..])).unwrap();
    let report = records.json(&["check", "--at-commit", "HEAD"]);
    let found: Vec<(&str, &str)> =
        report["findings"].as_array().unwrap().iter().map(|f| (word(f, "rule"), word(f, "file"))).collect();
    assert!(found.contains(&("cannot-be-read", "patients/P-001/patient.toml")), "{found:?}");
    assert_eq!(report["unusable"][0]["file"], "patients/P-001/patient.toml");
    let due = records.json(&["due", "--at-commit", "HEAD"]);
    assert_eq!((word(&due["rows"][0], "patient"), word(&due["rows"][0], "state")), ("P-001", "unusable"));
}

fn word<'a>(value: &'a Value, key: &str) -> &'a str {
    value[key].as_str().unwrap_or_default()
}

fn change(time: &str) -> String {
    format!(
        "kind = \"change\"\nat = {time}:00-06:00\nby = \"rn-07\"\n\n[left]\nanchor = \"in-place\"\n\n[site]\nredness_mm = 2\n"
    )
}

/// Every path below a folder, git's own included, with its time and size.
fn state(folder: &Path) -> Vec<(PathBuf, SystemTime, u64)> {
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

const EVERY_REPORT: [&[&str]; 8] = [
    &["due", "--all"],
    &["due", "P-001"],
    &["missed"],
    &["grade", "--each"],
    &["show", "P-001", "--all"],
    &["check"],
    &["check", "patients/P-001"],
    &["history", "P-001"],
];

/// What every command says, as text and as JSON.
fn every_report(records: &Records, more: &[&str]) -> Vec<Said> {
    let reports = EVERY_REPORT.iter().flat_map(|report| [report.to_vec(), [report, &["--json"][..]].concat()]);
    reports.map(|report| records.exitsite(&[&report, more, &AS_OF].concat())).collect()
}

#[test]
fn a_commit_gives_what_the_folder_gave_then_and_leaves_it_alone() {
    let records = Records::committed();
    let then = every_report(&records, &[]);
    let at = records.head();
    records.append(CHANGE, VOID);
    records.write("patients/P-002/2026/2026-11-23T0800-change.toml", &change("2026-11-23T08:00"));
    records.write("patients/P-003/patient.toml", "broken");
    records.commit("more");
    records.edit("policy.toml", "schema = 1", "schema = 2");
    let before = state(records.kept.path());
    assert_eq!(every_report(&records, &["--at-commit", &at]), then);
    assert_eq!(every_report(&records, &["--at-commit", "HEAD~1"]), then);
    for arguments in [&["check", "--since", "HEAD~1", "--at-commit", "HEAD"][..], &["history", "--at-commit", "HEAD"]] {
        assert_ne!(records.exitsite(arguments).status, 2, "{arguments:?}");
    }
    assert_eq!(state(records.kept.path()), before);
    // The history is of a commit, not of a tree that knows no commits.
    let tree = records.git(&["rev-parse", "HEAD~1^{tree}"]);
    let of_tree = every_report(&records, &["--at-commit", &tree]);
    assert_eq!(of_tree[..14], then[..14]);
    for named in ["HEAD~1^{tree}", &tree[..12]] {
        let said = records.exitsite(&["due", "--at-commit", named]);
        assert!(said.status == 2 && said.stderr.contains("names no commit"), "{named}: {said:?}");
    }
    assert_ne!(every_report(&records, &["--at-commit", "HEAD"]), then);
}

#[test]
fn as_of_stays_now_whatever_the_commit() {
    let records = Records::committed();
    let said = records.exitsite(&["due", "--at-commit", "HEAD", "--json"]);
    let report: Value = serde_json::from_str(&said.stdout).unwrap();
    let now = chrono::Utc::now().timestamp();
    let as_of = chrono::DateTime::parse_from_rfc3339(word(&report, "as_of")).unwrap().timestamp();
    assert!((now - as_of).abs() < 60, "{as_of} is not now");
}

#[test]
fn links_large_files_and_odd_names_are_in_a_commit_what_they_are_on_the_disk() {
    let records = Records::new();
    fs::write(records.kept.path().join("outside.toml"), change("2026-11-21T18:55")).unwrap();
    let year = records.root.join("patients/P-001/2026");
    symlink(records.kept.path().join("outside.toml"), year.join("2026-11-21T1855-change.toml")).unwrap();
    symlink("../../P-002", year.join("2026")).unwrap();
    fs::create_dir_all(records.root.join("patients/P-004")).unwrap();
    symlink("../P-001/patient.toml", records.root.join("patients/P-004/patient.toml")).unwrap();
    symlink("P-001", records.root.join("patients/P-005")).unwrap();
    records.write("patients/P-002/2026/2026-11-20T1855-change.toml", &"#".repeat(256 * 1024 + 1));
    records
        .write("patients/P-002/2026/2026-11-19T1855-change.toml", &(change("2026-11-19T18:55") + &"#".repeat(250_000)));
    fs::write(records.root.join("patients/P-002/2026/2026-11-18-change.toml"), b"kind = \"change\xff\"").unwrap();
    for name in
        [&b"\xff.toml"[..], "\u{420}-001.toml".as_bytes(), b"two\nlines.toml", b" .toml", b"2026-11-18-change.toml~"]
    {
        fs::write(year.join(OsStr::from_bytes(name)), "").unwrap();
        fs::write(records.root.join("patients").join(OsStr::from_bytes(name)), "").unwrap();
        fs::write(records.root.join(OsStr::from_bytes(name)), "").unwrap();
    }
    fs::set_permissions(records.root.join(CHANGE), fs::Permissions::from_mode(0o755)).unwrap();
    records.write("patients/P-002/2026/2026/inside.toml", "");
    let on_disk = every_report(&records, &[]);
    records.commit("odd");
    let in_commit = every_report(&records, &["--at-commit", "HEAD"]);
    assert_eq!(in_commit[..14], on_disk[..14]);
    let found = &in_commit[11].stdout;
    for rule in ["not-a-regular-file", "too-large", "not-utf8", "stray-name", "stray-folder"] {
        assert!(found.contains(rule), "no {rule} in {found}");
    }
    assert!(found.contains("\\\\xFF.toml"), "{found}");
    // Another repository in place of a folder or of a file is neither.
    let id = records.git(&["rev-parse", "HEAD"]);
    for path in ["patients/P-009", "patients/P-002/2026/2026-11-17-change.toml"] {
        records.git(&["update-index", "--add", "--cacheinfo", &format!("160000,{id},{path}")]);
    }
    let tree = records.git(&["write-tree"]);
    let report = records.json(&["check", "--at-commit", &tree]);
    let of = |file: &str| {
        let findings = report["findings"].as_array().unwrap().iter();
        findings.filter(|found| found["file"] == file).map(|found| word(found, "rule").to_owned()).collect::<Vec<_>>()
    };
    assert_eq!(of("patients/P-009"), ["stray-folder"]);
    assert_eq!(of("patients/P-002/2026/2026-11-17-change.toml"), ["not-a-regular-file"]);
}

#[test]
fn a_commit_is_read_as_lazily_as_the_disk() {
    let records = Records::new();
    // Twenty of the days that signals look back over, and twenty of long before.
    for (year, day) in [2016, 2026].into_iter().flat_map(|year| (1..=20).map(move |day| (year, day))) {
        let time = format!("{year}-11-{day:02}T18:00");
        let name = time.replace(':', "");
        records.write(&format!("patients/P-002/{year}/{name}-change.toml"), &change(&time));
    }
    records.commit("records");
    let tally = |folder: Folder| {
        let program = Program::open(folder).unwrap();
        let calendar = Calendar::new("03:00:00".parse().unwrap(), chrono_tz::America::Chicago);
        let as_of = AsOf::read(AS_OF[1], &calendar).unwrap();
        let codes = program.codes(&[]).unwrap();
        let (report, _) = ask::due(&program, &codes, as_of, true);
        assert_eq!(report.rows.len(), 2);
        program.folder.tally()
    };
    let root = Some(records.root.as_path());
    let on_disk = tally(Folder::find(root, &records.root).unwrap());
    assert_eq!(tally(Folder::at_commit(root, &records.root, "HEAD").unwrap()), on_disk);
    assert!(on_disk.1 < 35, "{on_disk:?}");
}

#[test]
fn a_folder_of_a_repository_a_worktree_and_a_bare_repository_answer_alike() {
    let records = Records::below("care/records");
    records.write("../notes.txt", "none of the records");
    let expected = records.exitsite(&["due", "--json", AS_OF[0], AS_OF[1]]);
    records.commit("records");
    let at_head = ["due", "--json", "--at-commit", "HEAD", AS_OF[0], AS_OF[1]];
    assert_eq!(records.exitsite(&at_head), expected);
    // As a hook sees it: the repository in the environment, relative or not, with an index of its own.
    let git_dir = records.repository().join(".git");
    for told in [git_dir.as_os_str(), OsStr::new(".git"), OsStr::new("nowhere")] {
        let mut run = records.command(env!("CARGO_BIN_EXE_exitsite"));
        run.args(at_head).env("GIT_DIR", told).env("GIT_INDEX_FILE", "none").env("GIT_PREFIX", "x/");
        assert_eq!(Said::from(run.output().unwrap()), expected, "{told:?}");
    }
    let away = records.kept.path().join("worktree");
    records.git(&["worktree", "add", "--quiet", away.to_str().unwrap()]);
    let mut run = records.command(env!("CARGO_BIN_EXE_exitsite"));
    assert_eq!(Said::from(run.args(at_head).current_dir(away.join("care/records")).output().unwrap()), expected);
    // A tree of the records alone, in a repository without a folder.
    let bare = records.kept.path().join("bare.git");
    records.git(&["clone", "--quiet", "--bare", records.repository().to_str().unwrap(), bare.to_str().unwrap()]);
    let mut run = records.command(env!("CARGO_BIN_EXE_exitsite"));
    run.args(["due", "--json", "--records", ".", "--at-commit", "main:care/records", AS_OF[0], AS_OF[1]]);
    assert_eq!(Said::from(run.current_dir(&bare).output().unwrap()), expected);
    // Only the environment knows the repository.
    let mut run = records.command(env!("CARGO_BIN_EXE_exitsite"));
    fs::rename(&git_dir, records.kept.path().join("elsewhere.git")).unwrap();
    run.args(at_head)
        .env("GIT_DIR", records.kept.path().join("elsewhere.git"))
        .env("GIT_WORK_TREE", records.repository())
        .env("GIT_CEILING_DIRECTORIES", records.kept.path());
    assert_eq!(Said::from(run.output().unwrap()), expected);
}

#[test]
fn what_names_no_commit_is_one_sentence() {
    let records = Records::committed();
    for named in ["nope", "-x", "--all", "", "HEAD..HEAD", "^HEAD", "HEAD:policy.toml", "HEAD~9", "a\u{1b}[2J"] {
        for flag in ["--at-commit", "--since"] {
            let said = records.exitsite(&["check", &format!("{flag}={named}")]);
            assert_eq!((said.status, said.stdout.as_str()), (2, ""), "{named}: {}", said.stderr);
            assert!(said.stderr.starts_with(&format!("exitsite: {flag} ")), "{named}: {}", said.stderr);
            assert!(said.stderr.contains("names no commit") && said.stderr.lines().count() == 1, "{}", said.stderr);
        }
    }
    let said = records.exitsite(&["due", "--at-commit", "HEAD:patients"]);
    assert_eq!(said.status, 2);
    assert!(said.stderr.contains("was no records folder at HEAD:patients"), "{}", said.stderr);
    let said = records.exitsite(&["check", "--since", "HEAD^{tree}"]);
    assert!(said.status == 2 && said.stderr.contains("names no commit"), "{}", said.stderr);
}

#[test]
fn without_git_or_a_repository_one_sentence_says_so() {
    let records = Records::committed();
    let without = |arguments: &[&str]| -> Said {
        let nothing = records.kept.path().join("nothing");
        let mut run = command(env!("CARGO_BIN_EXE_exitsite"), &records.root, records.kept.path(), nothing.as_os_str());
        run.args(arguments).output().unwrap().into()
    };
    for arguments in [&["due", "--at-commit", "HEAD"][..], &["check", "--since", "HEAD"]] {
        let said = without(arguments);
        assert_eq!((said.status, said.stdout.as_str()), (2, ""), "{}", said.stderr);
        assert!(said.stderr.contains("install git"), "{}", said.stderr);
    }
    assert_eq!(without(&["check", AS_OF[0], AS_OF[1]]).status, 0);
    let said = without(&["history", "P-001", AS_OF[0], AS_OF[1]]);
    assert_eq!(said.status, 0, "{}", said.stderr);
    assert!(said.stdout.starts_with("Without git: what the records say of themselves"), "{}", said.stdout);
    assert_eq!(said.stdout.matches("recorded").count(), 2, "{}", said.stdout);
    fs::remove_dir_all(records.root.join(".git")).unwrap();
    for arguments in [&["due", "--at-commit", "HEAD"][..], &["check", "--since", "HEAD"]] {
        let mut run = records.command(env!("CARGO_BIN_EXE_exitsite"));
        // The folder of this test may lie in a repository.
        run.args(arguments).env("GIT_CEILING_DIRECTORIES", records.kept.path());
        let said = Said::from(run.output().unwrap());
        assert_eq!((said.status, said.stdout.as_str()), (2, ""), "{}", said.stderr);
        assert!(said.stderr.contains("no git repository keeps"), "{}", said.stderr);
    }
}

/// What somebody did to the records, and what `check --since` says of it.
type Done = (&'static str, fn(&Records), &'static [&'static str]);

const NOTHING: &[&str] = &[];

const DONE: [Done; 21] = [
    ("nothing", |_| {}, NOTHING),
    ("layout and comments", |r| r.edit(CHANGE, "[left]\n", "# told\n\n[left]\n"), NOTHING),
    (
        "a new record",
        |r| r.write("patients/P-002/2026/2026-11-23T0800-change.toml", &change("2026-11-23T08:00")),
        NOTHING,
    ),
    ("an amendment", |r| r.write(CHANGE, &(r.read(CHANGE).replace("= 2\n", "= 3\n") + ROW)), NOTHING),
    ("a void", |r| r.append(CHANGE, VOID), NOTHING),
    ("a result", |r| r.append(CULTURE, "[result]\non = 2026-11-23\ngrowth = false\n"), NOTHING),
    (
        "an edit",
        |r| r.edit(CHANGE, "= 2\n", "= 3\n"),
        &[
            "edited-after-commit patients/P-001/2026/2026-11-22T1855-change.toml: `site.redness_mm` was changed without an amendment, ",
        ],
    ),
    (
        "several",
        |r| r.write(CHANGE, &(r.read(CHANGE).replace("= 2\n", "= 3\n").replace("rn-07", "co-1") + "crust_mm = 1\n")),
        &[
            "edited-after-commit patients/P-001/2026/2026-11-22T1855-change.toml: `by` and 2 more were changed without an amendment, ",
        ],
    ),
    (
        "an edit of when",
        |r| r.write(CHANGE, &(r.read(CHANGE).replace("18:55", "18:50") + ROW)),
        &[
            "edited-after-commit patients/P-001/2026/2026-11-22T1855-change.toml: `at` was changed without an amendment, ",
        ],
    ),
    (
        "what cannot be read any more",
        |r| r.edit(CHANGE, "\"rn-07\"", "\"rn-07"),
        &[
            "edited-after-commit patients/P-001/2026/2026-11-22T1855-change.toml: the record can no longer be read without an amendment, ",
        ],
    ),
    (
        "a deletion",
        |r| r.remove(CHANGE),
        &["deleted-record patients/P-001/2026/2026-11-22T1855-change.toml: the record was deleted instead of voided, "],
    ),
    (
        "a whole patient deleted",
        |r| fs::remove_dir_all(r.root.join("patients/P-001")).unwrap(),
        &[
            "deleted-record patients/P-001/2026/2026-11-20T0900-culture.toml: the record was deleted instead of voided, ",
            "deleted-record patients/P-001/2026/2026-11-22T1855-change.toml: the record was deleted instead of voided, ",
        ],
    ),
    (
        "a link in place of a record",
        |r| {
            r.remove(CHANGE);
            symlink("elsewhere", r.root.join(CHANGE)).unwrap();
        },
        &["deleted-record patients/P-001/2026/2026-11-22T1855-change.toml: the record was deleted instead of voided, "],
    ),
    ("another number", |r| r.rename(CHANGE, &CHANGE.replace("change.toml", "change-2.toml")), NOTHING),
    (
        "another patient",
        |r| r.rename(CHANGE, &CHANGE.replace("P-001", "P-002")),
        &["deleted-record patients/P-001/2026/2026-11-22T1855-change.toml: the record was deleted instead of voided, "],
    ),
    (
        "another name and another content",
        |r| {
            r.rename(CHANGE, &CHANGE.replace("1855", "1850"));
            r.edit(&CHANGE.replace("1855", "1850"), "18:55", "18:50");
        },
        &["deleted-record patients/P-001/2026/2026-11-22T1855-change.toml: the record was deleted instead of voided, "],
    ),
    (
        "patient.toml is no event",
        |r| r.append("patients/P-001/patient.toml", "[[caregiver]]\ncode = \"p001-son\"\nrelation = \"son\"\n"),
        NOTHING,
    ),
    (
        "a result is edited",
        |r| r.edit(CULTURE, "exit-site", "blood"),
        &[
            "edited-after-commit patients/P-001/2026/2026-11-20T0900-culture.toml: `specimen` was changed without an amendment, ",
        ],
    ),
    (
        "staff",
        |r| r.remove("staff/rn-07/2026/2026-01-12T1000-teaching.toml"),
        &["deleted-record staff/rn-07/2026/2026-01-12T1000-teaching.toml: the record was deleted instead of voided, "],
    ),
    (
        "a broken record is mended",
        |r| r.write("patients/P-002/2026/2026-11-21T1855-change.toml", &change("2026-11-21T18:55")),
        NOTHING,
    ),
    (
        "one with an unknown key is mended",
        |r| r.edit("patients/P-002/2026/2026-11-20T1855-change.toml", "rednes_mm = 4", "redness_mm = 5"),
        NOTHING,
    ),
];

#[test]
fn what_was_done_since_a_commit_is_named_with_the_commit() {
    let records = Records::new();
    let teaching = "kind = \"teaching\"\nat = 2026-01-12T10:00:00-06:00\nby = \"co-1\"\nlearner = \"rn-07\"\nobserver = \"co-1\"\ncurriculum = \"dressing-change\"\nversion = 1\nmode = \"shown\"\n";
    records.write("staff/rn-07/2026/2026-01-12T1000-teaching.toml", teaching);
    records.write(
        "patients/P-002/2026/2026-11-21T1855-change.toml",
        &change("2026-11-21T18:55").replace("rn-07\"", "rn-07"),
    );
    records.write(
        "patients/P-002/2026/2026-11-20T1855-change.toml",
        &change("2026-11-20T18:55").replace("redness_mm = 2", "rednes_mm = 4"),
    );
    let start = records.commit("records");
    for (name, done, expected) in DONE {
        records.git(&["reset", "--quiet", "--hard", &start]);
        done(&records);
        let found = |when: &str| expected.iter().map(|found| format!("{found}{when}")).collect::<Vec<_>>();
        let pending = found("since the last commit, not committed yet");
        assert_eq!(records.since("HEAD", &[]), pending, "{name}, in the folder");
        records.git(&["add", "--all"]);
        assert_eq!(records.since("HEAD", &[]), pending, "{name}, staged");
        let tree = records.git(&["write-tree"]);
        assert_eq!(records.since("HEAD", &["--at-commit", &tree]), pending, "{name}, in the index");
        let at = records.commit(name);
        let committed = found(&format!("in commit {at} of 2026-11-22"));
        assert_eq!(records.since(&start, &[]), committed, "{name}, committed");
        assert_eq!(records.since(&start, &["--at-commit", "HEAD"]), committed, "{name}, at the commit");
        records.commit("nothing more");
        assert_eq!(records.since(&start, &[]), committed, "{name}, later");
        assert_eq!(records.since("HEAD", &[]), NOTHING, "{name}, since then");
        assert_eq!(records.since(&start, &["--at-commit", &start]), NOTHING, "{name}, before");
    }
}

#[test]
fn the_command_that_puts_a_record_back_stands_on_one_line() {
    let records = Records::committed();
    records.append(CULTURE, "note = \"edited\"\n");
    records.remove(CHANGE);
    let said = records.exitsite(&[&["check", "--since", "HEAD"], &AS_OF[..]].concat());
    // A part of it would put back much more.
    for file in [CHANGE, CULTURE] {
        let whole = format!("`git checkout {} -- {file}`", records.head());
        assert!(said.stdout.lines().any(|line| line.contains(&whole)), "{whole}\n{}", said.stdout);
    }
    assert!(said.stdout.lines().all(|line| !line.ends_with('/')), "{}", said.stdout);
}

#[test]
fn what_was_corrected_stays_and_what_was_put_back_is_forgiven() {
    let records = Records::committed();
    let start = records.head();
    records.append(CHANGE, ROW);
    let amended = records.commit("amended");
    assert_eq!(records.since(&start, &[]), NOTHING);
    records.edit(CHANGE, "misread", "because");
    let said = records.since(&amended, &[]);
    assert!(said.len() == 1 && said[0].contains("`amended` was changed without an amendment"), "{said:?}");
    let edited = records.commit("edited");
    records.edit(CHANGE, "because", "misread");
    assert_eq!(records.since(&amended, &[]), NOTHING, "put back in the folder");
    assert_eq!(records.since(&edited, &[]).len(), 1, "what is put back is an edit of what was there");
    records.commit("put back");
    assert_eq!(records.since(&amended, &[]), NOTHING, "put back in a commit");
    records.remove(CHANGE);
    records.commit("deleted");
    assert_eq!(records.since(&start, &[]).len(), 1);
    records.git(&["checkout", "--quiet", "HEAD~1", "--", CHANGE]);
    assert_eq!(records.since(&start, &[]), NOTHING, "restored");
    records.edit(CHANGE, "= 2\n", "= 7\n");
    assert_eq!(records.since(&start, &[]).len(), 1, "restored as something else");
}

#[test]
fn what_is_put_into_the_history_later_is_seen_although_the_end_looks_right() {
    let records = Records::committed();
    let start = records.head();
    records.edit(CHANGE, "= 2\n", "= 3\n");
    records.commit("an edit");
    records.edit(CHANGE, "\"in-place\"", "\"loose\"");
    records.append(CHANGE, ROW);
    records.commit("an amendment of something else");
    assert_eq!(records.since(&start, &[]).len(), 1);
    // Nor does it help to make a record unusable first and to mend it then.
    for broken in ["crust = 1\n", "= broken\n"] {
        let records = Records::committed();
        let start = records.head();
        let text = records.read(CHANGE);
        records.append(CHANGE, broken);
        records.commit("broken");
        records.write(CHANGE, &text.replace("= 2\n", "= 3\n"));
        records.commit("mended to something else");
        assert_eq!(records.since(&start, &[]).len(), 1, "{broken}");
        records.write(CHANGE, &text);
        assert_eq!(records.since(&start, &[]), NOTHING, "{broken}, and put back");
    }
}

/// Two branches from one beginning; the second is checked out again at the end.
fn branches(records: &Records, first: fn(&Records), second: fn(&Records)) {
    records.git(&["checkout", "--quiet", "-b", "other"]);
    second(records);
    records.commit("on the other");
    records.git(&["checkout", "--quiet", "main"]);
    first(records);
    records.commit("on main");
}

const ELSEWHERE: &str = "patients/P-002/2026/2026-11-23T0800-change.toml";

#[test]
fn a_merge_is_judged_by_what_it_does_itself() {
    // What arrives was judged where it was made.
    let records = Records::committed();
    let start = records.head();
    branches(&records, |r| r.write(ELSEWHERE, &change("2026-11-23T08:00")), |r| r.edit(CHANGE, "= 2\n", "= 3\n"));
    let (ours, theirs) = (records.head(), records.git(&["rev-parse", "--short=7", "other"]));
    records.git(&["merge", "--quiet", "--no-ff", "--no-commit", "other"]);
    let found = format!(
        "edited-after-commit {CHANGE}: `site.redness_mm` was changed without an amendment, in commit {theirs} of 2026-11-22"
    );
    assert_eq!(records.since(&ours, &[]), NOTHING, "while it is being merged");
    records.commit("merged");
    assert_eq!(records.since(&start, &[]), std::slice::from_ref(&found));
    assert_eq!(records.since(&ours, &[]), [found]);
    assert_eq!(records.since(&theirs, &[]), NOTHING);

    // A merge that changes what neither side had changed.
    let records = Records::committed();
    let start = records.head();
    branches(
        &records,
        |r| r.write(ELSEWHERE, &change("2026-11-23T08:00")),
        |r| r.append(CULTURE, "[result]\non = 2026-11-23\ngrowth = false\n"),
    );
    records.git(&["merge", "--quiet", "--no-ff", "--no-commit", "other"]);
    records.edit(CHANGE, "= 2\n", "= 3\n");
    assert_eq!(records.since("HEAD", &[]).len(), 1, "it differs from both sides");
    let at = records.commit("merged");
    let found = format!(
        "edited-after-commit {CHANGE}: `site.redness_mm` was changed without an amendment, in commit {at} of 2026-11-22"
    );
    assert_eq!(records.since(&start, &[]), [found]);

    // A merge that takes one side and lets the records of the other go.
    let records = Records::committed();
    let start = records.head();
    branches(&records, |r| r.append(CULTURE, VOID), |r| r.write(ELSEWHERE, &change("2026-11-23T08:00")));
    records.git(&["merge", "--quiet", "-s", "ours", "-m", "ours", "other"]);
    let said = records.since(&start, &[]);
    assert!(said.len() == 1 && said[0].starts_with(&format!("deleted-record {ELSEWHERE}")), "{said:?}");

    // Both sides corrected one record, and one correction was lost.
    let records = Records::committed();
    let start = records.head();
    branches(&records, |r| r.append(CHANGE, VOID), |r| r.append(CHANGE, ROW));
    assert_ne!(records.try_git(&["merge", "--quiet", "other"]).status, 0);
    records.git(&["checkout", "--quiet", "--ours", "--", CHANGE]);
    let lost = records.commit("merged");
    let said = records.since(&start, &[]);
    let expected = format!(
        "edited-after-commit {CHANGE}: `amended` was changed without an amendment, in commit {lost} of 2026-11-22"
    );
    assert_eq!(said, [expected]);
    records.edit(CHANGE, "[void]", &format!("{ROW}\n[void]"));
    let both = records.since(&start, &[]);
    assert_eq!(both, NOTHING, "with both corrections again");
}

#[test]
fn rewritten_history_stops_the_comparison() {
    let records = Records::committed();
    records.append(CHANGE, ROW);
    let before = records.commit("amended");
    records.git(&["commit", "--quiet", "--amend", "-m", "rewritten"]);
    let said = records.exitsite(&["check", "--since", &before]);
    assert_eq!((said.status, said.stdout.as_str()), (2, ""));
    assert!(said.stderr.contains(&format!("{before} is not in the history of what is checked")), "{}", said.stderr);
    assert!(said.stderr.lines().count() == 1, "{}", said.stderr);
}

#[test]
fn fail_on_takes_levels_and_rules() {
    let records = Records::committed();
    records.append(CHANGE, "crust_mm = 1\n");
    records.write(
        "patients/P-002/2026/2026-11-23T0800-shower.toml",
        "kind = \"shower\"\nat = 2026-11-23T08:00:00-06:00\nby = \"rn-07\"\nnote = \"ring 312-555-0142\"\n",
    );
    let status = |more: &[&str]| records.exitsite(&[&["check"], more, &AS_OF].concat()).status;
    assert_eq!(status(&[]), 0);
    assert_eq!(status(&["--fail-on", "warning"]), 1);
    assert_eq!(status(&["--fail-on", "error", "--fail-on", "private-data"]), 1);
    assert_eq!(status(&["--fail-on", "error", "--fail-on", "edited-after-commit"]), 0);
    assert_eq!(status(&["--since", "HEAD"]), 1);
    assert_eq!(status(&["--since", "HEAD", "--fail-on", "deleted-record"]), 0);
    assert_eq!(status(&["--since", "HEAD", "--fail-on", "deleted-record", "--fail-on", "edited-after-commit"]), 1);
    let said = records.exitsite(&["check", "--fail-on", "privat-data"]);
    assert!(said.status == 2 && said.stderr.contains("private-data"), "{}", said.stderr);
    // Only what was asked for, also of what is gone.
    records.remove(CULTURE);
    assert_eq!(records.since("HEAD", &["patients/P-002"]), NOTHING);
    assert_eq!(records.since("HEAD", &[CULTURE]).len(), 1);
    assert_eq!(records.since("HEAD", &["patients/P-001"]).len(), 2);
    let said = records.exitsite(&["check", "--since", "HEAD", "patients/P-009"]);
    assert!(said.status == 2 && said.stderr.contains("there is no patients/P-009"), "{}", said.stderr);
}

/// A program as `init` lays it out, with staff and a patient, and the first commit through its hook.
fn laid_out() -> Records {
    let kept = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).unwrap();
    let root = kept.path().join("records");
    let records = Records { root: kept.path().to_owned(), kept };
    let said = records.exitsite(&["init", root.to_str().unwrap()]);
    assert!(said.status == 0 && said.stdout.contains("git keeps it"), "{said:?}");
    let records = Records { root, ..records };
    for hook in ["pre-commit", "pre-receive"] {
        let about = fs::metadata(records.root.join("hooks").join(hook)).unwrap();
        assert_eq!(about.permissions().mode() & 0o777, 0o755, "{hook}");
    }
    assert_eq!(records.git(&["config", "core.hooksPath"]), "hooks");
    assert_eq!(records.git(&["status", "--porcelain", "hooks"]), "?? hooks/");
    let sound = Records::new();
    for file in ["people.toml", "patients/P-001/patient.toml", "patients/P-002/patient.toml", CHANGE, CULTURE] {
        records.write(file, &sound.read(file));
    }
    records.git(&["checkout", "--quiet", "-b", "main"]);
    records.commit("laid out");
    records
}

impl Records {
    /// Stages everything and tries to commit.
    fn try_commit(&self) -> Said {
        self.git(&["add", "--all", "."]);
        self.try_git(&["commit", "--quiet", "-m", "tried"])
    }

    fn is_committed(&self) {
        let said = self.try_commit();
        assert_eq!(said.status, 0, "{}{}", said.stdout, said.stderr);
    }

    /// The commit was stopped with these words, and nothing of it is there.
    fn is_stopped(&self, words: &str) {
        let head = self.head();
        let said = self.try_commit();
        assert_ne!(said.status, 0, "committed, without {words}");
        assert!(said.stderr.contains(words), "without {words}: {}{}", said.stdout, said.stderr);
        assert!(said.stderr.contains("Nothing was committed"), "{}", said.stderr);
        assert_eq!(self.head(), head);
        self.git(&["reset", "--quiet", "--hard"]);
    }
}

#[test]
fn the_hook_stops_what_is_wrong_in_what_is_committed_and_nothing_else() {
    let records = laid_out();
    records.write(ELSEWHERE, &change("2026-11-23T08:00"));
    records.is_committed();
    records.write("patients/P-002/2026/2026-11-22T0800-change.toml", "kind = \"change");
    records.is_stopped("[syntax]");
    records.edit(CHANGE, "= 2\n", "= 3\n");
    records.is_stopped("edited-after-commit");
    records.remove(CHANGE);
    records.is_stopped("deleted-record");
    fs::remove_dir_all(records.root.join("patients/P-001")).unwrap();
    records.is_stopped("deleted-record");
    let private = change("2026-11-22T08:00").replace("\n\n[left]", "\nnote = \"ring 312-555-0142\"\n\n[left]");
    records.write("patients/P-002/2026/2026-11-22T0800-change.toml", &private);
    records.is_stopped("private-data");
    // A shower of another household, copied by hand.
    records.append("patients/P-001/patient.toml", "[[caregiver]]\ncode = \"p001-son\"\n");
    records.is_committed();
    let shower = "kind = \"shower\"\nat = 2026-11-22T18:40:00-06:00\nby = \"p001-son\"\n";
    records.write("patients/P-002/2026/2026-11-22T1840-shower.toml", shower);
    records.is_stopped("another-household");
    records.append(CHANGE, ROW);
    records.is_committed();
    records.append(CHANGE, VOID);
    records.is_committed();
    // Only what is staged counts, as it is staged.
    records.write("patients/P-002/2026/2026-11-21T0800-change.toml", &change("2026-11-21T08:00"));
    records.git(&["add", "."]);
    records.append("patients/P-002/2026/2026-11-21T0800-change.toml", "broken");
    records.write("patients/P-001/2026/2026-11-21T0800-change.toml", "somebody else is still writing");
    let said = records.try_git(&["commit", "--quiet", "-m", "mine"]);
    assert_eq!(said.status, 0, "{}{}", said.stdout, said.stderr);
    // Somebody else's broken file is on file, and keeps nobody from recording.
    records.git(&["commit", "--quiet", "--no-verify", "-a", "-m", "past the hook"]);
    records.git(&["add", "--all"]);
    records.git(&["commit", "--quiet", "--no-verify", "-m", "past the hook"]);
    records.write("patients/P-001/2026/2026-11-20T0800-change.toml", &change("2026-11-20T08:00"));
    records.is_committed();
    // One file alone, and with -a: git gives the hook an index of its own.
    records.write("patients/P-001/2026/2026-11-19T0800-change.toml", &change("2026-11-19T08:00"));
    records.git(&["add", "."]);
    records.edit("patients/P-001/2026/2026-11-20T0800-change.toml", "= 2\n", "= 3\n");
    let said = records.try_git(&["commit", "--quiet", "-m", "one", "patients/P-001/2026/2026-11-19T0800-change.toml"]);
    assert_eq!(said.status, 0, "{}{}", said.stdout, said.stderr);
    assert_ne!(records.try_git(&["commit", "--quiet", "-a", "-m", "all"]).status, 0);
    records.git(&["reset", "--quiet", "--hard"]);
    // Any names, and what is no record.
    for name in ["two\nlines.md", " a b.md", "-x.md", "\"quoted\".md", "\u{e9}.md"] {
        records.write(name, "notes\n");
    }
    records.is_committed();
    records.remove("-x.md");
    records.remove("README.md");
    records.is_committed();
    records.is_stopped_at_nothing();
}

impl Records {
    /// A commit without a change is git's to judge.
    fn is_stopped_at_nothing(&self) {
        assert_eq!(self.try_git(&["commit", "--quiet", "--allow-empty", "-m", "nothing"]).status, 0);
    }
}

#[test]
fn the_hook_stops_nobody_where_exitsite_is_not_installed() {
    let records = laid_out();
    records.edit(CHANGE, "= 2\n", "= 3\n");
    let mut run = command("git", &records.root, records.kept.path(), &path_without_exitsite());
    let said = Said::from(run.args(["commit", "--quiet", "-a", "-m", "unchecked"]).output().unwrap());
    assert_eq!(said.status, 0, "{}", said.stderr);
    assert!(said.stderr.contains("exitsite is not installed here"), "{}", said.stderr);
}

#[test]
fn the_hook_works_in_a_clone_a_worktree_and_a_folder_of_a_repository() {
    let records = laid_out();
    let clone = Records { root: records.kept.path().join("clone"), kept: tempfile::tempdir().unwrap() };
    records.git(&["clone", "--quiet", ".", clone.root.to_str().unwrap()]);
    clone.git(&["config", "core.hooksPath", "hooks"]);
    let away = Records { root: records.kept.path().join("away"), kept: tempfile::tempdir().unwrap() };
    records.git(&["worktree", "add", "--quiet", "-b", "away", away.root.to_str().unwrap()]);
    let below = Records::below("care/records");
    for hook in ["pre-commit", "pre-receive"] {
        below.write(&format!("hooks/{hook}"), &records.read(&format!("hooks/{hook}")));
        fs::set_permissions(below.root.join("hooks").join(hook), fs::Permissions::from_mode(0o755)).unwrap();
    }
    below.git(&["config", "core.hooksPath", "care/records/hooks"]);
    below.write("../notes.txt", "none of the records");
    below.git(&["add", "../notes.txt"]);
    below.is_committed();
    let worktree =
        Records { root: below.kept.path().join("worktree/care/records"), kept: tempfile::tempdir().unwrap() };
    below.git(&["worktree", "add", "--quiet", "-b", "away", below.kept.path().join("worktree").to_str().unwrap()]);
    for (name, records) in [("clone", &clone), ("worktree", &away), ("folder", &below), ("its worktree", &worktree)] {
        records.edit(CHANGE, "= 2\n", "= 3\n");
        records.is_stopped("edited-after-commit");
        records.remove(CHANGE);
        records.is_stopped("deleted-record");
        records.append(CHANGE, ROW);
        records.is_committed();
        // From inside the folders, too.
        records.edit(CHANGE, "misread", "because");
        let dir = records.root.join("patients/P-001");
        let said: Said = records.command("git").current_dir(dir).args(["commit", "-am", "x"]).output().unwrap().into();
        assert!(said.status != 0 && said.stderr.contains("edited-after-commit"), "{name}: {}", said.stderr);
    }
}

#[test]
fn the_hook_asks_of_a_merge_only_what_it_does_itself() {
    let records = laid_out();
    branches(
        &records,
        |r| r.write("README.md", "ours\n"),
        |r| {
            r.write("README.md", "theirs\n");
            r.edit(CHANGE, "= 2\n", "= 3\n");
            r.write(ELSEWHERE, "broken");
            r.git(&["config", "core.hooksPath", "none"]);
        },
    );
    records.git(&["config", "core.hooksPath", "hooks"]);
    assert_ne!(records.try_git(&["merge", "--quiet", "other"]).status, 0);
    records.write("README.md", "both\n");
    records.is_committed();
    assert_eq!(records.git(&["rev-list", "--count", "--merges", "HEAD"]), "1");
}

/// A server that all push to, with the hook and with what of ours is on its PATH.
struct Server {
    records: Records,
    bare: PathBuf,
}

impl Server {
    fn new() -> Server {
        let records = laid_out();
        let bare = records.kept.path().join("server.git");
        records.git(&["init", "--quiet", "--bare", "--initial-branch=main", bare.to_str().unwrap()]);
        fs::create_dir_all(bare.join("hooks")).unwrap();
        fs::copy(records.root.join("hooks/pre-receive"), bare.join("hooks/pre-receive")).unwrap();
        records.git(&["config", "core.hooksPath", "none"]);
        records.git(&["remote", "add", "origin", bare.to_str().unwrap()]);
        Server { records, bare }
    }

    fn push(&self, path: &OsStr, arguments: &[&str]) -> Said {
        let mut run = command("git", &self.records.root, self.records.kept.path(), path);
        run.args(["push", "--quiet", "origin"]).args(arguments).output().unwrap().into()
    }

    fn is_taken(&self, arguments: &[&str]) {
        let said = self.push(&path(), arguments);
        assert_eq!(said.status, 0, "{arguments:?}: {}", said.stderr);
    }

    /// Refused with these words; then everything is as it was before.
    fn is_refused(&self, arguments: &[&str], words: &str) {
        let refs = self.records.git_at(&self.bare, &["for-each-ref"]);
        let said = self.push(&path(), arguments);
        assert!(said.status != 0 && said.stderr.contains(words), "{arguments:?}, without {words}: {}", said.stderr);
        assert_eq!(self.records.git_at(&self.bare, &["for-each-ref"]), refs);
        self.records.git(&["reset", "--quiet", "--hard", "origin/main"]);
    }
}

#[test]
fn the_server_keeps_what_is_on_file() {
    let server = Server::new();
    let records = &server.records;
    server.is_taken(&["main"]);
    records.write(ELSEWHERE, &change("2026-11-23T08:00"));
    records.commit("recorded");
    records.append(CHANGE, ROW);
    records.commit("amended");
    server.is_taken(&["main"]);
    records.edit(CHANGE, "= 2\n", "= 3\n");
    records.commit("edited");
    records.edit(CULTURE, "exit-site", "blood");
    records.commit("edited, too");
    server.is_refused(&["main"], "edited-after-commit");
    records.edit(CHANGE, "= 2\n", "= 3\n");
    records.commit("edited");
    records.edit(CHANGE, "= 3\n", "= 2\n");
    records.commit("put back");
    server.is_taken(&["main"]);
    records.remove(CHANGE);
    records.commit("deleted");
    server.is_refused(&["main"], "records were deleted instead of voided");
    records.git(&["commit", "--quiet", "--amend", "-m", "rewritten"]);
    server.is_refused(&["--force", "main"], "the history of main was rewritten");
    server.is_refused(&["--delete", "main"], "the branch main would be deleted");
    // A new branch goes on from the main one.
    records.edit(CHANGE, "= 2\n", "= 3\n");
    records.commit("edited");
    server.is_refused(&["main:refs/heads/new"], "edited-after-commit");
    records.append(CHANGE, VOID);
    records.commit("voided");
    server.is_taken(&["main:refs/heads/new"]);
    server.is_taken(&["HEAD:refs/tags/v1"]);
    // What was broken before the push keeps nobody from pushing.
    records.write("patients/P-002/2026/2026-11-21T0800-change.toml", "broken");
    records.commit("broken");
    server.is_taken(&["main"]);
    server.is_taken(&["--delete", "refs/tags/v1"]);
}

#[test]
fn the_server_keeps_what_is_on_file_without_exitsite_too() {
    let server = Server::new();
    let records = &server.records;
    let push = |arguments: &[&str]| server.push(&path_without_exitsite(), arguments);
    assert_eq!(push(&["main"]).status, 0);
    for folder in ["patients/P-001/2026", "patients/P-001"] {
        fs::remove_dir_all(records.root.join(folder)).unwrap();
        records.commit("deleted");
        let said = push(&["main"]);
        assert!(said.status != 0 && said.stderr.contains(CHANGE), "{}", said.stderr);
        records.git(&["reset", "--quiet", "--hard", "origin/main"]);
    }
    records.rename(CHANGE, &CHANGE.replace("change.toml", "change-2.toml"));
    records.commit("renamed");
    assert_eq!(push(&["main"]).status, 0);
    records.git(&["commit", "--quiet", "--amend", "-m", "rewritten"]);
    let said = push(&["--force", "main"]);
    assert!(said.status != 0 && said.stderr.contains("history of main was rewritten"), "{}", said.stderr);
}

/// What was done and by whom, newest first.
fn told(report: &Value) -> Vec<String> {
    let row = |row: &Value| {
        let file = word(row, "file").rsplit('/').next().unwrap();
        let late = row["late_minutes"].as_i64().map(|minutes| format!(" {minutes} min late"));
        let late = late.or(row["late_days"].as_i64().map(|days| format!(" {days} days late"))).unwrap_or_default();
        let by = row["by"].as_str().unwrap_or("-");
        format!("{} {} by {by} at {}{late}", word(row, "action"), file, row["at"].as_str().unwrap_or("-"))
    };
    report["rows"].as_array().unwrap().iter().map(row).collect()
}

#[test]
fn the_history_tells_who_did_what_and_how_late() {
    let records = Records::new();
    let entered = "[entered]\nat = 2026-11-22T20:10:00-06:00\nby = \"co-1\"\n";
    records.append(CHANGE, entered);
    let first = records.commit("records");
    records.append(CULTURE, "[result]\non = 2026-11-22\ngrowth = false\n");
    records.commit("result");
    records.append(CHANGE, ROW);
    records.commit("amended");
    records.append(CHANGE, &VOID.replace("08:00", "09:00"));
    records.write(
        "patients/P-001/2026/2026-11-21-inspection.toml",
        &format!(
            "kind = \"inspection\"\non = 2026-11-21\nby = \"rn-07\"\ndressing = \"intact\"\n{}",
            entered.replace("22T20", "23T20")
        ),
    );
    let expected = [
        "recorded 2026-11-21-inspection.toml by co-1 at 2026-11-23T20:10:00-06:00 2 days late",
        "voided 2026-11-22T1855-change.toml by co-1 at 2026-11-23T09:00:00-06:00",
        "amended 2026-11-22T1855-change.toml by co-1 at 2026-11-23T08:00:00-06:00",
        "recorded 2026-11-22T1855-change.toml by co-1 at 2026-11-22T20:10:00-06:00 75 min late",
        "filled 2026-11-20T0900-culture.toml by - at 2026-11-22T20:00:00-06:00",
        "recorded 2026-11-20T0900-culture.toml by rn-07 at 2026-11-22T20:00:00-06:00",
    ];
    let report = records.json(&["history", "P-001"]);
    assert_eq!(told(&report), expected);
    assert_eq!(report["rows"][0]["commit"], Value::Null);
    assert_eq!(
        (word(&report["rows"][3], "commit"), word(&report["rows"][3], "author")),
        (first.as_str(), "Invented Nurse")
    );
    assert_eq!(report["rows"][4]["keys"], serde_json::json!(["result.growth", "result.on"]));
    assert_eq!(told(&records.json(&["history"])), expected, "everybody");
    assert_eq!(told(&records.json(&["history", "P-002"])), NOTHING);
    assert_eq!(told(&records.json(&["history", CULTURE])), expected[4..]);
    let (_, name) = CULTURE.rsplit_once('/').unwrap();
    assert_eq!(told(&records.json(&["history", name])), expected[4..], "by its name alone");
    let said = records.exitsite(&["history", "--from", "2026-12-01", AS_OF[0], AS_OF[1]]);
    assert!(said.stderr.contains("2026-12-01 to 2026-11-24 has not begun: today is 2026-11-24"), "{}", said.stderr);
    assert_eq!(told(&records.json(&["history", "P-001", "--at-commit", &first])).len(), 2);
    assert_eq!(told(&records.json(&["history", "--from", "2026-11-23"])), expected[..3]);
    let text = records.exitsite(&["history", "P-001", AS_OF[0], AS_OF[1]]);
    assert_eq!((text.status, text.stderr.as_str()), (0, ""));
    assert!(!text.stdout.contains("Invented Nurse"), "{}", text.stdout);
    assert!(text.stdout.contains("voided · told twice · not committed"), "{}", text.stdout);
    let earlier = records.exitsite(&["history", "P-001", "--as-of", "2026-11-23T08:30", "--json"]);
    assert_eq!(told(&serde_json::from_str(&earlier.stdout).unwrap()), expected[2..]);
    // What the records do not say of themselves.
    records.commit("voided");
    records.edit(CULTURE, "exit-site", "blood");
    records.commit("edited");
    records.rename(CULTURE, &CULTURE.replace("culture.toml", "culture-2.toml"));
    records.commit("renamed");
    records.remove("patients/P-001/2026/2026-11-21-inspection.toml");
    records.commit("deleted");
    let mut actions = told(&records.json(&["history", "P-001"]));
    actions.retain(|row| !expected.contains(&row.as_str()));
    let at = "by - at 2026-11-22T20:00:00-06:00";
    let silent = [
        format!("deleted 2026-11-21-inspection.toml {at}"),
        format!("renamed 2026-11-20T0900-culture.toml {at}"),
        format!("edited 2026-11-20T0900-culture.toml {at}"),
    ];
    assert_eq!(actions, silent);
    assert_eq!(
        told(&records.json(&["history", "patients/P-001/2026/2026-11-21-inspection.toml"])).len(),
        2,
        "what is gone"
    );
    for unknown in ["P-01", "patients/P-001/2026/2026-11-22T1855-chnge.toml", "policy.toml", "/etc/passwd"] {
        let said = records.exitsite(&["history", unknown]);
        assert_eq!((said.status, said.stdout.as_str()), (2, ""), "{unknown}");
        assert!(said.stderr.contains("there is no patient and no record"), "{}", said.stderr);
    }
    let said = records.exitsite(&["history", "patients/P-001/2026/2026-11-22T1855-chnge.toml"]);
    assert!(said.stderr.contains(&format!("did you mean {CHANGE}?")), "{}", said.stderr);
}

#[test]
fn the_history_tells_of_a_merge_what_is_its_own() {
    let records = Records::committed();
    branches(&records, |r| r.write(ELSEWHERE, &change("2026-11-23T08:00")), |r| r.append(CHANGE, VOID));
    records.git(&["merge", "--quiet", "--no-ff", "-m", "merged", "other"]);
    let actions = told(&records.json(&["history"]));
    assert_eq!(actions.len(), 4, "{actions:?}");
    assert_eq!(actions.iter().filter(|row| row.starts_with("voided")).count(), 1, "{actions:?}");
}

#[test]
fn the_working_folder_is_compared_without_touching_the_index() {
    let records = Records::committed();
    records.append(CHANGE, ROW);
    let before = state(records.kept.path());
    assert_eq!(records.since("HEAD", &[]), NOTHING);
    assert_eq!(told(&records.json(&["history", "P-001"])).len(), 3);
    assert_eq!(state(records.kept.path()), before);
}

#[test]
fn a_sparse_checkout_deletes_nothing_and_a_lost_text_is_said() {
    let records = Records::new();
    records.write(ELSEWHERE, &change("2026-11-23T08:00"));
    records.commit("records");
    records.git(&["sparse-checkout", "set", "--no-cone", "/*", "!/patients/P-002/"]);
    assert!(!records.root.join(ELSEWHERE).exists());
    assert_eq!(records.since("HEAD", &[]), NOTHING);
    assert_eq!(records.exitsite(&["due", "P-002", "--at-commit", "HEAD", AS_OF[0], AS_OF[1]]).status, 0);
    records.git(&["sparse-checkout", "disable"]);
    let id = records.git(&["rev-parse", &format!("HEAD:{CHANGE}")]);
    records.edit(CHANGE, "= 2\n", "= 3\n");
    let object = records.root.join(".git/objects").join(&id[..2]).join(&id[2..]);
    fs::remove_file(object).unwrap();
    for arguments in [&["check", "--since", "HEAD"][..], &["history", "P-001"]] {
        let said = records.exitsite(arguments);
        assert_eq!((said.status, said.stdout.as_str()), (2, ""), "{arguments:?}");
        assert!(said.stderr.contains(&format!("git lacks an earlier text of {CHANGE}")), "{}", said.stderr);
    }
    let said = records.exitsite(&["due", "P-001", "--at-commit", "HEAD", AS_OF[0], AS_OF[1]]);
    assert!(said.status == 3 && said.stderr.contains("the repository lacks it"), "{said:?}");
}
