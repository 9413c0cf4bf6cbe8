//! Records a voided record again under another patient. It is on file there before the wrong one is voided, so a killed
//! run loses nothing and another run completes it.

use crate::command::{Context, closing, consent, record};
use crate::day::Instant;
use crate::entry::{Book, Draft, Owner, Standing, Trial};
use crate::event::Event;
use crate::problem::Failure;
use crate::program::Program;
use crate::record::Value;
use crate::report::consequence::Consequence;
use crate::view::{TextStyle, entry as view};

/// A record as it will be under another patient.
pub(in crate::command) struct Anew<'a> {
    /// The records of that patient.
    pub(in crate::command) book: Book<'a>,
    draft: Draft,
    /// The record tried against them.
    pub(in crate::command) trial: Trial,
}

impl<'a> Anew<'a> {
    /// The record `standing` of the owner of `from` under patient `code`, with some keys changed.
    ///
    /// # Errors
    /// No such patient, the same patient, or a record that cannot be theirs; the message lists every fault.
    pub(in crate::command) fn of(
        (program, now): (&'a Program, Instant),
        (from, standing): (&Owner, &Standing),
        code: &str,
        wishes: &[(String, Option<Value>)],
    ) -> Result<Anew<'a>, Failure> {
        match from {
            Owner::Staff(owner) => {
                return Err(Failure::new(format!("{owner} is staff. --move-to is for a patient's record.")));
            }
            Owner::Patient(owner) if owner == code => {
                return Err(Failure::new(format!("It is already a record of {code}. Name the other patient.")));
            }
            Owner::Patient(_) => {}
        }
        if !program.patients.codes.iter().any(|known| known == code) {
            return Err(program.no_such_patient(code));
        }
        let book = Book::of_folder(program, &format!("patients/{code}"))?;
        let mut draft = Draft::new(standing.kind);
        draft.values = standing.values.clone();
        ["entered", "amended", "void"].iter().for_each(|table| _ = draft.values.remove(table));
        let has_exit = |id: &str| book.patient.iter().flat_map(|patient| &patient.exits).any(|exit| exit.id == id);
        if draft.values.text("exit").is_some_and(|exit| !has_exit(exit)) {
            draft.values.remove("exit");
        }
        for (key, value) in wishes {
            match value {
                Some(value) => draft.values.set(key, value.clone()),
                None => _ = draft.values.remove(key),
            }
        }
        let trial = book.trial(&draft, now)?;
        let refused = trial.refused.iter().map(consent::sentence).map(|sentence| format!("Under {code}: {sentence}"));
        consent::to_be_put_right(&refused.collect::<Vec<_>>())?;
        Ok(Anew { book, draft, trial })
    }

    /// Sets the writer's code.
    ///
    /// # Errors
    /// The record has no time.
    pub(in crate::command) fn entered(mut self, by: &str, now: Instant) -> Result<Anew<'a>, Failure> {
        self.draft.entered(by, self.book.clock(now));
        self.trial = self.book.trial(&self.draft, now)?;
        Ok(self)
    }

    /// The path that it has, or will have if the name stays free.
    pub(in crate::command) fn file(&self) -> String {
        let record = &self.trial.record;
        let new = || format!("{}/{}/{}", record.owner, record.name.year(), record.name);
        self.trial.already.clone().unwrap_or_else(new)
    }

    /// The record in words under the other patient.
    pub(in crate::command) fn shown(&self, look: TextStyle) -> String {
        let whose = self.book.owner.code();
        match (&self.trial.already, &self.trial.event) {
            (Some(file), _) => format!("Already on file under {whose}: {file}\n"),
            (None, Some(event)) => view::record_under(whose, &self.book, event, look),
            (None, None) => String::new(),
        }
    }

    /// The doubts about the new record.
    pub(in crate::command) fn doubts(&self) -> Vec<String> {
        if self.trial.already.is_some() {
            return Vec::new();
        }
        let elsewhere = self.trial.event.as_ref().and_then(|event: &Event| self.book.elsewhere(event));
        let asked = self.trial.asked.iter().map(consent::sentence).chain(elsewhere);
        asked.map(|sentence| format!("Under {}: {sentence}", self.book.owner.code())).collect()
    }

    /// The consequence for that patient, compared with the records on file; `None` if it is already on file.
    ///
    /// # Errors
    /// The patient's records can no longer be read.
    pub(in crate::command) fn consequence(&self, context: &Context) -> Result<Option<Consequence>, Failure> {
        let Some(event) = self.trial.event.clone().filter(|_| self.trial.already.is_none()) else { return Ok(None) };
        let book = Book::of_folder(self.book.program, &self.book.owner.folder())?;
        let events: Vec<Event> = book.events.iter().cloned().chain([event]).collect();
        Ok(closing::of(&book, &events, context.surroundings.now))
    }

    /// Writes it unless it is on file, and returns its path.
    ///
    /// # Errors
    /// It cannot be written; nothing was written.
    pub(in crate::command) fn write(&self, program: &Program) -> Result<String, Failure> {
        match &self.trial.already {
            Some(file) => Ok(file.clone()),
            None => record::write_or_find(program, &self.trial),
        }
    }
}
