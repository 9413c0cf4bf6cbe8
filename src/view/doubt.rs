//! Doubts about a record before it is written, as sentences.

use chrono::{NaiveDate, NaiveDateTime, TimeDelta};

use super::day::day_and_time;
use super::round::reported;
use super::teaching::objection;
use super::words;
use crate::event::{ChangeReason, Kind, NotedFinding, NotedSign};
use crate::report::At;
use crate::schedule::{ChangeTrigger, Trouble};
use crate::teaching::Objection;
use crate::text::{count, visible};
use crate::word::Word;

/// A doubt about a record, in addition to the problems that `check` finds.
#[derive(Debug)]
pub(crate) enum Doubt<'a> {
    /// A promise for a time more than these days ahead.
    FarOff { until: NaiveDateTime, days: i64 },
    /// A promise for a time this many hours after the deadline of a change.
    LatePromise { deadline: At, is_past: bool, hours: i64 },
    /// Findings that one record would hold, and that only the note of a record of that kind mentions.
    FindingInNote { words: Vec<(&'static str, NotedSign)>, finding: NotedFinding, of: Kind },
    /// A supply item that the policy does not list, and the nearest one that it lists.
    UnknownItem { item: &'a str, near: Option<&'a str> },
    /// A change because of damage whose dressing was found intact.
    FoundIntact(ChangeReason),
    /// An inspection without dressing and anchor.
    EmptyInspection,
    /// A culture by a person who is not on the staff list.
    CultureBy { by: &'a str },
    /// An onset after the determination.
    LateOnset(NaiveDate),
    /// A culture without growth, this long after it was taken; `None` if on the same day, its time unknown.
    NoGrowthSoon { since: Option<TimeDelta> },
    /// A checkoff that will not be passed.
    NotPassed(Objection),
    /// The record, a change, counts as later than a report of that day only by assumption, and ends it.
    Ends(ChangeTrigger),
    /// A change on file counts as later than the record, a report, only by assumption.
    EndedBy { report: ChangeTrigger, file: &'a str },
}

/// Describes a doubt: the fact, then the correction.
pub(crate) fn doubt(doubt: &Doubt, today: NaiveDate) -> String {
    match doubt {
        Doubt::FarOff { until, days } => {
            let until = until.format("%Y-%m-%d %H:%M");
            format!("The promise is for {until}, more than {days} days ahead. Check the date.")
        }
        Doubt::LatePromise { deadline, is_past, hours } => {
            let (is, by) = (if *is_past { "was" } else { "is" }, day_and_time(deadline, today));
            format!("The change {is} due by {by}; the promise is {hours} h later.")
        }
        Doubt::FindingInNote { words, finding, of } => {
            let quoted: Vec<String> = words.iter().map(|(word, _)| format!("\"{word}\"")).collect();
            let record = finding_record(words, *finding, *of);
            format!("The note mentions {}. A note raises no signal. {record}.", quoted.join(", "))
        }
        Doubt::UnknownItem { item, near } => {
            let near = near.map(|near| format!(" Did you mean {}?", visible(near))).unwrap_or_default();
            format!("The policy has no supply \"{}\".{near}", visible(item))
        }
        Doubt::CultureBy { by } => {
            let by = visible(by);
            format!("{by} is not on the staff list. Staff take a culture; who took it? Type that code with --by.")
        }
        Doubt::FoundIntact(reason) => format!(
            "The reason is {}, and the dressing was found intact. One contradicts the other. Check both.",
            words::choice(reason.word())
        ),
        Doubt::EmptyInspection => {
            "Neither dressing nor anchor is recorded. An inspection records at least one.".to_owned()
        }
        Doubt::LateOnset(onset) => format!("The onset, {onset}, is after the determination. Check both dates."),
        Doubt::NoGrowthSoon { since } => {
            let taken = match since {
                Some(since) if since.num_hours() > 0 => format!("{} ago", count(since.num_hours(), "hour")),
                Some(since) => format!("{} ago", count(since.num_minutes(), "minute")),
                None => "today".to_owned(),
            };
            format!("The culture was taken {taken}, and the result is no growth. Check the culture and the result.")
        }
        Doubt::NotPassed(why) => format!("The checkoff will not be passed: {}.", visible(&objection(why))),
        Doubt::Ends(report) => format!(
            "{}: a change that day without a time counts as after it and ends it. If the change came before it, or you do not know, give its time, or scheduled as its reason (--reason scheduled).",
            reported(report, today)
        ),
        Doubt::EndedBy { report, file } => format!(
            "{}: the change of that day on file has no time and counts as after it, so no change falls due for it. If that change came before, void {} and write it with its time.",
            reported(report, today),
            visible(file)
        ),
    }
}

/// Says where the findings of a note are recorded: in the record itself if its kind holds them, else in one of their own.
fn finding_record(words: &[(&'static str, NotedSign)], finding: NotedFinding, of: Kind) -> String {
    let flags = |flag: fn(NotedSign) -> &'static str| {
        let mut flags: Vec<String> = Vec::new();
        for flag in words.iter().map(|(_, said)| format!("`{}`", flag(*said))) {
            if !flags.contains(&flag) {
                flags.push(flag);
            }
        }
        format!("Record it as a finding of this {of}: {}", flags.join(", "))
    };
    let has_site = matches!(of, Kind::Change | Kind::Assessment);
    let reported = if of == Kind::Contact { ", source reported" } else { "" };
    let other = |kind: &str| format!("Record it too: `exitsite record {kind}`{reported}");
    match (finding, of) {
        (NotedFinding::Temperature, Kind::Contact) => {
            "Record it too: `exitsite record contact` with `--temperature-c`".to_owned()
        }
        (NotedFinding::Site | NotedFinding::Temperature, _) if has_site => flags(site_flag),
        (NotedFinding::Temperature, _) => {
            "Record it too: `exitsite record contact` with `--temperature-c` if it was told, else `exitsite record assessment`".to_owned()
        }
        (NotedFinding::Site, _) => other("assessment"),
        (NotedFinding::Dressing, Kind::Change) => flags(|_| "--dressing-found"),
        (NotedFinding::Dressing, Kind::Shower) => flags(|_| "--dressing-after"),
        (NotedFinding::Dressing, Kind::Inspection | Kind::Trauma) => flags(|_| "--dressing"),
        (NotedFinding::Anchor, Kind::Change) => flags(|_| "--anchor-found"),
        (NotedFinding::Anchor, Kind::Shower | Kind::Inspection | Kind::Trauma) => flags(|_| "--anchor"),
        (NotedFinding::Dressing | NotedFinding::Anchor, _) => other("inspection"),
        (NotedFinding::Pull, _) => other("trauma"),
        (NotedFinding::Alarm, _) => "Call the clinician about a pump alarm, and record that call".to_owned(),
        (NotedFinding::Unwell, _) => "Call the clinician about it, and record that call".to_owned(),
    }
}

/// The flag of a finding of the site.
fn site_flag(said: NotedSign) -> &'static str {
    match said {
        NotedSign::Fever => "--temperature-c",
        NotedSign::Pus => "--drainage purulent",
        NotedSign::Blood => "--bleeding yes",
        NotedSign::Redness => "--redness-mm",
        NotedSign::Swelling => "--swelling",
        NotedSign::Odor => "--odor yes",
        NotedSign::Pain => "--pain",
        NotedSign::Warmth => "--warmth yes",
        _ => "--drainage",
    }
}

/// Names a shower or damage behind "after": `the shower`, `the bath`, `the dressing was found wet`.
pub(crate) fn after_which(report: &ChangeTrigger) -> String {
    match report.trouble {
        Trouble::Shower => format!("the {}", words::water(report.water)),
        Trouble::Damage(dressing) | Trouble::LeftDamaged(dressing) => {
            format!("it was {}", words::choice(dressing.word()))
        }
    }
}

/// Asks a script for the order of a change and a shower or damage in one minute.
pub(crate) fn order_needed(report: &ChangeTrigger, is_of_change: bool) -> String {
    let (what, minute) = (after_which(report), minute(report));
    if is_of_change {
        let reason = report.own_reason();
        format!(
            "A record of {} on file has the same minute, {minute}. If the dressing was changed after {what}, type --reason {reason}; if before, type an earlier time.",
            report.kind
        )
    } else {
        format!(
            "A change on file has the same minute, {minute}. If the dressing was changed after {what}, type an earlier time for this record; if before, a later one."
        )
    }
}

/// Asks for another time after a no: the change was before the shower or the damage.
pub(crate) fn other_time(report: &ChangeTrigger, is_of_change: bool) -> String {
    let minute = minute(report);
    if is_of_change {
        format!("Then type the time of the change, earlier than {minute}.")
    } else {
        format!("Then type the time of this record, later than {minute}.")
    }
}

/// The minute of a shower or damage: `18:40`.
pub(crate) fn minute(report: &ChangeTrigger) -> String {
    match report.at {
        At::Time(time) => time.format("%H:%M").to_string(),
        At::Day(day) => day.to_string(),
    }
}

/// Describes a checkoff in the records of someone other than its learner, with the command that puts it right.
/// `patient` is the patient whose caregiver the learner is; `None` for staff.
pub(crate) fn misplaced(learner: &str, patient: Option<&str>) -> String {
    let whose = patient.map_or("is on the staff".to_owned(), |patient| format!("is a caregiver of {patient}"));
    let code = patient.unwrap_or(learner);
    format!(
        "--learner: {learner} {whose}, so the checkoff would not count here. Use `exitsite record teaching {code} --learner {learner} …`. Nothing was written."
    )
}
