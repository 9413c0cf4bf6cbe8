//! The questions at the terminal, each with the explanation and the example behind `?`.
//!
//! Left out on purpose: the choices, which come from the records, and the effect of Enter, which the command decides.

pub(crate) mod call;
pub(crate) mod correction;
pub(crate) mod course;
pub(crate) mod record;

/// The explanation of a question that is answered with yes or no.
pub(crate) const YES_OR_NO: &str =
    "Type y for yes or n for no. < goes back, where there is a question before; Ctrl-C stops.";

/// A question at the terminal.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Question {
    /// The sentence. Each `{}` stands for a value of the records.
    pub(crate) words: &'static str,
    /// The purpose of the question, and the answers that need one.
    about: &'static str,
    /// An answer; empty if the question or its choices show one.
    example: &'static str,
}

impl Question {
    const fn new(words: &'static str, about: &'static str, example: &'static str) -> Question {
        Question { words, about, example }
    }

    /// Fills in the values.
    pub(crate) fn with(self, values: &[&str]) -> QuestionText {
        let mut parts = self.words.split("{}");
        let first = parts.next().unwrap_or_default().to_owned();
        let rest = parts.zip(values);
        let text = rest.fold(first, |text, (part, value)| text + value + part);
        QuestionText { text, question: self, is_numbered: false }
    }

    /// The explanation, without the keys.
    pub(crate) fn explained(self) -> String {
        let example = if self.example.is_empty() { String::new() } else { format!(" Example: {}.", self.example) };
        format!("{}{example}", self.about)
    }

    /// The explanation of a question that is answered with yes or no.
    pub(crate) fn explained_yes_or_no(self) -> String {
        format!("{} {YES_OR_NO}", self.explained())
    }
}

/// A question as it is asked.
#[derive(Debug, Clone)]
pub(crate) struct QuestionText {
    pub(crate) text: String,
    question: Question,
    /// True if its choices are numbered.
    is_numbered: bool,
}

impl From<Question> for QuestionText {
    fn from(question: Question) -> QuestionText {
        question.with(&[])
    }
}

impl QuestionText {
    /// Appends the choices, or the effect of Enter.
    pub(crate) fn and(mut self, more: &str) -> QuestionText {
        self.text.push_str(more);
        self
    }

    /// Returns it with the number of its choices.
    pub(crate) fn numbered(self, choices: usize) -> QuestionText {
        QuestionText { is_numbered: choices > 1, ..self }
    }

    /// The explanation, with the keys.
    pub(crate) fn explained(&self) -> String {
        let by_number = if self.is_numbered { " Type the number, the word, or its beginning." } else { "" };
        format!("{}{by_number} < goes back one question.", self.question.explained())
    }
}
