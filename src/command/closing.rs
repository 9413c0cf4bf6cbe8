//! The question before signals of today end or are answered. `--yes` does not answer it; in a script it is a flag,
//! typed.

use super::Context;
use super::question::Questions;
use crate::day::Instant;
use crate::entry::Book;
use crate::event::Event;
use crate::problem::Failure;
use crate::program::Program;
use crate::report::consequence::{Consequence, Side};
use crate::view::{TextStyle, consequence as view};

/// The flag by which a script answers it.
#[derive(Debug, Clone, Copy)]
pub(super) struct Spoken {
    /// The flag: `--source`. `None` where no flag answers it, and only a person can.
    pub(super) flag: Option<&'static str>,
    /// True if it was typed.
    pub(super) is_typed: bool,
    /// True if `--yes` was typed, so that a flag that was typed needs no question.
    pub(super) is_yes: bool,
}

/// The answer of a person.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Close {
    /// Nothing is closed, or what is closed is meant.
    Meant,
    /// There was no look by staff.
    NotSeen,
    /// It is not meant.
    NotMeant,
}

/// Asks before signals of today end or are answered; No is preselected.
///
/// # Errors
/// There is something to ask, nobody can be asked, and the flag was not typed.
pub(super) fn ask(context: &Context, consequence: &Consequence, spoken: Spoken) -> Result<Close, Failure> {
    let closings = view::questions(consequence);
    let is_said = spoken.is_typed && (spoken.is_yes || context.surroundings.terminal.is_none());
    if closings.is_empty() || is_said {
        return Ok(Close::Meant);
    }
    let Some(terminal) = context.surroundings.terminal else {
        let texts: Vec<&str> = closings.iter().map(|closing| closing.text.as_str()).collect();
        let instead = spoken.flag.map_or("run it at a terminal".to_owned(), |flag| format!("type {flag}"));
        return Err(Failure::new(format!(
            "{} --yes does not answer this: {instead}; nothing was written",
            texts.join(" ")
        )));
    };
    let questions = Questions { terminal, look: context.look, kept: None };
    for closing in closings {
        if !questions.is_yes(&closing.text, closing.question) {
            return Ok(if closing.is_by_look { Close::NotSeen } else { Close::NotMeant });
        }
    }
    Ok(Close::Meant)
}

/// The consequence of other events in place of those on file; `None` for staff.
pub(super) fn of(book: &Book, events: &[Event], now: Instant) -> Option<Consequence> {
    let patient = book.patient.as_ref()?;
    Some(Consequence::of(book.program.rules(), Side { patient, events: &book.events }, Side { patient, events }, now))
}

/// The signals of today that end or are answered, a sentence for each kind of end, with the patient's code.
pub(super) fn would_close(consequences: &[Consequence]) -> Vec<String> {
    let of = |consequence: &Consequence| {
        let closings = view::questions(consequence).into_iter();
        closings.map(|closing| format!("{}: {}", consequence.patient, closing.text)).collect::<Vec<_>>()
    };
    consequences.iter().flat_map(of).collect()
}

/// Asks once before signals of today end or are answered, of one patient or of several; No is preselected.
///
/// # Errors
/// There is something to ask, nobody can be asked, and the flag was not typed.
pub(super) fn ask_once(context: &Context, consequences: &[Consequence], spoken: Spoken) -> Result<bool, Failure> {
    let closings: Vec<view::Closing> = consequences.iter().flat_map(view::questions).collect();
    let is_said = spoken.is_typed && (spoken.is_yes || context.surroundings.terminal.is_none());
    if closings.is_empty() || is_said {
        return Ok(true);
    }
    let texts = would_close(consequences);
    let Some(terminal) = context.surroundings.terminal else {
        let instead = spoken.flag.map_or("run it at a terminal".to_owned(), |flag| format!("type {flag}"));
        return Err(Failure::new(format!(
            "{}\n  --yes does not answer this: {instead}; nothing was written",
            texts.join("\n  ")
        )));
    };
    let questions = Questions { terminal, look: context.look, kept: None };
    texts.iter().for_each(|text| questions.say(text));
    let question = match closings.as_slice() {
        [only] => only.question,
        _ if closings.iter().any(|closing| closing.is_by_look) => "Did staff see each of these sites?",
        _ => "Is all of that right?",
    };
    Ok(questions.is_yes("", question))
}

/// The danger that a write leaves, patient by patient; the patient's code is in each line where there are several.
pub(super) fn danger(program: &Program, consequences: &[Consequence], look: TextStyle) -> String {
    let call = program.policy.as_ref().and_then(|policy| policy.review_call.as_deref());
    let whose = |consequence: &'_ Consequence| (consequences.len() > 1).then(|| consequence.patient.clone());
    consequences
        .iter()
        .map(|consequence| view::danger(consequence, whose(consequence).as_deref(), call, look))
        .collect()
}
