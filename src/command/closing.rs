//! The question before signals of today end or are answered. `--yes` does not answer it; in a script it is a flag, typed.

use super::Desk;
use super::question::Questions;
use crate::problem::Failure;
use crate::report::consequence::Consequence;
use crate::view::consequence as view;

/// The flag by which a script answers it.
#[derive(Debug, Clone, Copy)]
pub(super) struct Spoken {
    /// The flag: `--source`. `None` where no flag answers it, and only a person can.
    pub(super) flag: Option<&'static str>,
    /// Whether it was typed.
    pub(super) is_typed: bool,
    /// Whether `--yes` was typed, so that a flag that was typed needs no question.
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
pub(super) fn ask(desk: &Desk, consequence: &Consequence, spoken: Spoken) -> Result<Close, Failure> {
    let closings = view::questions(consequence);
    let is_said = spoken.is_typed && (spoken.is_yes || desk.surroundings.terminal.is_none());
    if closings.is_empty() || is_said {
        return Ok(Close::Meant);
    }
    let Some(terminal) = desk.surroundings.terminal else {
        let texts: Vec<&str> = closings.iter().map(|closing| closing.text.as_str()).collect();
        let instead = spoken.flag.map_or("run it at a terminal".to_owned(), |flag| format!("type {flag}"));
        return Err(Failure::new(format!(
            "{} --yes does not answer this: {instead}; nothing was written",
            texts.join(" ")
        )));
    };
    let questions = Questions { terminal, look: desk.look };
    for closing in closings {
        if !questions.is_yes(&closing.text, closing.question) {
            return Ok(if closing.is_by_look { Close::NotSeen } else { Close::NotMeant });
        }
    }
    Ok(Close::Meant)
}
