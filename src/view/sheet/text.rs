//! A household's log as text: a line for each day, with room to write where a printer gives it.

use super::words;
use crate::report::sheet::{Column, Exit, Log, LogDay, columns};
use crate::schedule::DayPlan;
use crate::text::{cut, visible};
use crate::view::{Look, hanging};

/// So many lines without a day.
const SPARE: usize = 5;

/// So wide are day and plan.
const DAY_AND_PLAN: usize = 12;

/// The least that a column is wide; the last one gets what is left.
const LEAST: usize = 4;

pub(super) fn log(log: &Log, look: Look) -> String {
    log.exits.iter().map(|exit| exit_log(log, exit, look)).collect::<Vec<_>>().join("\n")
}

fn exit_log(log: &Log, exit: &Exit, look: Look) -> String {
    let mut out = format!("Driveline exit-site log {}, {}\n", log.patient, words::month(log));
    let site = format!("exit site {}, {} · {}", visible(&exit.exit), exit.at, visible(&log.program));
    out.push_str(&hanging(look, &site, "  "));
    let notes = [words::intolerances(log), words::showers(log, exit), Some(words::due_days(log, exit))];
    let notes = notes.into_iter().flatten().chain([words::same_day(log), words::ROWS.to_owned()]);
    for note in notes {
        out.push_str(&hanging(look, &visible(&note), "  "));
    }
    let people: Vec<String> =
        words::people(log).iter().enumerate().map(|(n, code)| format!("{} {}", n + 1, visible(code))).collect();
    out.push_str(&hanging(look, &format!("Who: {}, or write the code.", people.join(", ")), "  "));
    out.push_str("Your program's number: ______________________\n\n");
    let widths = widths(look);
    let heads = widths.iter().map(|(column, width)| format!("{:width$}", column.short));
    out.push_str(&line("day", "plan", heads));
    for day in &exit.days {
        let cells = widths.iter().map(|(column, width)| match column.key {
            _ if words::is_out(day) => " ".repeat(*width),
            "dressing_before" if day.no_showers => format!("{:width$}", "-no-"),
            _ => "_".repeat(*width),
        });
        out.push_str(&line(&day.day.format("%a %-d").to_string(), short_plan(day), cells));
    }
    for _ in 0..SPARE {
        out.push_str(&line("______", "", widths.iter().map(|(_, width)| "_".repeat(*width))));
    }
    out.push('\n');
    out.push_str(&hanging(look, "What each column takes; `import` reads it back under the key behind it:", "  "));
    for (column, _) in &widths {
        let takes = column.words().map(|words| format!(": {}", words.join(", "))).unwrap_or_default();
        let note = format!("{} = {} ({}){takes}", column.short, column.heading, column.key);
        out.push_str(&hanging(look, &note, "    "));
    }
    let marks = marks(exit);
    if !marks.is_empty() {
        out.push_str(&hanging(look, &format!("plan = {}", marks.join("; ")), "    "));
    }
    let left_out: Vec<&str> = columns().iter().skip(widths.len()).map(|column| column.key).collect();
    if !left_out.is_empty() {
        out.push_str(&hanging(look, &format!("Left out, for want of width: {}.", left_out.join(", ")), "  "));
    }
    out.push_str(&hanging(look, words::CODES_ONLY, "  "));
    out
}

/// The columns that fit beside day and plan, each with its width.
fn widths(look: Look) -> Vec<(Column, usize)> {
    let mut left = look.width.max(40) - DAY_AND_PLAN;
    let mut widths: Vec<(Column, usize)> = Vec::new();
    for column in columns() {
        let width = column.short.len().max(LEAST);
        if left <= width {
            break;
        }
        left -= width + 1;
        widths.push((*column, width));
    }
    if let Some((column, width)) = widths.last_mut()
        && column.key == "note"
    {
        *width += left.min(20);
    }
    widths
}

fn line(day: &str, plan: &str, cells: impl Iterator<Item = String>) -> String {
    let cells: String = cells.map(|cell| format!("|{cell}")).collect();
    format!("{}\n", format!("{:6} {:4} {cells}", cut(day, 6), plan).trim_end())
}

/// What the marks mean that stand in the plan or in a cell of this sheet.
fn marks(exit: &Exit) -> Vec<&'static str> {
    let has = |is: &dyn Fn(&LogDay) -> bool| exit.days.iter().any(is);
    let all = [
        ("due: change due", has(&|day| short_plan(day) == "due")),
        ("file: on file", has(&|day| short_plan(day) == "file")),
        ("away: nothing is expected while elsewhere", has(&|day| short_plan(day) == "away")),
        ("-: nothing is expected before the beginning or after the end", has(&|day| short_plan(day) == "-")),
        ("?: not known", has(&|day| short_plan(day) == "?")),
        ("-no-: no showers, by order", has(&|day| day.no_showers && !words::is_out(day))),
    ];
    all.into_iter().filter_map(|(says, is_there)| is_there.then_some(says)).collect()
}

fn short_plan(day: &LogDay) -> &'static str {
    match day.plan {
        Some(DayPlan::ChangeDue) => "due",
        Some(DayPlan::OnFile) => "file",
        Some(DayPlan::Free) => "",
        Some(DayPlan::NotBegun | DayPlan::Ended) => "-",
        Some(DayPlan::Elsewhere) => "away",
        None => "?",
    }
}
