//! A user at a terminal from the first question to the last: nothing typed is dropped without a yes.
//!
//! On Ctrl-C or at the end of input, asks once whether to drop the answers. A second one stops, writes nothing, and shows
//! the command line that writes the answers so far.

use std::ffi::OsString;
use std::sync::{Mutex, PoisonError};

use super::Terminal;
use super::consent::STOPPED;
use crate::day::Instant;
use crate::problem::Failure;
use crate::text::quoted;
use crate::view::words::question::YES_OR_NO;
use crate::view::{TextStyle, command_line, sentences};

/// The answer that goes back one question.
const BACK: &str = "<";

/// The answer that asks for an explanation.
const EXPLAIN: &str = "?";

/// A terminal with the answers typed at it.
#[derive(Debug)]
pub(super) struct Sitting<'a> {
    terminal: &'a dyn Terminal,
    /// The command line as typed, without the program's name.
    line: Vec<String>,
    look: TextStyle,
    answers: Mutex<Answers>,
}

/// A part of a command, and the flags that stand for its answers.
type AnsweredPart = (&'static str, Vec<(String, Option<String>)>);

/// The answers so far.
#[derive(Debug, Default)]
struct Answers {
    /// The questions with an answer, in order, each with the answer.
    given: Vec<(String, String)>,
    /// The flags that stand for them, by part of the command.
    flags: Vec<AnsweredPart>,
    /// The code typed instead of a file, and the file picked.
    picked: Option<(String, String)>,
    /// The command lines that write the answers; empty for the one typed.
    instead: Vec<String>,
    /// The files written before the next question.
    written: Vec<String>,
    /// True if the user stopped: nothing more is asked.
    is_over: bool,
}

impl<'a> Sitting<'a> {
    /// Starts with the command line as typed, which begins with the program's name.
    pub(super) fn of(terminal: &'a dyn Terminal, arguments: &[OsString], width: Option<usize>) -> Sitting<'a> {
        let line = arguments.iter().skip(1).map(|argument| argument.to_string_lossy().into_owned()).collect();
        let look = TextStyle { width: width.unwrap_or(80), color: false };
        Sitting { terminal, line, look, answers: Mutex::default() }
    }

    /// Returns it as the terminal of a command.
    pub(super) fn as_terminal(&self) -> &dyn Terminal {
        self
    }

    fn answers<T>(&self, use_of: impl FnOnce(&mut Answers) -> T) -> T {
        use_of(&mut self.answers.lock().unwrap_or_else(PoisonError::into_inner))
    }

    /// Drops the answer that a question refused, since it is asked again.
    fn drop_refused(&self, question: &str) {
        self.answers(|answers| {
            if answers.given.last().is_some_and(|(asked, _)| asked == question) {
                answers.given.pop();
            }
        });
    }

    /// Notes an answer; `<` takes the previous one back. The answer to a question that is `None` is not counted.
    fn note(&self, question: Option<&str>, line: &str) {
        self.answers(|answers| match (line.trim(), question) {
            (BACK, _) => _ = answers.given.pop(),
            (line, Some(question)) => answers.given.push((question.to_owned(), line.to_owned())),
            (_, None) => {}
        });
    }

    /// Reads the next line that is not `?`; `None` if the user stops.
    fn line(&self, question: &str, explanation: &str) -> Option<String> {
        let fitted = sentences(question, self.look);
        while !self.answers(|answers| answers.is_over) {
            match self.terminal.ask(fitted.trim_end_matches('\n')) {
                Some(line) if line.trim() == EXPLAIN => {
                    self.terminal.say(&sentences(&format!("  {explanation}"), self.look));
                }
                Some(line) => return Some(line),
                None if self.stops() => break,
                None => {}
            }
        }
        None
    }

    /// The command lines that write the answers so far; empty if no flag stands for them.
    fn commands(&self) -> Vec<String> {
        self.answers(|answers| {
            if !answers.instead.is_empty() {
                return answers.instead.iter().map(|command| format!("exitsite {}{command}", self.records())).collect();
            }
            let flags: Vec<&(String, Option<String>)> = answers.flags.iter().flat_map(|(_, flags)| flags).collect();
            if flags.is_empty() {
                return Vec::new();
            }
            let word = |word: &String| match &answers.picked {
                Some((code, file)) if code == word => quoted(file),
                _ => quoted(word),
            };
            let typed = without(&self.line, &flags);
            let typed = typed.into_iter().map(word);
            let flag = |(flag, value): &(String, Option<String>)| match value {
                Some(value) => format!("{flag} {}", quoted(value)),
                None => flag.clone(),
            };
            let words: Vec<String> = typed.chain(flags.into_iter().map(flag)).collect();
            vec![format!("exitsite {}", words.join(" "))]
        })
    }

    /// The typed records folder as a flag.
    fn records(&self) -> String {
        let at = self.line.iter().position(|word| word == "--records" || word.starts_with("--records="));
        let folder = at.and_then(|at| match self.line[at].split_once('=') {
            Some((_, folder)) => Some(folder),
            None => self.line.get(at + 1).map(String::as_str),
        });
        folder.map(|folder| format!("--records {} ", quoted(folder))).unwrap_or_default()
    }

    /// Asks before answers are dropped; returns false if the question is to be asked again.
    fn stops(&self) -> bool {
        let mut is_interrupted = self.terminal.is_interrupted();
        let answers = match self.typed() {
            0 => String::new(),
            1 => "this answer".to_owned(),
            n => format!("these {n} answers"),
        };
        if !answers.is_empty() {
            match self.terminal.ask(&format!("Stop and drop {answers}? [y/N]")).map(|line| line.trim().to_lowercase()) {
                Some(yes) if yes == "y" || yes == "yes" => {}
                Some(_) => return false,
                None => {
                    is_interrupted |= self.terminal.is_interrupted();
                    let commands = self.commands();
                    if !commands.is_empty() {
                        let each = |command: &String| command_line(&format!("  {command}"), self.look);
                        let commands: Vec<String> = commands.iter().map(each).collect();
                        self.terminal.say(&format!("To write what you answered so far:\n{}", commands.join("\n")));
                    }
                }
            }
        }
        if is_interrupted {
            self.terminal.interrupt();
        }
        self.answers(|answers| answers.is_over = true);
        true
    }
}

/// A command line without the flags that were answered anew.
fn without<'l>(line: &'l [String], answered: &[&(String, Option<String>)]) -> Vec<&'l String> {
    let (mut kept, mut words) = (Vec::new(), line.iter());
    while let Some(word) = words.next() {
        let flag = word.split_once('=').map_or(word.as_str(), |(flag, _)| flag);
        match answered.iter().find(|(known, _)| known == flag) {
            Some((_, Some(_))) if !word.contains('=') => _ = words.next(),
            Some(_) => {}
            None => kept.push(word),
        }
    }
    kept
}

impl Terminal for Sitting<'_> {
    fn now(&self) -> Instant {
        self.terminal.now()
    }

    fn say(&self, text: &str) {
        self.terminal.say(text);
    }

    /// Asks for yes or no, which is not counted as an answer.
    fn ask(&self, question: &str) -> Option<String> {
        self.line(question, YES_OR_NO).inspect(|line| self.note(None, line))
    }

    fn ask_explained(&self, question: &str, explanation: &str) -> Option<String> {
        self.drop_refused(question);
        self.line(question, explanation).inspect(|line| self.note(Some(question), line))
    }

    fn typed(&self) -> usize {
        self.answers(|answers| answers.given.iter().filter(|(_, line)| !line.is_empty()).count())
    }

    fn begin(&self) {
        self.answers(|answers| *answers = Answers::default());
    }

    fn has_written(&self, files: &[String]) {
        self.answers(|answers| answers.written = files.to_vec());
    }

    fn so_far(&self, part: &'static str, flags: Vec<(String, Option<String>)>) {
        self.answers(|answers| match answers.flags.iter_mut().find(|(known, _)| *known == part) {
            Some((_, known)) => *known = flags,
            None => answers.flags.push((part, flags)),
        });
    }

    fn picked(&self, code: &str, file: &str) {
        self.answers(|answers| answers.picked = Some((code.to_owned(), file.to_owned())));
    }

    fn has_picked(&self) -> bool {
        self.answers(|answers| answers.picked.is_some())
    }

    fn instead(&self, commands: Vec<String>) {
        self.answers(|answers| answers.instead = commands);
    }

    fn key(&self, question: &str) -> Option<char> {
        if self.answers(|answers| answers.is_over) { None } else { self.terminal.key(question) }
    }

    fn drop_typed_ahead(&self) {
        self.terminal.drop_typed_ahead();
    }

    fn on_interrupt(&self, text: &str) {
        let written = self.answers(|answers| answers.written.join(", "));
        let text = match text {
            STOPPED if !written.is_empty() => {
                format!("exitsite: stopped. On file: {written}. Nothing more was written.")
            }
            text => text.to_owned(),
        };
        self.terminal.on_interrupt(sentences(&text, self.look).trim_end());
    }

    fn edit(&self, text: &str) -> Result<String, Failure> {
        self.terminal.edit(text)
    }

    fn progress(&self, what: &str, done: usize, of: usize) {
        self.terminal.progress(what, done, of);
    }

    fn end_progress(&self) {
        self.terminal.end_progress();
    }
}
