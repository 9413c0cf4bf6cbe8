//! The subject of a contact: a signal by name, all open signals, or one of the other subjects.

use super::Signal;
use crate::word::Word;

/// The subject of a contact.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Subject {
    /// A change that is overdue.
    Overdue,
    /// A log that is expected.
    Log,
    /// Supplies.
    Supply,
    /// Another subject.
    Other,
    /// All open signals.
    Signals,
    /// A signal.
    Signal(Signal),
}

/// The words of the subjects other than signals; they come before the signals.
const PLAIN: [&str; 5] = ["overdue", "log", "supply", "other", "signals"];

const WORDS: [&str; PLAIN.len() + Signal::WORDS.len()] = {
    let mut words = [""; PLAIN.len() + Signal::WORDS.len()];
    let mut n = 0;
    while n < words.len() {
        words[n] = if n < PLAIN.len() { PLAIN[n] } else { Signal::WORDS[n - PLAIN.len()] };
        n += 1;
    }
    words
};

impl Word for Subject {
    const WORDS: &'static [&'static str] = &WORDS;

    fn word(self) -> &'static str {
        match self {
            Subject::Overdue => "overdue",
            Subject::Log => "log",
            Subject::Supply => "supply",
            Subject::Other => "other",
            Subject::Signals => "signals",
            Subject::Signal(signal) => signal.word(),
        }
    }

    fn from_word(word: &str) -> Option<Subject> {
        let plain = [Subject::Overdue, Subject::Log, Subject::Supply, Subject::Other, Subject::Signals];
        let plain = plain.into_iter().find(|subject| subject.word() == word);
        plain.or_else(|| Signal::from_word(word).map(Subject::Signal))
    }
}
