//! `exitsite record`

mod asking;
mod call;
mod choosing;
mod clinician;
mod doubt;
mod entering;
mod flags;
mod interview;
mod last;
mod pair;
mod reported;
mod so_far;
mod source;
mod steps;
mod told;

use std::cell::Cell;

use super::consent;
use super::question::{Enter, Questions};
use super::twin;
use super::{Context, Outcome};
use crate::ask::effect;
use crate::check;
use crate::day::Instant;
use crate::entry::{Book, Draft, Owner, Trial};
use crate::event::{Event, Kind};
use crate::folder::{PictureFile, WriteOutcome};
use crate::problem::Failure;
use crate::program::Program;
use crate::record::Value;
use crate::report::due::Row;
use crate::schedule::{Because, State};
use crate::view::words::question::record::PICTURE_FILE;
use crate::view::{entry as view, sentences};

pub(super) use call::{notes_temperature, of_call, of_note};
pub(super) use clinician::not_a_clinician;
pub(super) use doubt::found_intact;
use entering::{Entering, Ready};
use flags::Typed;
pub(super) use flags::{flag, sentence, value_name};
pub(super) use interview::Talk;
pub(super) use reported::ReportedChange;
pub(super) use so_far::flags as flags_of;
pub(super) use told::change_told_in;

/// Record one event: a change, a shower, an assessment, a call
///
/// Every field has a flag. At a terminal, missing fields are asked for and nothing is written before the final yes; in
/// a script, --yes is that yes. The record is checked against the records on file before it is written.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    #[command(subcommand)]
    typed: Typed,
}

pub(super) fn run(args: &Args, context: &Context) -> Result<Outcome, Failure> {
    let typed = &args.typed;
    let program = context.open()?;
    let now = context.surroundings.now;
    let book = Book::open(&program, &typed.who, typed.kind)?;
    let today = book.calendar.today(now);
    let before = standing(&program, &book, now);
    let whom = view::whom(&book, &before, today, context.look);
    context.say(&whom);
    let here = &context.surroundings.here;
    let picture = match &typed.file {
        Some(file) => Some(PictureFile::read(&here.join(file))?),
        None => asked_picture(typed, context)?,
    };
    let picture = picture.as_ref();
    let clock = book.clock(now);
    let entering = Entering { typed, context, program: &program, book: &book, before: &before, clock, picture };
    let begun = entering.begun()?;
    let (ready, is_wanted) = match context.surroundings.terminal {
        Some(terminal) if !typed.yes && !typed.dry_run => entering.asked(begun, terminal)?,
        _ => entering.by_flags(begun)?,
    };
    if typed.dry_run {
        let texts: Vec<String> = ready.trials.iter().map(would_write).collect();
        let stderr = format!("{}{}", lines(&ready.noted()), consent::would_ask(&ready.would_ask()));
        let stdout = format!("{whom}{}{}", ready.said(&book, context), texts.concat());
        return Ok(Outcome { stdout, stderr, ..Outcome::default() });
    }
    let Some((book, ready, files)) = written(typed, picture, context, &program, (book, ready, is_wanted))? else {
        return Ok(Outcome { stderr: "Nothing was written.\n".to_owned(), ..Outcome::default() });
    };
    let score = ready.trials.iter().find_map(|trial| effect::score(&book, trial.event.as_ref()?));
    let taught = ready.trials.iter().find_map(|trial| effect::taught(&book, trial.event.as_ref()?, now));
    // Like the consequence: a record a few minutes ahead of the clock already counts.
    let as_of = ready.consequence.as_ref().map_or(now, |consequence| consequence.as_of);
    let after = standing(&program, &book, as_of);
    let danger = ready.consequence.as_ref().map(|consequence| {
        let call = program.policy.as_ref().and_then(|policy| policy.review_call.as_deref());
        crate::view::consequence::danger(consequence, None, call, context.look)
    });
    let answer = view::WriteReply { files: &files, score: score.as_ref(), taught: taught.as_ref(), rows: &after };
    let effect = format!("{}{}", danger.unwrap_or_default(), view::effect(&book, &answer, context.look));
    let is_at_terminal = context.surroundings.terminal.is_some();
    let told: Vec<String> = ready.noted().into_iter().chain(ready.doubts.clone()).collect();
    let stderr = if is_at_terminal { String::new() } else { lines(&told) };
    let shown = if is_at_terminal { String::new() } else { format!("{whom}{}", ready.said(&book, context)) };
    let outcome = Outcome { stdout: format!("{shown}{effect}"), stderr, ..Outcome::default() };
    let outcome = context.committed(&program, typed.commit, &files, &commit_message(&book, &ready.trials), outcome);
    Ok(replacing(context, &program, &ready, &files, outcome))
}

/// Voids the records on file that the new one replaces, after its reply.
fn replacing(context: &Context, program: &Program, ready: &Ready, files: &[String], outcome: Outcome) -> Outcome {
    let Some((terminal, by)) = context.surroundings.terminal.zip(ready.draft.values.text("entered.by")) else {
        return outcome;
    };
    if ready.replaced.is_empty() {
        return outcome;
    }
    terminal.begin();
    terminal.has_written(files);
    context.say(&outcome.stdout);
    let voided = twin::void(context, program, &ready.replaced, by, files);
    Outcome { stdout: voided, ..outcome }
}

/// The picture that a person at a terminal names; a script types its checksum instead. `None` if none is needed.
fn asked_picture(typed: &Typed, context: &Context) -> Result<Option<PictureFile>, Failure> {
    let is_open = typed.kind == Kind::Photo && !typed.given.iter().any(|(key, _)| key == "sha256");
    let is_typed = typed.yes || typed.dry_run || typed.edit;
    let Some(terminal) = context.surroundings.terminal.filter(|_| is_open && !is_typed) else { return Ok(None) };
    terminal.on_interrupt(consent::STOPPED);
    let questions = Questions { terminal, look: context.look, kept: None };
    let here = &context.surroundings.here;
    let read = |text: &str| {
        let path = text.trim_matches(['"', '\'']);
        PictureFile::read(&here.join(path)).map_err(|failure| format!("{failure}. Type the path of the picture."))
    };
    let mut picture = None;
    questions.walk(&mut picture, 1, |_, picture| {
        let path = Cell::new(None);
        let noted = |text: &str| read(text).inspect(|_| path.set(Some(text.trim_matches(['"', '\'']).to_owned())));
        *picture = questions.ask(PICTURE_FILE, Enter::Asks, noted)?;
        terminal.so_far("picture", vec![("--file".to_owned(), path.take())]);
        Ok(true)
    })?;
    Ok(picture)
}

/// A record about to be written: the records on file, the questions, and whether it was confirmed.
type Asked<'p> = (Book<'p>, Ready, bool);

/// Writes the records and returns their files. If another record of the patient arrives at the same moment and raises a
/// question, withdraws them and asks again. `None` after a No.
fn written<'p>(
    typed: &Typed,
    picture: Option<&PictureFile>,
    context: &Context,
    program: &'p Program,
    mut asked: Asked<'p>,
) -> Result<Option<(Book<'p>, Ready, Vec<String>)>, Failure> {
    loop {
        asked = with_what_came_meanwhile(typed, picture, context, program, asked)?;
        let (book, ready, true) = &asked else { return Ok(None) };
        context.surroundings.terminal.iter().for_each(|terminal| terminal.on_interrupt(""));
        let is_asked = |files: &[String]| is_all_asked(typed, picture, context, program, (book, ready), files);
        if let Some(files) = write_unless_asked(program, &ready.trials, is_asked)? {
            let (book, ready, _) = asked;
            return Ok(Some((book, ready, files)));
        }
        context.say(TAKEN_BACK);
    }
}

/// The message about records that were withdrawn.
pub(super) const TAKEN_BACK: &str =
    "Another record of this patient was written at the same moment. Yours was withdrawn; nothing is lost.\n";

/// Returns true if a record that arrived between the last reading and the write adds no question to those asked.
fn is_all_asked(
    typed: &Typed,
    picture: Option<&PictureFile>,
    context: &Context,
    program: &Program,
    (book, ready): (&Book, &Ready),
    files: &[String],
) -> Result<bool, Failure> {
    let now = context.surroundings.now;
    let newer = Book::open(program, &typed.who, typed.kind)?.without(files);
    if newer.holds_the_same_as(book) {
        return Ok(true);
    }
    let before = standing(program, book, now);
    let clock = newer.clock(now);
    let entering = Entering { typed, context, program, book: &newer, before: &before, clock, picture };
    let asked = ready.would_ask();
    // The repeated questions report what would now be refused.
    Ok(entering.ready(ready.draft.clone()).is_ok_and(|again| again.would_ask().iter().all(|one| asked.contains(one))))
}

/// Writes records, and withdraws them if `is_asked` returns false for their files: a question is still open.
///
/// # Errors
/// They cannot be written or withdrawn.
pub(super) fn write_unless_asked(
    program: &Program,
    trials: &[Trial],
    is_asked: impl FnOnce(&[String]) -> Result<bool, Failure>,
) -> Result<Option<Vec<String>>, Failure> {
    let files = write(program, trials)?;
    let is_asked = is_asked(&files);
    if let Ok(true) = is_asked {
        return Ok(Some(files));
    }
    let records: Vec<_> = trials.iter().map(|trial| trial.record.clone()).collect();
    program.folder.withdraw(&files, &records)?;
    is_asked.map(|_| None)
}

/// Repeats the questions while other records of the patient arrive, so that the answers hold for the records on file at
/// the write.
fn with_what_came_meanwhile<'p>(
    typed: &Typed,
    picture: Option<&PictureFile>,
    context: &Context,
    program: &'p Program,
    (mut book, mut ready, mut is_wanted): Asked<'p>,
) -> Result<Asked<'p>, Failure> {
    let now = context.surroundings.now;
    while is_wanted {
        let newer = Book::open(program, &typed.who, typed.kind)?;
        if newer.holds_the_same_as(&book) {
            break;
        }
        let before = standing(program, &newer, now);
        context.say("The records of this patient changed while you answered. Check again:\n");
        context.say(&view::whom(&newer, &before, newer.calendar.today(now), context.look));
        let clock = newer.clock(now);
        let entering = Entering { typed, context, program, book: &newer, before: &before, clock, picture };
        let replaced = ready.replaced;
        (ready, is_wanted) = entering.confirmed(ready.draft)?;
        ready = ready.replacing(replaced);
        book = newer;
    }
    Ok((book, ready, is_wanted))
}

fn lines(sentences: &[String]) -> String {
    sentences.iter().map(|sentence| format!("{sentence}\n")).collect()
}

pub(super) fn commit_message(book: &Book, trials: &[Trial]) -> String {
    let names: Vec<String> = trials.iter().map(|trial| trial.record.name.to_string()).collect();
    format!("{}: {}", book.owner.code(), names.join(", ").replace(".toml", ""))
}

/// The patient's rows on the due list; empty for staff.
fn standing(program: &Program, book: &Book, now: Instant) -> Vec<Row> {
    match &book.owner {
        Owner::Patient(code) => effect::standing(program, code, now),
        Owner::Staff(_) => Vec::new(),
    }
}

/// The error for the code of an author or writer that no one on file has.
pub(super) fn unknown(book: &Book, code: &str) -> Option<String> {
    check::unknown_code(book.program, book.patient.as_ref(), "by", code)
}

/// The patient's only caregiver; `None` if there are several or none.
pub(super) fn only_caregiver(book: &Book) -> Option<String> {
    match book.patient.as_ref()?.caregivers.as_slice() {
        [only] => Some(only.code.clone()),
        _ => None,
    }
}

/// Fills in a call: the caller and, if a change was reported, the person reached, the subject and the outcome.
fn fill_contact(draft: &mut Draft, typed: &Typed, context: &Context, book: &Book, before: &[Row]) {
    let mut default = |key: &str, value: Option<Value>| {
        if let Some(value) = value.filter(|_| draft.values.get(key).is_none()) {
            draft.values.set(key, value);
        }
    };
    let text = |text: &str| Value::Text(text.to_owned());
    // A terminal asks for it: a code in the environment does not prove who called.
    let is_asked = context.surroundings.terminal.is_some() && !typed.yes && !typed.dry_run && !typed.edit;
    default("by", context.surroundings.writer.clone().filter(|_| !is_asked).map(Value::Text));
    if typed.changed.is_some() {
        default("with", only_caregiver(book).map(Value::Text));
        default("about", Some(Value::List(vec![text(subject(before))])));
        default("outcome", Some(text("other")));
    }
}

/// The subject of a call, given the patient's state.
pub(super) fn subject(rows: &[Row]) -> &'static str {
    let because = |row: &Row| row.site().and_then(|site| site.due.because);
    let is_log = |row: &Row| row.state() == State::AwaitingLog || because(row) == Some(Because::LogLate);
    if rows.iter().any(is_log) {
        "log"
    } else if rows.iter().any(|row| row.state() == State::Overdue) {
        "overdue"
    } else {
        "other"
    }
}

/// Opens the record in an editor until it is valid. The writer, the time of entry and corrections cannot be edited.
fn edited(context: &Context, book: &Book, draft: Draft) -> Result<Draft, Failure> {
    let terminal =
        context.surroundings.terminal.ok_or_else(|| Failure::new("--edit needs a terminal. Use flags instead."))?;
    let mut shown = draft.clone();
    let entered = shown.values.remove("entered");
    let mut text = shown.text();
    loop {
        text = terminal.edit(&text)?;
        let wrong = match draft.with_text(&text) {
            Ok(typed) if ["entered", "void", "amended"].iter().any(|key| typed.values.get(key).is_some()) => {
                "[entered], [void] and [[amended]] are written by the commands; remove them".to_owned()
            }
            Ok(mut draft) => {
                entered.iter().for_each(|entered| draft.values.set("entered", entered.clone()));
                let trial = book.trial(&draft, context.surroundings.now)?;
                match consent::nothing_refused(&[trial]) {
                    Ok(()) => return Ok(draft),
                    Err(failure) => failure.to_string(),
                }
            }
            Err(sentence) => sentence,
        };
        terminal.say(&sentences(&wrong, context.look));
        if consent::discards(terminal, "") {
            terminal.say(&text);
            return Err(Failure::unwritten("stopped; your text is shown above"));
        }
    }
}

/// The records in words.
pub(super) fn said(book: &Book, trials: &[Trial], context: &Context) -> String {
    let events = trials.iter().filter_map(|trial| trial.event.as_ref());
    events.map(|event: &Event| view::record(book, event, context.look)).collect()
}

fn would_write(trial: &Trial) -> String {
    let record = &trial.record;
    format!("Would write {}/{}/{}:\n\n{}\n", record.owner, record.name.year(), record.name, record.text)
}

/// Writes one record and returns its path, also if someone else wrote it meanwhile.
pub(super) fn write_or_find(program: &Program, trial: &Trial) -> Result<String, Failure> {
    let written = program.folder.write_new(std::slice::from_ref(&trial.record), |_| ())?;
    match written.into_iter().next() {
        Some(WriteOutcome::New(file) | WriteOutcome::AlreadyThere(file)) => Ok(file),
        None => Err(Failure::new("Nothing was written. Try again.")),
    }
}

pub(super) fn write(program: &Program, trials: &[Trial]) -> Result<Vec<String>, Failure> {
    let records: Vec<_> = trials.iter().map(|trial| trial.record.clone()).collect();
    let (mut new, mut there) = (Vec::new(), Vec::new());
    for written in program.folder.write_new(&records, |_| ())? {
        match written {
            WriteOutcome::New(file) => new.push(file),
            WriteOutcome::AlreadyThere(file) => there.push(file),
        }
    }
    // One of a call and its change may already have been on file.
    match there.first().filter(|_| new.is_empty()) {
        Some(file) => Err(Failure::new(format!("already on file as {file}"))),
        None => Ok(new),
    }
}
