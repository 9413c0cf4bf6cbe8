//! The sentences of a household's log, shared by paper and terminal.

use super::language::Language;
use crate::report::sheet::{DaySpan, Exit, LogDay, MonthLog};
use crate::schedule::DayPlan;
use crate::word::Word;

/// Returns the title: "Driveline care log P-014, November 2026".
pub(super) fn title(log: &MonthLog, language: &Language) -> String {
    format!("{} {}, {}", language.say("page.title"), log.patient, language.month(log.from))
}

/// Names the exit site: "exit site a, right upper · Example VAD program".
pub(super) fn site(log: &MonthLog, exit: &Exit, language: &Language) -> String {
    let place = language.say(&format!("where.{}", exit.at.word()));
    let site = language.fill("page.exit", &[("exit", &exit.exit), ("where", place)]);
    if log.program.is_empty() { site } else { format!("{site} · {}", log.program) }
}

/// Returns the mark of a day in the plan; empty if no change is due.
pub(super) fn plan<'l>(day: &LogDay, language: &'l Language) -> &'l str {
    match day.plan {
        Some(DayPlan::ChangeDue) => language.say("plan.due"),
        Some(DayPlan::OnFile) => language.say("plan.on_file"),
        Some(DayPlan::Free) => "",
        Some(DayPlan::NotBegun | DayPlan::Ended) => language.say("plan.out"),
        Some(DayPlan::Elsewhere) => language.say("plan.away"),
        None => language.say("plan.unknown"),
    }
}

/// Returns true if nothing is expected on a day.
pub(super) fn is_out(day: &LogDay) -> bool {
    matches!(day.plan, Some(DayPlan::NotBegun | DayPlan::Elsewhere | DayPlan::Ended))
}

/// Returns the lines of the box "Call us now if": the program's own, or else those of the language.
pub(super) fn call_now<'a>(log: &'a MonthLog, language: &'a Language) -> Vec<&'a str> {
    if log.call_now.is_empty() { language.list("call.now") } else { log.call_now.iter().map(String::as_str).collect() }
}

/// Returns the program's phone numbers, or space to write one.
pub(super) fn numbers(log: &MonthLog, language: &Language) -> String {
    match log.numbers.as_slice() {
        [] => language.say("call.no_number").to_owned(),
        numbers => format!("{} {}", language.say("call.numbers"), numbers.join(" · ")),
    }
}

/// Returns the instructions for the sheet and the change days, a sentence or two each.
pub(super) fn how(log: &MonthLog, exit: &Exit, language: &Language) -> Vec<String> {
    let spans = |spans| language.spans(log.from, log.to, spans);
    let change_days = if log.is_planned {
        let days = language.fill("how.change_days", &[("often", &spans(&exit.intervals))]);
        format!("{} {}", days.replace(" ()", ""), language.say(moved(exit))).trim_end().to_owned()
    } else {
        language.say("how.change_days_unknown").to_owned()
    };
    let within = |hours: i64| match hours {
        0 => language.say("how.at_once").to_owned(),
        1 => language.say("how.hour").to_owned(),
        hours => language.fill("how.hours", &[("n", &hours.to_string())]),
    };
    let after_shower = language.fill("how.after_shower", &[("within", &within(log.after_shower_hours))]);
    let damage = language.fill("how.damage", &[("within", &within(log.after_damage_hours))]);
    let mut lines = vec![language.say("how.fill").to_owned(), change_days, format!("{after_shower} {damage}")];
    if !exit.no_showers.is_empty() {
        lines.push(language.fill("how.no_showers", &[("days", &spans(&exit.no_showers))]));
    } else if let Some(day) = exit.showers_from {
        lines.push(language.fill("how.showers_from", &[("day", &language.date(day))]));
    }
    if !log.intolerances.is_empty() {
        lines.push(language.fill("how.not_tolerated", &[("list", &log.intolerances.join(", "))]));
    }
    if exit.days.iter().any(|day| day.plan == Some(DayPlan::OnFile)) {
        lines.push(language.say("how.on_file").to_owned());
    }
    if exit.days.iter().any(|day| matches!(day.plan, Some(DayPlan::NotBegun | DayPlan::Ended))) {
        lines.push(language.say("how.out").to_owned());
    }
    lines
}

/// Returns the key of the instruction for a change on another day. Only an interval in days counts on from that day. Of
/// weekdays, the next one is due, unless the order asks for more than a day between two changes.
fn moved(exit: &Exit) -> &'static str {
    let all = |is_so: fn(&DaySpan) -> bool| exit.intervals.iter().all(is_so);
    match () {
        _ if all(|span| span.every_days.is_some()) => "how.moved",
        _ if all(|span| span.every_days.is_none() && span.min_days == Some(1)) => "how.moved_weekdays",
        _ => "how.moved_ask",
    }
}

/// Lists the people who may have done it, each with the number to enter; `Patient::on_the_sheet` reads it back.
pub(super) fn who(log: &MonthLog, language: &Language) -> String {
    let codes = [language.say("how.patient")].into_iter().chain(log.caregivers.iter().map(String::as_str));
    let codes: Vec<String> = codes.enumerate().map(|(n, code)| format!("{} {code}", n + 1)).collect();
    format!("{}: {}; {}", language.say("how.who"), codes.join(", "), language.say("how.other"))
}

/// Returns the heading of the column for a record key.
pub(super) fn heading<'l>(key: &str, language: &'l Language) -> &'l str {
    language.say(match key {
        "kind" => "column.what",
        "time" => "column.time",
        "by" => "column.who",
        "dressing_before" => "column.dressing_before",
        "reason" => "column.reason",
        "found.dressing" => "column.found_dressing",
        "found.anchor" => "column.found_anchor",
        "left.anchor" => "column.left_anchor",
        "site.drainage" => "column.drainage",
        "site.redness_mm" => "column.redness",
        "site.swelling" => "column.swelling",
        "site.odor" => "column.odor",
        "site.warmth" => "column.warmth",
        "site.pain" => "column.pain",
        "site.temperature_c" => "column.fever",
        _ => "column.note",
    })
}

/// Returns the answers for a record key, in the order of their numbers.
pub(super) fn answers<'l>(key: &str, language: &'l Language) -> Vec<&'l str> {
    let name = match key {
        "dressing_before" | "found.dressing" => "dressing",
        "found.anchor" | "left.anchor" => "anchor",
        "site.drainage" => "drainage",
        "site.swelling" => "swelling",
        "site.odor" | "site.warmth" => "yes_no",
        "site.pain" => "pain",
        _ => return Vec::new(),
    };
    language.list(&format!("answer.{name}"))
}

/// Formats the answers with their numbers: "1 clean and closed, 2 edge lifting".
pub(super) fn numbered(key: &str, first: usize, language: &Language) -> String {
    let one = |(n, answer): (usize, &str)| format!("{} {answer}", n + first);
    answers(key, language).into_iter().enumerate().map(one).collect::<Vec<_>>().join(", ")
}
