//! The question before something is written: what is refused, what somebody has to say yes to, and the last yes.

use super::{Context, Terminal};
use crate::entry::{Trial, UsDate};
use crate::problem::{Failure, OneOf, Problem, Rule};
use crate::record::Value;
use crate::text;
use crate::view::{TextStyle, sentences};

/// The answer to Ctrl-C at a question before anything is written.
pub(super) const STOPPED: &str = "exitsite: stopped. Nothing was written.";

/// The answer to the last question.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Answer {
    /// Write it.
    Yes,
    /// Nothing is written, as somebody wished.
    No,
}

/// Fails with every reason why a record cannot be written.
///
/// # Errors
/// There is something; each in a line, with what to type instead.
pub(super) fn nothing_refused(trials: &[Trial]) -> Result<(), Failure> {
    // Of a call and the change told in it, one may be on file already: the other is written.
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
/// There is one or more.
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

/// A problem as one sentence with what to do.
pub(super) fn sentence(problem: &Problem) -> String {
    if problem.rule == Rule::PerhapsTheSame {
        let others: Vec<&str> = problem.related.iter().map(|place| place.file.as_str()).collect();
        return format!("Possible duplicate of {}. Save it only if both happened.", text::either(&others));
    }
    // What is typed here is a flag, not a line of the file.
    let help = problem.one_of.as_ref().map_or_else(|| problem.help.clone(), OneOf::as_flags);
    let beside = problem.related.first().map(|place| format!(" ({})", place.file)).unwrap_or_default();
    text::in_sentences(&[&format!("{}{beside}", problem.message), &help])
}

/// The questions that a dry run leaves out.
pub(super) fn would_ask(doubts: &[String]) -> String {
    if doubts.is_empty() {
        return String::new();
    }
    let doubts: String = doubts.iter().map(|doubt| format!("  {doubt}\n")).collect();
    format!("Questions before it is written:\n{doubts}")
}

/// The last question, and what Enter says.
#[derive(Debug, Clone, Copy)]
pub(super) enum Last {
    /// Write it; Enter is yes.
    Write,
    /// Write it; Enter asks again, since what is written ends something or says that nobody looked.
    WriteTyped,
    /// Void it, which cannot be undone; Enter is no.
    Void,
    /// Void it, asked behind a key: Enter may belong to the key, and is no answer.
    VoidTyped,
}

/// Asks each doubt, and then whether to write at all. With `yes` nothing is asked.
///
/// # Errors
/// Nobody can be asked; the doubts are named.
pub(super) fn ask(context: &Context, yes: bool, doubts: &[String], last: Last) -> Result<Answer, Failure> {
    if yes {
        return Ok(Answer::Yes);
    }
    let Some(terminal) = context.surroundings.terminal else {
        let doubts: String = doubts.iter().map(|doubt| format!("{doubt}\n  ")).collect();
        return Err(Failure::new(format!(
            "{doubts}no terminal to ask at, so nothing was written; add --yes to save it anyway"
        )));
    };
    terminal.on_interrupt(STOPPED);
    for doubt in doubts {
        if !is_yes(terminal, &doubted(doubt, context.look), false) {
            return Ok(Answer::No);
        }
    }
    let is_wanted = match last {
        Last::Write => is_yes(terminal, "Write it? [Y/n]", true),
        Last::WriteTyped => is_answered_yes(terminal, "Write it? Type y or n", None),
        Last::Void => is_yes(terminal, "Void it? [y/N]", false),
        Last::VoidTyped => is_answered_yes(terminal, "Void it? Type y or n", None),
    };
    // From here on something may be written.
    terminal.on_interrupt("");
    Ok(if is_wanted { Answer::Yes } else { Answer::No })
}

/// Asks what `--yes` does not answer, since only a person can.
///
/// # Errors
/// Nobody can be asked, or the answer is No.
pub(super) fn in_person(context: &Context, questions: &[String]) -> Result<(), Failure> {
    for question in questions {
        let Some(terminal) = context.surroundings.terminal else {
            return Err(Failure::new(format!(
                "{}. --yes does not answer this: run it at a terminal. Nothing was written.",
                question.trim_end_matches('.')
            )));
        };
        if !is_yes(terminal, &doubted(question, context.look), false) {
            return Err(Failure::new("Nothing was written."));
        }
    }
    Ok(())
}

/// A doubt as a question, in lines that fit.
pub(super) fn doubted(doubt: &str, look: TextStyle) -> String {
    sentences(doubt, look) + "  Save anyway? [y/N]"
}

/// Repeats a date typed as in the US in full, and asks about one of which the day might be the month.
///
/// # Errors
/// It is not the date that was meant.
pub(super) fn date_meant(terminal: Option<&dyn Terminal>, text: &str, value: &Value) -> Result<(), String> {
    let (day, time) = match value {
        Value::Date(day) => (*day, None),
        Value::Moment(moment) => (moment.wall.date(), Some(moment.wall.time())),
        _ => return Ok(()),
    };
    let (Some(form), Some(terminal)) = (UsDate::of(text), terminal) else { return Ok(()) };
    let time = time.map(|time| time.format(", %H:%M").to_string()).unwrap_or_default();
    let full = format!("{}{time}", day.format("%A, %B %-d, %Y"));
    match form {
        UsDate::Clear => terminal.say(&format!("That is {full}.")),
        UsDate::Ambiguous if is_yes(terminal, &format!("{text} is {full}. Is that right? [y/N]"), false) => {}
        UsDate::Ambiguous => return Err("Write the date as 2026-03-04: year, month, day.".to_owned()),
    }
    Ok(())
}

/// Asks for a yes; Enter is the capital letter. The end of input is no.
pub(super) fn is_yes(terminal: &dyn Terminal, question: &str, enter: bool) -> bool {
    is_answered_yes(terminal, question, Some(enter))
}

/// Asks for a yes; without a meaning of its own Enter is asked again.
fn is_answered_yes(terminal: &dyn Terminal, question: &str, enter: Option<bool>) -> bool {
    loop {
        match terminal.ask(question).map(|answer| answer.trim().to_lowercase()).as_deref() {
            Some("y" | "yes") => return true,
            Some("n" | "no") | None => return false,
            Some("") if enter.is_some() => return enter == Some(true),
            Some(_) => terminal.say("Type y or n."),
        }
    }
}
