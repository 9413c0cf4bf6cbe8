//! What a household's log says in sentences, the same on paper and on a terminal.

use chrono::NaiveDate;

use crate::event::Dressing;
use crate::report::sheet::{Column, Exit, Log, LogDay, Span, shared_words};
use crate::schedule::{Because, DayPlan};
use crate::text::{self, either};
use crate::word::Word;

/// What nobody may write on a sheet.
pub(super) const CODES_ONLY: &str = "Write codes, never names. No date of birth, no record number.";

/// Which row is meant.
pub(super) const ROWS: &str = "Write into the row of the date on the clock. A day with a shower and a change: mark both and write both times, or take a spare row and write its day.";

/// "November 2026".
pub(super) fn month(log: &Log) -> String {
    log.from.format("%B %Y").to_string()
}

/// What is planned for a day, in few letters; nothing where no change is due by the calendar.
pub(super) fn plan(day: &LogDay) -> &'static str {
    match (day.plan, day.because) {
        (Some(DayPlan::ChangeDue), Some(Because::Return)) => "due: back",
        (Some(DayPlan::ChangeDue), Some(Because::AfterShower)) => "due: shower",
        (Some(DayPlan::ChangeDue), Some(Because::Damage)) => "due: dressing",
        (Some(DayPlan::ChangeDue), _) => "change due",
        (Some(DayPlan::OnFile), _) => "on file",
        (Some(DayPlan::Free), _) => "",
        (Some(DayPlan::NotBegun), _) => "not begun",
        (Some(DayPlan::Elsewhere), _) => "away",
        (Some(DayPlan::Ended), _) => "ended",
        (None, _) => "not known",
    }
}

/// Whether nothing is expected on a day.
pub(super) fn is_out(day: &LogDay) -> bool {
    matches!(day.plan, Some(DayPlan::NotBegun | DayPlan::Elsewhere | DayPlan::Ended))
}

/// How the due days of an exit site come about, and what moves them.
pub(super) fn due_days(log: &Log, exit: &Exit) -> String {
    if !log.is_planned {
        return "Change due: not marked on this sheet, since a file of the records could not be used. Ask your program on which days a change is due.".to_owned();
    }
    let often = if exit.intervals.is_empty() { String::new() } else { format!(" {},", spans(log, &exit.intervals)) };
    let from = match exit.last_change {
        Some(last) => format!("from the last change on file, {last}"),
        None => "with no change on file yet".to_owned(),
    };
    let is_on_file = exit.days.iter().any(|day| day.plan == Some(DayPlan::OnFile));
    let on_file = if is_on_file { " Days \"on file\" need no entry." } else { "" };
    format!(
        "Change due:{often} planned {from}, as though each is made on its day; count on from one that is made earlier or later.{on_file}"
    )
}

/// What asks for a change on the same day, whatever is marked.
pub(super) fn same_day(log: &Log) -> String {
    let damaged: Vec<&str> =
        Dressing::ALL.iter().filter(|dressing| dressing.is_damaged()).map(|dressing| dressing.word()).collect();
    let within =
        |hours| if hours == 0 { "at once".to_owned() } else { format!("within {}", text::count(hours, "hour")) };
    format!(
        "Change the dressing on any day: after a shower or other water {}; when it is found {} {}.",
        within(log.after_shower_hours),
        either(&damaged),
        within(log.after_damage_hours)
    )
}

/// What is ordered about showers; nothing where nothing is.
pub(super) fn showers(log: &Log, exit: &Exit) -> Option<String> {
    if !exit.no_showers.is_empty() {
        return Some(format!("By order: {}.", spans(log, &exit.no_showers)));
    }
    exit.showers_from.map(|day| format!("Showers: usual from {day} on; ask your program before an earlier one."))
}

/// What is not tolerated; nothing where nothing is on file.
pub(super) fn intolerances(log: &Log) -> Option<String> {
    (!log.intolerances.is_empty()).then(|| format!("Not tolerated: {}.", log.intolerances.join(", ")))
}

/// Those who may have done it, each with the number that is written; `Patient::on_the_sheet` reads it back.
pub(super) fn people(log: &Log) -> Vec<String> {
    ["patient".to_owned()].into_iter().chain(log.caregivers.iter().cloned()).collect()
}

/// The permitted words: the columns, and what they take.
pub(super) fn permitted() -> Vec<(String, String)> {
    let row = |(columns, words): (Vec<Column>, Vec<&str>)| {
        let headings: Vec<&str> = columns.iter().map(|column| column.heading).collect();
        (headings.join(", "), words.join(" · "))
    };
    let redness = ("Redness in mm".to_owned(), "how far it reaches from the line; 0 for none".to_owned());
    let time = ("Time".to_owned(), "18:40".to_owned());
    let in_the_cells = |columns: &[Column]| columns.iter().any(|column| column.key == "kind");
    let shared = shared_words().into_iter().filter(|(columns, _)| !in_the_cells(columns));
    shared.map(row).chain([redness, time]).collect()
}

/// "every 2 days", or "daily through 11-14, every 2 days from 11-15 on".
fn spans(log: &Log, spans: &[Span]) -> String {
    let short = |day: NaiveDate| day.format("%b %-d").to_string();
    let one = |span: &Span| match (span.from == log.from, span.to == log.to) {
        (true, true) => span.says.clone(),
        (true, false) => format!("{} through {}", span.says, short(span.to)),
        (false, true) => format!("{} from {} on", span.says, short(span.from)),
        (false, false) => format!("{} from {} through {}", span.says, short(span.from), short(span.to)),
    };
    spans.iter().map(one).collect::<Vec<_>>().join(", ")
}
