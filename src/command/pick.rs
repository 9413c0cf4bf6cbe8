//! Picks a record from a patient's list, if a command was given the patient's code instead of a file.
//!
//! No record is preselected. Without a terminal the list is the error message: a script names the file.

use super::question::{Enter, Leave, Questions};
use super::target::RecordTarget;
use super::{Context, Outcome};
use crate::entry::Book;
use crate::event::Event;
use crate::problem::Failure;
use crate::program::Program;
use crate::text::{self, visible};
use crate::view::entry as view;
use crate::view::words::question::correction::WHICH_RECORD;
use crate::view::words::question::{Question, QuestionText};

/// The maximum number of records listed, newest first.
const MOST: usize = 15;

/// The records that a command accepts.
pub(super) struct WantedRecords {
    /// One of them: `open culture`.
    pub(super) one: &'static str,
    /// The question that picks one.
    pub(super) question: Question,
    /// Several: `open cultures`.
    pub(super) several: &'static str,
    /// Returns true if the command accepts the event; it never accepts a voided one.
    pub(super) is_one: fn(&Event) -> bool,
    /// True if the user may be asked.
    pub(super) may_ask: bool,
}

impl WantedRecords {
    /// Any record of a patient.
    pub(super) fn any(may_ask: bool) -> WantedRecords {
        WantedRecords { question: WHICH_RECORD, one: "record", several: "records", is_one: |_| true, may_ask }
    }
}

/// The failure that goes back to the list; [`or_again`] never lets it out.
const BACK: &str = "back to the list";

/// Goes back to the list, from the first question about the record picked.
pub(super) fn back() -> Failure {
    Failure(BACK.to_owned())
}

/// Returns true for the failure that goes back to the list.
pub(super) fn is_back(failure: &Failure) -> bool {
    failure.0 == BACK
}

/// Runs a command, and from the list again as long as the user goes back to it.
///
/// # Errors
/// The command failed.
pub(super) fn or_again(context: &Context, run: impl Fn() -> Result<Outcome, Failure>) -> Result<Outcome, Failure> {
    loop {
        match run() {
            Err(failure) if is_back(&failure) => {
                context.surroundings.terminal.iter().for_each(|terminal| terminal.begin());
            }
            done => return done,
        }
    }
}

impl RecordTarget {
    /// Returns the record that `typed` names: a file, or one picked from a patient's list.
    ///
    /// # Errors
    /// No such record or patient, or no terminal; the message then has the list.
    pub(super) fn meant(
        context: &Context,
        program: &Program,
        typed: &str,
        wanted: &WantedRecords,
    ) -> Result<RecordTarget, Failure> {
        let here = &context.surroundings.here;
        if program.patients.codes.iter().any(|code| code == typed) {
            return picked(context, program, typed, wanted);
        }
        let is_file = typed.contains(['/', '.']) || here.join(typed).exists();
        if is_file { RecordTarget::of(program, typed.as_ref(), here) } else { Err(program.no_such_patient(typed)) }
    }
}

fn picked(context: &Context, program: &Program, code: &str, wanted: &WantedRecords) -> Result<RecordTarget, Failure> {
    let book = Book::of_folder(program, &format!("patients/{code}"))?;
    let is_one = |event: &&Event| event.void.is_none() && (wanted.is_one)(event);
    let all: Vec<&Event> = book.events.iter().rev().filter(is_one).collect();
    let noun = wanted.one;
    if all.is_empty() {
        return Err(Failure::unwritten(format!("{code} has no {noun}")));
    }
    let shown = &all[..all.len().min(MOST)];
    let older = all.len() - shown.len();
    let older = (older > 0).then(|| format!("{older} older {}: type the file name", wanted.several));
    let Some(terminal) = context.surroundings.terminal.filter(|_| wanted.may_ask) else {
        let number =
            if let [_] = all.as_slice() { format!("1 {noun}") } else { format!("{} {}", all.len(), wanted.several) };
        let mut lines = vec![format!("{code} has {number}; name the file of one")];
        lines.extend(shown.iter().map(|event| format!("{}  {}", visible(event.file()), view::brief(&book, event))));
        lines.extend(older);
        return Err(Failure::new(lines.join("\n  ")));
    };
    let lines: Vec<String> = shown.iter().map(|event| view::brief(&book, event)).collect();
    older.iter().for_each(|older| terminal.say(older));
    match chosen(Questions { terminal, look: context.look, kept: None }, &wanted.question.with(&[noun]), &lines) {
        Some(at) => {
            terminal.picked(code, shown[at].file());
            RecordTarget::of_file(program, shown[at].file())
        }
        None => Err(Failure::unwritten(format!("no {noun} was chosen"))),
    }
}

/// Asks for a number; `None` if nothing is picked.
fn chosen(questions: Questions, question: &QuestionText, lines: &[String]) -> Option<usize> {
    let number = |typed: &str| {
        let at = typed.parse::<usize>().ok().and_then(|n| n.checked_sub(1)).filter(|at| *at < lines.len());
        at.ok_or_else(|| {
            format!(
                "{} is not a choice. Use {}.",
                visible(typed),
                if lines.len() == 1 { "1".to_owned() } else { format!("1 to {}", lines.len()) }
            )
        })
    };
    // Newest last, next to the question, and one line each, so that all of them stay on the screen.
    let digits = lines.len().to_string().len();
    for (n, line) in lines.iter().enumerate().rev() {
        let line = format!("  {:>digits$}  {line}", n + 1);
        questions.terminal.say(&text::cut(&line, questions.look.width));
    }
    loop {
        match questions.ask(question.clone(), Enter::Leaves("none of them"), number) {
            Ok(at) => return at,
            Err(Leave::Stops | Leave::Fails(_)) => return None,
            Err(Leave::Back | Leave::Kept) => questions.say("This is the first question."),
        }
    }
}
