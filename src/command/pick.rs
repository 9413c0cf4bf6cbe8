//! A record picked from a list of a patient's own, where a command was given the patient's code in place of a file.
//!
//! No record is preselected, and without a terminal the list is the answer: a script names the file.

use super::Context;
use super::question::{Enter, Leave, Questions};
use super::target::Target;
use crate::entry::Book;
use crate::event::Event;
use crate::problem::Failure;
use crate::program::Program;
use crate::text::{self, visible};
use crate::view::entry as view;

/// Most records that a list shows, the newest first.
const MOST: usize = 15;

/// The records that a command can be about.
pub(super) struct Wanted {
    /// One of them: `open culture`.
    pub(super) one: &'static str,
    /// Several: `open cultures`.
    pub(super) several: &'static str,
    /// True if it is one; a voided record never is.
    pub(super) is_one: fn(&Event) -> bool,
    /// True if somebody at a terminal may be asked.
    pub(super) may_ask: bool,
}

impl Target {
    /// The record that `typed` means: a file, or one of a patient's, picked from a list.
    ///
    /// # Errors
    /// There is none, no patient has that code, or nobody can be asked; the list is in the sentence.
    pub(super) fn meant(context: &Context, program: &Program, typed: &str, wanted: &Wanted) -> Result<Target, Failure> {
        let here = &context.surroundings.here;
        if program.patients.codes.iter().any(|code| code == typed) {
            return picked(context, program, typed, wanted);
        }
        let is_file = typed.contains(['/', '.']) || here.join(typed).exists();
        if is_file { Target::of(program, typed.as_ref(), here) } else { Err(program.no_such_patient(typed)) }
    }
}

fn picked(context: &Context, program: &Program, code: &str, wanted: &Wanted) -> Result<Target, Failure> {
    let book = Book::of_folder(program, &format!("patients/{code}"))?;
    let is_one = |event: &&Event| event.void.is_none() && (wanted.is_one)(event);
    let all: Vec<&Event> = book.events.iter().rev().filter(is_one).collect();
    let noun = wanted.one;
    if all.is_empty() {
        return Err(Failure::new(format!("{code} has no {noun}; nothing was written")));
    }
    let shown = &all[..all.len().min(MOST)];
    let older = all.len() - shown.len();
    let older = (older > 0).then(|| format!("{older} older {}: give the file of one of them", wanted.several));
    let Some(terminal) = context.surroundings.terminal.filter(|_| wanted.may_ask) else {
        let number =
            if let [_] = all.as_slice() { format!("1 {noun}") } else { format!("{} {}", all.len(), wanted.several) };
        let mut lines = vec![format!("{code} has {number}; give the file")];
        lines.extend(shown.iter().map(|event| format!("{}  {}", visible(event.file()), view::brief(&book, event))));
        lines.extend(older);
        return Err(Failure::new(lines.join("\n  ")));
    };
    let lines: Vec<String> = shown.iter().map(|event| view::brief(&book, event)).collect();
    older.iter().for_each(|older| terminal.say(older));
    match chosen(Questions { terminal, look: context.look, kept: None }, noun, &lines) {
        Some(at) => Target::of_file(program, shown[at].file()),
        None => Err(Failure::new(format!("no {noun} was chosen; nothing was written"))),
    }
}

/// The number that somebody picks; `None` where nothing is picked.
fn chosen(questions: Questions, noun: &str, lines: &[String]) -> Option<usize> {
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
    // The newest is next to the question, and each is one line, so that none leaves the screen.
    let digits = lines.len().to_string().len();
    for (n, line) in lines.iter().enumerate().rev() {
        let line = format!("  {:>digits$}  {line}", n + 1);
        questions.terminal.say(&text::cut(&line, questions.look.width));
    }
    loop {
        match questions.ask(&format!("Which {noun}? Its number"), Enter::Leaves("none of them"), number) {
            Ok(at) => return at,
            Err(Leave::Stops | Leave::Fails(_)) => return None,
            Err(Leave::Back | Leave::Kept) => questions.say("This is the first question."),
        }
    }
}
