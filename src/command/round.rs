//! `exitsite round`

mod back;
mod call;
mod change;
mod passing;
mod promised;
mod stopping;
mod writing;

use std::cell::RefCell;

use super::contacts::ContactsFile;
use super::question::{Kept, Questions};
use super::record::unknown;
use super::{Context, Outcome, Surroundings, Terminal};
use crate::ask::{self, effect};
use crate::day::AsOf;
use crate::entry::{Book, Contacts};
use crate::event::{ContactOutcome as Ended, Kind};
use crate::problem::Failure;
use crate::program::Program;
use crate::report::due::Row;
use crate::text;
use crate::view;

/// Walk through the list and record the outcome of each call
///
/// Each outcome is recorded at once, so stopping at any point keeps everything already written. The next round skips
/// patients already reached today, unless a signal of today is open, a clock is running, or a change is overdue without
/// a promise. A round needs a terminal; `exitsite due` prints the list.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// Also list patients who become due within this many hours
    #[arg(long, value_name = "HOURS", value_parser = super::due::hours)]
    within: Option<u16>,

    /// Also list patients already reached today who need nothing now
    #[arg(long)]
    again: bool,

    /// Caller, by code; default: EXITSITE_BY
    #[arg(long, value_name = "CODE")]
    by: Option<String>,

    #[command(flatten)]
    contacts: ContactsFile,
}

/// A key: its letter, name, explanation and effect.
type RoundKey = (char, &'static str, &'static str, Does);

/// The effect of a key.
#[derive(Debug, Clone, Copy)]
enum Does {
    /// Records a call, with the outcome if the key implies one, and with the change reported in it.
    Call {
        outcome: Option<Ended>,
        is_changed: bool,
    },
    Skip,
    TakeBack,
    Before,
    Explain,
    Quit,
}

const fn call(outcome: Option<Ended>) -> Does {
    Does::Call { outcome, is_changed: false }
}

const KEYS: [RoundKey; 10] = [
    ('c', "called", "record a call: person reached, outcome, signals discussed, note", call(None)),
    (
        'd',
        "changed already",
        "record a call in which a dressing change was reported",
        Does::Call { outcome: Some(Ended::Other), is_changed: true },
    ),
    (
        'w',
        "will change",
        "record a call: the household will change the dressing, and by when",
        call(Some(Ended::WillChange)),
    ),
    ('i', "coming in", "record a call: the patient will come in, and by when", call(Some(Ended::ComingIn))),
    ('n', "no answer", "record that no one was reached, after a yes", call(Some(Ended::NoAnswer))),
    ('s', "skip", "go on to the next patient; nothing is written", Does::Skip),
    ('u', "undo", "undo the last step: a skip, or, after a yes, the last record of this round", Does::TakeBack),
    ('<', "back", "go back one patient", Does::Before),
    ('?', "explain", "show this list", Does::Explain),
    ('q', "quit", "end the round; everything written stays", Does::Quit),
];

/// The next step after a patient.
enum Next {
    Recorded(Vec<String>),
    Skipped,
    /// Not shown: already called, or no longer on the list.
    Passed,
    TakeBack,
    Before,
    Quit,
}

/// A patient's state at the end of the round.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Mark {
    NotReached,
    Recorded,
    Skipped,
    Passed,
}

/// One walk.
struct Walk<'a> {
    context: &'a Context<'a>,
    program: &'a Program,
    terminal: &'a dyn Terminal,
    by: &'a str,
    args: &'a Args,
    /// The answers of the call that is asked for.
    kept: &'a Kept,
    /// Names and telephone numbers.
    contacts: &'a Contacts,
    /// The records written in this round.
    written: RefCell<Vec<String>>,
}

pub(super) fn run(args: &Args, context: &Context) -> Result<Outcome, Failure> {
    let program = context.open()?;
    let terminal = context
        .surroundings
        .terminal
        .ok_or_else(|| Failure::new("a round needs a terminal; `exitsite due` prints the list for scripts"))?;
    let by = args.by.as_ref().or(context.surroundings.writer.as_ref());
    let by = by.ok_or_else(|| Failure::new("Required: --by, your code, or EXITSITE_BY set to it."))?;
    let kept = Kept::default();
    let names = context.contacts(&args.contacts, &program.folder, true);
    let (contacts, written) = (&names.contacts, RefCell::default());
    let walk = Walk { context, program: &program, terminal, by, args, kept: &kept, contacts, written };
    names.refused.iter().for_each(|file| walk.say(&format!("Names and numbers are not shown: {}", file.message)));
    let patients = walk.listed()?;
    let (marks, has_written) = walk.through(&patients)?;
    // Recounted, since calls were made meanwhile.
    let (body, mut unusable) = ask::due(&program, &program.codes(&[])?, walk.as_of(), true);
    unusable.extend(names.refused);
    let count = |mark| marks.iter().filter(|known| **known == mark).count();
    let listed: Vec<&str> = patients.iter().flatten().map(Row::patient).collect();
    let (left, passed) = (count(Mark::NotReached), count(Mark::Passed));
    let passed = if passed > 0 { format!(", {passed} called already or no longer on the list") } else { String::new() };
    let left = if left > 0 { format!(", {left} not yet shown") } else { String::new() };
    let stdout = format!(
        "{}{} on the list, {} recorded, {} skipped{passed}{left}. {}{}.",
        view::round::still_open(&body.rows),
        text::count(marks.len() as i64, "patient"),
        count(Mark::Recorded),
        count(Mark::Skipped),
        view::round::not_in_it(&body.rows, &listed),
        view::census(&body.census, unusable.is_empty() && body.signals_not_known.is_empty())
    );
    let outcome = Outcome::report(view::entry::summary(&stdout, context.look), &unusable);
    Ok(Outcome { has_written, ..outcome })
}

impl<'a> Walk<'a> {
    fn as_of(&self) -> AsOf {
        AsOf { instant: self.terminal.now(), is_given: false }
    }

    fn questions(&self) -> Questions<'a> {
        Questions { terminal: self.terminal, look: self.context.look, kept: Some(self.kept) }
    }

    /// The surroundings at the current time, which is later than the start of the round.
    fn surroundings(&self) -> Surroundings<'a> {
        Surroundings { now: self.terminal.now(), ..self.context.surroundings.clone() }
    }

    fn is_shown(&self, row: &Row) -> bool {
        row.is_shown(self.as_of(), self.args.within.map(i64::from))
    }

    /// The patients on the list, in its order, each with its rows.
    fn listed(&self) -> Result<Vec<Vec<Row>>, Failure> {
        let codes = self.program.codes(&[])?;
        let (body, _) = ask::due(self.program, &codes, self.as_of(), true);
        let mut patients: Vec<Vec<Row>> = Vec::new();
        for row in body.rows.into_iter().filter(|row| self.is_shown(row)) {
            match patients.iter_mut().find(|rows| rows.iter().any(|known| known.patient() == row.patient())) {
                Some(rows) => rows.push(row),
                None => patients.push(vec![row]),
            }
        }
        Ok(patients)
    }

    /// Walks through the list; returns a mark per patient, and whether anything was written.
    fn through(&self, patients: &[Vec<Row>]) -> Result<(Vec<Mark>, bool), Failure> {
        let mut marks = vec![Mark::NotReached; patients.len()];
        // The steps that can be undone: the files of each, none for a skip.
        let mut done: Vec<(usize, Vec<String>)> = Vec::new();
        let (mut at, mut is_back, mut has_written) = (0, false, false);
        let mut passed: Vec<String> = Vec::new();
        loop {
            let written: Vec<String> = done.iter().flat_map(|(_, files)| files.clone()).collect();
            self.written.replace(written.clone());
            self.stops_between_calls();
            self.terminal.begin();
            self.terminal.has_written(&written);
            let next = match patients.get(at) {
                Some(rows) => {
                    let number = format!("{} of {}", at + 1, patients.len());
                    self.visit(rows, &number, is_back, &mut passed)?
                }
                None => {
                    self.say_passed(&mut passed);
                    if done.is_empty() { Next::Quit } else { self.at_the_end() }
                }
            };
            is_back = false;
            match next {
                Next::Recorded(files) => {
                    marks[at] = Mark::Recorded;
                    done.push((at, files));
                    has_written = true;
                    at += 1;
                }
                Next::Skipped | Next::Passed => {
                    let is_skipped = matches!(next, Next::Skipped);
                    if marks[at] != Mark::Recorded {
                        marks[at] = if is_skipped { Mark::Skipped } else { Mark::Passed };
                    }
                    if is_skipped {
                        done.push((at, Vec::new()));
                    }
                    at += 1;
                }
                Next::Before => (at, is_back) = (at.saturating_sub(1), true),
                Next::TakeBack => match done.pop() {
                    Some((place, files)) if files.is_empty() => {
                        let code = patients.get(place).and_then(|rows| rows.first()).map_or("", Row::patient);
                        self.say(&format!("Back to {code}, which was skipped."));
                        if marks[place] == Mark::Skipped {
                            marks[place] = Mark::NotReached;
                        }
                        (at, is_back) = (place, true);
                    }
                    Some((place, files)) => {
                        let left = self.take_back(&files)?;
                        if left.is_empty() {
                            marks[place] = Mark::NotReached;
                            at = place;
                        } else {
                            done.push((place, left));
                        }
                        is_back = true;
                    }
                    None => {
                        self.say("Nothing to undo in this round.");
                        is_back = true;
                    }
                },
                Next::Quit => {
                    self.terminal.on_interrupt("");
                    return Ok((marks, has_written));
                }
            }
        }
    }

    /// After the last patient: the last record can still be undone.
    fn at_the_end(&self) -> Next {
        loop {
            match self.terminal.key(&self.question("End of the list. u undo, < back, q quit")) {
                Some('u' | 'U') => return Next::TakeBack,
                Some('<') => return Next::Before,
                Some('q' | 'Q' | '\u{1b}') | None => return Next::Quit,
                _ => self.terminal.say("Type u, < or q."),
            }
        }
    }

    fn say_passed(&self, passed: &mut Vec<String>) {
        if !passed.is_empty() {
            passed.iter().for_each(|sentence| self.say(sentence));
            passed.clear();
        }
    }

    /// One patient: shows what is due and what to ask, then reads a key. Rereads the records, since someone else may
    /// have called.
    fn visit(&self, listed: &[Row], number: &str, is_back: bool, passed: &mut Vec<String>) -> Result<Next, Failure> {
        let Some(code) = listed.first().map(Row::patient) else { return Ok(Next::Passed) };
        let is_on_file = self.program.patients.codes.iter().any(|known| known == code);
        let rows = if is_on_file { self.rows(code) } else { listed.to_vec() };
        if !is_back && !rows.iter().any(|row| self.is_shown(row)) {
            passed.push(format!("{code} is no longer on the list."));
            return Ok(Next::Passed);
        }
        let today = self.program.calendar().today(self.terminal.now());
        let opened = Book::open(self.program, code, Kind::Contact);
        if let Ok(book) = &opened
            && !is_back
            && !self.args.again
            && let Some(call) = self.called_today(book, &rows)
        {
            passed.push(view::round::passed(book, call, &rows, today));
            return Ok(Next::Passed);
        }
        self.say_passed(passed);
        self.terminal.say(&format!("\n{number}\n{}", view::entry::rows(&rows, self.context.look)));
        let book = match opened {
            Ok(book) => book,
            Err(failure) => {
                self.say(&failure.to_string());
                return Ok(match self.terminal.key(&self.question("q quit, < back, any other key continues")) {
                    Some('q' | '\u{1b}') | None => Next::Quit,
                    Some('<') => Next::Before,
                    _ => Next::Skipped,
                });
            }
        };
        if let Some(sentences) = unknown(&book, self.by) {
            return Err(Failure::new(format!("--by (or EXITSITE_BY): {sentences}")));
        }
        let (open, _) = ask::signals(self.program, &[code], self.as_of(), false);
        let now = self.terminal.now();
        self.terminal.say(&view::round::to_ask(&book, &open.signals, self.contacts, now, self.context.look));
        self.keys(&book, &rows)
    }

    fn keys(&self, book: &Book, rows: &[Row]) -> Result<Next, Failure> {
        let question: Vec<String> = KEYS.iter().map(|(key, does, ..)| format!("{key} {does}")).collect();
        loop {
            let key = self.terminal.key(&self.question(&question.join(", ")));
            let known = key.and_then(|key| KEYS.iter().find(|(known, ..)| *known == key.to_ascii_lowercase()));
            match known.map(|(.., does)| *does) {
                Some(Does::Call { outcome, is_changed }) => {
                    if let Some(sentence) = self.called_meanwhile(book)? {
                        self.say(&sentence);
                        return Ok(Next::Passed);
                    }
                    if let Some(files) = self.record(book, rows, outcome, is_changed)? {
                        return Ok(Next::Recorded(files));
                    }
                    self.stops_between_calls();
                }
                Some(Does::Skip) => {
                    let open = view::round::open(rows);
                    self.say(&format!("Skipped {}; open: {open}. u or < goes back to it.", book.owner.code()));
                    return Ok(Next::Skipped);
                }
                Some(Does::TakeBack) => return Ok(Next::TakeBack),
                Some(Does::Before) => return Ok(Next::Before),
                Some(Does::Quit) => return Ok(Next::Quit),
                Some(Does::Explain) => {
                    let lines = KEYS.map(|(key, _, explained, _)| format!("  {key}  {explained}"));
                    self.say(&lines.join("\n"));
                }
                None if matches!(key, None | Some('\u{1b}')) => return Ok(Next::Quit),
                None => {
                    let keys = KEYS.map(|(key, ..)| String::from(key)).join(", ");
                    self.terminal.say(&format!("Type one of {keys}."));
                }
            }
        }
    }

    fn rows(&self, code: &str) -> Vec<Row> {
        effect::standing(self.program, code, self.terminal.now())
    }

    fn say(&self, sentence: &str) {
        self.terminal.say(&view::sentences(sentence, self.context.look));
    }

    fn question(&self, question: &str) -> String {
        view::entry::question(question, self.context.look)
    }
}
