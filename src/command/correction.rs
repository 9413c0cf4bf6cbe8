//! Correction of a record on file: shows the differences, asks about doubts, and writes in a single place.

mod anew;

use std::path::PathBuf;

pub(super) use anew::Anew;

use super::closing::{self, Spoken};
use super::consent::{self, ConsentAnswer, LastQuestion};
use super::gap::{self, FlagGaps};
use super::pick::WantedRecords;
use super::target::RecordTarget;
use super::{Context, Outcome};
use crate::ask::effect;
use crate::day::Instant;
use crate::entry::{self, Book, Clock, Corrected, Owner, Stamp, Standing, Verdict};
use crate::event::{Event, Source};
use crate::problem::Failure;
use crate::program::Program;
use crate::report::consequence::Consequence;
use crate::report::due::Row;
use crate::text::{either, in_sentences, visible};
use crate::view::change as view;
use crate::view::words::question::Question;
use crate::view::words::question::correction::YOUR_CODE;
use crate::word::Word;

// The flags of every command that changes a file. A doc comment here would appear in the help of each.
#[derive(Debug, Clone, Copy, Default, clap::Args)]
pub(super) struct Writing {
    /// Answer yes to every question
    #[arg(long)]
    pub(super) yes: bool,

    /// Show what would be written without writing it
    #[arg(long)]
    pub(super) dry_run: bool,

    /// Source: seen, told, log or image. Required in a script if this ends or acts on a signal of today
    #[arg(long, value_name = "WORD", value_parser = source)]
    pub(super) source: Option<Source>,

    /// Also commit it to git
    #[arg(long)]
    commit: bool,

    /// Do not commit it, even if the policy says so
    #[arg(long, conflicts_with = "commit")]
    no_commit: bool,
}

/// Parses a source.
pub(super) fn source(text: &str) -> Result<Source, String> {
    Source::from_word(text).ok_or_else(|| format!("{text} is not a choice. Use {}.", either(Source::WORDS)))
}

impl Writing {
    /// A script's confirmation that a signal of today may end.
    pub(super) fn spoken(&self) -> Spoken {
        Spoken { flag: Some("--source"), is_typed: self.source.is_some(), is_yes: self.yes }
    }

    /// True if a commit is requested; `None` if the policy decides.
    pub(super) fn commit(&self) -> Option<bool> {
        if self.commit { Some(true) } else { self.no_commit.then_some(false) }
    }
}

/// The record to correct.
#[derive(Debug, clap::Args)]
pub(super) struct Which {
    /// The record: its path, or its name if only one patient has a record of that name; or a patient's code, to pick
    /// from a list
    #[arg(value_name = "FILE|PATIENT")]
    record: PathBuf,
}

/// The author and the reason of a correction.
#[derive(Debug, clap::Args)]
pub(super) struct Who {
    /// Code of the person who corrects it; default: EXITSITE_BY
    #[arg(long, value_name = "CODE")]
    pub(super) by: Option<String>,

    /// Reason for the correction
    #[arg(long, value_name = "TEXT")]
    pub(super) why: Option<String>,
}

/// A record on file, opened for correction.
pub(super) struct OpenCorrection<'a> {
    pub(super) context: &'a Context<'a>,
    pub(super) book: Book<'a>,
    pub(super) target: RecordTarget,
    pub(super) standing: Standing,
}

/// The parts of a correction that depend on the command.
pub(super) struct CorrectionParts<'s> {
    /// The replacement under another patient, written first.
    pub(super) anew: Option<&'s Anew<'s>>,
    /// The past participle: `Amended`.
    pub(super) done: &'static str,
    /// The final question.
    pub(super) last: LastQuestion,
    /// The doubts of the command, in addition to those of `check`.
    pub(super) doubts: Vec<String>,
    /// The sentence on how to undo it.
    pub(super) back: String,
}

impl<'a> OpenCorrection<'a> {
    /// Opens the record with the typed name.
    ///
    /// # Errors
    /// No such record, or it cannot be read.
    pub(super) fn open(
        context: &'a Context<'a>,
        program: &'a Program,
        which: &Which,
        wanted: &WantedRecords,
    ) -> Result<Self, Failure> {
        let target = RecordTarget::meant(context, program, &which.record.to_string_lossy(), wanted)?;
        let standing = Standing::of(&target.source, target.name)?;
        let book = Book::of_folder(program, &target.owner)?;
        Ok(OpenCorrection { context, book, target, standing })
    }

    pub(super) fn clock(&self) -> Clock<'_> {
        self.book.clock(self.context.surroundings.now)
    }

    pub(super) fn today(&self) -> chrono::NaiveDate {
        self.book.calendar.today(self.context.surroundings.now)
    }

    /// The patient and the record: `P-014 · change of 2026-11-23 18:55`.
    pub(super) fn whom(&self) -> String {
        view::whom(self.book.owner.code(), self.target.name)
    }

    /// The author, time and reason, which is asked for by `reason`; adds what is missing to `gaps`.
    pub(super) fn stamp(&self, who: &Who, reason: Question, gaps: &mut FlagGaps) -> Option<Stamp> {
        let by = who.by.as_deref().or(self.context.surroundings.writer.as_deref());
        let by = gaps.needed(("--by", "your code", YOUR_CODE), by, |code| {
            self.writer(code).and_then(|code| self.may_correct(code))
        });
        let why = gaps.needed(("--why", "the reason for the correction", reason), who.why.as_deref(), gap::reason);
        Some(Stamp { at: self.clock().moment(), by: by?, why: why? })
    }

    /// Refuses a code of the household for a record by staff.
    fn may_correct(&self, code: String) -> Result<String, String> {
        let Some(people) = self.book.program.people.as_ref().filter(|people| people.source.is_some()) else {
            return Ok(code);
        };
        let author = self.standing.values.text("by").unwrap_or_default();
        if people.get(&code).is_some() || people.get(author).is_none() {
            return Ok(code);
        }
        let (code, author) = (visible(&code), visible(author));
        Err(format!("{code} may not correct a record by {author}. Staff correct records by staff: use your own code"))
    }

    /// A code on file.
    ///
    /// # Errors
    /// The code is unknown, or not in use on this day.
    pub(super) fn writer(&self, code: &str) -> Result<String, String> {
        let code = code.trim();
        entry::is_writer(self.book.program, self.book.patient.as_ref(), code, self.today())?;
        Ok(code.to_owned())
    }

    /// The problems that the new text introduces.
    ///
    /// # Errors
    /// The new text introduces a fault; the message lists all of them.
    pub(super) fn verdict(&self, corrected: &Corrected) -> Result<Verdict, Failure> {
        let now = self.context.surroundings.now;
        let trial = |text: &str| self.book.trial_instead(self.target.name, text.to_owned(), now);
        let verdict = Verdict::of_trials(trial(&self.target.source.text), trial(&corrected.text), entry::is_refused);
        consent::to_be_put_right(&verdict.refused.iter().map(consent::sentence).collect::<Vec<_>>())?;
        Ok(verdict)
    }

    /// Shows what will change, asks for confirmation, and writes. No other function replaces a record on file.
    ///
    /// # Errors
    /// The new text introduces a fault, there is no terminal to ask at, or the file changed meanwhile.
    pub(super) fn settle(
        &self,
        corrected: &Corrected,
        writing: Writing,
        said: &CorrectionParts,
    ) -> Result<Outcome, Failure> {
        let (context, file, program) = (self.context, &self.target.source.file, self.book.program);
        let anew = || said.anew.into_iter();
        let mut doubts: Vec<String> = self.verdict(corrected)?.asked.iter().map(consent::sentence).collect();
        doubts.extend(said.doubts.iter().cloned().chain(anew().flat_map(Anew::doubts)));
        let moved: String = anew().map(|anew| anew.shown(self.context.look)).collect();
        let consequences = self.consequences(corrected, said.anew)?;
        // Like the consequences: a record a few minutes ahead of the clock already counts.
        let as_of =
            consequences.iter().map(|consequence| consequence.as_of).fold(context.surroundings.now, Instant::max);
        let before = standing(&self.book, as_of);
        let patient = crate::view::entry::whom(&self.book, &before, self.today(), context.look);
        let whom = format!("{}\n{patient}{}{moved}", self.whom(), self.shown(corrected));
        if writing.dry_run {
            doubts.extend(closing::would_close(&consequences));
            let other: String =
                anew().map(|anew| format!("{} would hold:\n\n{}\n", anew.file(), anew.trial.record.text)).collect();
            let stdout = format!("{whom}{other}{file} would hold:\n\n{}", corrected.text);
            return Ok(Outcome { stdout, stderr: lines(&doubts), ..Outcome::default() });
        }
        context.say(&whom);
        // A script without --yes learns what it would end together with the doubts.
        let ends = closing::would_close(&consequences).into_iter();
        let ends = ends.filter(|_| context.surroundings.terminal.is_none());
        let asked: Vec<String> = ends.chain(doubts.iter().cloned()).collect();
        let is_meant = || {
            Ok(closing::ask_once(context, &consequences, writing.spoken())?
                && consent::ask(context, writing.yes, &asked, said.last)? == ConsentAnswer::Yes)
        };
        if !consent::until_dropped(context, false, is_meant)? {
            return Ok(Outcome { stderr: "Nothing was written.\n".to_owned(), ..Outcome::default() });
        }
        let Some(consequences) = self.asked_again(corrected, consequences, writing, said.anew)? else {
            return Ok(Outcome { stderr: "Nothing was written.\n".to_owned(), ..Outcome::default() });
        };
        let before_there = anew().flat_map(|anew| standing(&anew.book, as_of)).collect::<Vec<_>>();
        let written = anew().map(|anew| anew.write(program)).collect::<Result<Vec<String>, Failure>>()?;
        program.folder.replace(file, &self.target.source.text, &corrected.text).map_err(|failure| {
            match written.first() {
                Some(there) => {
                    let there = format!("{there} is on file; run the command again to void {file}");
                    Failure::new(in_sentences(&[&failure.0, &there]))
                }
                None => failure,
            }
        })?;
        let schedule = view::schedule(&before, &standing(&self.book, as_of), context.look);
        let (score, caution) = self.score(corrected).unwrap_or_default();
        let there: String = anew()
            .zip(&written)
            .map(|(anew, file)| {
                let after = standing(&anew.book, as_of);
                format!("Recorded {file}\n{}", view::schedule(&before_there, &after, context.look))
            })
            .collect();
        let danger = closing::danger(program, &consequences, context.look);
        let back = crate::view::sentences(&said.back, context.look);
        let done = format!("{danger}{there}{} {file}\n{score}{schedule}{back}{caution}", said.done);
        let message = format!(
            "{}: {} {}",
            self.book.owner.code(),
            self.target.name.to_string().trim_end_matches(".toml"),
            said.done.to_lowercase()
        );
        let outcome = context.answer(&whom, done, &doubts);
        let files = [written.as_slice(), std::slice::from_ref(file)].concat();
        Ok(context.committed(program, writing.commit(), &files, &message, outcome))
    }

    /// The consequences for each patient, compared with the records on file; none for staff.
    fn consequences(&self, corrected: &Corrected, anew: Option<&Anew>) -> Result<Vec<Consequence>, Failure> {
        let now = self.context.surroundings.now;
        let book = Book::of_folder(self.book.program, &self.target.owner)?;
        let event = book.trial_instead(self.target.name, corrected.text.clone(), now).event;
        let others = book.events.iter().filter(|other| other.name != self.target.name).cloned();
        let events: Vec<Event> = others.chain(event).collect();
        let mut own = closing::of(&book, &events, now);
        // A correction does not claim a look at the site.
        own.iter_mut().flat_map(|consequence| &mut consequence.ended).for_each(|sign| sign.needs_look = false);
        let there = anew.map(|anew| anew.consequence(self.context)).transpose()?.flatten();
        Ok(own.into_iter().chain(there).collect())
    }

    /// Asks again while records arrive that make the correction end more; `None` after a No.
    fn asked_again(
        &self,
        corrected: &Corrected,
        mut known: Vec<Consequence>,
        writing: Writing,
        anew: Option<&Anew>,
    ) -> Result<Option<Vec<Consequence>>, Failure> {
        loop {
            let newer = self.consequences(corrected, anew)?;
            let asked = closing::would_close(&known);
            if closing::would_close(&newer).iter().all(|one| asked.contains(one)) {
                return Ok(Some(newer));
            }
            self.context.say("The records of this patient changed while you answered. Check again:\n");
            if !closing::ask_once(self.context, &newer, writing.spoken())? {
                return Ok(None);
            }
            known = newer;
        }
    }

    /// The differences, or the record in words if no key differs.
    fn shown(&self, corrected: &Corrected) -> String {
        let event = self.book.events.iter().find(|event| event.file() == self.target.source.file);
        match event.filter(|_| corrected.changed.is_empty()) {
            Some(event) => crate::view::entry::on_file(&self.book, event, self.context.look),
            None => view::changes(&corrected.changed, self.context.look),
        }
    }

    /// The score of the site in words, if the site differs.
    fn score(&self, corrected: &Corrected) -> Option<(String, String)> {
        let event = |text: &str| {
            let now = self.context.surroundings.now;
            self.book.trial_instead(self.target.name, text.to_owned(), now).event
        };
        let (before, after) = (event(&self.target.source.text), event(&corrected.text)?);
        let is_different = before.is_none_or(|before| before.site() != after.site());
        let score = effect::score(&self.book, &after).filter(|_| is_different)?;
        Some(view::score(&score, self.context.look))
    }
}

/// The patient's rows on the due list; empty for staff.
fn standing(book: &Book, as_of: Instant) -> Vec<Row> {
    match &book.owner {
        Owner::Patient(code) => effect::standing(book.program, code, as_of),
        Owner::Staff(_) => Vec::new(),
    }
}

impl Context<'_> {
    /// The output after a write. A terminal has already shown the record and the doubts; for a script the output has
    /// the record, and the doubts that --yes accepted.
    pub(super) fn answer(&self, whom: &str, done: String, doubts: &[String]) -> Outcome {
        if self.surroundings.terminal.is_some() {
            return Outcome { stdout: done, ..Outcome::default() };
        }
        Outcome { stdout: format!("{whom}{done}"), stderr: lines(doubts), ..Outcome::default() }
    }
}

/// Joins sentences, one per line.
pub(super) fn lines(sentences: &[String]) -> String {
    sentences.iter().map(|sentence| format!("{sentence}\n")).collect()
}
