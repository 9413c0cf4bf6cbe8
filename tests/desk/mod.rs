//! A test program in its own folder, commands run on it, and a person at a terminal with scripted answers.

#![allow(dead_code, reason = "each test binary uses a part")]

use std::collections::VecDeque;
use std::ffi::OsString;
use std::fs;
use std::path::Path;
use std::sync::Mutex;

use exitsite::command::{Outcome, Surroundings, Terminal, run};
use exitsite::problem::Failure;
use tempfile::TempDir;

/// Tuesday, 07:15 in Chicago.
pub(crate) const NOW: &str = "2026-11-24T13:15:00.123456789Z";

/// The answer for Ctrl-C or the end of input.
pub(crate) const CTRL_C: &str = "\u{3}";

/// A program with a coordinator, a nurse, a physician, a former nurse, and a patient with one caregiver.
pub(crate) struct Desk {
    folder: TempDir,
    columns: usize,
    screens: Mutex<String>,
}

/// A person at a terminal.
#[derive(Default)]
pub(crate) struct Person {
    answers: Mutex<VecDeque<String>>,
    shown: Mutex<Vec<String>>,
    asked: Mutex<Vec<String>>,
    screen: Mutex<Vec<String>>,
    interrupts: Mutex<Vec<String>>,
    editor: Option<Editor>,
    meanwhile: Option<Box<dyn Fn() + Sync + Send>>,
    at_the_write: Option<Box<dyn Fn() + Sync + Send>>,
}

type Editor = Box<dyn Fn(&str) -> String + Sync + Send>;

pub(crate) const PATIENT: &str = "# kept by hand\ncode = \"P-001\"\nimplanted = 2026-08-03   # the implant\n\n[[exit]]\nid = \"a\"\nwhere = \"right-upper\"\nfrom = 2026-08-03\nwhy = \"implant\"\n\n[[care]]\nfrom = 2026-08-03\nplace = \"inpatient\"\n\n# went home well\n[[care]]\nfrom = 2026-08-27\nplace = \"home\"\n\n[[caregiver]]\ncode = \"p001-son\"\nrelation = \"son\"\n# end of the file\n";

/// Compares screens with `tests/screens/stories/NAME.snap`.
pub(crate) fn keep(name: &str, screens: &str) {
    let screens = &without_commit(screens);
    let mut settings = insta::Settings::clone_current();
    settings.set_snapshot_path(concat!(env!("CARGO_MANIFEST_DIR"), "/tests/screens/stories"));
    settings.set_prepend_module_to_snapshot(false);
    settings.set_omit_expression(true);
    settings.bind(|| insta::assert_snapshot!(name, screens));
}

/// The screens without the paragraph of an audit about the commit of the records, which depends on the repository that
/// these tests are in.
fn without_commit(screens: &str) -> String {
    let mut parts = screens.split("SOURCES AND METHODS\n");
    let first = parts.next().unwrap_or_default().to_owned();
    parts.fold(first, |kept, part| {
        let methods = part.find("Rates: exact").map_or(part, |at| &part[at..]);
        kept + "SOURCES AND METHODS\n" + methods
    })
}

/// A command with its questions, answers, output and status.
pub(crate) fn screen(arguments: &[&str], person: Option<&Person>, outcome: &Outcome) -> String {
    let quoted = arguments.iter().map(|argument| match argument.contains(' ') || argument.is_empty() {
        true => format!("'{argument}'"),
        false => (*argument).to_owned(),
    });
    let mut screen = format!("$ exitsite {}\n", quoted.collect::<Vec<_>>().join(" "));
    for line in person.iter().flat_map(|person| person.screen.lock().unwrap().split_off(0)) {
        screen.push_str(&format!("{line}\n"));
    }
    screen.push_str(&outcome.stdout);
    if !outcome.stderr.is_empty() {
        screen.push_str(&format!("--- standard error\n{}", outcome.stderr));
    }
    format!("{screen}--- exit status {}\n\n", outcome.status)
}

impl Desk {
    pub(crate) fn new() -> Desk {
        let folder = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).unwrap();
        let desk = Desk { folder, columns: 1_000, screens: Mutex::default() };
        desk.put("policy.toml", "schema = 1\nprogram = 'Invented'\ntime_zone = 'America/Chicago'\n");
        let person =
            |code: &str, role: &str, more: &str| format!("[[person]]\ncode = '{code}'\nrole = '{role}'\n{more}\n");
        let people = [
            person("co-1", "coordinator", ""),
            person("rn-07", "nurse", ""),
            person("md-3", "physician", ""),
            person("rn-02", "nurse", "until = 2026-10-31"),
        ];
        desk.put("people.toml", &people.concat());
        desk.put("patients/P-001/patient.toml", PATIENT);
        desk
    }

    /// Sets the width to 80 columns, for the whole screens of `keep_screens`.
    pub(crate) fn at_80_columns(self) -> Desk {
        Desk { columns: 80, ..self }
    }

    /// Compares every command so far and its output with `tests/screens/stories/NAME.snap`.
    ///
    /// `INSTA_UPDATE=always cargo test` rewrites the snapshot; its diff then shows each changed line.
    pub(crate) fn keep_screens(&self, name: &str) {
        keep(name, &self.masked(&self.screens.lock().unwrap()));
    }

    /// The screens with `RECORDS` in place of the records folder. A path of another length breaks the lines of its
    /// paragraph elsewhere, so they are joined from the path on.
    fn masked(&self, screens: &str) -> String {
        let mut masked: Vec<String> = Vec::new();
        for line in screens.replace(&self.root().display().to_string(), "RECORDS").lines() {
            let text = line.trim_start();
            let is_wrapped = line.starts_with("  ") && !text.starts_with("exitsite ");
            match masked.last_mut().filter(|last| is_wrapped && !last.starts_with("$ ")) {
                Some(last) if last.contains("RECORDS") || text.starts_with("RECORDS") => {
                    last.push(' ');
                    last.push_str(text);
                }
                _ => masked.push(line.to_owned()),
            }
        }
        masked.join("\n") + "\n"
    }

    pub(crate) fn root(&self) -> &Path {
        self.folder.path()
    }

    pub(crate) fn put(&self, file: &str, text: &str) {
        let path = self.root().join(file);
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::write(path, text).unwrap();
    }

    pub(crate) fn get(&self, file: &str) -> String {
        fs::read_to_string(self.root().join(file)).unwrap()
    }

    /// All files with their contents.
    pub(crate) fn everything(&self) -> Vec<(String, String)> {
        fn gather(folder: &Path, files: &mut Vec<(String, String)>) {
            for entry in fs::read_dir(folder).unwrap() {
                let path = entry.unwrap().path();
                match path.is_dir() {
                    true => gather(&path, files),
                    false => files.push((path.display().to_string(), fs::read_to_string(&path).unwrap())),
                }
            }
        }
        let mut files = Vec::new();
        gather(self.root(), &mut files);
        files.sort();
        files
    }

    pub(crate) fn run_as(&self, writer: Option<&str>, arguments: &[&str], person: Option<&Person>) -> Outcome {
        self.run_at((NOW, self.columns), writer, arguments, person)
    }

    /// Runs a command at a given time and terminal width.
    pub(crate) fn run_at(
        &self,
        (now, width): (&str, usize),
        writer: Option<&str>,
        arguments: &[&str],
        person: Option<&Person>,
    ) -> Outcome {
        let outcome = self.ran((now, width), writer, arguments, person);
        self.screens.lock().unwrap().push_str(&screen(arguments, person, &outcome));
        outcome
    }

    /// Runs a command in a script whose screen is not kept, since it shows a path or a commit.
    pub(crate) fn unkept(&self, arguments: &[&str]) -> Outcome {
        self.ran((NOW, self.columns), None, arguments, None)
    }

    fn ran(
        &self,
        (now, width): (&str, usize),
        writer: Option<&str>,
        arguments: &[&str],
        person: Option<&Person>,
    ) -> Outcome {
        let surroundings = Surroundings {
            now: now.parse().unwrap(),
            here: self.root().to_owned(),
            writer: writer.map(str::to_owned),
            terminal: person.map(|person| person as &dyn Terminal),
            width: Some(width),
            error_width: Some(width),
            ..Surroundings::default()
        };
        run(["exitsite"].iter().chain(arguments).map(OsString::from), &surroundings)
    }

    /// Runs a command in a script.
    pub(crate) fn run(&self, arguments: &[&str]) -> Outcome {
        self.run_as(None, arguments, None)
    }

    /// Runs a command in a script, expects success, and returns standard output.
    pub(crate) fn done(&self, arguments: &[&str]) -> String {
        let Outcome { stdout, stderr, status, .. } = self.run(arguments);
        assert_eq!(status, 0, "{arguments:?}: {stderr}");
        stdout
    }

    /// Runs a command in a script, expects a refusal that changes nothing, and returns standard error.
    pub(crate) fn refused(&self, arguments: &[&str]) -> String {
        let before = self.everything();
        let Outcome { stdout, stderr, status, .. } = self.run(arguments);
        assert_eq!((status, stdout.as_str()), (2, ""), "{arguments:?}: {stderr}");
        assert_eq!(self.everything(), before, "{arguments:?}");
        stderr
    }

    /// The JSON of a report, which is no screen.
    pub(crate) fn json(&self, arguments: &[&str]) -> serde_json::Value {
        let report = self.unkept(&[arguments, &["--json"]].concat());
        serde_json::from_str(&report.stdout).unwrap_or_else(|_| panic!("{arguments:?}: {}", report.stderr))
    }

    /// The rules broken according to a run of `check`.
    pub(crate) fn findings_of(&self, arguments: &[&str]) -> Vec<String> {
        let report = self.json(arguments);
        let findings = report["findings"].as_array().unwrap().iter();
        let rules = findings.map(|finding| finding["rule"].as_str().unwrap().to_owned());
        rules.filter(|rule| rule != "records-begin-early").collect()
    }

    /// The rules broken according to `check`.
    ///
    /// The desk's patients have no events in the weeks after their implant; a fixture of its own covers that finding.
    pub(crate) fn findings(&self) -> Vec<String> {
        self.findings_of(&["check"])
    }
}

impl Person {
    /// The texts that Ctrl-C would have shown, in order.
    pub(crate) fn interrupted(&self) -> Vec<String> {
        self.interrupts.lock().unwrap().clone()
    }

    /// A person who types these lines, then nothing.
    pub(crate) fn typing(answers: &[&str]) -> Person {
        Person { answers: Mutex::new(answers.iter().map(|answer| (*answer).to_owned()).collect()), ..Person::default() }
    }

    /// Adds an editor that makes this edit.
    pub(crate) fn editing(self, editor: impl Fn(&str) -> String + Sync + Send + 'static) -> Person {
        Person { editor: Some(Box::new(editor)), ..self }
    }

    /// Adds an action that happens while a question waits.
    pub(crate) fn meanwhile(self, what: impl Fn() + Sync + Send + 'static) -> Person {
        Person { meanwhile: Some(Box::new(what)), ..self }
    }

    /// Adds an action that happens after the last question and before the write.
    pub(crate) fn at_the_write(self, what: impl Fn() + Sync + Send + 'static) -> Person {
        Person { at_the_write: Some(Box::new(what)), ..self }
    }

    /// The text shown and asked so far.
    pub(crate) fn saw(&self) -> String {
        self.shown.lock().unwrap().join("\n")
    }

    /// The questions, in order.
    pub(crate) fn asked(&self) -> Vec<String> {
        self.asked.lock().unwrap().clone()
    }

    /// The number of lines left to type.
    pub(crate) fn left(&self) -> usize {
        self.answers.lock().unwrap().len()
    }
}

impl std::fmt::Debug for Person {
    fn fmt(&self, out: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        out.write_str("Person")
    }
}

impl Terminal for Person {
    fn say(&self, text: &str) {
        self.shown.lock().unwrap().push(text.to_owned());
        self.screen.lock().unwrap().push(text.to_owned());
    }

    fn ask(&self, question: &str) -> Option<String> {
        self.asked.lock().unwrap().push(question.to_owned());
        self.shown.lock().unwrap().push(question.to_owned());
        self.meanwhile.iter().for_each(|happens| happens());
        let answer = self.answers.lock().unwrap().pop_front();
        let typed = match answer.as_deref() {
            None => "(end of input)",
            Some(CTRL_C) => "(Ctrl-C)",
            Some(line) => line,
        };
        self.screen.lock().unwrap().push(format!("{question} {typed}").trim_end().to_owned());
        answer.filter(|line| line != CTRL_C)
    }

    fn now(&self) -> exitsite::day::Instant {
        NOW.parse().unwrap()
    }

    fn key(&self, question: &str) -> Option<char> {
        self.ask(question)?.chars().next()
    }

    fn on_interrupt(&self, text: &str) {
        self.interrupts.lock().unwrap().push(text.to_owned());
        if text.is_empty() {
            self.at_the_write.iter().for_each(|happens| happens());
        }
    }

    fn edit(&self, text: &str) -> Result<String, Failure> {
        let editor = self.editor.as_ref().ok_or_else(|| Failure::new("there is no editor"))?;
        Ok(editor(text))
    }

    fn progress(&self, _what: &str, _done: usize, _of: usize) {}

    fn end_progress(&self) {}
}
