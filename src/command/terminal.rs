//! Somebody at a terminal, who can be asked: what a command needs of one. `main` has the real one.

use std::fmt::Debug;

use crate::day::Instant;
use crate::problem::Failure;

/// A terminal with somebody at it. Questions and what belongs to them go to standard error.
pub trait Terminal: Debug + Sync {
    /// The clock, since somebody may take their time.
    fn now(&self) -> Instant;

    /// Shows text.
    fn say(&self, text: &str);

    /// Shows a question and waits for a line, which is given without its end; none when there will be no more.
    fn ask(&self, question: &str) -> Option<String>;

    /// Shows a question and waits for one key; none when there will be no more.
    fn key(&self, question: &str) -> Option<char>;

    /// Drops what was typed before now, so that it does not answer the next question.
    fn drop_typed_ahead(&self) {}

    /// Sets the text that is shown if the person stops the program by Ctrl-C; empty for none.
    fn on_interrupt(&self, _text: &str) {}

    /// Lets somebody edit a text in the editor of their choice (`VISUAL`, else `EDITOR`).
    ///
    /// # Errors
    /// There is no editor, or it failed.
    fn edit(&self, text: &str) -> Result<String, Failure>;

    /// Shows how much of a long work is done, once it has taken half a second; `of` is 0 if its end is not known.
    fn progress(&self, what: &str, done: usize, of: usize);

    /// Takes the bar of a long work away.
    fn end_progress(&self);
}
