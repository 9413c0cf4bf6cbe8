//! Reports as text and as JSON: the only door to the table and the diagnostics libraries.

mod alert;
mod audit;
pub(crate) mod change;
mod check;
pub(crate) mod day;
pub(crate) mod consequence;
pub(crate) mod contact;
pub(crate) mod doubt;
mod due;
pub(crate) mod entry;
pub(crate) mod event;
pub(crate) mod export;
mod grade;
mod handoff;
mod html;
mod history;
mod import;
mod infection;
mod json;
mod missed;
mod policy;
pub(crate) mod round;
mod sheet;
mod show;
mod signals;
mod supplies;
mod svg;
mod table;
mod teaching;
pub(crate) mod words;

pub(crate) use alert::{AlertWords, counted, heartbeat, not_alerted, overdue_on_file};
pub(crate) use audit::{
    audit, audit_external, audit_mark, audit_page, external_mark, external_page, pool, pool_mark, pool_page,
};
pub(crate) use check::{against, check, explain, explain_all, fresh};
pub(crate) use contact::contacts;
pub(crate) use due::{census, due, due_mark, due_page};
pub(crate) use grade::grade;
pub(crate) use handoff::{handoff, handoff_mark, handoff_page};
pub(crate) use history::history;
pub(crate) use import::{imported, not_imported, remarks, would_import};
pub(crate) use json::{json, line as json_line};
pub(crate) use missed::missed;
pub(crate) use policy::policy;
pub(crate) use sheet::{
    CALENDAR_MARK, Language, calendar, due_days, rows as sheet_rows, sheet, sheet_mark, sheet_page,
};
pub(crate) use show::{show, show_mark, show_page};
pub(crate) use signals::signals;
pub(crate) use supplies::supplies;
pub(crate) use teaching::{checklist, teaching, unmet};

use std::collections::BTreeMap;

use crate::event::Signal;
use crate::report::Unusable;
use crate::text::visible;
use crate::word::Word;
use unicode_width::UnicodeWidthStr;

/// The width of the text, and whether the terminal shows color.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct TextStyle {
    /// Width in columns.
    pub width: usize,
    /// True if color is wanted; it never carries meaning alone.
    pub color: bool,
}

/// The line that lists signals of today that are turned off; `None` if there are none.
fn off_words(off: &BTreeMap<String, String>) -> Option<String> {
    let each: Vec<String> = off.iter().map(|(name, why)| off_word(name, why)).collect();
    (!each.is_empty()).then(|| format!("Signals for today turned off by the policy: {}", each.join(", ")))
}

/// Names a signal that is turned off, with the reason.
fn off_word(name: &str, why: &str) -> String {
    let name = Signal::from_word(name).map_or_else(|| visible(name), |signal| words::signal(signal).to_owned());
    format!("{name} ({})", visible(why))
}

/// The line that lists signals that are unknown for every patient; `None` if all are known.
fn not_known_words(signals: &[Signal]) -> Option<String> {
    let names: Vec<&str> = signals.iter().map(|signal| words::signal(*signal)).collect();
    (!names.is_empty()).then(|| format!("Signals not known, because a file above cannot be read: {}", names.join(", ")))
}

/// Bold on a terminal; it never carries meaning alone.
fn bold(text: &str, look: TextStyle) -> String {
    if look.color { format!("\u{1b}[1m{text}\u{1b}[0m") } else { text.to_owned() }
}

/// Renders a table of texts.
fn table(look: TextStyle, heads: &[&str], rows: Vec<Vec<String>>) -> String {
    table::CellTable::of(heads, rows.into_iter().map(|row| row.into_iter().map(table::Cell::Text).collect())).text(look)
}

/// Wraps a paragraph to the width.
fn paragraph(look: TextStyle, text: &str) -> String {
    hanging(look, text, "")
}

/// A paragraph with a hanging indent.
fn hanging(look: TextStyle, text: &str, indent: &str) -> String {
    textwrap::fill(text, wrapping(look, text).subsequent_indent(indent)) + "\n"
}

/// Sentences that fit the width, each line with its own indentation and a hanging indent below it.
pub(crate) fn sentences(text: &str, look: TextStyle) -> String {
    let line = |line: &str| {
        if line.trim_start().starts_with("exitsite ") {
            return format!("{}\n", command_line(line, look));
        }
        let indent = line.len() - line.trim_start().len();
        hanging(look, line, &" ".repeat(indent + 2))
    };
    text.lines().map(line).collect()
}

/// Renders a command to copy: on one line if it fits, else continued after a backslash, so that a narrow terminal breaks no word
/// of it and the shell reads one command.
pub(crate) fn command_line(line: &str, look: TextStyle) -> String {
    // A substitution has quotes inside quotes.
    if line.width() <= look.width || line.contains("$(") {
        return line.to_owned();
    }
    let indent = " ".repeat(line.len() - line.trim_start().len());
    let mut lines: Vec<String> = Vec::new();
    let mut last = indent.clone();
    for word in shell_words(line.trim_start()) {
        let is_first = last.trim().is_empty();
        let left = look.width.saturating_sub(last.width() + 1 + word.width());
        if is_first || left >= CONTINUED.len() {
            last.push_str(if is_first { "" } else { " " });
        } else {
            lines.push(format!("{last}{CONTINUED}"));
            last = format!("{indent}    ");
        }
        last.push_str(&word);
    }
    lines.push(last);
    lines.join("\n")
}

/// The end of a line that the next one continues.
const CONTINUED: &str = " \\";

/// The parts of a command between which it may be continued: its words, each with its quotes, and a flag with its value.
fn shell_words(command: &str) -> Vec<String> {
    let (mut quote, mut is_escaped): (Option<char>, bool) = (None, false);
    let words = command.split(move |c: char| {
        let was_escaped = std::mem::take(&mut is_escaped);
        match (quote, c) {
            _ if was_escaped => {}
            (None | Some('"'), '\\') => is_escaped = true,
            (None, '\'' | '"') => quote = Some(c),
            (Some(open), c) if open == c => quote = None,
            _ => {}
        }
        c == ' ' && quote.is_none() && !was_escaped
    });
    let mut parts: Vec<String> = Vec::new();
    for word in words {
        match parts.last_mut().filter(|last| last.starts_with("--") && !last.contains(' ') && !word.starts_with("--")) {
            Some(flag) => *flag = format!("{flag} {word}"),
            None => parts.push(word.to_owned()),
        }
    }
    parts
}

/// Line breaking: at spaces only. A code is never broken at its hyphen, a path never at all, and a command in backticks
/// stays on one line, however long: a part of it could be a different command.
fn wrapping<'a>(look: TextStyle, text: &str) -> textwrap::Options<'a> {
    textwrap::Options::new(look.width.max(20))
        .word_splitter(textwrap::WordSplitter::NoHyphenation)
        .word_separator(textwrap::WordSeparator::Custom(words))
        .break_words(!text.contains(['/', '`']))
}

/// The words of a line with the spaces after them; a command in backticks is one word.
fn words(line: &str) -> Box<dyn Iterator<Item = textwrap::core::Word<'_>> + '_> {
    let mut rest = line;
    Box::new(std::iter::from_fn(move || {
        let (word, after) = rest.split_at(end_of_word(rest));
        rest = after;
        (!word.is_empty()).then(|| textwrap::core::Word::from(word))
    }))
}

/// The end of the first word of a line, including the spaces after it.
fn end_of_word(line: &str) -> usize {
    let is_command = |text: &str| ["git ", "exitsite "].iter().any(|name| text.starts_with(name)) && text.contains('`');
    let (mut is_over, mut is_in_command) = (false, false);
    for (at, c) in line.char_indices() {
        match c {
            ' ' if !is_in_command => is_over = true,
            _ if is_over => return at,
            // A backtick after a backslash belongs to the command.
            '`' if is_in_command && line[..at].ends_with('\\') => {}
            '`' => is_in_command = !is_in_command && is_command(&line[at + 1..]),
            _ => {}
        }
    }
    line.len()
}

/// The unreadable files, at the top of a report.
fn unusable(look: TextStyle, files: &[Unusable]) -> String {
    if files.is_empty() {
        return String::new();
    }
    let mut out = paragraph(look, "This report is incomplete. These files could not be read:");
    for file in files {
        let place = file.line.map_or(visible(&file.file), |line| format!("{}:{line}", visible(&file.file)));
        out.push_str(&hanging(look, &format!("  {place}: {}", visible(&file.message)), "    "));
    }
    out.push('\n');
    out
}

#[cfg(test)]
mod tests {
    use super::{TextStyle, hanging};

    #[test]
    fn a_path_and_a_command_are_never_broken() {
        fn check(width: usize, text: &str, lines: &[&str]) {
            let shown = hanging(TextStyle { width, color: false }, text, "  ");
            assert_eq!(shown.lines().collect::<Vec<_>>(), lines);
        }
        check(20, "answered by patients/P-022/2026 since", &["answered by", "  patients/P-022/2026", "  since"]);
        check(
            20,
            "see patients/P-022/2026/2026-11-23T2140-contact.toml, too",
            &["see", "  patients/P-022/2026/2026-11-23T2140-contact.toml,", "  too"],
        );
        check(
            24,
            "put it back with `git checkout fa3b0b5 -- a/b.toml`; then go on",
            &["put it back with", "  `git checkout fa3b0b5 -- a/b.toml`;", "  then go on"],
        );
        check(
            21,
            "`exitsite check` says a ` that `opens nothing",
            &["`exitsite check` says", "  a ` that `opens", "  nothing"],
        );
        check(
            24,
            "write `exitsite amend a/b.toml --set \"note=a \\` b\"` then",
            &["write", "  `exitsite amend a/b.toml --set \"note=a \\` b\"`", "  then"],
        );
        check(20, "averylongwordwithoutanyend", &["averylongwordwitho", "  utanyend"]);
    }
}
