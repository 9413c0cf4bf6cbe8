//! The preview of a changed file: the patient, the differences, and their effect on the schedule.

use chrono::NaiveDate;

use super::day::day_and_time;
use super::round::reported;
use super::{TextStyle, due, grade, hanging, paragraph};
use crate::day::WallTime;
use crate::entry::Changed;
use crate::event::EventName;
use crate::patient::{CareRow, Caregiver, InfectionsBefore, Patient, Reports};
use crate::policy::CarePlace;
use crate::report::due::Row;
use crate::schedule::ChangeTrigger;
use crate::score::{CAUTION, ScoredSite};
use crate::text::{capitalized, count, visible};
use crate::word::Word;

/// Names the patient and the record.
///
/// ```text
/// P-014 · change of 2026-11-23 18:55
/// P-014 · change of 2026-11-23, no. 2
/// ```
pub(crate) fn whom(code: &str, name: EventName) -> String {
    let time = name.time.map(|time| time.format(" %H:%M").to_string()).unwrap_or_default();
    let n = if name.n > 1 { format!(", no. {}", name.n) } else { String::new() };
    format!("{code} · {} of {}{time}{n}", name.kind, name.date)
}

/// Lists the differences, one line per key.
pub(crate) fn changes(changed: &[Changed], look: TextStyle) -> String {
    changed.iter().map(|changed| hanging(look, &format!("  {}", changed.words()), "    ")).collect()
}

/// Describes a new patient: the implant, the start of the records, the place, the household, the intolerances.
///
/// ```text
///   Implanted Aug 3, 2026 (POD 113). Exit site a, right upper.
///   Records begin Sep 1, 2026. Driveline infections before: 0. Last change before: Aug 31, 2026.
///   Home from Sep 15, 2026; the household reports each change. Caregivers: p014-son (son).
///   No known intolerances.
/// ```
pub(crate) fn new_patient(patient: &Patient, is_none_known: bool, today: NaiveDate, look: TextStyle) -> String {
    let day = |day: NaiveDate| day.format("%b %-d, %Y").to_string();
    let plain = |word: &str| word.replace('-', " ");
    let mut lines = Vec::new();
    let sites = patient.exits.iter().map(|exit| format!("Exit site {}, {}.", visible(&exit.id), plain(exit.at.word())));
    let pod = (today - patient.implanted).num_days();
    lines.push(format!("Implanted {} (POD {pod}). {}", day(patient.implanted), sites.collect::<Vec<_>>().join(" ")));
    let mut begin = format!("Records begin {}.", day(patient.records_from));
    match patient.infections_before {
        InfectionsBefore::NotGiven => {}
        InfectionsBefore::Unknown => begin.push_str(" Driveline infections before: unknown."),
        InfectionsBefore::Count(n) => begin.push_str(&format!(" Driveline infections before: {n}.")),
    }
    begin.push_str(
        &patient.last_change_before.map(|on| format!(" Last change before: {}.", day(on))).unwrap_or_default(),
    );
    lines.push(begin);
    let place = |row: &CareRow| {
        let reports = match (row.place, row.reports) {
            (CarePlace::Home, Reports::Log) => "; the household keeps a log",
            (CarePlace::Home, Reports::Each) => "; the household reports each change",
            _ => "",
        };
        let zone = row.time_zone.map(|zone| format!(", time zone {zone}")).unwrap_or_default();
        format!("{} from {}{reports}{zone}.", capitalized(row.place.word()), day(row.from))
    };
    let mut care = patient.care.iter().map(place).collect::<Vec<_>>().join(" ");
    let caregiver = |one: &Caregiver| {
        let relation = one.relation.as_ref().map(|relation| format!(" ({})", visible(relation))).unwrap_or_default();
        format!("{}{relation}", one.code)
    };
    let caregivers: Vec<String> = patient.caregivers.iter().map(caregiver).collect();
    care.push_str(&match caregivers.is_empty() {
        true => " No caregivers.".to_owned(),
        false => format!(" Caregivers: {}.", caregivers.join(", ")),
    });
    lines.push(care);
    lines.push(match patient.intolerances.as_slice() {
        [] if is_none_known => "No known intolerances.".to_owned(),
        [] => "Intolerances: not recorded.".to_owned(),
        some => format!("Does not tolerate {}.", visible(&some.join(", "))),
    });
    lines.iter().map(|line| hanging(look, &format!("  {line}"), "    ")).collect()
}

/// Describes how to take back a row written to patient.toml.
pub(crate) fn remove_lines(lines: Option<(usize, usize)>, row: &str, file: &str) -> String {
    let lines = lines.map(|(first, last)| format!("lines {first} to {last}, ")).unwrap_or_default();
    format!("If it is wrong: remove {lines}that [[{row}]], from {file}.")
}

/// Describes the effect on the schedule, one line per exit site.
pub(crate) fn schedule(before: &[Row], after: &[Row], look: TextStyle) -> String {
    let line = |row: &Row| {
        if row.site().is_none() {
            return hanging(look, &format!("  {}", visible(&due::schedule_reason(row))), "    ");
        }
        let was = before.iter().find(|was| was.exit() == row.exit()).map(due::state);
        let exit = row.exit().filter(|_| after.len() > 1);
        let exit = exit.map(|exit| format!("exit {}: ", visible(exit))).unwrap_or_default();
        let is = due::state(row);
        let moved = match was {
            Some(was) if was == is => format!("schedule unchanged: {is}"),
            Some(was) => format!("schedule: was {was}, now {is}"),
            None => is,
        };
        hanging(look, &format!("  {exit}{moved} ({})", visible(&due::schedule_reason(row))), "    ")
    };
    let gone = before.iter().filter(|was| !after.iter().any(|row| row.exit() == was.exit()));
    let gone = gone.filter_map(Row::exit);
    let gone = gone.map(|exit| format!("  exit {}: no longer followed\n", visible(exit)));
    after.iter().map(line).chain(gone).collect()
}

/// Describes an overdue change that a change of course takes off the list, now or from a day on.
pub(crate) fn overdue_off(exit: &str, hours: i64, from: Option<NaiveDate>) -> String {
    let late = count(hours, "hour");
    format!("The change at exit {} is overdue by {late}. {}", visible(exit), off_the_list(from))
}

/// Describes a shower or damage without a change that a change of course takes off the list, now or from a day on.
pub(crate) fn clock_off(
    exit: &str,
    report: &ChangeTrigger,
    deadline: WallTime,
    today: NaiveDate,
    from: Option<NaiveDate>,
) -> String {
    let (what, by) = (reported(report, today), day_and_time(&deadline.into(), today));
    format!("{what}: the change at exit {} is due by {by}. {}", visible(exit), off_the_list(from))
}

fn off_the_list(from: Option<NaiveDate>) -> String {
    match from {
        None => "This takes it off the list.".to_owned(),
        Some(day) => format!("If it is not done by then, this takes it off the list on {day}."),
    }
}

/// Renders the score of a corrected record, and the caution about scores.
pub(crate) fn score(score: &ScoredSite, look: TextStyle) -> (String, String) {
    (hanging(look, &format!("  {}", grade::in_a_line(score)), "    "), paragraph(look, CAUTION))
}
