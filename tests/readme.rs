//! Commands in README.md and the guides: run in order on a copy of the invented program, each prints the output shown
//! there.
//!
//! A line `…` there matches any lines. `EXITSITE_REWRITE=1 cargo test --test readme` rewrites the output; a `…` keeps
//! the number of lines before and after it.

#![allow(clippy::unwrap_used, clippy::expect_used, reason = "a test fails by panicking")]

use std::env;
use std::ffi::OsString;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use exitsite::command::{Outcome, Surroundings, run};
use tempfile::TempDir;

/// The command that shows the invented program.
const TRY: &str = "cargo run --release --locked -- due --records examples/demo --as-of 2026-11-24T07:15";

/// The command that runs the tests.
const TEST: &str = "cargo test --locked";

/// The line that matches any lines.
const CUT: &str = "…";

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

fn readme() -> String {
    fs::read_to_string(root().join("README.md")).unwrap()
}

/// An example in a document: `$ exitsite …`, with the output below it.
struct Example<'a> {
    command: &'a str,
    output: String,
}

/// A piece of a document: plain text, or an example.
enum Piece<'a> {
    Text(&'a str),
    Example(Example<'a>),
}

fn pieces(readme: &str) -> Vec<Piece<'_>> {
    let mut pieces = Vec::new();
    let mut is_console = false;
    for line in readme.split_inclusive('\n') {
        let ends = line.trim_end() == "```";
        if is_console && !ends {
            match (line.strip_prefix("$ "), pieces.last_mut()) {
                (Some(command), _) => {
                    pieces.push(Piece::Example(Example { command: command.trim_end(), output: String::new() }));
                }
                (None, Some(Piece::Example(example))) => example.output.push_str(line),
                (None, _) => panic!("output without a command: {line}"),
            }
        } else {
            is_console = line.trim_end() == "```console";
            pieces.push(Piece::Text(line));
        }
    }
    pieces
}

/// The words of a command line, with quoted text as one.
fn words(command: &str) -> Vec<OsString> {
    let (mut words, mut is_quoted) = (vec![String::new()], false);
    for c in command.chars() {
        match c {
            '"' => is_quoted = !is_quoted,
            ' ' if !is_quoted => words.push(String::new()),
            c => words.last_mut().unwrap().push(c),
        }
    }
    words.into_iter().filter(|word| !word.is_empty()).map(OsString::from).collect()
}

/// A user's copy of the invented program, under git.
fn copy_of_demo() -> TempDir {
    let kept = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).unwrap();
    copy(&root().join("examples/demo"), kept.path());
    git(kept.path(), &["init", "--quiet"]);
    for (setting, value) in
        [("user.name", "Invented"), ("user.email", "invented@example.org"), ("core.hooksPath", "/dev/null")]
    {
        git(kept.path(), &["config", setting, value]);
    }
    git(kept.path(), &["add", "."]);
    git(kept.path(), &["commit", "--quiet", "--message", "the invented program"]);
    kept
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

/// The output of git, independent of the user and the user's settings.
fn git(folder: &Path, arguments: &[&str]) -> String {
    let mut git = Command::new("git");
    git.current_dir(folder).args(arguments);
    git.env("GIT_CONFIG_GLOBAL", "/dev/null").env("GIT_CONFIG_SYSTEM", "/dev/null");
    let run = git.output().unwrap();
    assert!(run.status.success(), "{arguments:?}: {}", String::from_utf8_lossy(&run.stderr));
    String::from_utf8(run.stdout).unwrap()
}

fn outcome(command: &str, records: &Path) -> Outcome {
    let surroundings = Surroundings {
        now: "2026-11-24T13:15:00Z".parse().unwrap(),
        here: root().to_owned(),
        records: Some(records.to_owned()),
        writer: Some("co-1".to_owned()),
        ..Surroundings::default()
    };
    run(words(command), &surroundings)
}

/// The output of a command. `init` and `export` get a new folder in place of the named one; with or without git, the
/// output is the same.
fn output(command: &str, records: &Path) -> String {
    if let Some(arguments) = command.strip_prefix("git ") {
        return git(records, &arguments.split(' ').collect::<Vec<_>>());
    }
    let Some(named) = ["exitsite init ", "exitsite export csv "].iter().find(|begin| command.starts_with(**begin))
    else {
        let Outcome { stdout, stderr, status, .. } = outcome(command, records);
        assert!(status != 2, "{command}: {stderr}");
        return stdout;
    };
    let shown = command[named.len()..].split(' ').next().unwrap();
    let kept = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).unwrap();
    let folder: PathBuf = kept.path().join("new");
    let folder = folder.to_str().unwrap();
    let Outcome { stdout, stderr, status, .. } = outcome(&command.replacen(shown, folder, 1), records);
    assert!(status != 2, "{command}: {stderr}");
    stdout.replace(folder, shown).replace("git is not there, so nothing keeps its history", "git keeps it")
}

/// True if `said` has the lines of `shown`, with `…` for any lines.
fn matches(shown: &[&str], said: &[&str]) -> bool {
    match shown {
        [] => said.is_empty(),
        [CUT, rest @ ..] => (0..=said.len()).any(|skipped| matches(rest, &said[skipped..])),
        [line, rest @ ..] => said.first() == Some(line) && matches(rest, &said[1..]),
    }
}

/// The new lines to show: all of `said`, or cut where `shown` was.
fn cut(shown: &[&str], said: &[&str]) -> String {
    let kept = match shown.iter().position(|line| *line == CUT) {
        Some(before) => {
            let behind = said.len() - (shown.len() - before - 1);
            [&said[..before], &[CUT], &said[behind..]].concat()
        }
        None => said.to_vec(),
    };
    kept.iter().map(|line| format!("{line}\n")).collect()
}

fn lines(text: &str) -> Vec<&str> {
    text.lines().map(str::trim_end).collect()
}

/// The paths of README.md and of each guide.
fn documents() -> Vec<PathBuf> {
    let guides = fs::read_dir(root().join("examples/guides")).unwrap().map(|entry| entry.unwrap().path());
    let mut documents: Vec<PathBuf> = guides.chain([root().join("README.md")]).collect();
    documents.sort();
    documents
}

/// Runs the examples of a document on a copy of the invented program. Returns the document with the current output, the
/// number of examples, and those whose output differs.
fn tried(document: &str) -> (String, usize, Vec<String>) {
    let (mut written, mut examples, mut wrong) = (String::new(), 0, Vec::new());
    let records = copy_of_demo();
    for piece in pieces(document) {
        let Example { command, output: shown } = match piece {
            Piece::Text(text) => {
                written.push_str(text);
                continue;
            }
            Piece::Example(example) => example,
        };
        examples += 1;
        let said = output(command, records.path());
        assert!(!said.trim().is_empty(), "{command} prints nothing");
        let (shown, lines) = (lines(&shown), lines(&said));
        if !matches(&shown, &lines) {
            wrong.push(format!("$ {command}\n{said}"));
        }
        written.push_str(&format!("$ {command}\n{}", cut(&shown, &lines)));
    }
    (written, examples, wrong)
}

#[test]
fn every_example_prints_what_its_document_shows() {
    let is_rewriting = env::var_os("EXITSITE_REWRITE").is_some();
    let (mut all, mut faults) = (0, Vec::new());
    for path in documents() {
        let document = fs::read_to_string(&path).unwrap();
        let (written, examples, wrong) = tried(&document);
        all += examples;
        if is_rewriting && written != document {
            fs::write(&path, written).unwrap();
        } else if !wrong.is_empty() {
            faults.push(format!("{} shows something else than these print:\n\n{}", path.display(), wrong.join("\n")));
        }
    }
    assert!(all >= 18, "only {all} examples");
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

#[test]
fn one_command_shows_the_due_list_and_one_passes_the_tests() {
    let readme = readme();
    assert!(readme.lines().any(|line| line == TRY), "README.md lacks: {TRY}");
    assert!(readme.lines().any(|line| line == TEST), "README.md lacks: {TEST}");
    let arguments = TRY.split_once(" -- ").unwrap().1;
    let Outcome { stdout, stderr, status, .. } =
        outcome(&format!("exitsite {arguments}"), &root().join("examples/demo"));
    assert_eq!(status, 3, "one file of the invented program cannot be read, and README.md says so: {stderr}");
    assert!(stdout.contains("P-014"), "{stdout}");
}

#[test]
fn the_ci_script_ends_with_the_same_test_command() {
    let script = fs::read_to_string(root().join(".ci/run")).unwrap();
    assert_eq!(script.lines().last(), Some(TEST));
}

#[test]
fn every_command_and_exit_status_is_in_readme() {
    let readme = readme();
    for command in exitsite::command::definition().get_subcommands() {
        let name = command.get_name();
        assert!(readme.contains(&format!("`{name}")), "README.md does not speak of `{name}`");
    }
    for status in 0..=3 {
        assert!(readme.contains(&format!("| `{status}` |")), "README.md does not speak of exit status {status}");
    }
}

#[test]
fn the_record_in_readme_is_one_of_the_invented_program() {
    let readme = readme();
    let shown = readme.split("```toml\n# ").nth(1).unwrap().split("```").next().unwrap();
    let (file, record) = shown.split_once('\n').unwrap();
    let kept = fs::read_to_string(root().join("examples/demo").join(file)).unwrap();
    assert!(kept.starts_with(record), "{file} begins otherwise");
}
