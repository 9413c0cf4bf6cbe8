//! A fault in a record: a value that is collected and never stops a run.
//!
//! A *failure* (no folder, no permission) does stop a run; see [`Failure`].

mod rule;

use std::collections::BTreeMap;

pub use rule::Rule;

use crate::place::{Place, RecordText, Span};
use crate::text::either;
use crate::word::words;

/// The number of folders above an event: `patients/P-014/2026`.
const DEPTH_OF_EVENTS: usize = 3;

words! {
    /// The severity of a problem.
    #[derive(PartialOrd, Ord)]
    pub enum Level {
        /// Informational; the record is used.
        Note = "note",
        /// The record is used but needs attention.
        Warning = "warning",
        /// The record is unreadable or does not count.
        Error = "error",
    }
}

/// A key and its possible values.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OneOf {
    /// The key.
    pub key: &'static str,
    /// Its values, safe to print.
    pub values: Vec<String>,
}

impl OneOf {
    /// The help for a file: `write exit = "a" or exit = "b"`.
    pub(crate) fn as_keys(&self) -> String {
        self.written(|key, value| format!("{key} = \"{value}\""))
    }

    /// The help for a command line: `write --exit a or --exit b`.
    pub(crate) fn as_flags(&self) -> String {
        self.written(|key, value| format!("--{key} {value}"))
    }

    fn written(&self, write: impl Fn(&str, &str) -> String) -> String {
        let all: Vec<String> = self.values.iter().map(|value| write(self.key, value)).collect();
        format!("write {}", either(&all.iter().map(String::as_str).collect::<Vec<_>>()))
    }
}

/// One fault: rule, place and correction.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Problem {
    /// The rule that was broken.
    pub rule: Rule,
    /// Its place.
    pub place: Place,
    /// The key concerned, dotted if it is in a table: `site.redness_mm`. `None` if no single key is concerned.
    pub key: Option<String>,
    /// The fault as one sentence in lower case, without a period.
    pub message: String,
    /// The correction.
    pub help: String,
    /// The values of a key from which the correction is chosen.
    pub one_of: Option<OneOf>,
    /// Related places, such as the earlier of two events.
    pub related: Vec<Place>,
    /// The number of further problems of this rule in the file, which are not listed.
    pub more: usize,
}

/// The maximum number of problems listed per rule and file; the rest are counted.
pub(crate) const MOST_OF_ONE_RULE: usize = 20;

/// Keeps the first problems of each rule, by place, among those of one file from `begun` on, and counts the rest. A
/// file can have tens of thousands.
pub(crate) fn count_repeats(problems: &mut Vec<Problem>, begun: usize) {
    if problems.len() - begun <= MOST_OF_ONE_RULE {
        return;
    }
    let mut of_file = problems.split_off(begun);
    of_file.sort_by_key(|problem| (problem.rule, problem.place.line, problem.place.column));
    for problem in of_file {
        let kept = problems[begun..].iter().rev().take_while(|kept| kept.rule == problem.rule).count();
        match problems.last_mut() {
            Some(last) if kept == MOST_OF_ONE_RULE => last.more += 1 + problem.more,
            _ => problems.push(problem),
        }
    }
}

impl Problem {
    /// A problem of a file rather than of a place in it.
    pub fn of_file(rule: Rule, file: impl Into<String>, message: impl Into<String>, help: impl Into<String>) -> Self {
        Problem::at(rule, Place::file(file), message, help)
    }

    /// A problem at a place.
    pub fn at(rule: Rule, place: Place, message: impl Into<String>, help: impl Into<String>) -> Self {
        let (message, help) = (message.into(), help.into());
        Problem { rule, place, key: None, message, help, one_of: None, related: Vec::new(), more: 0 }
    }

    /// Makes a choice of values the correction.
    pub(crate) fn choosing(mut self, one_of: OneOf) -> Self {
        self.help = one_of.as_keys();
        self.one_of = Some(one_of);
        self
    }

    /// The identity of the fault, which does not depend on its position in the file and so survives an edit.
    pub fn fault(&self) -> (Rule, &str, Option<&str>, &str) {
        (self.rule, &self.place.file, self.key.as_deref(), &self.message)
    }

    /// Sets the key concerned.
    pub(crate) fn of_key(mut self, key: impl Into<String>) -> Self {
        self.key = Some(key.into());
        self
    }

    /// Returns true if its file cannot be used because of it.
    ///
    /// In an event, a date outside the calendar of care affects only the time, not whether the event happened. In an
    /// order, a phase or an exit site the date decides what is due, so the file cannot be used.
    pub(crate) fn makes_unusable(&self) -> bool {
        let is_of_an_event = self.place.file.matches('/').count() == DEPTH_OF_EVENTS;
        self.rule.makes_unusable() || self.rule == Rule::NotADateOfCare && !is_of_an_event
    }

    /// Adds a related place.
    pub fn beside(mut self, place: Place) -> Self {
        self.related.push(place);
        self
    }
}

impl RecordText {
    /// A problem at `span` of this file.
    pub fn problem(&self, rule: Rule, span: &Span, message: impl Into<String>, help: impl Into<String>) -> Problem {
        Problem::at(rule, self.place(span), message, help)
    }
}

/// Returns true if a file cannot be used because of any of `problems`.
///
/// A date outside the calendar of care is an error, but affects only *when* an event happened, not whether.
pub(crate) fn makes_unusable(problems: &[Problem]) -> bool {
    problems.iter().any(|problem| problem.makes_unusable())
}

/// The levels as lowered by the program's policy (`policy.toml`, `[check]`).
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Severities {
    /// Rules with a level below their default.
    pub turned_down: BTreeMap<Rule, Level>,
}

impl Severities {
    /// The level of a problem in this program.
    pub fn level(&self, rule: Rule) -> Level {
        self.turned_down.get(&rule).copied().unwrap_or_else(|| rule.level())
    }
}

/// A failure that stops a run: one sentence with the path and the remedy.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Failure(pub String);

impl Failure {
    /// A failure with its sentence.
    pub fn new(sentence: impl Into<String>) -> Self {
        Failure(sentence.into())
    }

    /// A failure of a writing command that left the records as they were: its sentence, and that nothing was written.
    ///
    /// ```
    /// # use exitsite::problem::Failure;
    /// assert_eq!(Failure::unwritten("the disk is full").to_string(), "The disk is full. Nothing was written.");
    /// ```
    pub fn unwritten(sentence: impl AsRef<str>) -> Self {
        Failure(crate::text::in_sentences(&[sentence.as_ref(), "Nothing was written."]))
    }
}

impl std::fmt::Display for Failure {
    fn fmt(&self, out: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        out.write_str(&self.0)
    }
}

impl std::error::Error for Failure {}
