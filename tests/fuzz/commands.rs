//! The commands of a case, with sheets, maps, state files and mail server replies as corrupt as the records.

use std::ffi::OsString;
use std::fs;
use std::io::{BufRead, BufReader, Write};
use std::net::TcpListener;
use std::path::{Path, PathBuf};
use std::sync::Mutex;
use std::thread;

use exitsite::command::{Outcome, Surroundings, Terminal, run};
use exitsite::problem::Failure;
use rand::RngExt;
use rand::seq::IndexedRandom;
use rand_chacha::ChaCha8Rng;

use crate::mutate::{self, Files};

/// Tuesday, 07:15 in Chicago.
const NOW: &str = "2026-11-24T13:15:00Z";

/// Answers that a person at a terminal may type.
const ANSWERS: [&str; 22] = [
    "",
    "y",
    "n",
    "c",
    "w",
    "s",
    "q",
    "u",
    "?",
    "none",
    "all",
    "yes",
    "07:00",
    "yesterday",
    "2026-11-23",
    "-1",
    "98.6",
    "37",
    "\u{1b}[2J",
    "rn-07",
    "patient",
    "9999999999999999999999",
];

/// Times and words for the value of a flag.
const MOMENTS: [&str; 9] = [
    "2026-11-24T07:15",
    "2026-11-24",
    "1990-01-01",
    "2199-12-31",
    "2026-11-01T01:30",
    "9999-01-01",
    "\u{1b}[31m",
    "",
    "2026-12-24",
];

/// The questions without a patient.
const QUESTIONS: [&[&str]; 17] = [
    &["due", "--all"],
    &["due", "--within", "65535"],
    &["missed"],
    &["grade"],
    &["grade", "--json"],
    &["signals"],
    &["signals", "--json"],
    &["teaching"],
    &["supplies"],
    &["handoff"],
    &["handoff", "--json"],
    &["supplies", "--json"],
    &["audit", "--month", "2026-10"],
    &["audit", "--month", "2026-10", "--json"],
    &["check"],
    &["check", "--json"],
    &["alert", "--dry-run"],
];

/// The questions about one patient.
const ABOUT_ONE: [&[&str]; 9] = [
    &["show"],
    &["show", "--all"],
    &["show", "--json"],
    &["due"],
    &["missed", "--json"],
    &["signals"],
    &["teaching"],
    &["sheet"],
    &["history"],
];

/// The questions that need git.
const OF_GIT: [&[&str]; 6] = [
    &["history"],
    &["history", "--json"],
    &["check", "--since", "HEAD"],
    &["audit", "--month", "2026-10", "--json"],
    &["due", "--all", "--at-commit", "HEAD"],
    &["check", "--at-commit", "HEAD@{1000000 years ago}"],
];

/// One run of a command.
pub(crate) struct Run {
    pub(crate) arguments: Vec<OsString>,
    /// True if it may write records.
    pub(crate) writes: bool,
    /// True if it lists every patient as JSON.
    pub(crate) is_census: bool,
    person: Person,
}

/// A person at a terminal.
#[derive(Debug, Default)]
pub(crate) struct Person(Mutex<Vec<&'static str>>);

impl Run {
    fn of(arguments: &[&str]) -> Run {
        let arguments: Vec<OsString> = arguments.iter().map(OsString::from).collect();
        Run { arguments, writes: false, is_census: false, person: Person::default() }
    }

    /// The complete due list, with every patient.
    pub(crate) fn due() -> Run {
        Run { is_census: true, ..Run::of(&["due", "--json", "--all"]) }
    }

    pub(crate) fn shown(&self) -> String {
        let shown: Vec<String> = self.arguments.iter().map(|argument| format!("{argument:?}")).collect();
        shown.join(" ")
    }

    pub(crate) fn run(&self, surroundings: &Surroundings) -> Outcome {
        let program = OsString::from("exitsite");
        run([program].into_iter().chain(self.arguments.iter().cloned()), surroundings)
    }
}

/// The surroundings of a command in a case.
pub(crate) fn world<'a>(root: &Path, run: &'a Run) -> Surroundings<'a> {
    let is_there = !run.person.0.lock().unwrap().is_empty();
    Surroundings {
        now: NOW.parse().unwrap(),
        here: root.to_owned(),
        records: Some(root.to_owned()),
        writer: Some("rn-07".to_owned()),
        terminal: is_there.then_some(&run.person as &dyn Terminal),
        ..Surroundings::default()
    }
}

/// Returns a random command. `dir` is the case's folder outside the records.
pub(crate) fn any(rng: &mut ChaCha8Rng, dir: &Path, files: &Files, has_git: bool) -> Run {
    let code = code(rng, files);
    let event = event(rng, files);
    if has_git && rng.random_ratio(1, 2) {
        return Run::of(OF_GIT.choose(rng).unwrap());
    }
    let mut run = match rng.random_range(0..16) {
        0..=4 => Run::of(QUESTIONS.choose(rng).unwrap()),
        5..=7 => {
            let mut run = Run::of(ABOUT_ONE.choose(rng).unwrap());
            run.arguments.push(code.into());
            run
        }
        8 => {
            let mut run = Run::of(&["export", ["csv", "json"].choose(rng).unwrap()]);
            run.arguments.push(dir.join(format!("export-{}", rng.random::<u32>())).into());
            run
        }
        9 => pages(rng, dir, &code),
        10..=11 => import(rng, dir, &code),
        12 => alert(rng, dir),
        13 => {
            let kind = ["change", "shower", "contact", "trauma", "culture"].choose(rng).unwrap();
            typed(rng, &["record", kind, &code])
        }
        14 => match rng.random_range(0..4) {
            0 => typed(rng, &["round"]),
            1 => typed(rng, &["patient", "add", "P-500"]),
            2 => typed(rng, &["patient", "move", &code, "--place", "home"]),
            _ => typed(rng, &["result", &event]),
        },
        _ => match rng.random_range(0..3) {
            0 => typed(rng, &["amend", &event, "--set", "note=\"\u{1b}\"", "--why", "misread", "--yes"]),
            1 => typed(rng, &["void", &event, "--why", "told twice", "--yes"]),
            _ => typed(rng, &["resolve", &event]),
        },
    };
    if rng.random_ratio(1, 3) && !run.writes {
        run.arguments.extend(["--as-of".into(), MOMENTS.choose(rng).unwrap().into()]);
    }
    run
}

/// A patient's code on file, or another word.
fn code(rng: &mut ChaCha8Rng, files: &Files) -> String {
    let codes: Vec<&str> = files.keys().filter_map(|path| path.strip_prefix("patients/")?.split('/').next()).collect();
    match codes.choose(rng) {
        Some(code) if rng.random_ratio(9, 10) => (*code).to_owned(),
        _ => ["P-999", "\u{1b}[2J", "", "..", "P-00l"].choose(rng).unwrap().to_string(),
    }
}

fn event(rng: &mut ChaCha8Rng, files: &Files) -> String {
    let events: Vec<&String> = files.keys().filter(|path| path.matches('/').count() == 3).collect();
    events.choose(rng).map_or("patients/P-001/2026/2026-11-24T0700-change.toml".to_owned(), |path| (*path).clone())
}

fn pages(rng: &mut ChaCha8Rng, dir: &Path, code: &str) -> Run {
    let page = dir.join(format!("page-{}.html", rng.random::<u32>())).display().to_string();
    match rng.random_range(0..4) {
        0 => Run::of(&["show", code, "--html", &page]),
        1 => Run::of(&["sheet", code, "--html", &page]),
        2 => Run::of(&["audit", "--month", "2026-10", "--html", &page]),
        _ => Run::of(&["sheet", code, "--csv", "-"]),
    }
}

/// An import of a log with its map.
fn import(rng: &mut ChaCha8Rng, dir: &Path, code: &str) -> Run {
    let log = dir.join("log.csv");
    let map = dir.join("map.toml");
    let mut text = b"patient,kind,date,time,by,reason,drainage,note\nP-014,shower,2026-11-23,18:40,patient,,,warm\nP-014,change,2026-11-23,19:05,p014-wife,scheduled,none,\n".to_vec();
    let mut mapped = b"[columns]\nday = \"date\"\nhour = \"time\"\n[words.drainage]\nclear = \"serous\"\n[defaults]\nkind = \"change\"\n".to_vec();
    (0..rng.random_range(0..4)).for_each(|_| mutate::text(rng, &mut text));
    (0..rng.random_range(0..3)).for_each(|_| mutate::text(rng, &mut mapped));
    if rng.random_ratio(1, 20) {
        text = mutate::noise(rng, 2_000);
    }
    fs::write(&log, text).unwrap();
    fs::write(&map, mapped).unwrap();
    let log = log.display().to_string();
    let map = map.display().to_string();
    let mut run = typed(rng, &["import", &log, "--dry-run"]);
    if rng.random_ratio(1, 3) {
        run.arguments.pop();
        run.arguments.push("--yes".into());
    }
    if rng.random_ratio(1, 2) {
        run.arguments.extend(["--map".into(), map.into()]);
    }
    if rng.random_ratio(1, 2) {
        run.arguments.extend(["--patient".into(), code.into()]);
    }
    run
}

/// Alerts with an earlier state and, in some cases, a mail server.
fn alert(rng: &mut ChaCha8Rng, dir: &Path) -> Run {
    let state: PathBuf = dir.join("state.json");
    if rng.random_ratio(2, 3) {
        let mut text =
            b"{\"version\": 1, \"told\": {\"printed\": {\"P-014\": {\"first\": \"2026-11-23T07:15:00Z\"}}}}\n".to_vec();
        (0..rng.random_range(0..3)).for_each(|_| mutate::text(rng, &mut text));
        fs::write(&state, text).unwrap();
    }
    let state = state.display().to_string();
    // An unresponsive server costs its whole timeout.
    if rng.random_ratio(7, 8) {
        return Run::of(&["alert", "--state", &state]);
    }
    let url = format!("smtp://127.0.0.1:{}", mail_server(rng));
    let from = ["alert", "--from", "vad@example.org", "--fallback", "co@example.org", "--timeout", "1", "--heartbeat"];
    Run::of(&[&from[..], &["--state", &state, "--smtp", &url]].concat())
}

/// Starts a server that gives two calls the worst replies it can, and returns its port.
fn mail_server(rng: &mut ChaCha8Rng) -> u16 {
    let listener = TcpListener::bind("127.0.0.1:0").unwrap();
    let port = listener.local_addr().unwrap().port();
    let mut answers =
        b"220 ready\r\n250-hello\r\n250 8BITMIME\r\n250 ok\r\n250 ok\r\n354 go on\r\n250 taken\r\n221 bye\r\n".to_vec();
    (0..rng.random_range(0..3)).for_each(|_| mutate::text(rng, &mut answers));
    thread::spawn(move || {
        for _ in 0..2 {
            let Ok((mut stream, _)) = listener.accept() else { return };
            let Ok(other) = stream.try_clone() else { return };
            let mut heard = BufReader::new(other);
            for answer in answers.split_inclusive(|byte| *byte == b'\n') {
                let mut line = Vec::new();
                if stream.write_all(answer).is_err() || heard.read_until(b'\n', &mut line).is_err() {
                    break;
                }
            }
        }
    });
    port
}

/// A command that asks questions, with a person who types random answers.
fn typed(rng: &mut ChaCha8Rng, arguments: &[&str]) -> Run {
    let is_there = rng.random_ratio(2, 3);
    let answers = (0..if is_there { 60 } else { 0 }).map(|_| *ANSWERS.choose(rng).unwrap()).collect();
    Run { writes: true, person: Person(Mutex::new(answers)), ..Run::of(arguments) }
}

impl Terminal for Person {
    fn say(&self, _text: &str) {}

    fn ask(&self, _question: &str) -> Option<String> {
        self.0.lock().unwrap().pop().map(str::to_owned)
    }

    fn now(&self) -> exitsite::day::Instant {
        NOW.parse().unwrap()
    }

    fn key(&self, question: &str) -> Option<char> {
        self.ask(question)?.chars().next().or(Some('\n'))
    }

    fn edit(&self, text: &str) -> Result<String, Failure> {
        Ok(text.to_owned())
    }

    fn progress(&self, _what: &str, _done: usize, _of: usize) {}

    fn end_progress(&self) {}
}
