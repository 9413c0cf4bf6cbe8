//! A household's log as a page to print: one sheet of paper for each exit site, US Letter or A4.

use super::language::Language;
use crate::entry::paper::{COLUMNS, Column};
use crate::report::sheet::{Exit, Log, LogDay};
use crate::schedule::DayPlan;
use crate::view::html::Markup;
use crate::view::sheet::words;

/// The columns of the records that are a box for each answer on paper.
const BOXES: [&str; 5] = ["site.drainage", "site.swelling", "site.odor", "site.warmth", "site.pain"];

/// The columns from left to right, the day and what was done left out.
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

/// The characters on a line of 9 points, on a bold one, and on one of the two columns of the box.
const LINE: usize = 116;
const BOLD_LINE: usize = 104;
const CALL_LINE: usize = 56;

/// The height of a line of 9 points, of US Letter inside its margins, and of everything that is there on each sheet.
const LINE_MM: f64 = 3.9;
const PAGE_MM: f64 = 266.0;
const FRAME_MM: f64 = 75.0;

/// The least and the greatest height of a line of the table.
const LEAST_ROW_MM: f64 = 4.0;
const MOST_ROW_MM: f64 = 5.8;

/// The sheets of a log.
pub(super) fn log(log: &Log, language: &Language) -> Vec<Markup> {
    log.exits.iter().map(|exit| sheet(log, exit, language)).collect()
}

fn sheet(log: &Log, exit: &Exit, language: &Language) -> Markup {
    let list = |class: &str, lines: Vec<Markup>| {
        Markup::element("ul", &[("class", class)], lines.into_iter().map(Markup::on_a_line)).on_a_line()
    };
    let call = words::call_now(log, language).into_iter().map(|line| Markup::of("li", "", line)).collect();
    let call = [
        Markup::of("h2", "", language.say("call.title")),
        list("", call),
        Markup::of("p", "number", words::numbers(log, language)),
    ];
    let how = words::how(log, exit, language);
    let row_height = format!("--row: {:.2}mm", row_height(log, exit, language, &how));
    let how = how.into_iter().map(|line| Markup::of("li", "", line)).collect();
    let rows = exit.days.iter().map(|day| row(day, language));
    let table = [widths(), Markup::element("thead", &[], head(language)), Markup::element("tbody", &[], rows)];
    let table = table.map(Markup::on_a_line);
    let parts = [
        Markup::element(
            "h1",
            &[],
            [Markup::text(words::title(log, language)), Markup::of("small", "", words::site(log, exit, language))],
        ),
        Markup::element("div", &[("class", "call")], call.map(Markup::on_a_line)),
        list("how", how),
        Markup::of("p", "who", words::who(log, language)),
        Markup::of("p", "legend", legend(language)),
        Markup::element("table", &[("style", &row_height)], table),
        Markup::of("p", "notes", language.say("page.notes")),
        Markup::of("p", "caution", language.say("page.caution")),
    ];
    Markup::element("section", &[("class", "sheet")], parts.map(Markup::on_a_line)).on_a_line()
}

/// The height of a line of the table, so that a month fits on a sheet of US Letter: what the text above it leaves.
fn row_height(log: &Log, exit: &Exit, language: &Language, how: &[String]) -> f64 {
    let lines = |text: &str, on_a_line: usize| text.chars().count().div_ceil(on_a_line);
    let call: usize = words::call_now(log, language).iter().map(|line| lines(line, CALL_LINE)).sum();
    let how = lines(&how.join(" "), LINE);
    let bold = lines(&words::who(log, language), BOLD_LINE) + lines(&legend(language), BOLD_LINE);
    let text = (call.div_ceil(2) + how + bold) as f64 * LINE_MM;
    ((PAGE_MM - FRAME_MM - text) / exit.days.len().max(1) as f64).clamp(LEAST_ROW_MM, MOST_ROW_MM)
}

/// The answers that are written as a number.
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

/// The names of the columns, and below them the answer of each box.
fn head(language: &Language) -> [Markup; 2] {
    let cell = |text: &str, class: &str, span: usize| {
        let span = span.to_string();
        Markup::element("th", &[("scope", "col"), ("class", class), ("colspan", &span)], [Markup::text(text)])
    };
    let upright = |text: &str, class: &str| {
        let text = [Markup::of("span", "", text)];
        Markup::element("th", &[("scope", "col"), ("class", &format!("{class} up")), ("colspan", "1")], text)
    };
    let (mut names, mut answers) = (vec![cell("", "day", 1)], vec![cell(language.say("column.day"), "day", 1)]);
    for name in ["column.change", "column.shower"] {
        names.push(cell(language.say(name), "", 2));
        answers.push(cell("✓", "tick", 1));
        answers.push(upright(language.say("column.time"), "time"));
    }
    for column in columns() {
        let name = words::heading(column.key, language);
        if is_boxes(column) {
            let all = words::answers(column.key, language);
            names.push(cell(name, "", all.len()));
            let numbered = all.iter().enumerate().map(|(n, answer)| format!("{} {answer}", n + column.first_number()));
            answers.extend(numbered.map(|answer| upright(&answer, "tick")));
        } else {
            names.push(cell("", "", 1));
            answers.push(upright(name, &class(column)));
        }
    }
    [Markup::element("tr", &[("class", "names")], names), Markup::element("tr", &[("class", "answers")], answers)]
}

/// The width of each column, by its class.
fn widths() -> Markup {
    let of = |column: &'static Column| match column.answers.len() {
        n if is_boxes(column) => vec!["tick".to_owned(); n],
        _ => vec![class(column)],
    };
    let first = ["day", "tick", "time", "tick", "time"].map(str::to_owned);
    let classes = first.into_iter().chain(columns().flat_map(of));
    Markup::element("colgroup", &[], classes.map(|class| Markup::empty("col", &class)))
}

fn class(column: &Column) -> String {
    match column.key {
        "site.redness_mm" | "site.temperature_c" => "measure".to_owned(),
        _ => "digit".to_owned(),
    }
}

fn row(day: &LogDay, language: &Language) -> Markup {
    let state = match day.plan {
        Some(DayPlan::ChangeDue) => "due",
        _ if words::is_out(day) => "out",
        _ => "",
    };
    let mark = words::plan(day, language);
    let name = format!("{} {mark}", language.weekday_and_day(day.day));
    let name = Markup::element("th", &[("scope", "row")], [Markup::text(name.trim_end())]);
    let square = |class: &str| {
        let inner = if words::is_out(day) { None } else { Some(Markup::element("span", &[("class", "box")], [])) };
        Markup::element("td", &[("class", class)], inner)
    };
    let empty = || Markup::element("td", &[], []);
    let mut cells = vec![name, square("tick"), empty()];
    if day.no_showers && !words::is_out(day) {
        cells.extend([Markup::of("td", "tick", language.say("plan.no_shower")), empty()]);
    } else {
        cells.extend([square("tick"), empty()]);
    }
    for column in columns() {
        if is_boxes(column) {
            let answers = words::answers(column.key, language).len();
            cells.extend((0..answers).map(|_| square("tick")));
        } else {
            cells.push(empty());
        }
    }
    let attributes: &[(&str, &str)] = if state.is_empty() { &[] } else { &[("class", state)] };
    Markup::element("tr", attributes, cells).on_a_line()
}
