//! A record that may be the same as one on file, of which only one has its time: asked about at a terminal, since a time
//! is never amended. If they are the same, the record with the time is saved and the one without it is voided.

use super::consent::LastQuestion;
use super::correction::{CorrectionParts, OpenCorrection, Who, Writing};
use super::gap::FlagGaps;
use super::question::{Choice, Enter, Leave, Questions};
use super::target::RecordTarget;
use super::{Context, Outcome};
use crate::entry::{Book, Standing, Trial};
use crate::event::{ChangeReason, Event, Fact, Kind};
use crate::problem::{Failure, Problem, Rule};
use crate::program::Program;
use crate::text::visible;
use crate::view::event::only_in;
use crate::view::words::question::{correction::WHY_VOIDED, record};
use crate::view::{day::short_day, sentences};

/// A possible duplicate on file of a new record.
#[derive(Debug, Clone)]
pub(super) struct Twin {
    /// The record on file.
    pub(super) file: String,
    /// The doubt about it, as a script is told.
    pub(super) doubt: String,
    /// True if the new record has the time, and the one on file has none.
    is_timed: bool,
    /// True if the new record cannot be the same: it came after a shower, and the one on file before it.
    is_another: bool,
    /// The facts that would be lost if they are the same: those of the record without a time, or of the new one.
    lost: String,
    kind: Kind,
    /// The record on file in words: `the change of Mon Nov 23 (no time)`.
    words: String,
}

/// The answer about a possible duplicate.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum TwinAnswer {
    /// They are the same; the new record, which has the time, is saved, and the other is voided.
    Replaces,
    /// They are the same; the record on file has the time, so the new one is not saved.
    OnFile,
    /// Both happened.
    Another,
    /// Neither: nothing is saved.
    Stop,
}

impl Twin {
    /// The possible duplicate that a problem of a new record names; `None` if no time is missing, or there are several.
    pub(super) fn of(problem: &Problem, trial: &Trial, book: &Book, doubt: String) -> Option<Twin> {
        let [other] = problem.related.as_slice() else { return None };
        let new = trial.event.as_ref().filter(|_| problem.rule == Rule::PerhapsTheSame)?;
        let known: &Event = book.events.iter().find(|event| event.file() == other.file)?;
        let time = match (known.name.time, new.name.time) {
            (None, Some(_)) => "no time".to_owned(),
            (Some(time), None) => time.format("%H:%M").to_string(),
            _ => return None,
        };
        let day = short_day(known.name.date, new.name.date.max(known.name.date));
        let kind = known.name.kind;
        let words = format!("the {kind} of {day} ({time})");
        let is_timed = new.name.time.is_some();
        let lost = if is_timed { only_in(known, new) } else { only_in(new, known) };
        let is_another = is_after_shower(new) && known.is_timed() && has_shower_after(known, book);
        Some(Twin { file: other.file.clone(), doubt, is_timed, is_another, lost, kind, words })
    }

    /// Asks which of the two it is; Enter asks again.
    ///
    /// # Errors
    /// Back to the previous question, or the end of input.
    pub(super) fn ask(&self, questions: &Questions) -> Result<TwinAnswer, Leave> {
        let Twin { kind, words, .. } = self;
        let same =
            if self.is_timed { "save this one and void the other" } else { "keep the one on file, with its time" };
        let (another, stop) = (Choice::of(format!("another {kind}"), "save this one too"), Choice::of("stop", ""));
        let questions = Questions { kept: None, ..*questions };
        if self.is_another {
            let question = record::TWIN_BEFORE_SHOWER.with(&[words]);
            return Ok(match questions.choose(question, &[another, stop], Enter::Asks)? {
                Some(0) => TwinAnswer::Another,
                _ => TwinAnswer::Stop,
            });
        }
        let choices = [Choice::of(format!("the same {kind}"), same), another, stop];
        loop {
            return Ok(match questions.choose(record::TWIN.with(&[words]), &choices, Enter::Asks)? {
                Some(0) if !self.is_loss_meant(&questions)? => continue,
                Some(0) if self.is_timed => TwinAnswer::Replaces,
                Some(0) => TwinAnswer::OnFile,
                Some(1) => TwinAnswer::Another,
                _ => TwinAnswer::Stop,
            });
        }
    }

    /// Names the facts that would be lost and asks about them; there is no default.
    fn is_loss_meant(&self, questions: &Questions) -> Result<bool, Leave> {
        if self.lost.is_empty() {
            return Ok(true);
        }
        let question = match self.is_timed {
            true => record::TWIN_VOIDED.with(&[&self.words, &visible(&self.lost)]),
            false => record::TWIN_DROPPED.with(&[&visible(&self.lost)]),
        };
        Ok(questions.choose(question, &Choice::words(&["yes", "no"]), Enter::Asks)? == Some(0))
    }
}

fn is_after_shower(event: &Event) -> bool {
    matches!(&event.fact, Fact::Change(change) if change.reason == Some(ChangeReason::AfterShower))
}

/// Returns true if a shower of its care day is later than an event.
fn has_shower_after(event: &Event, book: &Book) -> bool {
    let is_shower = |other: &&Event| matches!(other.fact, Fact::Shower(_)) && other.void.is_none() && other.is_timed();
    let mut showers = book.events.iter().filter(is_shower);
    showers.any(|shower| shower.when.care_day == event.when.care_day && shower.order() > event.order())
}

/// Voids the records of which a new one is the same with its time, each as `exitsite void` does; says which stay on file.
/// Returns what the voids print.
pub(super) fn void(context: &Context, program: &Program, twins: &[Twin], by: &str, new: &[String]) -> String {
    let mut printed = String::new();
    for twin in twins {
        let name = |file: &String| file.rsplit('/').next().unwrap_or(file).to_owned();
        let suffix = |file: &&String| name(file).trim_end_matches(".toml").contains(&format!("-{}", twin.kind));
        let Some(new) = new.iter().find(suffix) else { continue };
        let is_left = match void_one(context, program, twin, by, &name(new)) {
            Ok(outcome) => {
                printed.push_str(&outcome.stdout);
                !outcome.has_written
            }
            Err(failure) => {
                context.say(&sentences(&failure.to_string(), context.look));
                true
            }
        };
        if is_left {
            let left = format!("Not voided: {} stays on file, and so does {new}. Both count.", twin.file);
            context.say(&sentences(&left, context.look));
        }
    }
    printed
}

fn void_one(context: &Context, program: &Program, twin: &Twin, by: &str, new: &str) -> Result<Outcome, Failure> {
    let target = RecordTarget::of_file(program, &twin.file)?;
    let standing = Standing::of(&target.source, target.name)?;
    if let Some(sentence) = standing.voided() {
        return Err(Failure::new(sentence));
    }
    let book = Book::of_folder(program, &target.owner)?;
    let correction = OpenCorrection { context, book, target, standing };
    let why = format!("same {}, now with its time", twin.kind);
    let who = Who { by: Some(by.to_owned()), why: Some(why) };
    let mut gaps = FlagGaps::of(context, true);
    let stamp = correction.stamp(&who, WHY_VOIDED, &mut gaps);
    gaps.end()?;
    let stamp = stamp.ok_or_else(super::gap::incomplete)?;
    let corrected = correction.standing.void(&stamp, Some(new))?;
    let back = format!("It stays on file but no longer counts; {new} replaces it.\n");
    let said = CorrectionParts { anew: None, doubts: Vec::new(), done: "Voided", last: LastQuestion::Void, back };
    correction.settle(&corrected, Writing::default(), &said)
}
