//! Questions at the terminal: numbered choices, an explanation and a second try after a wrong answer, and `<` to go
//! back.
//!
//! Left out on purpose: a default that claims something. Enter leaves a question open or takes the answer that the
//! question shows; `n` only ever means "no". Neither a wrong answer nor going back loses earlier answers.

mod choice;
mod half_day;

use std::cell::RefCell;
use std::collections::BTreeMap;

use super::Terminal;
use crate::entry::Book;
use crate::problem::Failure;
use crate::text::{visible, visible_lines};
use crate::view::words::question::{Question, QuestionText, record};
use crate::view::{TextStyle, entry as view, sentences};

pub(super) use choice::{Choice, in_words, numbered, pick, pick_or_other, several as parse_several};
use choice::{all_or_several, is_long, lines};

/// The answer that goes back one question.
const BACK: &str = "<";

/// The answer that clears an earlier one and leaves the question open.
const OPEN: &str = "-";

/// The person at the terminal, with the answers so far.
#[derive(Debug, Clone, Copy)]
pub(super) struct Questions<'a> {
    pub(super) terminal: &'a dyn Terminal,
    pub(super) look: TextStyle,
    /// The answers so far, which Enter keeps when a question is repeated; `None` if no question can be repeated.
    pub(super) kept: Option<&'a Kept>,
}

/// Answers in words, by question.
#[derive(Debug, Default)]
pub(super) struct Kept(RefCell<BTreeMap<String, String>>);

impl Kept {
    /// The answers about each exit site of a patient, apart from each other.
    pub(super) fn of_exits(book: &Book) -> Vec<Kept> {
        book.patient.iter().flat_map(|patient| &patient.exits).map(|_| Kept::default()).collect()
    }

    /// Forgets every answer.
    pub(super) fn clear(&self) {
        self.0.borrow_mut().clear();
    }

    fn of(&self, question: &str) -> Option<String> {
        self.0.borrow().get(question).cloned()
    }

    fn put(&self, question: &str, answer: Option<String>) {
        match answer {
            Some(answer) => self.0.borrow_mut().insert(question.to_owned(), answer),
            None => self.0.borrow_mut().remove(question),
        };
    }
}

/// The effect of Enter.
#[derive(Debug, Clone, Copy)]
pub(super) enum Enter<'a> {
    /// None: an answer is required.
    Asks,
    /// Leaves the question open, shown in these words: `not looked at`.
    Leaves(&'a str),
    /// Takes this answer, which the question shows; never one that claims, ends or acts on anything.
    Takes(&'a str),
}

/// A way out of a question without an answer.
#[derive(Debug)]
pub(super) enum Leave {
    /// Back to the previous question.
    Back,
    /// Back to the previous question with all answers kept.
    Kept,
    /// The end of input.
    Stops,
    /// The questions cannot continue.
    Fails(Failure),
}

impl Questions<'_> {
    /// Prints a message between questions, such as why an answer does not fit.
    pub(super) fn say(&self, sentence: &str) {
        self.terminal.say(&sentences(&format!("  {}", visible_lines(sentence)), self.look));
    }

    /// Asks until the answer is valid; `None` if Enter left the question open.
    pub(super) fn ask<T>(
        &self,
        question: impl Into<QuestionText>,
        enter: Enter,
        read: impl Fn(&str) -> Result<T, String>,
    ) -> Result<Option<T>, Leave> {
        self.ask_in_words(question, enter, read, str::to_owned)
    }

    /// Asks like [`Questions::ask`], but keeps the answer as `words`, which are parsed like an answer.
    pub(super) fn ask_in_words<T>(
        &self,
        question: impl Into<QuestionText>,
        enter: Enter,
        read: impl Fn(&str) -> Result<T, String>,
        words: impl Fn(&str) -> String,
    ) -> Result<Option<T>, Leave> {
        let asked = question.into();
        let question = asked.text.as_str();
        let kept = self.kept.and_then(|kept| kept.of(question));
        let shown = match (&kept, enter) {
            (Some(kept), Enter::Leaves(open)) => {
                format!("{question} [Enter: keep {}] [{OPEN}: {open}]", visible(kept))
            }
            (Some(kept), _) => format!("{question} [Enter: keep {}]", visible(kept)),
            (None, Enter::Asks) => question.to_owned(),
            (None, Enter::Leaves(open)) => format!("{question} [Enter: {open}]"),
            (None, Enter::Takes(answer)) => format!("{question} [Enter: {answer}]"),
        };
        let keep = |answer: Option<String>| self.kept.iter().for_each(|kept| kept.put(question, answer.clone()));
        loop {
            let line = self.terminal.ask_explained(&view::question(&shown, self.look), &asked.explained());
            let line = line.ok_or(Leave::Stops)?;
            let typed = match (line.trim(), &kept, enter) {
                (BACK, ..) => return Err(Leave::Back),
                (OPEN, Some(_), Enter::Leaves(_)) => {
                    keep(None);
                    return Ok(None);
                }
                ("", Some(kept), _) => kept,
                ("", None, Enter::Leaves(_)) => return Ok(None),
                ("", None, Enter::Takes(answer)) => answer,
                ("", None, Enter::Asks) => {
                    self.say("Required. `<` goes back; Ctrl-C stops, and nothing is written.");
                    continue;
                }
                (typed, ..) => typed,
            };
            match read(typed) {
                Ok(value) => {
                    if !line.trim().is_empty() {
                        keep(Some(words(typed)));
                    }
                    return Ok(Some(value));
                }
                Err(sentence) => self.say(&sentence),
            }
        }
    }

    /// Asks for one of several choices, by number, word or unique prefix; returns its index.
    pub(super) fn choose(
        &self,
        question: impl Into<QuestionText>,
        choices: &[Choice],
        enter: Enter,
    ) -> Result<Option<usize>, Leave> {
        self.choose_as(question, choices, enter, Ok)
    }

    /// Asks like [`Questions::choose`]; `fits` converts the choice, or returns why it does not fit.
    pub(super) fn choose_as<T>(
        &self,
        question: impl Into<QuestionText>,
        choices: &[Choice],
        enter: Enter,
        fits: impl Fn(usize) -> Result<T, String>,
    ) -> Result<Option<T>, Leave> {
        let read = |typed: &str| fits(pick(choices, typed)?);
        self.ask_in_words(numbered(question, choices), enter, read, |typed| in_words(choices, typed))
    }

    /// Asks for any number of choices, separated by spaces or commas. `all` selects every one, unless it is itself a
    /// choice.
    pub(super) fn choose_several(
        &self,
        question: impl Into<QuestionText>,
        choices: &[Choice],
        enter: Enter,
    ) -> Result<Option<Vec<usize>>, Leave> {
        self.choose_several_as(question, choices, enter, Ok)
    }

    /// Asks like [`Questions::choose_several`]; `fits` converts the choices, or returns why they do not fit. A long list is
    /// shown above the question, one line each.
    pub(super) fn choose_several_as<T>(
        &self,
        question: impl Into<QuestionText>,
        choices: &[Choice],
        enter: Enter,
        fits: impl Fn(Vec<usize>) -> Result<T, String>,
    ) -> Result<Option<T>, Leave> {
        let asked = match is_long(choices) {
            true => {
                lines(choices, self.look.width).iter().for_each(|line| self.terminal.say(line));
                let last = choices.len();
                question.into().and(&format!(" Numbers from 1 to {last}")).numbered(last)
            }
            false => numbered(question, choices),
        };
        let read = |typed: &str| fits(all_or_several(choices, typed)?);
        self.ask_in_words(asked, enter, read, |typed| in_words(choices, typed))
    }

    /// Asks like [`Questions::choose_several`], but none of them is an answer that is typed: Enter asks again.
    pub(super) fn choose_several_or_none(
        &self,
        question: impl Into<QuestionText>,
        choices: &[Choice],
    ) -> Result<Vec<usize>, Leave> {
        let read = |typed: &str| match typed.eq_ignore_ascii_case("none") {
            true => Ok(Vec::new()),
            false => all_or_several(choices, typed),
        };
        let question = numbered(question, choices);
        let picked = self.ask_in_words(question, Enter::Asks, read, |typed| in_words(choices, typed))?;
        Ok(picked.unwrap_or_default())
    }

    /// Asks yes or no; Enter means no, and `<` goes back.
    ///
    /// # Errors
    /// Back to the previous question, or the end of input.
    pub(super) fn confirms(&self, question: Question) -> Result<bool, Leave> {
        let (asked, explanation) = (self.with_yes_or_no(question.words), question.explained_yes_or_no());
        loop {
            let answer = self.terminal.ask_explained(&asked, &explanation).ok_or(Leave::Stops)?;
            match answer.trim().to_lowercase().as_str() {
                "y" | "yes" => return Ok(true),
                "n" | "no" | "" => return Ok(false),
                BACK => return Err(Leave::Back),
                _ => self.say(super::consent::Y_OR_N),
            }
        }
    }

    /// Asks the last question, yes or no; Enter asks again, and `<` goes back. `None` if one of the other words was typed.
    ///
    /// # Errors
    /// Back to the previous question, or the end of input.
    pub(super) fn confirms_or(&self, question: &str, others: &[&str]) -> Result<Option<bool>, Leave> {
        let question = self.with_yes_or_no(question);
        loop {
            match super::consent::typed(
                || self.terminal.ask(&question),
                |sentence| self.say(sentence),
                super::consent::WRITES,
            ) {
                super::consent::TypedAnswer::Yes => return Ok(Some(true)),
                super::consent::TypedAnswer::No => return Ok(Some(false)),
                super::consent::TypedAnswer::Other(word) if word == BACK => return Err(Leave::Back),
                super::consent::TypedAnswer::Other(word) if others.contains(&word.as_str()) => return Ok(None),
                super::consent::TypedAnswer::Other(_) => self.say(super::consent::Y_OR_N),
                super::consent::TypedAnswer::Ended => return Err(Leave::Stops),
            }
        }
    }

    /// The question with its answers, before a remark in parentheses.
    fn with_yes_or_no(&self, question: &str) -> String {
        let (what, more) =
            question.split_once(" (").map_or((question, String::new()), |(what, more)| (what, format!(" ({more}")));
        view::question(&format!("{what} [y/N]{more}"), self.look)
    }

    /// Asks about a doubt; Enter asks again, and `<` goes back with all answers kept.
    ///
    /// # Errors
    /// Back to the previous question.
    pub(super) fn accepts(&self, doubt: &str) -> Result<bool, Leave> {
        let question = super::consent::doubted(doubt, self.look);
        loop {
            match super::consent::typed(
                || self.terminal.ask(&question),
                |sentence| self.say(sentence),
                super::consent::SAVES,
            ) {
                super::consent::TypedAnswer::Yes => return Ok(true),
                super::consent::TypedAnswer::No | super::consent::TypedAnswer::Ended => return Ok(false),
                super::consent::TypedAnswer::Other(word) if word == BACK => return Err(Leave::Kept),
                super::consent::TypedAnswer::Other(_) => self.say(super::consent::Y_OR_N),
            }
        }
    }

    /// Asks yes or no; Enter and the end of input mean no.
    pub(super) fn is_yes(&self, text: &str, question: &str) -> bool {
        super::consent::is_yes(self.terminal, &format!("{}  {question} [y/N]", sentences(text, self.look)))
    }

    /// Asks questions in order; `<` goes back to the last one that was asked and restores the state before its answer.
    /// A question that returns false was not asked.
    ///
    /// # Errors
    /// The end of input.
    pub(super) fn walk<S: Clone>(
        &self,
        state: &mut S,
        count: usize,
        ask: impl Fn(usize, &mut S) -> Result<bool, Leave>,
    ) -> Result<(), Failure> {
        while !self.walk_or_leave(state, count, &ask)? {
            self.say("This is the first question.");
        }
        Ok(())
    }

    /// Asks like [`Questions::walk`], but `<` at the first question leaves, which returns false.
    ///
    /// # Errors
    /// The end of input.
    pub(super) fn walk_or_leave<S: Clone>(
        &self,
        state: &mut S,
        count: usize,
        ask: impl Fn(usize, &mut S) -> Result<bool, Leave>,
    ) -> Result<bool, Failure> {
        let mut asked: Vec<(usize, S)> = Vec::new();
        let mut at = 0;
        while at < count {
            let before = state.clone();
            match ask(at, state) {
                Ok(true) => {
                    asked.push((at, before));
                    at += 1;
                }
                Ok(false) => at += 1,
                Err(Leave::Stops) => return Err(stopped()),
                Err(Leave::Fails(failure)) => return Err(failure),
                Err(leave @ (Leave::Back | Leave::Kept)) => match asked.pop() {
                    Some((question, _)) if matches!(leave, Leave::Kept) => at = question,
                    Some((question, then)) => (at, *state) = (question, then),
                    None => {
                        *state = before;
                        return Ok(false);
                    }
                },
            }
        }
        Ok(true)
    }

    /// Handles a No: goes back with all answers kept, unless the word `discard` is typed.
    ///
    /// # Errors
    /// Back to the questions, or the end of input.
    pub(super) fn discards(&self) -> Result<(), Leave> {
        let read = |typed: &str| match typed {
            super::consent::DISCARD => Ok(()),
            _ => Err("Type discard, or Enter to go back.".to_owned()),
        };
        match self.ask(record::NOT_WRITTEN, Enter::Leaves("back to the questions"), read) {
            Ok(Some(())) => Ok(()),
            Ok(None) | Err(Leave::Back) => Err(Leave::Kept),
            Err(leave) => Err(leave),
        }
    }
}

/// The failure at the end of input.
pub(super) fn stopped() -> Failure {
    Failure::unwritten("stopped")
}
