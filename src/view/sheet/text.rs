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

/// The width to which a column grows.
const MOST: usize = 6;

/// The columns left out on a narrow terminal, the first one first. The findings and the temperature are always printed.
const DROPPED: [&str; 8] =
    ["note", "reason", "left.anchor", "dressing_before", "found.anchor", "found.dressing", "by", "time"];

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
        let no_room = language.fill("page.no_room", &[("list", &left_out.join(", "))]);
        out.push_str(&hanging(look, &no_room, "  "));
    }
    out.push_str(&hanging(look, language.say("page.notes"), "  "));
    out
}

/// Returns the letter of a column.
fn letter(n: usize) -> char {
    char::from(b'A'.saturating_add(u8::try_from(n).unwrap_or(25).min(25)))
}

/// Returns the columns that fit next to the day, each with its width. Findings and times stay longest.
fn columns(look: TextStyle) -> Vec<(&'static Column, usize)> {
    let room = look.width.max(40) - DAY;
    let mut columns: Vec<(&'static Column, usize)> = COLUMNS.iter().map(|column| (column, width(column))).collect();
    let needed = |columns: &[(&Column, usize)]| columns.iter().map(|(_, width)| width + 1).sum::<usize>();
    for key in DROPPED {
        if needed(&columns) > room {
            columns.retain(|(column, _)| column.key != key);
        }
    }
    let mut left = room.saturating_sub(needed(&columns));
    // Room that is left widens the narrowest columns, a character at a time.
    while let Some((_, width)) = columns.iter_mut().filter(|(_, width)| *width < MOST).min_by_key(|(_, width)| *width) {
        if left == 0 {
            break;
        }
        (*width, left) = (*width + 1, left - 1);
    }
    if let Some((_, width)) = columns.iter_mut().find(|(column, _)| column.key == "note") {
        *width += left.min(20);
    }
    columns
}

/// Returns the minimum width of a column: of an answer by its number, a person, a time, a reason, or a measure.
fn width(column: &Column) -> usize {
    match column.key {
        "note" => 6,
        "time" | "reason" | "site.temperature_c" => 5,
        "by" | "site.redness_mm" => 3,
        _ => 2,
    }
}

fn row(day: &str, cells: impl Iterator<Item = String>) -> String {
    let cells: String = cells.map(|cell| format!("|{cell}")).collect();
    format!("{}\n", format!("{:DAY$}{cells}", cut(day, DAY)).trim_end())
}
