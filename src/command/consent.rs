//! The confirmation before a write: what is refused, what the user has to accept, and the final yes.

use super::question::{Leave, Questions};
use super::{Context, Terminal};
use crate::entry::{Trial, UsDate, is_by_day_part};
use crate::problem::{Failure, OneOf, Problem, Rule};
use crate::record::Value;
use crate::text;
use crate::view::{TextStyle, sentences};

/// The message after Ctrl-C at a question, before anything is written.
pub(super) const STOPPED: &str = "exitsite: stopped. Nothing was written.";

/// The answer to the last question.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum ConsentAnswer {
    /// Write it.
    Yes,
    /// Write nothing, as the user chose.
    No,
}

/// Fails with every reason that a record cannot be written.
///
/// # Errors
/// At least one reason; each on its own line, with what to type instead.
pub(super) fn nothing_refused(trials: &[Trial]) -> Result<(), Failure> {
    // One of a call and the change reported in it may already be on file; the other is written.
    let already = trials.iter().find_map(|trial| trial.already.as_ref());
    if let Some(file) = already.filter(|_| trials.iter().all(|trial| trial.already.is_some())) {
        return Err(Failure::new(format!("Already on file as {file}. Nothing was written.")));
    }
    let refused: Vec<String> = trials.iter().flat_map(|trial| &trial.refused).map(sentence).collect();
    to_be_put_right(&refused)
}

/// Fails with every fault of the typed flags.
///
/// # Errors
/// At least one fault.
pub(super) fn to_be_put_right(sentences: &[String]) -> Result<(), Failure> {
    let mut sentences = sentences.to_vec();
    sentences.dedup();
    match sentences.as_slice() {
        [] => Ok(()),
        [one] => Err(Failure::new(text::in_sentences(&[one, "Nothing was written"]))),
        several => {
            let number = text::count(several.len() as i64, "thing");
            Err(Failure::new(format!("{number} to correct. Nothing was written.\n  {}", several.join("\n  "))))
        }
    }
}

/// A problem with its correction, in sentences.
pub(super) fn sentence(problem: &Problem) -> String {
    if problem.rule == Rule::PerhapsTheSame {
        let others: Vec<&str> = problem.related.iter().map(|place| place.file.as_str()).collect();
        return format!("Possible duplicate of {}. Save it only if both happened.", text::either(&others));
    }
    // The user types a flag here, not a line of the file.
    let help = problem.one_of.as_ref().map_or_else(|| problem.help.clone(), OneOf::as_flags);
    let beside = problem.related.first().map(|place| format!(" ({})", place.file)).unwrap_or_default();
    text::in_sentences(&[&format!("{}{beside}", problem.message), &help])
}

/// The questions that a dry run does not ask.
pub(super) fn would_ask(doubts: &[String]) -> String {
    if doubts.is_empty() {
        return String::new();
    }
    let doubts: String = doubts.iter().map(|doubt| format!("  {doubt}\n")).collect();
    format!("Questions before it is written:\n{doubts}")
}

/// The final question. Enter answers it neither way.
#[derive(Debug, Clone, Copy)]
pub(super) enum LastQuestion {
    /// Write it.
    Write,
    /// Void it, which cannot be undone.
    Void,
}

/// Asks about each doubt, then whether to write at all. With `yes` it asks nothing.
///
/// # Errors
/// There is no terminal; the message lists the doubts.
pub(super) fn ask(
    context: &Context,
    yes: bool,
    doubts: &[String],
    last: LastQuestion,
) -> Result<ConsentAnswer, Failure> {
    if yes {
        return Ok(ConsentAnswer::Yes);
    }
    let Some(terminal) = context.surroundings.terminal else {
        let doubts: String = doubts.iter().map(|doubt| format!("{doubt}\n  ")).collect();
        return Err(Failure::new(format!(
            "{doubts}Nothing was written: there is no terminal to ask at. Add --yes to save it anyway."
        )));
    };
    terminal.on_interrupt(STOPPED);
    for doubt in doubts {
        if !is_yes_typed(terminal, &doubted(doubt, context.look), SAVES) {
            return Ok(ConsentAnswer::No);
        }
    }
    let (question, needed) = match last {
        LastQuestion::Write => ("Write it? [y/N]", WRITES),
        LastQuestion::Void => ("Void it? [y/N]", "Required: y voids it, n does not."),
    };
    let is_wanted = is_yes_typed(terminal, question, needed);
    // From here on, something may be written.
    terminal.on_interrupt("");
    Ok(if is_wanted { ConsentAnswer::Yes } else { ConsentAnswer::No })
}

/// Asks what only a person can confirm, not `--yes`.
///
/// # Errors
/// There is no terminal, or the answer is No.
pub(super) fn in_person(context: &Context, questions: &[String]) -> Result<(), Failure> {
    for question in questions {
        let Some(terminal) = context.surroundings.terminal else {
            return Err(Failure::new(format!(
                "{}. --yes does not confirm this: run it at a terminal. Nothing was written.",
                question.trim_end_matches('.')
            )));
        };
        if !is_yes_typed(terminal, &doubted(question, context.look), SAVES) {
            return Err(Failure::new("Nothing was written."));
        }
    }
    Ok(())
}

/// A doubt as a question, wrapped to the terminal.
pub(super) fn doubted(doubt: &str, look: TextStyle) -> String {
    sentences(doubt, look) + "  Save anyway? [y/N]"
}

/// Reads a US-style date or a part of a day back in full, and asks about a date whose day could be the month.
///
/// # Errors
/// It is not the intended date.
pub(super) fn date_meant(terminal: Option<&dyn Terminal>, text: &str, value: &Value) -> Result<(), String> {
    let (day, time) = match value {
        Value::Date(day) => (*day, None),
        Value::Moment(moment) => (moment.wall.date(), Some(moment.wall.time())),
        _ => return Ok(()),
    };
    let form = UsDate::of(text).or(is_by_day_part(text).then_some(UsDate::Clear));
    let (Some(form), Some(terminal)) = (form, terminal) else { return Ok(()) };
    let time = time.map(|time| time.format(", %H:%M").to_string()).unwrap_or_default();
    let full = format!("{}{time}", day.format("%A, %B %-d, %Y"));
    match form {
        UsDate::Clear => terminal.say(&format!("That is {full}.")),
        UsDate::Ambiguous if is_yes(terminal, &format!("{text} is {full}. Is that right? [y/N]")) => {}
        UsDate::Ambiguous => return Err("Write the date as 2026-03-04: year, month, day.".to_owned()),
    }
    Ok(())
}

/// Asks whether to discard a text from the editor. Enter opens it again; the end of input discards it.
pub(super) fn discards(terminal: &dyn Terminal, before: &str) -> bool {
    loop {
        let question = format!("{before}Discard your text? No opens it again. [y/N]");
        match terminal.ask(&question).map(|answer| answer.trim().to_lowercase()).as_deref() {
            Some("y" | "yes") | None => return true,
            Some("n" | "no" | "") => return false,
            Some(_) => terminal.say(Y_OR_N),
        }
    }
}

/// The word that throws a record away, which is a no wherever a record is confirmed.
pub(super) const DISCARD: &str = "discard";

/// The message after another answer than yes or no.
pub(super) const Y_OR_N: &str = "Type y for yes, or n for no.";

/// The message after Enter at the question whether to write.
pub(super) const WRITES: &str = "Required: y writes it, n does not.";

/// The message after Enter at a doubt.
pub(super) const SAVES: &str = "Required: y saves it anyway, n does not.";

/// An answer to a question of yes or no.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum TypedAnswer {
    /// Yes.
    Yes,
    /// No, or the word that throws the record away.
    No,
    /// Anything else, in lower case.
    Other(String),
    /// The end of input.
    Ended,
}

/// Asks until something is typed. A No drops what was answered, so Enter alone is none: it may have been typed ahead.
pub(super) fn typed(ask: impl Fn() -> Option<String>, say: impl Fn(&str), needed: &str) -> TypedAnswer {
    loop {
        let Some(line) = ask() else { return TypedAnswer::Ended };
        match line.trim().to_lowercase().as_str() {
            "y" | "yes" => return TypedAnswer::Yes,
            "n" | "no" | DISCARD => return TypedAnswer::No,
            "" => say(needed),
            other => return TypedAnswer::Other(other.to_owned()),
        }
    }
}

/// Asks until yes or no is typed; the end of input means no.
fn is_yes_typed(terminal: &dyn Terminal, question: &str, needed: &str) -> bool {
    loop {
        match typed(|| terminal.ask(question), |sentence| terminal.say(sentence), needed) {
            TypedAnswer::Yes => return true,
            TypedAnswer::No | TypedAnswer::Ended => return false,
            TypedAnswer::Other(_) => terminal.say(Y_OR_N),
        }
    }
}

/// Repeats the last questions after a No, until every answer is yes or the user drops what was typed. If nothing was
/// typed, or only flags that are not kept, the first No ends it.
///
/// # Errors
/// A question cannot be asked.
pub(super) fn until_dropped(
    context: &Context,
    are_flags_kept: bool,
    ask: impl Fn() -> Result<bool, Failure>,
) -> Result<bool, Failure> {
    loop {
        if ask()? {
            return Ok(true);
        }
        let Some(terminal) = context.surroundings.terminal.filter(|terminal| are_flags_kept || terminal.typed() > 0)
        else {
            return Ok(false);
        };
        match (Questions { terminal, look: context.look, kept: None }).discards() {
            Ok(()) | Err(Leave::Stops) => return Ok(false),
            Err(Leave::Back | Leave::Kept) => {}
            Err(Leave::Fails(failure)) => return Err(failure),
        }
    }
}

/// Asks for a yes; Enter and the end of input mean no.
pub(super) fn is_yes(terminal: &dyn Terminal, question: &str) -> bool {
    loop {
        match terminal.ask(question).map(|answer| answer.trim().to_lowercase()).as_deref() {
            Some("y" | "yes") => return true,
            Some("n" | "no" | "" | DISCARD) | None => return false,
            Some(_) => terminal.say(Y_OR_N),
        }
    }
}
