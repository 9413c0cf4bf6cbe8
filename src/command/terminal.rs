//! The interface to a terminal at which the user can be asked. `main` has the real one.

use std::fmt::Debug;

use crate::day::Instant;
use crate::problem::Failure;

/// A terminal with a user. Questions and the text around them go to standard error.
pub trait Terminal: Debug + Sync {
    /// The current time, since answering takes time.
    fn now(&self) -> Instant;

    /// Shows text.
    fn say(&self, text: &str);

    /// Shows a question and reads a line, without its line ending; `None` at the end of input and after Ctrl-C.
    fn ask(&self, question: &str) -> Option<String>;

    /// Asks like [`Terminal::ask`], and notes the answer; `?` shows the explanation.
    fn ask_explained(&self, question: &str, _explanation: &str) -> Option<String> {
        self.ask(question)
    }

    /// Returns true if the last line was not read because of Ctrl-C.
    fn is_interrupted(&self) -> bool {
        false
    }

    /// Ends the program after Ctrl-C, with the text of [`Terminal::on_interrupt`].
    fn interrupt(&self) {}

    /// The number of answers typed since [`Terminal::begin`].
    fn typed(&self) -> usize {
        0
    }

    /// Forgets the answers typed so far: they are written, or dropped on purpose.
    fn begin(&self) {}

    /// Sets the files written so far, so that a later stop does not say that nothing was written.
    fn has_written(&self, _files: &[String]) {}

    /// Sets the flags that stand for the answers so far, by the part of the command that asked; `None` for a switch.
    fn so_far(&self, _part: &'static str, _flags: Vec<(String, Option<String>)>) {}

    /// Sets the file that was picked from the list of a patient, whose code was typed.
    fn picked(&self, _code: &str, _file: &str) {}

    /// Returns true if a file was picked from a list, to which `<` goes back.
    fn has_picked(&self) -> bool {
        false
    }

    /// Sets the command lines that write the answers so far, if they are not the one that was typed.
    fn instead(&self, _commands: Vec<String>) {}

    /// Shows a question and reads one key; `None` at the end of input.
    fn key(&self, question: &str) -> Option<char>;

    /// Discards input typed before now, so that it does not answer the next question.
    fn drop_typed_ahead(&self) {}

    /// Sets the text shown if the user stops the program by Ctrl-C; empty for none.
    fn on_interrupt(&self, _text: &str) {}

    /// Opens a text in the user's editor (`VISUAL`, else `EDITOR`).
    ///
    /// # Errors
    /// No editor, or it failed.
    fn edit(&self, text: &str) -> Result<String, Failure>;

    /// Shows the progress of a long run, once it has taken half a second; `of` is 0 if the total is unknown.
    fn progress(&self, what: &str, done: usize, of: usize);

    /// Removes the progress bar.
    fn end_progress(&self);
}
