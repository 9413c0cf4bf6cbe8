//! Turns a call and its change into records: shows them, confirms, writes, and reports the effect.

use super::Walk;
use super::call::{CALL_QUESTIONS, Call};
use super::change::{AskedChange, ToldChange, change_questions};
use crate::command::Context;
use crate::command::Outcome;
use crate::command::closing::{self, Close, Spoken};
use crate::command::consent::{nothing_refused, sentence};
use crate::command::question::{Kept, Leave, Questions};
use crate::command::record::{
    TAKEN_BACK, commit_message, flags_of, found_intact, of_call, of_note, said, write_unless_asked,
};
use crate::command::twin::{self, Twin, TwinAnswer};
use crate::entry::{Book, Draft, Trial};
use crate::event::{ContactOutcome as Ended, Event, Kind};
use crate::problem::Failure;
use crate::report::consequence::{Consequence, Side};
use crate::report::due::Row;
use crate::text::quoted;
use crate::view;
use crate::view::doubt::doubt;

/// The answers before they are written.
#[derive(Debug, Clone, Default)]
struct RoundAnswers {
    call: Call,
    change: ToldChange,
    /// True if a note is to be added before the write.
    is_noted: bool,
    /// The records written from them.
    files: Vec<String>,
}

/// The answer to the last question.
enum WriteAnswer {
    Yes(Vec<Twin>),
    No,
    /// A note is to be added first.
    Noted,
}

impl Walk<'_> {
    /// Asks about a call, shows it, and writes it; `None` if nothing was written.
    pub(super) fn record(
        &self,
        book: &Book,
        rows: &[Row],
        outcome: Option<Ended>,
        is_changed: bool,
    ) -> Result<Option<Vec<String>>, Failure> {
        let changes = if is_changed { change_questions(book, self.terminal.now()) } else { 0 };
        let kept = Kept::of_exits(book);
        let has_no_questions = outcome == Some(Ended::NoAnswer);
        self.kept.clear();
        let call = if has_no_questions { Call::unanswered(rows) } else { Call::with_outcome(outcome) };
        let mut answers = RoundAnswers { call, ..RoundAnswers::default() };
        let last = CALL_QUESTIONS + changes;
        // The change is asked about after the person who reported it.
        let ask = |at: usize, answers: &mut RoundAnswers| {
            self.terminal.instead(self.commands(answers, book, rows, is_changed));
            self.stops_in_call(&answers.call, book.owner.code());
            match at {
                // The note of a change is asked for after the first `Write it?`, and then it is asked again.
                at if at == last + 1 && answers.is_noted => self.ask_note(&mut answers.call).map(|()| true),
                at if at == last || at == last + 2 && answers.is_noted => {
                    match self.ask_to_write(answers, book, rows, is_changed)? {
                        true => Ok(true),
                        false if has_no_questions => Err(Leave::Kept),
                        false => self.questions().discards().map(|()| true),
                    }
                }
                at if has_no_questions || at > last => Ok(false),
                0 | 1 => self.ask_of_call(at, &mut answers.call, book, rows, (outcome, is_changed)),
                at if at < 2 + changes => {
                    let clock = book.clock(self.terminal.now());
                    let contact = answers.call.draft(self.by, rows, clock).map_err(Leave::Fails)?;
                    let asked = AskedChange { contact: &contact, book, rows, kept: &kept };
                    self.ask_of_change(at - 2, &mut answers.change, &asked)
                }
                at => self.ask_of_call(at - changes, &mut answers.call, book, rows, (outcome, is_changed)),
            }
        };
        let walked = self.questions().walk_or_leave(&mut answers, last + 3, ask);
        if !matches!(walked, Ok(true)) || answers.files.is_empty() {
            self.say("Nothing was written.");
            self.terminal.begin();
            return Ok(None);
        }
        Ok(Some(answers.files))
    }

    /// The command lines that write the answers so far; none until the person reached is known.
    fn commands(&self, answers: &RoundAnswers, book: &Book, rows: &[Row], is_changed: bool) -> Vec<String> {
        let clock = book.clock(self.terminal.now());
        let contact = answers.call.with.as_ref().and_then(|_| answers.call.draft(self.by, rows, clock).ok());
        let Some(mut contact) = contact else { return Vec::new() };
        let changes = if is_changed { answers.change.so_far(&contact, book, clock) } else { Ok(Vec::new()) };
        if answers.call.outcome.is_none() {
            contact.values.remove("outcome");
        }
        let command = |draft: &Draft| {
            let flags = flags_of(draft, |_| true).into_iter();
            let flags = flags.map(|(flag, value)| format!(" {flag} {}", quoted(&value.unwrap_or_default())));
            format!("record {} {}{}", draft.kind, book.owner.code(), flags.collect::<String>())
        };
        [vec![contact], changes.unwrap_or_default()].concat().iter().map(command).collect()
    }

    fn drafts(
        &self,
        answers: &RoundAnswers,
        book: &Book,
        rows: &[Row],
        is_changed: bool,
    ) -> Result<Vec<Draft>, String> {
        let clock = book.clock(self.terminal.now());
        let contact = answers.call.draft(self.by, rows, clock).map_err(|failure| failure.to_string())?;
        let changes = if is_changed { answers.change.drafts(&contact, book, clock)? } else { Vec::new() };
        Ok([vec![contact], changes].concat())
    }

    fn trials(&self, book: &Book, drafts: &[Draft]) -> Result<Vec<Trial>, Failure> {
        let trials: Result<Vec<Trial>, Failure> =
            drafts.iter().map(|draft| book.trial(draft, self.terminal.now())).collect();
        let trials = trials?;
        nothing_refused(&trials)?;
        Ok(trials)
    }

    /// Shows the records as they will be written, asks, and writes them; returns false after a No. A record that is
    /// refused goes back to the previous question. Asks again if other records of the patient arrive meanwhile.
    fn ask_to_write(
        &self,
        answers: &mut RoundAnswers,
        book: &Book,
        rows: &[Row],
        is_changed: bool,
    ) -> Result<bool, Leave> {
        if !self.reopened(book).map_err(Leave::Fails)?.holds_the_same_as(book) {
            self.say("The records of this patient changed while you answered. Check again:");
            self.terminal.say(&view::entry::rows(&self.rows(book.owner.code()), self.context.look));
        }
        loop {
            self.stops_in_call(&answers.call, book.owner.code());
            let book = self.reopened(book).map_err(Leave::Fails)?;
            let trials = self.drafts(answers, &book, rows, is_changed).map_err(Failure::new);
            let trials = match trials.and_then(|drafts| self.trials(&book, &drafts)) {
                Ok(trials) => trials,
                Err(failure) => {
                    self.say(&failure.to_string());
                    return Err(Leave::Back);
                }
            };
            self.terminal.say(&said(&book, &trials, self.context));
            let replaced = match self.is_meant(&book, &trials, is_changed && !answers.is_noted)? {
                WriteAnswer::Yes(replaced) => replaced,
                WriteAnswer::No => return Ok(false),
                WriteAnswer::Noted => {
                    answers.is_noted = true;
                    return Ok(true);
                }
            };
            if self.reopened(&book).map_err(Leave::Fails)?.holds_the_same_as(&book) {
                let drafts = self
                    .drafts(answers, &book, rows, is_changed)
                    .map_err(|reason| Leave::Fails(Failure::new(reason)))?;
                self.stops_between_calls();
                match self.write(&book, &drafts, &trials) {
                    Ok(Some(files)) => {
                        self.void(&replaced, &files);
                        answers.files = files;
                        return Ok(true);
                    }
                    Ok(None) => self.say(TAKEN_BACK),
                    Err(failure) => {
                        self.say(&failure.to_string());
                        return Err(Leave::Back);
                    }
                }
            }
            self.say("The records of this patient changed while you answered. Check again:");
        }
    }

    /// Rereads the patient's records.
    fn reopened(&self, book: &Book) -> Result<Book<'_>, Failure> {
        Book::open(self.program, book.owner.code(), Kind::Contact)
    }

    /// Confirms what the records end, each doubt, and the write itself; a note may be added first.
    fn is_meant(&self, book: &Book, trials: &[Trial], has_more: bool) -> Result<WriteAnswer, Leave> {
        let surroundings = self.surroundings();
        let context = Context { surroundings: &surroundings, records: None, look: self.context.look };
        let spoken = Spoken { flag: None, is_typed: false, is_yes: false };
        if !matches!(closing::ask(&context, &self.consequence(book, trials), spoken), Ok(Close::Meant)) {
            return Ok(WriteAnswer::No);
        }
        let questions = Questions { kept: None, ..self.questions() };
        let mut replaced = Vec::new();
        let twins = twins(book, trials);
        for doubt in doubts(book, trials) {
            if let Some(twin) = twins.iter().find(|twin| twin.doubt == doubt) {
                match twin.ask(&questions)? {
                    TwinAnswer::Replaces => replaced.push(twin.clone()),
                    TwinAnswer::Another => {}
                    TwinAnswer::OnFile => {
                        self.say(&format!("{} stays on file; nothing of yours was written.", twin.file));
                        return Ok(WriteAnswer::No);
                    }
                    TwinAnswer::Stop => return Ok(WriteAnswer::No),
                }
                continue;
            }
            if !questions.accepts(&doubt)? {
                return Ok(WriteAnswer::No);
            }
        }
        // A yes is to what was shown, not to what was typed before.
        questions.terminal.drop_typed_ahead();
        let more: &[&str] = if has_more { &["m", "more"] } else { &[] };
        let question = if has_more { "Write it? (m: note)" } else { "Write it?" };
        Ok(match questions.confirms_or(question, more)? {
            Some(true) => WriteAnswer::Yes(replaced),
            Some(false) => WriteAnswer::No,
            None => WriteAnswer::Noted,
        })
    }

    /// Voids the records on file that the new ones replace.
    fn void(&self, replaced: &[Twin], files: &[String]) {
        if replaced.is_empty() {
            return;
        }
        let surroundings = self.surroundings();
        let look = self.context.look;
        let context = Context { surroundings: &surroundings, records: self.context.records.clone(), look };
        self.terminal.begin();
        self.terminal.has_written(files);
        self.terminal.say(&twin::void(&context, self.program, replaced, self.by, files));
    }

    /// All confirmations asked for before these records are written.
    fn asked(&self, book: &Book, trials: &[Trial]) -> Vec<String> {
        let closings = view::consequence::questions(&self.consequence(book, trials)).into_iter();
        closings.map(|closing| closing.text).chain(doubts(book, trials)).collect()
    }

    fn consequence(&self, book: &Book, trials: &[Trial]) -> Consequence {
        let Some(patient) = &book.patient else { return Consequence::default() };
        let new = trials.iter().filter_map(|trial| trial.event.clone());
        let events: Vec<Event> = book.events.iter().cloned().chain(new).collect();
        let side = |events| Side { patient, events, unread: &book.unusable };
        Consequence::of(self.program.rules(), side(&book.events), side(&events), self.terminal.now())
    }

    /// Writes the records and reports: first what needs review, then the schedule. `None` if a record that arrived at
    /// the same moment raises another question.
    fn write(&self, book: &Book, drafts: &[Draft], trials: &[Trial]) -> Result<Option<Vec<String>>, Failure> {
        let consequence = self.consequence(book, trials);
        let known = self.asked(book, trials);
        let is_asked = |files: &[String]| {
            let newer = self.reopened(book)?.without(files);
            let is_known = |trials: Vec<Trial>| self.asked(&newer, &trials).iter().all(|one| known.contains(one));
            Ok(newer.holds_the_same_as(book) || self.trials(&newer, drafts).is_ok_and(is_known))
        };
        let Some(files) = write_unless_asked(self.program, trials, is_asked)? else { return Ok(None) };
        let message = commit_message(book, trials);
        let committed = self.context.committed(self.program, None, &files, &message, Outcome::default());
        let call = self.program.policy.as_ref().and_then(|policy| policy.review_call.as_deref());
        let danger = view::consequence::danger(&consequence, None, call, self.context.look);
        let rows = self.rows(book.owner.code());
        let answer = view::entry::WriteReply { files: &files, score: None, taught: None, rows: &rows };
        let effect = view::entry::effect(book, &answer, self.context.look);
        self.terminal.say(&format!("{danger}{effect}"));
        if !committed.stderr.is_empty() {
            self.terminal.say(&committed.stderr);
        }
        Ok(Some(files))
    }
}

/// The possible duplicates on file of which only one has a time.
fn twins(book: &Book, trials: &[Trial]) -> Vec<Twin> {
    let asked = trials.iter().flat_map(|trial| trial.asked.iter().map(move |problem| (trial, problem)));
    asked.filter_map(|(trial, problem)| Twin::of(problem, trial, book, sentence(problem))).collect()
}

/// The doubts about the records.
fn doubts(book: &Book, trials: &[Trial]) -> Vec<String> {
    let elsewhere = trials.iter().filter_map(|trial| book.elsewhere(trial.event.as_ref()?));
    let events = trials.iter().filter_map(|trial| trial.event.as_ref());
    let intact =
        events.clone().filter_map(|event| Some(doubt(&found_intact(event)?, book.calendar.date(event.when.instant))));
    let of_call = events.clone().flat_map(|event| of_call(event, book, event.when.instant, true));
    let written: Vec<&Event> = events.clone().collect();
    let of_note = events.flat_map(|event| of_note(event, book, &written));
    let asked = trials.iter().flat_map(|trial| &trial.asked).map(sentence);
    asked.chain(elsewhere).chain(intact).chain(of_call).chain(of_note).collect()
}
