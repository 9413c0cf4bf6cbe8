//! `exitsite amend`

mod asking;

use super::consent::LastQuestion;
use super::correction::{CorrectionParts, OpenCorrection, Which, Who, Writing};
use super::gap::FlagGaps;
use super::pick::{self, WantedRecords};
use super::{Context, Outcome, consent, gap};
use crate::entry::{Corrected, Key, Stamp, plain};
use crate::problem::Failure;
use crate::record::Value;
use crate::text::{quoted, visible};
use crate::view::words::question::correction::WHY_CORRECTED;

/// Correct a record; the old value, writer and reason stay on file
///
/// Comments and layout are kept. Time and kind cannot be amended: void such a record and write a new one.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    #[command(flatten)]
    which: Which,

    /// A key and its new value, such as redness_mm=2 or site.redness_mm=2; may be given several times
    #[arg(long, value_name = "KEY=VALUE")]
    set: Vec<String>,

    /// A key to remove; may be given several times
    #[arg(long, value_name = "KEY")]
    clear: Vec<String>,

    /// Change the entire file in the editor
    #[arg(long, conflicts_with_all = ["set", "clear", "yes"])]
    edit: bool,

    #[command(flatten)]
    who: Who,

    #[command(flatten)]
    writing: Writing,
}

/// A key and its new value; `None` removes the key.
pub(super) type Wish = (String, Option<Value>);

pub(super) fn run(args: &Args, context: &Context) -> Result<Outcome, Failure> {
    pick::or_again(context, || correct(args, context))
}

fn correct(args: &Args, context: &Context) -> Result<Outcome, Failure> {
    let program = context.open()?;
    let correction = OpenCorrection::open(context, &program, &args.which, &WantedRecords::any(!args.writing.yes))?;
    if let Some(sentence) = correction.standing.voided() {
        return Err(Failure::new(format!("{sentence}. A voided record cannot be amended: write a new one.")));
    }
    let person = context.surroundings.terminal.filter(|_| is_open(args));
    let mut wishes = match person {
        Some(terminal) => {
            context.say(&format!("{}\n", correction.whom()));
            asking::asked(&correction, terminal, Vec::new())?
        }
        None => wishes(&args.set, &args.clear, &correction)?,
    };
    let stamp = loop {
        let stamp = FlagGaps::walk(context, args.writing.yes, |gaps| {
            if wishes.is_empty() && !args.edit {
                gaps.add("Required: --set KEY=VALUE, --clear KEY, or --edit.".to_owned());
            }
            correction.stamp(&args.who, WHY_CORRECTED, gaps)
        });
        match (stamp, person) {
            // Back to the fields, before the list.
            (Err(failure), Some(terminal)) if pick::is_back(&failure) => {
                wishes = asking::asked(&correction, terminal, wishes)?;
            }
            (stamp, _) => break stamp?,
        }
    };
    let stamp = stamp.ok_or_else(gap::incomplete)?;
    let corrected = match args.edit {
        false => correction.standing.amended(&wishes, &stamp)?,
        true => edited(&correction, &stamp)?,
    };
    let back = back(&correction.target.source.file, &corrected);
    correction.settle(
        &corrected,
        args.writing,
        &CorrectionParts { done: "Amended", last: LastQuestion::Write, back, anew: None, doubts: Vec::new() },
    )
}

/// The record as changed in the editor. A text that is rejected is edited again, so that nothing typed is lost.
fn edited(correction: &OpenCorrection, stamp: &Stamp) -> Result<Corrected, Failure> {
    let terminal = correction.context.surroundings.terminal;
    let terminal = terminal.ok_or_else(|| Failure::new("--edit needs a terminal. Use --set KEY=VALUE."))?;
    let mut text = correction.target.source.text.clone();
    loop {
        text = terminal.edit(&text)?;
        let read = correction.standing.rewritten(&text, stamp);
        let failure = match read.and_then(|corrected| correction.verdict(&corrected).map(|_| corrected)) {
            Ok(corrected) => return Ok(corrected),
            Err(failure) => failure,
        };
        let is_untouched = text == correction.target.source.text;
        if is_untouched || consent::discards(terminal, &format!("{failure}\n  ")) {
            return Err(failure);
        }
    }
}

/// The typed keys and values, parsed by the shape of each key.
///
/// # Errors
/// A key or a value is wrong; the message lists all of them.
pub(super) fn wishes(set: &[String], clear: &[String], correction: &OpenCorrection) -> Result<Vec<Wish>, Failure> {
    let mut wishes: Vec<Wish> = Vec::new();
    let mut wrong = Vec::new();
    let all = set.iter().map(|text| ("--set", text)).chain(clear.iter().map(|text| ("--clear", text)));
    for (flag, text) in all {
        match wish(flag, text, correction) {
            Ok((key, _)) if wishes.iter().any(|(known, _)| *known == key) => {
                wrong.push(format!("{flag} {}: {key} is given twice.", visible(text)));
            }
            Ok(wish) => wishes.push(wish),
            Err(sentence) => wrong.push(format!("{flag} {}: {sentence}", visible(text))),
        }
    }
    consent::to_be_put_right(&wrong)?;
    Ok(wishes)
}

fn wish(flag: &str, text: &str, correction: &OpenCorrection) -> Result<Wish, String> {
    let (key, value) = match text.split_once('=') {
        Some((key, value)) if flag == "--set" => (key, Some(value)),
        None if flag == "--set" => return Err(format!("Write KEY=VALUE, such as {text}=…")),
        _ => (text, None),
    };
    fixed(key, correction)?;
    let key = Key::meant(correction.standing.kind, key)?;
    let value = value.map(|value| key.typed(value, correction.clock())).transpose()?;
    Ok((key.name, value))
}

/// Rejects a key that can never be amended.
fn fixed(key: &str, correction: &OpenCorrection) -> Result<(), String> {
    match ["at", "on", "kind"].into_iter().find(|fixed| *fixed == key.trim()) {
        Some(key) => Err(correction.standing.anew(key).0),
        None => Ok(()),
    }
}

/// Returns true if no change was typed and the user may be asked.
fn is_open(args: &Args) -> bool {
    args.set.is_empty() && args.clear.is_empty() && !args.edit && !args.writing.yes
}

/// The command that undoes the amendment.
fn back(file: &str, corrected: &Corrected) -> String {
    let one = |key: &str, was: &Option<Value>| match was {
        Some(was) => format!(" --set {key}={}", quoted(&plain(was))),
        None => format!(" --clear {key}"),
    };
    let keys: Vec<String> = corrected.changed.iter().map(|changed| one(&changed.key, &changed.was)).collect();
    format!("To take it back:\n  exitsite amend {}{} --why \"…\"\n", quoted(file), keys.concat())
}
