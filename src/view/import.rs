//! The reply to an import: the problems that block it, its result, and the way to undo it.

use super::entry::standing;
use super::{TextStyle, hanging};
use crate::entry::import::{CellError, Plan, PossibleDuplicate, Remark};
use crate::event::Kind;
use crate::report::due::Row;
use crate::report::import::Imported;
use crate::text::{count, in_sentences, thousands, visible};

/// The maximum number of files listed.
const MOST_FILES: usize = 12;

/// The maximum number of lines of a list; the others are counted.
const MOST_LINES: usize = 200;

/// Lists the problems of a file that was not imported, each with its row.
/// One line per problem, never wrapped, so that the list can be searched and sorted.
pub(crate) fn not_imported(file: &str, plan: &Plan) -> String {
    let mut lines = Vec::new();
    let file = visible(file);
    if !plan.slips.is_empty() {
        let places = count(plan.slips.len() as i64, "place");
        lines.push(format!("exitsite: {file} has {places} to correct. Nothing was written."));
        lines.extend(first(plan.slips.iter().map(slip_words), plan.slips.len()));
    }
    if !plan.questions.is_empty() {
        let pairs = count(plan.pairs as i64, "possible duplicate");
        lines.push(format!("exitsite: {file} has {pairs}. Nothing was written."));
        lines.extend(first(plan.questions.iter().map(question_words), plan.pairs));
        lines.push(DECIDE.to_owned());
    }
    lines.join("\n") + "\n"
}

/// The instructions for possible duplicates.
const DECIDE: &str = "Add a column named same, then import again. Enter same for a duplicate (new facts in the row are added to the record on file), or another if both happened.";

fn slip_words(slip: &CellError) -> String {
    let line = slip.line.map(|line| format!("line {line}: ")).unwrap_or_default();
    let column = slip.column.as_ref().map(|column| format!("{column}: ")).unwrap_or_default();
    let value = slip.value.as_ref().map(|value| format!("\"{value}\": ")).unwrap_or_default();
    format!("  {line}{column}{value}{}", in_sentences(&[&visible(&slip.message)]))
}

fn question_words(question: &PossibleDuplicate) -> String {
    let other = match (&question.file, question.other_line) {
        (Some(file), _) => format!("{} ({})", question.other, visible(file)),
        (None, Some(line)) => format!("{} (line {line})", question.other),
        (None, None) => question.other.clone(),
    };
    format!("  line {}: {}: possible duplicate of {other}", question.line, question.row)
}

/// Lists the remarks, one per line.
pub(crate) fn remarks(remarks: &[Remark]) -> String {
    let words = |remark: &Remark| {
        let line = remark.line.map(|line| format!("line {line}: ")).unwrap_or_default();
        format!("  {line}{}", visible(&remark.message))
    };
    first(remarks.iter().map(words), remarks.len()).map(|line| line + "\n").collect()
}

/// Returns the first lines of a list, and the number of the others.
fn first(lines: impl Iterator<Item = String>, all: usize) -> impl Iterator<Item = String> {
    let rest = all.saturating_sub(MOST_LINES);
    lines.take(MOST_LINES).chain((rest > 0).then(|| format!("  and {} more", thousands(rest as i64))))
}

/// Describes the result of a dry run.
pub(crate) fn would_import(imported: &[Imported], look: TextStyle) -> String {
    let sentences: String = imported.iter().map(|of| hanging(look, &sentence(of, false), "  ")).collect();
    format!("{sentences}Nothing was written.\n")
}

/// Describes the result, the state of the exit sites, and the way to undo it.
pub(crate) fn imported(imported: &[Imported], rows: &[Row], entered_at: &str, look: TextStyle) -> String {
    let mut out = String::new();
    for of in imported {
        out.push_str(&hanging(look, &sentence(of, true), "  "));
        let own: Vec<&Row> = rows.iter().filter(|row| row.patient() == of.code).collect();
        for row in &own {
            let exit = row.exit().filter(|_| own.len() > 1).map(|exit| format!(" {}", visible(exit)));
            let exit = exit.unwrap_or_default();
            out.push_str(&hanging(look, &format!("{}{exit}: {}", of.code, standing(row)), "  "));
        }
    }
    let files: Vec<&String> = imported.iter().flat_map(|of| &of.files).collect();
    if !files.is_empty() {
        out.push_str(&hanging(look, "To take one back: `exitsite void FILE --why \"…\"`, where FILE is one of", "  "));
        files.iter().take(MOST_FILES).for_each(|file| out.push_str(&format!("  {file}\n")));
        if files.len() > MOST_FILES {
            let rest = files.len() - MOST_FILES;
            out.push_str(&hanging(look, &format!("  and {rest} more, all with {entered_at} under [entered]"), "    "));
        }
    }
    let added: Vec<&String> = imported.iter().flat_map(|of| &of.added_to).collect();
    if !added.is_empty() {
        out.push_str("Added to these records, each with an [[amended]] row (see `git diff`):\n");
        first(added.iter().map(|file| format!("  {file}")), added.len()).for_each(|line| out.push_str(&(line + "\n")));
    }
    out
}

fn sentence(of: &Imported, is_done: bool) -> String {
    let code = &of.code;
    let records = count(of.records() as i64, "record");
    let mut parts = Vec::new();
    match of.days {
        Some((from, through)) => {
            let kinds: Vec<String> = of.kinds.iter().map(|(kind, n)| kinds(*kind, *n)).collect();
            let begin = if is_done { "Imported" } else { "Would import" };
            let days = if from == through { from.to_string() } else { format!("{from} to {through}") };
            parts.push(format!("{begin} {records} for {code}, {days}: {}", kinds.join(", ")));
        }
        None => parts.push(format!("Nothing new for {code}")),
    }
    if !of.added_to.is_empty() {
        parts.push(format!("added to {} on file", count(of.added_to.len() as i64, "record")));
    }
    parts.push(format!("already on file: {}", of.on_file));
    parts.push(format!("not filled in: {}", of.not_filled_in));
    match of.log {
        Some((days, true)) => parts.push(format!("log of {} to {} already on file", days.from, days.to)),
        Some((days, false)) if is_done => parts.push(format!("log of {} to {} recorded", days.from, days.to)),
        Some((days, false)) => parts.push(format!("log of {} to {} would be recorded", days.from, days.to)),
        None => {}
    }
    format!("{}.", parts.join("; "))
}

/// "14 changes", "1 supply", "2 supplies".
fn kinds(kind: Kind, n: usize) -> String {
    match n {
        1 => format!("1 {kind}"),
        n => format!("{n} {}", kind.traits().several),
    }
}
