//! The confirmation before signals of today end or are acted on. `--yes` does not give it; a script types a flag.

use super::Context;
use super::question::Questions;
use crate::day::Instant;
use crate::entry::Book;
use crate::event::Event;
use crate::problem::Failure;
use crate::program::Program;
use crate::report::consequence::{Consequence, Side};
use crate::view::{TextStyle, consequence as view};

/// The flag by which a script confirms.
#[derive(Debug, Clone, Copy)]
pub(super) struct Spoken {
    /// The flag: `--source`; `None` if only a person can confirm.
    pub(super) flag: Option<&'static str>,
    /// True if it was typed.
    pub(super) is_typed: bool,
    /// True if `--yes` was typed; the flag and `--yes` together need no question.
    pub(super) is_yes: bool,
}

impl Spoken {
    /// Returns true if the flags need no question.
    pub(super) fn is_enough(self, context: &Context) -> bool {
        self.is_typed && (self.is_yes || context.surroundings.terminal.is_none())
    }

    /// The failure of a script that typed `--yes` alone, after the sentences about what it would end.
    pub(super) fn unconfirmed(self, sentences: &str) -> Failure {
        let instead = self.flag.map_or("Run it at a terminal".to_owned(), |flag| format!("Type {flag}"));
        Failure::new(format!("{sentences}--yes does not confirm this, so nothing was written. {instead}."))
    }
}

/// A person's answer.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Close {
    /// No end to confirm, or an intended one.
    Meant,
    /// Staff did not see the site.
    NotSeen,
    /// The end is not intended.
    NotMeant,
}

/// Asks before signals of today end or are acted on; the default is No.
///
/// # Errors
/// A confirmation is needed, there is no terminal, and the flag was not typed.
pub(super) fn ask(context: &Context, consequence: &Consequence, spoken: Spoken) -> Result<Close, Failure> {
    let closings = view::questions(consequence);
    if closings.is_empty() || spoken.is_enough(context) {
        return Ok(Close::Meant);
    }
    let Some(terminal) = context.surroundings.terminal else {
        let texts: String = closings.iter().map(|closing| format!("{} ", closing.text)).collect();
        return Err(spoken.unconfirmed(&texts));
    };
    let questions = Questions { terminal, look: context.look, kept: None };
    for closing in closings {
        if !questions.is_yes(&closing.text, closing.question) {
            return Ok(if closing.is_by_look { Close::NotSeen } else { Close::NotMeant });
        }
    }
    Ok(Close::Meant)
}

/// The consequence of replacing the events on file by `events`; `None` for staff.
pub(super) fn of(book: &Book, events: &[Event], now: Instant) -> Option<Consequence> {
    let patient = book.patient.as_ref()?;
    let side = |events| Side { patient, events, unread: &book.unusable };
    Some(Consequence::of(book.program.rules(), side(&book.events), side(events), now))
}

/// The signals of today that end or are acted on: one sentence per kind of end, with the patient's code.
pub(super) fn would_close(consequences: &[Consequence]) -> Vec<String> {
    let of = |consequence: &Consequence| {
        let closings = view::questions(consequence).into_iter();
        closings.map(|closing| format!("{}: {}", consequence.patient, closing.text)).collect::<Vec<_>>()
    };
    consequences.iter().flat_map(of).collect()
}

/// Asks once before signals of today of one or several patients end or are acted on; the default is No.
///
/// # Errors
/// A confirmation is needed, there is no terminal, and the flag was not typed.
pub(super) fn ask_once(context: &Context, consequences: &[Consequence], spoken: Spoken) -> Result<bool, Failure> {
    let closings: Vec<view::Closing> = consequences.iter().flat_map(view::questions).collect();
    if closings.is_empty() || spoken.is_enough(context) {
        return Ok(true);
    }
    let texts = would_close(consequences);
    let Some(terminal) = context.surroundings.terminal else {
        let texts: String = texts.iter().map(|text| format!("{text}\n  ")).collect();
        return Err(spoken.unconfirmed(&texts));
    };
    let questions = Questions { terminal, look: context.look, kept: None };
    texts.iter().for_each(|text| questions.say(text));
    let question = match closings.as_slice() {
        [only] => only.question,
        _ if closings.iter().any(|closing| closing.is_by_look) => "Did staff see each of these sites?",
        _ => "Is all of this correct?",
    };
    Ok(questions.is_yes("", question))
}

/// The danger that remains after a write, by patient; each line has the patient's code if there are several.
pub(super) fn danger(program: &Program, consequences: &[Consequence], look: TextStyle) -> String {
    let call = program.policy.as_ref().and_then(|policy| policy.review_call.as_deref());
    let whose = |consequence: &'_ Consequence| (consequences.len() > 1).then(|| consequence.patient.clone());
    consequences
        .iter()
        .map(|consequence| view::danger(consequence, whose(consequence).as_deref(), call, look))
        .collect()
}
