//! A household's log as a page to print: one sheet of paper per exit site, US Letter or A4.

use maud::{Markup, html};

use super::language::Language;
use crate::entry::paper::{COLUMNS, Column};
use crate::report::sheet::{Exit, LogDay, MonthLog};
use crate::schedule::DayPlan;
use crate::view::sheet::words;

/// The record keys with one box per answer on paper.
const BOXES: [&str; 5] = ["site.drainage", "site.swelling", "site.odor", "site.warmth", "site.pain"];

/// The columns from left to right, except the day and the tick boxes for change and shower.
const ORDER: [&str; 11] = [
    "by",
    "found.dressing",
    "found.anchor",
    "left.anchor",
    "site.drainage",
    "site.redness_mm",
    "site.swelling",
    "site.odor",
    "site.warmth",
    "site.pain",
    "site.temperature_c",
];

/// Characters per 9-point line, per bold line, and per line in one of the two columns of the box.
const LINE: usize = 116;
const BOLD_LINE: usize = 104;
const CALL_LINE: usize = 56;

/// Heights of a 9-point line, of US Letter inside its margins, and of the fixed content of each sheet.
const LINE_MM: f64 = 3.9;
const PAGE_MM: f64 = 266.0;
const FRAME_MM: f64 = 75.0;

/// The minimum and maximum height of a table row.
const LEAST_ROW_MM: f64 = 4.0;
const MOST_ROW_MM: f64 = 5.8;

/// Renders the sheets of a log.
pub(super) fn log(log: &MonthLog, language: &Language) -> Markup {
    html! { @for exit in &log.exits { (sheet(log, exit, language)) "\n" } }
}

fn sheet(log: &MonthLog, exit: &Exit, language: &Language) -> Markup {
    let how = words::how(log, exit, language);
    let row_height = format!("--row: {:.2}mm", row_height(log, exit, language, &how));
    html! {
        section class="sheet" {
            h1 { (words::title(log, language)) small { (words::site(log, exit, language)) } } "\n"
            div class="call" {
                h2 { (language.say("call.title")) }
                ul { @for line in words::call_now(log, language) { li { (line) } "\n" } }
                p class="number" { (words::numbers(log, language)) }
            } "\n"
            ul class="how" { @for line in &how { li { (line) } "\n" } } "\n"
            p class="who" { (words::who(log, language)) } "\n"
            p class="legend" { (legend(language)) } "\n"
            table style=(row_height) {
                (widths()) "\n"
                thead { (head(language)) } "\n"
                tbody { @for day in &exit.days { (row(day, language)) "\n" } }
            } "\n"
            p class="notes" { (language.say("page.notes")) } "\n"
            p class="caution" { (language.say("page.caution")) } "\n"
        }
    }
}

/// Computes the height of a table row from the space below the text, so that a month fits on a sheet of US Letter.
fn row_height(log: &MonthLog, exit: &Exit, language: &Language, how: &[String]) -> f64 {
    let lines = |text: &str, on_a_line: usize| text.chars().count().div_ceil(on_a_line);
    let call: usize = words::call_now(log, language).iter().map(|line| lines(line, CALL_LINE)).sum();
    let how = lines(&how.join(" "), LINE);
    let bold = lines(&words::who(log, language), BOLD_LINE) + lines(&legend(language), BOLD_LINE);
    let text = (call.div_ceil(2) + how + bold) as f64 * LINE_MM;
    ((PAGE_MM - FRAME_MM - text) / exit.days.len().max(1) as f64).clamp(LEAST_ROW_MM, MOST_ROW_MM)
}

/// Lists the answers that are entered as numbers.
fn legend(language: &Language) -> String {
    let columns = COLUMNS.iter().filter(|column| ["found.dressing", "found.anchor"].contains(&column.key));
    let one = |column: &Column| {
        let name = words::heading(column.key, language);
        format!("{name}: {}.", words::numbered(column.key, column.first_number(), language))
    };
    columns.map(one).collect::<Vec<_>>().join(" ")
}

fn columns() -> impl Iterator<Item = &'static Column> {
    ORDER.iter().filter_map(|key| COLUMNS.iter().find(|column| column.key == *key))
}

fn is_boxes(column: &Column) -> bool {
    BOXES.contains(&column.key)
}

/// Renders the column names, and below them the answer of each box.
fn head(language: &Language) -> Markup {
    let boxes = |column: &'static Column| is_boxes(column).then(|| words::answers(column.key, language));
    html! {
        tr class="names" {
            (name("", "day", 1))
            @for key in ["column.change", "column.shower"] { (name(language.say(key), "", 2)) }
            @for column in columns() {
                @match boxes(column) {
                    Some(answers) => (name(words::heading(column.key, language), "", answers.len())),
                    None => (name("", "", 1)),
                }
            }
        }
        tr class="answers" {
            (name(language.say("column.day"), "day", 1))
            @for _ in ["column.change", "column.shower"] {
                (name("✓", "tick", 1)) (upright(language.say("column.time"), "time"))
            }
            @for column in columns() {
                @match boxes(column) {
                    Some(answers) => @for (n, answer) in answers.iter().enumerate() {
                        (upright(&format!("{} {answer}", n + column.first_number()), "tick"))
                    },
                    None => (upright(words::heading(column.key, language), class(column))),
                }
            }
        }
    }
}

fn name(text: &str, class: &str, columns: usize) -> Markup {
    html! { th scope="col" class=(class) colspan=(columns) { (text) } }
}

fn upright(text: &str, class: &str) -> Markup {
    html! { th scope="col" class={ (class) " up" } colspan="1" { span { (text) } } }
}

/// Sets the column widths, by class.
fn widths() -> Markup {
    let of = |column: &'static Column| match column.answers.len() {
        n if is_boxes(column) => vec!["tick"; n],
        _ => vec![class(column)],
    };
    let classes = ["day", "tick", "time", "tick", "time"].into_iter().chain(columns().flat_map(of));
    html! { colgroup { @for class in classes { col class=(class); } } }
}

fn class(column: &Column) -> &'static str {
    match column.key {
        "site.redness_mm" | "site.temperature_c" => "measure",
        _ => "digit",
    }
}

fn row(day: &LogDay, language: &Language) -> Markup {
    let is_out = words::is_out(day);
    let state = match day.plan {
        Some(DayPlan::ChangeDue) => Some("due"),
        _ => is_out.then_some("out"),
    };
    let name = format!("{} {}", language.weekday_and_day(day.day), words::plan(day, language));
    let square = html! { td class="tick" { @if !is_out { span class="box" {} } } };
    let boxes = |column| if is_boxes(column) { words::answers(column.key, language).len() } else { 0 };
    html! {
        tr class=[state] {
            th scope="row" { (name.trim_end()) }
            (square) td {}
            @if day.no_showers && !is_out { td class="tick" { (language.say("plan.no_shower")) } } @else { (square) }
            td {}
            @for column in columns() {
                @match boxes(column) {
                    0 => td {},
                    n => @for _ in 0..n { (square) },
                }
            }
        }
    }
}
