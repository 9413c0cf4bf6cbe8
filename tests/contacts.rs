//! The contacts file: shown on a terminal by three commands and on the printed list, refused if others could read it,
//! and absent from everything else that a whole day's work prints, writes, mails, logs or commits.

#![allow(clippy::unwrap_used, clippy::expect_used, reason = "a test fails by panicking")]

mod desk;

use std::collections::BTreeSet;
use std::ffi::OsString;
use std::fs::{self, Permissions};
use std::os::unix::fs::{PermissionsExt, symlink};
use std::path::{Path, PathBuf};
use std::process::Command;

use desk::Person;
use exitsite::command::{Outcome, Surroundings, Terminal, definition, run};
use rexpect::session::spawn_command;
use tempfile::TempDir;

/// Tuesday, 07:15 in Chicago.
const NOW: &str = "2026-11-24T13:15:00Z";

/// Surnames that occur in no other text.
const SURNAMES: [&str; 5] = ["Ostrander", "Vellacott", "Quillfeather", "Pomeranz", "Tisdall"];

const LANGUAGE: &str = "Tagalog";

const NOTE: &str = "ring the back porch";

/// The invented program under git, with the contacts file of one computer.
struct Ward {
    folder: TempDir,
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

impl Ward {
    fn new() -> Ward {
        // Outside the repository of these tests, which is a git work tree.
        let ward = Ward { folder: tempfile::tempdir().unwrap() };
        copy(&Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/demo"), &ward.records());
        ward.git(&["init", "--quiet"]);
        for (setting, value) in
            [("user.name", "Invented"), ("user.email", "invented@example.org"), ("core.hooksPath", "/dev/null")]
        {
            ward.git(&["config", setting, value]);
        }
        ward.git(&["add", "."]);
        ward.git(&["commit", "--quiet", "--message", "the invented program"]);
        ward.keep(&ward.contacts(), &sheet(&ward.codes()));
        ward
    }

    fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    fn records(&self) -> PathBuf {
        self.path("records")
    }

    fn contacts(&self) -> PathBuf {
        self.path("contacts.csv")
    }

    /// Writes a file that only its owner can read.
    fn keep(&self, path: &Path, text: &str) {
        fs::write(path, text).unwrap();
        fs::set_permissions(path, Permissions::from_mode(0o600)).unwrap();
    }

    /// A text without the name of this folder.
    fn masked(&self, text: &str) -> String {
        text.replace(&self.folder.path().display().to_string(), "FOLDER")
    }

    /// The codes of all patients and caregivers.
    fn codes(&self) -> Vec<String> {
        let mut codes = Vec::new();
        for entry in fs::read_dir(self.records().join("patients")).unwrap() {
            let entry = entry.unwrap();
            codes.push(entry.file_name().into_string().unwrap());
            let text = fs::read_to_string(entry.path().join("patient.toml")).unwrap();
            let code = |line: &str| Some(line.strip_prefix("code = \"p")?.strip_suffix('"')?.to_owned());
            codes.extend(text.lines().filter_map(code).map(|code| format!("p{code}")));
        }
        codes.sort();
        codes
    }

    fn git(&self, arguments: &[&str]) -> String {
        let mut git = Command::new("git");
        git.current_dir(self.records()).args(arguments);
        git.env("GIT_CONFIG_GLOBAL", "/dev/null").env("GIT_CONFIG_SYSTEM", "/dev/null");
        let run = git.output().unwrap();
        assert!(run.status.success(), "{arguments:?}: {}", String::from_utf8_lossy(&run.stderr));
        String::from_utf8(run.stdout).unwrap()
    }

    fn run_with(
        &self,
        width: Option<usize>,
        contacts: Option<PathBuf>,
        command: &str,
        person: Option<&Person>,
    ) -> Outcome {
        let surroundings = Surroundings {
            now: NOW.parse().unwrap(),
            here: self.folder.path().to_owned(),
            records: Some(self.records()),
            temporary: Some(self.folder.path().to_owned()),
            contacts,
            writer: Some("co-1".to_owned()),
            terminal: person.map(|person| person as &dyn Terminal),
            width,
            ..Surroundings::default()
        };
        run(["exitsite"].into_iter().chain(command.split_whitespace()).map(OsString::from), &surroundings)
    }

    /// Runs a command on a terminal.
    fn on_a_terminal(&self, command: &str) -> Outcome {
        self.run_with(Some(80), Some(self.contacts()), command, None)
    }

    /// Runs a command whose output goes to a pipe or a file.
    fn in_a_pipe(&self, command: &str) -> Outcome {
        self.run_with(None, Some(self.contacts()), command, None)
    }
}

fn name(n: usize) -> String {
    format!("Ximena{n} {}", SURNAMES[n % SURNAMES.len()])
}

fn telephone(n: usize) -> String {
    format!("503-555-{:04}", 100 + n)
}

/// A contacts file with a line for each code.
fn sheet(codes: &[String]) -> String {
    let line = |(n, code): (usize, &String)| format!("{code},{},{},{LANGUAGE},{NOTE}\n", name(n), telephone(n));
    format!("code,name,telephone,language,note\n{}", codes.iter().enumerate().map(line).collect::<String>())
}

/// The first word from the contacts file that occurs in a text.
fn leaked(text: &[u8]) -> Option<&'static str> {
    let words = SURNAMES.into_iter().chain(["Ximena", "503-555", "-555-01", LANGUAGE, "back porch"]);
    let holds = |word: &str| text.windows(word.len()).any(|part| part == word.as_bytes());
    words.into_iter().find(|word| holds(word))
}

fn holds_no_name(what: &str, text: &[u8]) {
    let leak = leaked(text);
    assert!(leak.is_none(), "{what} holds {leak:?}:\n{}", String::from_utf8_lossy(text));
}

/// Collects every file below a folder.
fn files(folder: &Path, found: &mut Vec<PathBuf>) {
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() { files(&path, found) } else { found.push(path) }
    }
}

/// A day's work: every command, some more than once. `{}` is a folder outside the records.
const DAY: &[&str] = &[
    "due",
    "due --json",
    "due --all --json",
    "due P-022 --json",
    "missed",
    "grade",
    "grade P-009 --each --json",
    "show P-009 --json",
    "show P-014 --html {}/story.html",
    "signals",
    "signals --waiting 2",
    "signals --all --json",
    "teaching",
    "teaching P-014",
    "supplies --json",
    "audit --month 2026-10",
    "audit --month 2026-10 --json",
    "audit --month 2026-10 --html {}/audit.html",
    "audit --year 2025 --external",
    "handoff",
    "handoff --json --since 02:00",
    "handoff --html {}/handoff.html",
    "alert",
    "alert --json",
    "alert --dry-run --state {}/state.json",
    "alert --state {}/state.json --heartbeat --log {}/sent.log",
    "record change P-014 --at 2026-11-24T07:10 --by p014-spouse --source told --reason scheduled --dressing-found intact --anchor-found in-place --anchor-left in-place --site none-noted --yes --commit",
    "record contact P-022 --at 07:05 --by co-1 --with p022-aunt --about overdue --outcome will-change --yes --commit",
    "record contact P-22 --with nobody",
    "record assessment P-009 --at 2026-11-24T07:10 --by rn-07 --source seen --drainage purulent --yes --commit",
    "amend P-009",
    "amend patients/P-014/2026/2026-11-24T0710-change.toml --set reason=other --why slip --yes --commit",
    "void patients/P-014/2026/2026-11-24T0710-change.toml --why twice --yes --commit",
    "result P-009",
    "resolve P-009",
    "patient order P-009 --every-days 1 --by md-3 --why redness --yes --commit",
    "staff add rn-12 --role nurse --yes --commit",
    "check",
    "check --json --since HEAD~1",
    "history",
    "history P-014 --json",
    "policy diff HEAD~1",
    "import {}/log.csv --by-entered co-1 --dry-run",
    "import {}/contacts.csv --by-entered co-1",
    "export csv {}/csv",
    "export json {}/json",
    "export csv {}/out --pseudonymous --key {}/key.csv",
    "sheet P-014",
    "sheet P-014 --html {}/sheet.html",
    "sheet P-014 --ics {}/sheet.ics",
    "contacts check",
    "contacts check --json",
    "schema contacts",
    "completions bash",
    "man contacts",
    "init {}/new",
    "round",
    "dew",
    "show P-9",
    "due --as-of never",
];

/// True for the commands whose text on a terminal shows the contacts file.
fn shows_names(command: &str) -> bool {
    let is_shown = |name: &str| command == name || command.starts_with(&format!("{name} "));
    ["due", "show", "round"].into_iter().any(is_shown) && !command.contains("--json") && !command.contains("--html")
}

#[test]
fn no_name_or_number_is_in_anything_that_a_days_work_leaves() {
    let ward = Ward::new();
    let place = ward.path("kept");
    fs::create_dir(&place).unwrap();
    let log = fs::read(Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/log/paper-log.csv")).unwrap();
    fs::write(place.join("log.csv"), log).unwrap();
    fs::copy(ward.contacts(), place.join("contacts.csv")).unwrap();
    let day: Vec<String> = DAY.iter().map(|command| command.replace("{}", place.to_str().unwrap())).collect();
    let mut done = BTreeSet::new();
    for command in &day {
        let Outcome { stdout, stderr, status, .. } = ward.in_a_pipe(command);
        if status != 2 {
            done.insert(command.split(' ').next().unwrap());
        }
        holds_no_name(command, stdout.as_bytes());
        holds_no_name(command, stderr.as_bytes());
    }
    // A round shows names to the person typing; the remaining commands show none, even on a terminal.
    let person = Person::typing(&["w", "1", "", "", "", "yes", "n", "yes", "yes", "q"]);
    let Outcome { stdout, stderr, status, .. } = ward.run_with(Some(80), Some(ward.contacts()), "round", Some(&person));
    assert_eq!(status % 3, 0, "{stderr}");
    assert!(leaked(person.saw().as_bytes()).is_some(), "{}", person.saw());
    holds_no_name("the end of a round", format!("{stdout}{stderr}").as_bytes());
    done.insert("round");
    for command in day.iter().filter(|command| !shows_names(command)) {
        let Outcome { stdout, stderr, .. } = ward.on_a_terminal(command);
        holds_no_name(command, format!("{stdout}{stderr}").as_bytes());
    }
    for command in definition().get_subcommands() {
        let name = command.get_name();
        // `pool` reads only issued reports, which are checked above.
        let is_done = done.contains(name) || ["amend", "pool", "result", "resolve"].contains(&name);
        assert!(is_done, "{name} is no part of the day, or was refused");
    }
    mailed(&ward);
    // All files now in the folder except the contacts file and its copy.
    let mut found = Vec::new();
    files(ward.folder.path(), &mut found);
    assert!(found.iter().any(|file| file.ends_with("out/change.csv")), "{found:?}");
    assert!(found.iter().any(|file| file.ends_with("audit.html")) && found.iter().any(|file| file.ends_with("mail-1")));
    for file in found.iter().filter(|file| !file.ends_with("contacts.csv")) {
        holds_no_name(file.to_str().unwrap(), &fs::read(file).unwrap());
    }
    let commits = ward.git(&["log", "--all", "--patch", "--format=fuller", "--text"]);
    assert!(commits.matches("\ncommit ").count() >= 5, "{}", ward.git(&["log", "--oneline"]));
    holds_no_name("the commits", commits.as_bytes());
}

/// Mails the alerts with the binary, through a mail program that keeps each message.
fn mailed(ward: &Ward) {
    let program = ward.path("sendmail");
    let script =
        format!("#!/bin/sh\ncat > {0}/mail-$(($(ls {0} | grep -c '^mail-') + 1))\n", ward.folder.path().display());
    fs::write(&program, script).unwrap();
    fs::set_permissions(&program, Permissions::from_mode(0o755)).unwrap();
    let mut command =
        binary(ward, &["alert", "--from", "exitsite@example.org", "--fallback", "x@example.org", "--heartbeat"]);
    let run = command.arg("--state").arg(ward.path("mailed.json")).arg("--sendmail").arg(program).output().unwrap();
    assert!(matches!(run.status.code(), Some(0 | 3)), "{}", String::from_utf8_lossy(&run.stderr));
    holds_no_name("alert by mail", &[run.stdout, run.stderr].concat());
}

/// The binary, with the contacts file in its environment.
fn binary(ward: &Ward, arguments: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_exitsite"));
    command.env_clear().env("PATH", std::env::var_os("PATH").unwrap_or_default()).env("TERM", "xterm");
    command.env("EXITSITE_RECORDS", ward.records()).env("EXITSITE_CONTACTS", ward.contacts());
    command.current_dir(ward.folder.path()).args(arguments);
    command
}

/// The screen of a real terminal after a command of the binary.
fn on_a_seat(ward: &Ward, arguments: &[&str]) -> String {
    let command = binary(ward, arguments);
    let mut sized = Command::new("sh");
    sized.args(["-c", "stty cols 80 rows 40; exec \"$@\"", "sh"]).arg(command.get_program());
    sized.args(command.get_args()).current_dir(ward.folder.path()).env_clear();
    sized.envs(command.get_envs().filter_map(|(name, value)| Some((name, value?))));
    spawn_command(sized, Some(60_000)).unwrap().exp_eof().unwrap()
}

#[test]
fn a_real_terminal_shows_names_and_a_pipe_does_not() {
    let ward = Ward::new();
    for arguments in [&["due", "--all"][..], &["show", "P-014"]] {
        let piped = binary(&ward, arguments).output().unwrap();
        holds_no_name("a pipe", &[piped.stdout, piped.stderr].concat());
        let seen = on_a_seat(&ward, arguments);
        assert!(leaked(seen.as_bytes()).is_some(), "{seen}");
        holds_no_name("JSON on a terminal", on_a_seat(&ward, &[arguments, &["--json"]].concat()).as_bytes());
    }
}

#[test]
fn each_row_of_the_list_says_whom_to_call_and_how() {
    let ward = Ward::new();
    let codes = ward.codes();
    let of = |code: &str| codes.iter().position(|known| known == code).unwrap();
    let list = ward.on_a_terminal("due --all --no-pager").stdout;
    let flat = list.split_whitespace().collect::<Vec<_>>().join(" ");
    let patient = of("P-022");
    let aunt = of("p022-aunt");
    let words = |n: usize| format!("{}, {}, {LANGUAGE} ({NOTE})", name(n), telephone(n));
    assert!(flat.contains(&format!("{} aunt: {}", words(patient), words(aunt))), "{list}");
    // Each patient by name, on a line of its own or after the code.
    for (n, code) in codes.iter().enumerate().filter(|(_, code)| code.starts_with("P-")) {
        assert!(flat.contains(&name(n)), "{code} {}\n{list}", name(n));
    }
    let story = ward.on_a_terminal("show P-022").stdout;
    assert!(story.lines().nth(1).is_some_and(|line| line.starts_with(&words(patient))), "{story}");
    // Without a contacts file the list is unchanged.
    let without = ward.run_with(Some(80), None, "due", None);
    let ours = ward.on_a_terminal("due");
    assert!(ours.stdout.lines().count() > without.stdout.lines().count());
    holds_no_name("the list without a file", without.stdout.as_bytes());
}

#[test]
fn the_printed_list_holds_names_for_its_owner_alone() {
    let ward = Ward::new();
    let page = ward.path("list.html");
    let Outcome { stdout, stderr, .. } = ward.in_a_pipe(&format!("due --html {}", page.display()));
    holds_no_name("due --html", format!("{stdout}{stderr}").as_bytes());
    let written = fs::read_to_string(&page).unwrap();
    assert!(written.contains(&name(ward.codes().iter().position(|code| code == "P-022").unwrap())), "{written}");
    assert!(written.contains("shred after use"));
    assert_eq!(fs::metadata(&page).unwrap().permissions().mode() & 0o777, 0o600);
    // A later list without names replaces it.
    ward.run_with(None, None, &format!("due --html {}", page.display()), None);
    holds_no_name("a list without a contacts file", &fs::read(&page).unwrap());
    // Not in a place where a commit could include it.
    let tree = ward.path("tree");
    fs::create_dir_all(tree.join(".git")).unwrap();
    let Outcome { stdout, stderr, status, .. } = ward.in_a_pipe(&format!("due --html {}/list.html", tree.display()));
    assert_eq!((status, stdout.as_str()), (2, ""));
    assert!(stderr.contains("inside a git work tree"), "{stderr}");
    assert!(!tree.join("list.html").exists());
}

/// Asserts that a contacts file is refused: `check` gives the reason and exits with 2; the list is printed without
/// names, gives the reason first, and exits with 3. Returns the reason.
fn refused(ward: &Ward, contacts: &Path) -> String {
    let run = |command: &str| ward.run_with(Some(1_000), Some(contacts.to_owned()), command, None);
    let check = run("contacts check");
    assert_eq!((check.status, check.stdout.as_str()), (2, ""), "{}", check.stderr);
    let why = check.stderr.trim_end().strip_prefix("exitsite: ").unwrap();
    let Outcome { stdout, stderr, status, .. } = run("due P-022");
    assert_eq!(status, 3, "{stderr}");
    assert!(stdout.starts_with("This report is incomplete.") && stdout.contains(why), "{why}: {stdout}");
    assert!(stderr.contains(why), "{why}: {stderr}");
    let without = ward.run_with(Some(1_000), None, "due P-022", None).stdout;
    assert!(without.lines().all(|line| stdout.contains(line)), "{stdout}");
    holds_no_name("a refusal", format!("{stdout}{stderr}{}", check.stderr).as_bytes());
    // JSON does not read the contacts file, so it is unaffected.
    assert_eq!(run("due P-022 --json").status, 0);
    ward.masked(&check.stderr)
}

#[test]
fn a_refused_file_stops_neither_the_round_nor_a_story() {
    let ward = Ward::new();
    let none = Some(ward.path("none.csv"));
    let person = Person::typing(&["q"]);
    let Outcome { status, .. } = ward.run_with(Some(1_000), none.clone(), "round", Some(&person));
    assert_eq!(status, 3);
    let saw = ward.masked(&person.saw());
    let Outcome { stdout, stderr, status, .. } = ward.run_with(Some(1_000), none, "show P-022", None);
    assert_eq!(status, 3, "{stderr}");
    let story: String = ward.masked(&stdout).lines().take(6).map(|line| format!("{line}\n")).collect();
    desk::keep("contacts_a_refused_file_stops_neither_the_round_nor_a_story", &format!("{saw}\n\n{story}"));
}

#[test]
fn a_contacts_file_that_others_could_read_or_commit_is_refused() {
    let ward = Ward::new();
    let sheet = sheet(&ward.codes());
    let at = |name: &str| {
        let path = ward.path(name);
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        ward.keep(&path, &sheet);
        path
    };
    let mut reasons = Vec::new();
    let open = at("open.csv");
    for mode in [0o640, 0o604, 0o620, 0o644] {
        fs::set_permissions(&open, Permissions::from_mode(mode)).unwrap();
        reasons.push(refused(&ward, &open));
    }
    reasons.push(refused(&ward, &at("records/contacts.csv")));
    fs::remove_file(ward.path("records/contacts.csv")).unwrap();
    fs::create_dir_all(ward.path("tree/.git")).unwrap();
    reasons.push(refused(&ward, &at("tree/inner/contacts.csv")));
    // A work tree of `git worktree` has a file of that name.
    fs::create_dir_all(ward.path("other")).unwrap();
    fs::write(ward.path("other/.git"), "gitdir: elsewhere\n").unwrap();
    reasons.push(refused(&ward, &at("other/contacts.csv")));
    // A link leads elsewhere, in both directions.
    symlink(ward.path("tree/inner/contacts.csv"), ward.path("link.csv")).unwrap();
    reasons.push(refused(&ward, &ward.path("link.csv")));
    symlink(ward.contacts(), ward.path("tree/link.csv")).unwrap();
    reasons.push(refused(&ward, &ward.path("tree/link.csv")));
    let records = ward.path("records2");
    fs::create_dir_all(&records).unwrap();
    fs::write(records.join("policy.toml"), "").unwrap();
    reasons.push(refused(&ward, &at("records2/contacts.csv")));
    desk::keep("contacts_a_file_that_others_could_read_or_commit_is_refused", &reasons.concat());
    if rustix_is_root() {
        let theirs = at("theirs.csv");
        std::os::unix::fs::chown(&theirs, Some(65_534), None).unwrap();
        let why = refused(&ward, &theirs);
        assert!(why.contains("belongs to another user"), "{why}");
    }
}

/// Only root can give a file to another user.
fn rustix_is_root() -> bool {
    use std::os::unix::fs::MetadataExt;
    fs::metadata("/proc/self").is_ok_and(|about| about.uid() == 0)
}

#[test]
fn a_file_that_is_no_contacts_file_is_refused_with_its_line() {
    let ward = Ward::new();
    let path = ward.path("bad.csv");
    let whole = sheet(&ward.codes());
    fs::create_dir(ward.path("folder")).unwrap();
    Command::new("mkfifo").arg(ward.path("pipe")).status().unwrap();
    let mut reasons: Vec<String> =
        ["none.csv", "records/patients", "folder", "pipe"].map(|name| refused(&ward, &ward.path(name))).to_vec();
    let half = &whole[..whole.len() - NOTE.len() - LANGUAGE.len() - 6];
    let long = "x".repeat(1_000_001);
    for text in [
        "",
        whole.lines().next().unwrap(),
        half,
        &whole.replace("code,name", "who,name"),
        &whole[whole.find('\n').unwrap() + 1..],
        &whole.replace("P-014,", ","),
        &whole.replace("P-016,", "P-014,"),
        "code,name,telephone\nP-014,\"Ostrander,503-555-0101\n",
        "PK\u{3}\u{4}workbook",
        "SQLite format 3\0",
        &long,
    ] {
        ward.keep(&path, text);
        reasons.push(refused(&ward, &path));
    }
    desk::keep("contacts_a_file_that_is_no_contacts_file_is_refused_with_its_line", &reasons.concat());
}

#[test]
fn contacts_check_lists_codes_without_a_line_and_lines_without_a_code() {
    let ward = Ward::new();
    let codes = ward.codes();
    let course = ward.records().join("patients/P-003/patient.toml");
    fs::write(&course, "code = \"P-003\n").unwrap();
    let unreadable = ward.on_a_terminal("contacts check");
    assert_eq!(unreadable.status, 3, "{}", unreadable.stderr);
    fs::remove_dir_all(course.parent().unwrap()).unwrap();
    let text = sheet(&codes).replace("P-022,", "p22,");
    ward.keep(&ward.contacts(), &format!("{text}Quillfeather,Ximena,503-555-0999,,\n"));
    let Outcome { stdout, stderr, status, .. } = ward.on_a_terminal("contacts check");
    assert_eq!((status, stderr.as_str()), (1, ""), "{stdout}");
    // P-003 is off file, so that no other code is suggested for its line.
    assert!(!stdout.contains("did you mean P-003?"), "{stdout}");
    // The code of a line may be a name in the wrong column.
    holds_no_name("contacts check", stdout.as_bytes());
    let report: serde_json::Value = serde_json::from_str(&ward.in_a_pipe("contacts check --json").stdout).unwrap();
    assert_eq!(report["without_entry"], serde_json::json!(["P-022"]));
    assert_eq!(report["without_code"].as_array().unwrap().len(), 4, "{report}");
    let ended = report["patients"].as_u64().unwrap();
    assert!(ended < codes.iter().filter(|code| code.starts_with("P-")).count() as u64, "{report}");
    // A complete file.
    let rest: Vec<String> = codes.iter().filter(|code| !code.contains("003")).cloned().collect();
    ward.keep(&ward.contacts(), &sheet(&rest));
    let complete = ward.on_a_terminal("contacts check");
    assert_eq!(complete.status, 0, "{}", complete.stdout);
    let screens = [&unreadable.stdout, &stdout, &complete.stdout].map(|screen| ward.masked(screen));
    desk::keep("contacts_check", &screens.join("\n"));
    // Without a file there is nothing to check.
    let none = ward.run_with(None, None, "contacts check", None);
    assert_eq!(none.status, 2);
    assert!(none.stderr.contains("--contacts FILE, or in EXITSITE_CONTACTS"), "{}", none.stderr);
    // If a file named on the command line cannot be shown, a warning says so.
    let piped = ward.run_with(None, None, &format!("due --contacts {}", ward.contacts().display()), None);
    assert!(piped.stderr.contains("appear only on a terminal"), "{}", piped.stderr);
    holds_no_name("a pipe", piped.stdout.as_bytes());
}
