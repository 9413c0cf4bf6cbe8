//! A household's log as a page to print: one sheet of paper for each exit site, US Letter or A4.

use crate::report::Report;
use crate::report::sheet::{Exit, Log, LogDay, SheetReport, columns};
use crate::schedule::DayPlan;
use crate::view::html::Markup;
use crate::view::sheet::words;

/// So many rows fit on a sheet of paper; those that no day needs are spare.
const ROWS: usize = 35;

/// So many characters of the sentences above the table fit on a line, and so many lines leave all rows.
const LINE: usize = 150;
const LINES: usize = 4;

/// The sheets of a log.
pub(super) fn log(report: &Report<SheetReport>, log: &Log) -> Vec<Markup> {
    log.exits.iter().map(|exit| sheet(report, log, exit)).collect()
}

fn sheet(report: &Report<SheetReport>, log: &Log, exit: &Exit) -> Markup {
    let title = format!("Driveline exit-site log {}, {}", log.patient, words::month(log));
    let site = format!("   exit site {}, {} · {}", exit.exit, exit.at, log.program);
    let notes = notes(report, log, exit);
    let spare = ROWS.saturating_sub(exit.days.len()).saturating_sub(rows_lost(log, &notes, title.len() + site.len()));
    let who = who(log);
    let rows = exit.days.iter().map(|day| row(log, day)).chain((0..spare).map(|_| spare_row(log)));
    Markup::element(
        "section",
        &[("class", "sheet")],
        [
            Markup::element("h1", &[], [Markup::text(title), Markup::of("small", "", site)]).on_a_line(),
            Markup::element("ul", &[], notes.iter().map(|note| Markup::of("li", "", note).on_a_line())).on_a_line(),
            Markup::element("p", &[("class", "who")], who).on_a_line(),
            Markup::element(
                "table",
                &[],
                [Markup::element("thead", &[], [head()]).on_a_line(), Markup::element("tbody", &[], rows).on_a_line()],
            )
            .on_a_line(),
            legend().on_a_line(),
            Markup::of("p", "caution", format!("{} {}", words::CODES_ONLY, report.caution)).on_a_line(),
        ],
    )
    .on_a_line()
}

/// How many spare rows give way to sentences, codes and headings that are longer than usual.
fn rows_lost(log: &Log, notes: &[String], heading: usize) -> usize {
    let lines = |characters: usize, on_a_line: usize| characters.div_ceil(on_a_line);
    let notes: usize = notes.iter().map(|note| lines(note.chars().count(), LINE)).sum();
    let codes: usize = words::people(log).iter().map(|code| code.len() + 7).sum();
    // These are written larger: the heading as two lines of a sentence, the codes beside room for a number.
    let larger = 2 * (lines(heading, 115) - 1) + 2 * (lines(codes + 80, 125) - 1);
    (notes + larger).saturating_sub(LINES).div_ceil(2)
}

fn notes(report: &Report<SheetReport>, log: &Log, exit: &Exit) -> Vec<String> {
    let unusable = report.unusable.first().map(|file| {
        let files = crate::text::count(report.unusable.len() as i64, "file");
        format!("Not complete: {files} of the records could not be used, the first {}.", file.file)
    });
    [
        unusable,
        words::intolerances(log),
        words::showers(log, exit),
        Some(words::due_days(log, exit)),
        Some(words::same_day(log)),
        Some(words::ROWS.to_owned()),
    ]
    .into_iter()
    .flatten()
    .collect()
}

/// Who is meant by which number, and room for whom to call.
fn who(log: &Log) -> Vec<Markup> {
    let mut who = vec![Markup::of("b", "", "Who: ")];
    for (n, code) in words::people(log).iter().enumerate() {
        who.push(Markup::of("span", "code", format!("{} = {code}", n + 1)));
        who.push(Markup::text("   "));
    }
    who.push(Markup::text("other: write the code   "));
    who.push(Markup::element("span", &[("class", "number")], [Markup::text("Your program's number: ")]));
    who
}

fn head() -> Markup {
    let cell = |heading: &str, key: &str, class: &str| {
        let name = [Markup::text(heading), Markup::of("small", "", key)];
        Markup::element("th", &[("scope", "col"), ("class", class)], name)
    };
    let plain = columns().iter().map(|column| cell(column.heading, column.key, &class(column.key)));
    let first = [cell("Day", "date", "day"), cell("Planned", "", "plan")];
    Markup::element("tr", &[], first.into_iter().chain(plain))
}

fn class(key: &str) -> String {
    key.replace('.', "-")
}

fn row(log: &Log, day: &LogDay) -> Markup {
    let state = match day.plan {
        Some(DayPlan::ChangeDue) => "due",
        _ if words::is_out(day) => "out",
        _ => "",
    };
    let name = Markup::element("th", &[("scope", "row")], [Markup::text(day.day.format("%a %-d").to_string())]);
    let plan = Markup::element("td", &[("class", "plan")], [Markup::of("span", "", words::plan(day))]);
    let cells = columns().iter().map(|column| match column.key {
        _ if words::is_out(day) => Markup::element("td", &[], []),
        "dressing_before" if day.no_showers => Markup::of("td", "no", "no shower"),
        key => cell(log, key),
    });
    let attributes: &[(&str, &str)] = if state.is_empty() { &[] } else { &[("class", state)] };
    Markup::element("tr", attributes, [name, plan].into_iter().chain(cells)).on_a_line()
}

fn spare_row(log: &Log) -> Markup {
    let name = Markup::element("th", &[("scope", "row"), ("aria-label", "spare")], []);
    let cells = columns().iter().map(|column| cell(log, column.key));
    let plan = Markup::of("td", "plan", "spare");
    Markup::element("tr", &[], [name, plan].into_iter().chain(cells)).on_a_line()
}

/// A cell to write in; what can be ticked or circled stands in it.
fn cell(log: &Log, key: &str) -> Markup {
    match key {
        "kind" => {
            let choices = columns().iter().find(|column| column.key == key).and_then(|column| column.words());
            let choice = |word: &&str| {
                Markup::element("span", &[("class", "choice")], [Markup::element("i", &[], []), Markup::text(word)])
            };
            Markup::element("td", &[("class", "kind")], choices.unwrap_or_default().iter().map(choice))
        }
        "by" => {
            let people = words::people(log).len();
            // More than fit are written by hand.
            let numbers: Vec<String> = (1..=people).filter(|_| people <= 4).map(|n| n.to_string()).collect();
            Markup::of("td", "by", numbers.join(" "))
        }
        _ => Markup::element("td", &[], []),
    }
}

fn legend() -> Markup {
    let entry = |(columns, words): (String, String)| {
        Markup::element("li", &[], [Markup::of("b", "", format!("{columns}: ")), Markup::text(words)]).on_a_line()
    };
    Markup::element("ul", &[("class", "legend")], words::permitted().into_iter().map(entry))
}
