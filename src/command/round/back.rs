//! Undoes the last record of a round: voids it by the same code as `exitsite void`.

use super::Walk;
use crate::command::Context;
use crate::command::consent::LastQuestion;
use crate::command::correction::{CorrectionParts, OpenCorrection, Writing};
use crate::command::target::RecordTarget;
use crate::entry::{Book, Stamp, Standing};
use crate::problem::Failure;

/// The reason stored in the void.
const WHY: &str = "taken back in the same round";

impl Walk<'_> {
    /// Voids the files of one outcome, a change before its call; returns those that were not voided.
    pub(super) fn take_back(&self, files: &[String]) -> Result<Vec<String>, Failure> {
        let surroundings = self.surroundings();
        let context =
            Context { surroundings: &surroundings, records: self.context.records.clone(), look: self.context.look };
        let mut voided: Vec<&str> = Vec::new();
        for (place, file) in files.iter().enumerate().rev() {
            let target = RecordTarget::of_file(self.program, file)?;
            let standing = Standing::of(&target.source, target.name)?;
            let book = Book::of_folder(self.program, &target.owner)?;
            let at = book.clock(surroundings.now).moment();
            let stamp = Stamp { at, by: self.by.to_owned(), why: WHY.to_owned() };
            let corrected = match standing.voided() {
                Some(sentence) => {
                    self.say(&sentence);
                    continue;
                }
                None => standing.void(&stamp, None)?,
            };
            let correction = OpenCorrection { context: &context, book, target, standing };
            let back = "It stays on file but no longer counts.\n".to_owned();
            let said =
                CorrectionParts { anew: None, doubts: Vec::new(), done: "Voided", last: LastQuestion::Void, back };
            let outcome = correction.settle(&corrected, Writing::default(), &said)?;
            if !outcome.has_written {
                let left = files[..=place].to_vec();
                let done = match voided.as_slice() {
                    [] => "Nothing was voided.".to_owned(),
                    done => format!("Voided: {}.", done.join(", ")),
                };
                self.say(&format!("{done} Still on file: {}. Type u to void it.", left.join(", ")));
                return Ok(left);
            }
            self.terminal.say(&format!("{}{}", outcome.stdout, outcome.stderr));
            voided.push(file);
        }
        Ok(Vec::new())
    }
}
