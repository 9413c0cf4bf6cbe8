//! Required flags: a terminal is asked for those that are missing or wrong; a script gets all of them at once.

use super::{Context, Terminal, consent, pick};
use crate::problem::Failure;
use crate::text::visible_lines;
use crate::view::words::question::{Question, QuestionText};
use crate::view::{TextStyle, sentences};

/// The answer that goes back one question.
const BACK: &str = "<";

/// Reads flags one after the other.
pub(super) struct FlagGaps<'a> {
    terminal: Option<&'a dyn Terminal>,
    look: TextStyle,
    wrong: Vec<String>,
    /// The earlier answers, each with its flag, which are not asked for again, and the index of the next one.
    answers: Vec<(String, String)>,
    at: usize,
    is_going_back: bool,
}

/// A flag: its name, its description, and its question at a terminal.
pub(super) type Gap<'g> = (&'g str, &'g str, Question);

impl<'a> FlagGaps<'a> {
    /// Creates a reader that asks nothing if `yes` is true.
    pub(super) fn of(context: &Context<'a>, yes: bool) -> FlagGaps<'a> {
        let terminal = context.surroundings.terminal.filter(|_| !yes);
        FlagGaps { terminal, look: context.look, wrong: Vec::new(), answers: Vec::new(), at: 0, is_going_back: false }
    }

    /// Reads all flags of a command; `<` goes back one question and keeps the answers before it.
    ///
    /// # Errors
    /// Something is missing or wrong; the message lists all of it.
    pub(super) fn walk<T>(context: &Context<'a>, yes: bool, read: impl Fn(&mut FlagGaps) -> T) -> Result<T, Failure> {
        let mut answers: Vec<(String, String)> = Vec::new();
        context.surroundings.terminal.iter().for_each(|terminal| terminal.on_interrupt(consent::STOPPED));
        loop {
            let mut gaps = FlagGaps { answers, ..FlagGaps::of(context, yes) };
            let value = read(&mut gaps);
            if !gaps.is_going_back {
                return gaps.end().map(|()| value);
            }
            answers = gaps.answers;
            if answers.pop().is_none() {
                if context.surroundings.terminal.is_some_and(Terminal::has_picked) {
                    return Err(pick::back());
                }
                context.say("This is the first question.");
            }
        }
    }

    /// The next answer: an earlier one, or one typed now. `None` at the end of input, and when going back.
    fn answer(&mut self, terminal: &dyn Terminal, question: &QuestionText) -> Option<String> {
        if self.is_going_back {
            return None;
        }
        let known = self.answers.get(self.at).map(|(_, answer)| answer.clone());
        let answer = known.or_else(|| terminal.ask_explained(&question.text, &question.explained()))?;
        self.is_going_back = answer.trim() == BACK;
        (!self.is_going_back).then_some(answer)
    }

    /// Keeps the valid answer that stands for a flag.
    fn keep(&mut self, flag: &str, answer: &str) {
        self.answers.truncate(self.at);
        self.answers.push((flag.to_owned(), answer.to_owned()));
        self.at += 1;
        let given = self.answers.iter().filter(|(_, answer)| !answer.is_empty());
        let flags: Vec<_> = given.map(|(flag, answer)| (flag.clone(), Some(answer.clone()))).collect();
        self.terminal.iter().for_each(|terminal| terminal.so_far("flags", flags.clone()));
    }

    /// Says why an answer does not fit.
    fn say(&self, terminal: &dyn Terminal, sentence: &str) {
        terminal.say(&sentences(&format!("  {}", visible_lines(sentence)), self.look));
    }

    /// A required flag. `read` parses it, or returns what to type instead.
    pub(super) fn needed<T>(
        &mut self,
        (flag, about, question): Gap,
        given: Option<&str>,
        read: impl Fn(&str) -> Result<T, String>,
    ) -> Option<T> {
        let given = given.filter(|given| !given.trim().is_empty());
        let Some(terminal) = self.terminal else {
            return match given {
                Some(given) => self.given(flag, given, read),
                None => {
                    self.wrong.push(format!("Required: {flag}, {about}."));
                    None
                }
            };
        };
        if let Some(value) = given.and_then(|given| read(given).map_err(|sentence| self.say(terminal, &sentence)).ok())
        {
            return Some(value);
        }
        let value = self.ask(terminal, flag, &question.into(), false, read);
        if value.is_none() && !self.is_going_back {
            self.wrong.push(format!("Required: {flag}, {about}."));
        }
        value
    }

    /// A flag that is asked for if missing, and that may stay unknown.
    pub(super) fn possible<T>(
        &mut self,
        flag: &str,
        question: Question,
        given: Option<&str>,
        read: impl Fn(&str) -> Result<T, String>,
    ) -> Option<T> {
        let (None, Some(terminal)) = (given, self.terminal) else { return self.optional(flag, question, given, read) };
        let question = QuestionText::from(question).and(" [Enter: not known yet]");
        self.ask(terminal, flag, &question, true, read)
    }

    /// Asks until the answer is valid; `None` at the end of input, when going back, and if Enter leaves it open.
    fn ask<T>(
        &mut self,
        terminal: &dyn Terminal,
        flag: &str,
        question: &QuestionText,
        may_be_open: bool,
        read: impl Fn(&str) -> Result<T, String>,
    ) -> Option<T> {
        loop {
            let answer = self.answer(terminal, question)?;
            match answer.trim() {
                "" if may_be_open => {
                    self.keep(flag, "");
                    return None;
                }
                "" => self.say(terminal, "Required. Ctrl-C stops, and nothing is written."),
                answer => match read(answer) {
                    Ok(value) => {
                        self.keep(flag, answer);
                        return Some(value);
                    }
                    Err(sentence) => self.say(terminal, &sentence),
                },
            }
        }
    }

    /// A flag that may be left out.
    pub(super) fn optional<T>(
        &mut self,
        flag: &str,
        question: Question,
        given: Option<&str>,
        read: impl Fn(&str) -> Result<T, String>,
    ) -> Option<T> {
        let given = given?;
        match self.terminal.filter(|_| read(given).is_err()) {
            Some(_) => self.needed((flag, flag, question), Some(given), read),
            None => self.given(flag, given, read),
        }
    }

    fn given<T>(&mut self, flag: &str, given: &str, read: impl Fn(&str) -> Result<T, String>) -> Option<T> {
        match read(given) {
            Ok(value) => Some(value),
            Err(sentence) => {
                self.wrong.push(format!("{flag}: {sentence}"));
                None
            }
        }
    }

    /// Adds another fault.
    pub(super) fn add(&mut self, sentence: String) {
        self.wrong.push(sentence);
    }

    /// Ends the reading.
    ///
    /// # Errors
    /// Something is missing or wrong; the message lists all of it.
    pub(super) fn end(self) -> Result<(), Failure> {
        consent::to_be_put_right(&self.wrong)
    }
}

/// A text that is not empty.
pub(super) fn words(text: &str) -> Result<String, String> {
    match text.trim() {
        "" => Err("The value is empty.".to_owned()),
        text => Ok(text.to_owned()),
    }
}

/// A reason: at least one word of three letters, so that whoever reads it later learns something.
pub(super) fn reason(text: &str) -> Result<String, String> {
    let is_word = |word: &str| word.chars().filter(|c| c.is_alphabetic()).count() >= 3;
    match words(text)? {
        text if text.split_whitespace().any(is_word) => Ok(text),
        _ => {
            Err("Write the reason in a few words, such as \"wrong patient\" or \"typed in the wrong line\".".to_owned())
        }
    }
}

/// The failure if a value is missing after every question, which cannot happen.
pub(super) fn incomplete() -> Failure {
    Failure::new("Something is missing. Nothing was written.")
}
