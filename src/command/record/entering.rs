//! A record on its way from flags and answers to the disk: assembled, tried against the records on file, and confirmed.

use std::cell::RefCell;

use super::asking::Asking;
use super::clinician::{not_a_clinician, reserved};
use super::doubt;
use super::flags::{Typed, flag, required, short_name};
use super::interview::Talk;
use super::told;
use super::{edited, fill_contact, said, unknown};
use crate::ask::effect;
use crate::command::closing::{self, Close};
use crate::command::order;
use crate::command::question::{Kept, Leave, Questions};
use crate::command::twin::Twin;
use crate::command::{Context, Terminal, consent};
use crate::entry::{Book, Clock, Draft, Trial};
use crate::event::{Event, Kind};
use crate::folder::PictureFile;
use crate::problem::{Failure, Problem, Rule};
use crate::program::Program;
use crate::record::Value;
use crate::report::consequence::{Consequence, Side};
use crate::report::due::Row;
use crate::view::{entry as view, sentences};

/// One record during entry.
pub(super) struct Entering<'a> {
    pub(super) typed: &'a Typed,
    pub(super) context: &'a Context<'a>,
    pub(super) program: &'a Program,
    pub(super) book: &'a Book<'a>,
    pub(super) before: &'a [Row],
    pub(super) clock: Clock<'a>,
    /// The picture given by `--file`.
    pub(super) picture: Option<&'a PictureFile>,
}

/// Records ready to be written, with the questions to ask first.
pub(super) struct Ready {
    pub(super) draft: Draft,
    pub(super) trials: Vec<Trial>,
    /// Doubts that `--yes` accepts.
    pub(super) doubts: Vec<String>,
    /// The possible duplicates among the doubts of which only one has a time.
    pub(super) twins: Vec<Twin>,
    /// The records on file that the new one replaces, as the user answered; each is voided after the write.
    pub(super) replaced: Vec<Twin>,
    /// Doubts that only a person can accept: an infection determined twice.
    pub(super) firm: Vec<String>,
    /// The changes, showers and damage of its minute whose order its reason does not say.
    pub(super) unordered: Vec<String>,
    /// `None` for staff.
    pub(super) consequence: Option<Consequence>,
}

impl Ready {
    pub(super) fn noted(&self) -> Vec<String> {
        self.trials.iter().flat_map(|trial| &trial.noted).map(consent::sentence).collect()
    }

    /// Adds the records on file that it replaces, of those that it still looks like.
    pub(super) fn replacing(mut self, mut replaced: Vec<Twin>) -> Ready {
        replaced.retain(|one| self.twins.iter().any(|twin| twin.doubt == one.doubt));
        self.replaced = replaced;
        self
    }

    pub(super) fn said(&self, book: &Book, context: &Context) -> String {
        said(book, &self.trials, context)
    }

    /// All questions that would be asked.
    pub(super) fn would_ask(&self) -> Vec<String> {
        let closings = self.consequence.iter().flat_map(crate::view::consequence::questions);
        let closings = closings.map(|closing| format!("{} {}", closing.text, closing.question));
        self.firm.iter().chain(&self.unordered).chain(&self.doubts).cloned().chain(closings).collect()
    }
}

impl Entering<'_> {
    /// The record as far as the flags give it.
    pub(super) fn begun(&self) -> Result<Draft, Failure> {
        let typed = self.typed;
        let mut draft = Draft::new(typed.kind);
        // The default source depends on the author and the writer.
        draft.values.remove("source");
        let mut wrong = Vec::new();
        let meant = |draft: &Draft, keys: &[&str], text: &str| {
            let value = keys.iter().find_map(|key| draft.values.get(key));
            value.map_or(Ok(()), |value| consent::date_meant(self.person(), text, value))
        };
        let half = |when: &String| {
            self.person().map_or(Ok(when.clone()), |person| self.questions(person).half_day(self.clock, when))
        };
        if let Some(when) = &typed.when
            && let Err(sentence) = half(when).and_then(|when| {
                draft.set_when(&when, self.clock)?;
                meant(&draft, &["at", "on"], &when)
            })
        {
            wrong.push(format!("--at or --on: {sentence}"));
        }
        for (key, text) in &typed.given {
            if let Err(sentence) = draft.set(key, text, self.clock).and_then(|()| meant(&draft, &[key.as_str()], text))
            {
                let name = short_name(key, &Draft::keys(typed.kind)).unwrap_or_else(|| flag(key));
                wrong.push(format!("--{name}: {sentence}"));
            }
        }
        if typed.site_none_noted {
            draft.none_noted();
        }
        wrong.extend(self.picture.and_then(|picture| self.pictured(&mut draft, picture)));
        wrong.extend(self.steps(&mut draft));
        consent::to_be_put_right(&wrong)?;
        if typed.kind == Kind::Contact {
            fill_contact(&mut draft, typed, self.context, self.book, self.before);
        }
        Ok(draft)
    }

    /// Fills in the checksum, size and only storage place of a picture; returns the fault of a differing typed checksum.
    fn pictured(&self, draft: &mut Draft, picture: &PictureFile) -> Option<String> {
        if draft.values.text("sha256").is_some_and(|typed| typed != picture.sha256) {
            return Some(
                "--sha256: the file has a different checksum. Leave --sha256 out: --file computes it.".to_owned(),
            );
        }
        draft.values.set("sha256", Value::Text(picture.sha256.clone()));
        draft.values.set("bytes", Value::Number(picture.bytes as f64));
        let photos = self.program.policy.as_ref().and_then(|policy| policy.photos.as_ref());
        if let (Some([only]), None) = (photos.map(|photos| photos.kept_at.as_slice()), draft.values.get("kept_at")) {
            draft.values.set("kept_at", Value::Text(only.clone()));
        }
        None
    }

    /// The terminal, if the user may be asked.
    fn person(&self) -> Option<&dyn Terminal> {
        self.context.surroundings.terminal.filter(|_| !self.typed.yes && !self.typed.dry_run)
    }

    fn questions<'q>(&self, terminal: &'q dyn Terminal) -> Questions<'q> {
        Questions { terminal, look: self.context.look, kept: None }
    }

    /// The record of a script; reports everything that is missing at once.
    pub(super) fn by_flags(&self, draft: Draft) -> Result<(Ready, bool), Failure> {
        let draft = self.timed(draft)?;
        let draft = if self.typed.edit { edited(self.context, self.book, self.stamped(draft)?)? } else { draft };
        let draft = self.completed(draft, None)?;
        let ready = self.ready(draft)?;
        consent::to_be_put_right(&ready.unordered)?;
        self.source_is_typed(&ready)?;
        if self.typed.dry_run {
            return Ok((ready, false));
        }
        self.confirmed(ready.draft)
    }

    /// The record tried against the records on file, and whether every question about it was answered yes.
    pub(super) fn confirmed(&self, draft: Draft) -> Result<(Ready, bool), Failure> {
        let ready = self.ready(draft)?;
        consent::in_person(self.context, &ready.firm)?;
        let (book, now) = (self.book, self.clock.now);
        if let Some(person) = self.person()
            && !order::is_confirmed(&ready.draft, book, now, &self.questions(person))?
        {
            return Ok((ready, false));
        }
        let is_wanted = self.is_meant(&ready)?;
        Ok((ready, is_wanted))
    }

    /// Returns true if every end, every doubt and the write are confirmed. Asks again after a No, until `discard` is typed.
    fn is_meant(&self, ready: &Ready) -> Result<bool, Failure> {
        let ends = closing::would_close(ready.consequence.as_slice()).into_iter();
        let ends = ends.filter(|_| self.context.surroundings.terminal.is_none());
        let doubts: Vec<String> = ends.chain(ready.doubts.iter().cloned()).collect();
        let ask = || consent::ask(self.context, self.typed.yes, &doubts, consent::LastQuestion::Write);
        consent::until_dropped(self.context, true, || {
            Ok(self.close(ready)? == Close::Meant && ask()? == consent::ConsentAnswer::Yes)
        })
    }

    /// The record of a user at a terminal: asks for what is missing; the final question leads back to the others.
    pub(super) fn asked(&self, draft: Draft, terminal: &dyn Terminal) -> Result<(Ready, bool), Failure> {
        terminal.on_interrupt(consent::STOPPED);
        let has_when = self.typed.when.is_some();
        let writer = self.typed.by_entered.as_deref().or(self.context.surroundings.writer.as_deref());
        let kept = Kept::default();
        let mut asking = Asking {
            questions: Questions { terminal, look: self.context.look, kept: Some(&kept) },
            book: self.book,
            clock: self.clock,
            writer,
            rows: self.before,
            typed: self.typed.keys(self.picture.is_some()),
            agreed: RefCell::default(),
            replaced: RefCell::default(),
        };
        let draft = asking.codes(draft);
        let is_asked = !self.typed.edit && (!draft.says_something() || !draft.missing().is_empty());
        let draft = if is_asked { draft } else { self.timed(draft)? };
        let draft = if self.typed.edit { edited(self.context, self.book, self.stamped(draft)?)? } else { draft };
        if let Some(sentences) = writer.and_then(|code| self.unknown_writer(code)) {
            return Err(Failure::new(sentences));
        }
        let talk = Talk::of(draft, has_when, is_asked);
        let (talk, is_wanted) = asking.interview(talk, |talk| {
            let ready = self.completed(talk.draft.clone(), talk.writer.as_deref()).and_then(|draft| self.ready(draft));
            match ready {
                Ok(ready) => self.last(&asking, &ready, talk),
                Err(failure) if is_asked => {
                    let failure = failure.to_string();
                    let failure = failure.trim_end_matches('.');
                    asking.questions.say(&format!("{failure}. The previous question is asked again; Ctrl-C stops."));
                    Err(Leave::Back)
                }
                Err(failure) => Err(Leave::Fails(failure)),
            }
        })?;
        let ready = self.ready(self.completed(talk.draft, talk.writer.as_deref())?)?;
        Ok((ready.replacing(asking.replaced.take()), is_wanted))
    }

    /// The record with its time: now, if none was typed.
    fn timed(&self, mut draft: Draft) -> Result<Draft, Failure> {
        if self.typed.when.is_none() {
            draft.set_when("now", self.clock).map_err(Failure::new)?;
        }
        Ok(draft)
    }

    /// The record with its writer and source, for an editor.
    fn stamped(&self, mut draft: Draft) -> Result<Draft, Failure> {
        if let Some(code) = self.writer(&draft, None) {
            draft.entered(&code, self.clock);
        }
        self.set_source(&mut draft, None);
        Ok(draft)
    }

    /// The record with its writer and source.
    ///
    /// # Errors
    /// Something is missing, or a code is unknown; the message lists all of it.
    fn completed(&self, mut draft: Draft, asked: Option<&str>) -> Result<Draft, Failure> {
        let missing = if self.typed.edit { Vec::new() } else { draft.missing() };
        let mut missing: Vec<String> = missing.iter().map(|(key, about)| required(key, about)).collect();
        let by = draft.values.text("by").map(str::to_owned);
        if let Some(sentences) = by.and_then(|by| unknown(self.book, &by)) {
            missing.push(format!("--by: {sentences}"));
            consent::to_be_put_right(&missing)?;
        }
        match self.writer(&draft, asked) {
            Some(code) if unknown(self.book, &code).is_some() => missing.extend(self.unknown_writer(&code)),
            Some(code) => {
                draft.entered(&code, self.clock);
                self.set_source(&mut draft, Some(&code));
                let unseen = super::source::not_seen_by(self.book, &draft, Some(&code));
                missing.extend(unseen.map(|sentence| format!("--source: {sentence}")));
            }
            None => missing.push("Required: --by-entered, your code, or EXITSITE_BY set to it.".into()),
        }
        consent::to_be_put_right(&missing)?;
        Ok(draft)
    }

    fn unknown_writer(&self, code: &str) -> Option<String> {
        unknown(self.book, code).map(|sentences| format!("--by-entered (or EXITSITE_BY): {sentences}"))
    }

    /// The writer of the record: the code given, else EXITSITE_BY, else `by` if that is staff.
    fn writer(&self, draft: &Draft, asked: Option<&str>) -> Option<String> {
        let is_staff = |code: &&str| self.program.people.as_ref().is_some_and(|people| people.get(code).is_some());
        let named = self.typed.by_entered.clone().or_else(|| self.context.surroundings.writer.clone());
        let by = || draft.values.text("by").filter(is_staff);
        named.or_else(|| asked.or_else(by).map(str::to_owned))
    }

    /// Tries the record against the records on file, with a change reported in it.
    ///
    /// # Errors
    /// It would be rejected; the message lists every reason.
    pub(super) fn ready(&self, draft: Draft) -> Result<Ready, Failure> {
        let now = self.context.surroundings.now;
        let book = self.book;
        let draft = order::settled(draft, book, now);
        let told = told::told_change(self.typed, book, &draft, self.clock)?;
        let told = told.map(|change| order::settled(change, book, now));
        let unordered = order::needed(&draft, book, now);
        let of_told = told.iter().flat_map(|told| order::needed(told, book, now));
        let of_told = of_told.map(|needed| format!("--changed: {needed} Record the change on its own."));
        consent::to_be_put_right(&of_told.collect::<Vec<_>>())?;
        doubt::nothing_misplaced(&draft, book)?;
        let drafts = [Some(draft.clone()), told].into_iter().flatten();
        let trials = drafts.map(|draft| book.trial(&draft, now)).collect::<Result<Vec<_>, _>>()?;
        consent::nothing_refused(&trials)?;
        let by = draft.values.text("by").zip(reserved(draft.kind));
        let forbidden = by.and_then(|(by, act)| not_a_clinician(self.program, by, act, book.calendar.today(now)));
        consent::to_be_put_right(&forbidden.into_iter().collect::<Vec<_>>())?;
        let (new, already): (Vec<Trial>, Vec<Trial>) = trials.into_iter().partition(|trial| trial.already.is_none());
        let asked = || new.iter().flat_map(|trial| &trial.asked);
        let mut firm: Vec<String> = asked().filter(|problem| is_firm(problem)).map(consent::sentence).collect();
        let mut doubts: Vec<String> =
            asked().filter(|problem| !is_firm(problem)).map(|problem| doubt::asked(problem, &draft, book)).collect();
        let twin = |(trial, problem)| Twin::of(problem, trial, book, doubt::asked(problem, &draft, book));
        let twins = new.iter().flat_map(|trial| trial.asked.iter().map(move |problem| (trial, problem)));
        let twins: Vec<Twin> = twins.filter_map(twin).collect();
        doubts.extend(self.picture.and_then(|picture| view::embedded(&picture.embedded)));
        doubts.extend(doubt::doubts_of(&draft, &new[0], book, self.clock)?);
        doubts.extend(new.iter().filter_map(|trial| book.elsewhere(trial.event.as_ref()?)));
        for event in new.iter().filter_map(|trial| trial.event.as_ref()) {
            let (ends, others) = doubt::of_order(event, book, now);
            firm.extend(ends);
            doubts.extend(others);
        }
        if effect::is_perhaps_swapped(self.program, book.owner.code(), self.before, now) {
            doubts.push(view::swapped(book.owner.code()));
        }
        for file in already.iter().filter_map(|trial| trial.already.as_ref()) {
            self.context
                .say(&sentences(&format!("  Already on file: {file}. The rest is written."), self.context.look));
        }
        let consequence = self.consequence(&new);
        Ok(Ready { draft, trials: new, doubts, twins, replaced: Vec::new(), firm, unordered, consequence })
    }

    fn consequence(&self, new: &[Trial]) -> Option<Consequence> {
        let patient = self.book.patient.as_ref()?;
        let events: Vec<Event> =
            self.book.events.iter().cloned().chain(new.iter().filter_map(|trial| trial.event.clone())).collect();
        let side = |events| Side { patient, events, unread: &self.book.unusable };
        let (before, after) = (side(&self.book.events), side(&events));
        Some(Consequence::of(self.program.rules(), before, after, self.context.surroundings.now))
    }
}

/// Returns true if only a person may accept it: an infection that is already determined.
fn is_firm(problem: &Problem) -> bool {
    problem.rule == Rule::InfectionTwice
}
