//! A household's log as text: one line per day, with as many columns as the width allows.

use super::language::Language;
use super::words;
use crate::entry::paper::{COLUMNS, Column};
use crate::report::sheet::{Exit, MonthLog};
use crate::text::{cut, visible};
use crate::view::{TextStyle, hanging};

/// The number of spare lines without a date.
const SPARE: usize = 3;

/// The width of the day column with its mark.
const DAY: usize = 9;

/// The widths of a column for a number, and of one for a time or a measure.
const NARROW: usize = 4;
const WIDE: usize = 6;

pub(super) fn log(log: &MonthLog, language: &Language, look: TextStyle) -> String {
    log.exits.iter().map(|exit| exit_log(log, exit, language, look)).collect::<Vec<_>>().join("\n")
}

fn exit_log(log: &MonthLog, exit: &Exit, language: &Language, look: TextStyle) -> String {
    let mut out = format!("{}\n", visible(&words::title(log, language)));
    let mut line = |text: &str, indent: &str| out.push_str(&hanging(look, &visible(text), indent));
    line(&words::site(log, exit, language), "  ");
    line("", "");
    line(&format!("{}:", language.say("call.title")), "");
    words::call_now(log, language).iter().for_each(|what| line(&format!("  - {what}"), "    "));
    line(&format!("  {}", words::numbers(log, language)), "    ");
    line("", "");
    words::how(log, exit, language).iter().for_each(|how| line(how, "  "));
    line(&words::who(log, language), "  ");
    line("", "");
    let columns = columns(look);
    for (n, (column, _)) in columns.iter().enumerate() {
        let answers = words::numbered(column.key, column.first_number(), language);
        let answers = if answers.is_empty() { answers } else { format!(": {answers}") };
        line(&format!("{} {}{answers}", letter(n), words::heading(column.key, language)), "    ");
    }
    line("", "");
    let heads = columns.iter().enumerate().map(|(n, (_, width))| format!("{:width$}", letter(n)));
    out.push_str(&row(language.say("column.day"), heads));
    for day in &exit.days {
        let name = format!("{} {}", language.weekday_and_day(day.day), words::plan(day, language));
        let cells = columns.iter().map(|(column, width)| match column.key {
            _ if words::is_out(day) => " ".repeat(*width),
            "dressing_before" if day.no_showers => format!("{:width$}", language.say("plan.no_shower")),
            _ => "_".repeat(*width),
        });
        out.push_str(&row(name.trim_end(), cells));
    }
    for _ in 0..SPARE {
        out.push_str(&row("______", columns.iter().map(|(_, width)| "_".repeat(*width))));
    }
    out.push('\n');
    let left_out = COLUMNS.iter().filter(|column| !columns.iter().any(|(kept, _)| kept.key == column.key));
    let left_out: Vec<&str> = left_out.map(|column| words::heading(column.key, language)).collect();
    if !left_out.is_empty() {
        out.push_str(&hanging(look, &format!("Not enough room for: {}.", left_out.join(", ")), "  "));
    }
    out.push_str(&hanging(look, language.say("page.notes"), "  "));
    out
}

/// Returns the letter of a column.
fn letter(n: usize) -> char {
    char::from(b'A'.saturating_add(u8::try_from(n).unwrap_or(25).min(25)))
}

/// Returns the columns that fit next to the day, each with its width.
fn columns(look: TextStyle) -> Vec<(&'static Column, usize)> {
    let mut left = look.width.max(40) - DAY;
    let mut columns: Vec<(&'static Column, usize)> = Vec::new();
    for column in &COLUMNS {
        let width = if column.answers.is_empty() && column.key != "by" { WIDE } else { NARROW };
        if left <= width {
            break;
        }
        left -= width + 1;
        columns.push((column, width));
    }
    if let Some((column, width)) = columns.last_mut()
        && column.key == "note"
    {
        *width += left.min(20);
    }
    columns
}

fn row(day: &str, cells: impl Iterator<Item = String>) -> String {
    let cells: String = cells.map(|cell| format!("|{cell}")).collect();
    format!("{}\n", format!("{:DAY$}{cells}", cut(day, DAY)).trim_end())
}
