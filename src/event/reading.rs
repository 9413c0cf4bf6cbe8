//! Parses an event's text: the keys that all kinds share, and the checks within one file.

use std::sync::Arc;

use chrono::{NaiveDate, Timelike};

use super::{Correction, Culture, Event, EventName, Fact, Kind, Log, Source, Treatment, When};
use crate::day::{Calendar, ClockChange, Instant};
use crate::place::RecordText;
use crate::problem::Rule;
use crate::record::{Moment, Table, fields};
use crate::text;

fields! {
    /// Keys at the beginning of every record.
    pub(super) struct Common {
        /// Date and time.
        at: Option<Moment>,
        /// Date, if the time is not known.
        on: Option<NaiveDate>,
        /// Person who did or saw it: a code, or patient.
        by: Option<String> = from(|table: &mut Table| {
            table.needed().person("by", &["patient"], "person who did or saw it: a code, or patient")
        }),
        /// Seen, told, log or image.
        source: Option<Source>,
        /// Exit site, required if several are open.
        exit: Option<String>,
    }
}

fields! {
    /// Keys at the end of every record.
    pub(super) struct Bookkeeping {
        /// Free text; never a name.
        note: Option<String>,
        /// Writer and time of writing.
        entered_at as "entered": Option<Moment> = inside(entered),
        /// Amendments.
        amended: Vec<Correction> = each(Correction::amendment),
        /// Void: the record no longer counts.
        void: Option<Correction> = inside(Correction::of_void),
    }
}

fn entered(table: &mut Table) -> Option<Moment> {
    let at = table.moment("at", "time of writing");
    table.person("by", &[], "writer");
    at
}

/// Reads the top-level table of an event file.
pub(super) fn read_table(
    table: &mut Table,
    source: &Arc<RecordText>,
    name: EventName,
    calendar: &Calendar,
) -> Option<Event> {
    let kind = table.needed().word::<Kind>("kind", "kind of event");
    table.point_at("kind");
    let common = Common::read(table)?;
    // An unknown kind is one fault; the other keys are checked against the kind in the file name.
    let mut fact = kind.unwrap_or(name.kind).read_fact(table);
    if let Some(Fact::Contact(contact)) = &mut fact {
        contact.expect_by_instant = contact.expect_by.and_then(|moment| instant(table, "expect_by", moment, calendar));
    }
    let keeping = Bookkeeping::read(table)?;
    if let Some(moment) = keeping.entered_at {
        instant(table, "entered", moment, calendar);
    }
    if common.exit.is_some() && !kind.unwrap_or(name.kind).traits().concerns_one_exit {
        let kind = kind.unwrap_or(name.kind);
        table.add(
            Rule::ExitNotAllowed,
            "exit",
            format!("{} record does not take an exit site", text::a(&kind.to_string())),
            "remove `exit`; the record concerns the patient, or every open exit site",
        );
    }
    let when = common.when(table, calendar);
    let is_voided = table.has("void");
    if let Some(when) = &when {
        common.compare_with_name(table, name, kind.unwrap_or(name.kind), when);
        keeping.compare_corrections(table, when);
        compare_dates_inside(table, fact.as_ref(), when);
    }
    table.report_unknown_keys();
    if is_voided {
        table.retain_problems(|problem| problem.rule.applies_to_voided());
    }
    Some(Event {
        record: source.clone(),
        name,
        when: when?,
        by: common.by.or(is_voided.then(String::new))?,
        source: common.source.unwrap_or(Source::Seen),
        exit: common.exit,
        entered_at: keeping.entered_at,
        note: keeping.note,
        amended: keeping.amended,
        void: keeping.void,
        fact: if is_voided { Fact::Voided } else { fact? },
        is_in_file: true,
    })
}

impl Common {
    /// Returns the time of the event, or reports a problem with the correct text.
    fn when(&self, table: &mut Table, calendar: &Calendar) -> Option<When> {
        match (self.at, self.on) {
            (Some(moment), None) if !table.has("on") => {
                let care_day = calendar.care_day(moment.wall);
                Some(When { wall: Some(moment.wall), care_day, instant: instant(table, "at", moment, calendar)? })
            }
            (None, Some(care_day)) if !table.has("at") => {
                Some(When { wall: None, care_day, instant: calendar.end(care_day) - chrono::Duration::seconds(1) })
            }
            _ => {
                match (table.has("at"), table.has("on")) {
                    (true, true) => table.add(
                        Rule::AtOrOn,
                        "on",
                        "both `at` and `on` are given",
                        "keep `at` if the time is known; otherwise keep `on`",
                    ),
                    (false, false) => table.add(
                        Rule::AtOrOn,
                        "at",
                        "neither `at` nor `on` is given",
                        "write at = 2026-11-23T18:40:00-06:00, or on = 2026-11-23 if only the day is known",
                    ),
                    _ => {}
                }
                None
            }
        }
    }

    fn compare_with_name(&self, table: &mut Table, name: EventName, kind: Kind, when: &When) {
        let date = when.wall.map_or(when.care_day, |wall| wall.date());
        let time = when.wall.and_then(|wall| wall.time().with_second(0));
        let right = EventName { date, time, kind, ..name };
        if right != name {
            let key = if kind != name.kind {
                "kind"
            } else if when.wall.is_some() {
                "at"
            } else {
                "on"
            };
            table.add(
                Rule::NameDisagrees,
                key,
                format!("the file is named {name}, but its content says {right}"),
                format!("rename the file to {}/{right}, or correct `{key}`", right.year()),
            );
        }
    }
}

impl Bookkeeping {
    fn compare_corrections(&self, table: &mut Table, when: &When) {
        let is_older = |correction: &Correction| correction.at.is_before(when);
        let key = if self.amended.iter().any(is_older) {
            Some("amended")
        } else if self.void.as_ref().is_some_and(is_older) {
            Some("void")
        } else {
            None
        };
        if let Some(key) = key {
            table.add(
                Rule::OlderThanItsEvent,
                key,
                format!("[{key}] is dated before the event itself"),
                "check the year and the day of both",
            );
        }
    }
}

impl Moment {
    /// Returns true if the time is certainly before the event: by instants if both are known, otherwise by the wall
    /// clock.
    fn is_before(&self, when: &When) -> bool {
        let instant = self.offset.and_then(|offset| self.wall.checked_sub_offset(offset)).map(|utc| utc.and_utc());
        match (when.wall, instant) {
            (None, _) => self.wall.date() < when.care_day,
            (Some(_), Some(instant)) => instant < when.instant,
            (Some(wall), None) => self.wall < wall,
        }
    }
}

impl Correction {
    fn amendment(table: &mut Table) -> Option<Correction> {
        let what = |table: &mut Table| table.needed().text("was", "value before");
        Correction::read(table, what, Rule::AmendmentIncomplete)
    }

    fn of_void(table: &mut Table) -> Option<Correction> {
        let what = |table: &mut Table| table.text("replaced_by", "file that replaces it");
        Correction::read(table, what, Rule::VoidIncomplete)
    }

    fn read(table: &mut Table, what: impl Fn(&mut Table) -> Option<String>, incomplete: Rule) -> Option<Correction> {
        let at = table.needed().moment("at", "time of the correction");
        let by = table.needed().person("by", &[], "person who corrected it");
        let why = table.needed().text("why", "reason for the correction").filter(|why| !why.trim().is_empty());
        let what = what(table);
        let is_incomplete = at.is_none()
            || by.is_none()
            || why.is_none()
            || (incomplete == Rule::AmendmentIncomplete && what.is_none());
        if is_incomplete && !table.is_description() {
            // One fault, one problem: it lists the missing keys.
            table.retain_problems(|problem| problem.rule != Rule::MissingKey);
            let keys = if incomplete == Rule::AmendmentIncomplete {
                "`at`, `by`, `why` and `was`"
            } else {
                "`at`, `by` and `why`"
            };
            let header = table.header();
            table.add_at(
                incomplete,
                &header,
                "the correction is missing who made it, when, or why",
                format!("write {keys} below this line"),
            );
        }
        Some(Correction { at: at?, by: by?, why: why?, what })
    }
}

/// Returns the instant of a time in a record, or reports a problem if the wall-clock time is ambiguous or does not exist.
fn instant(table: &mut Table, key: &str, moment: Moment, calendar: &Calendar) -> Option<Instant> {
    let Moment { wall, offset } = moment;
    if let Some(offset) = offset {
        if !calendar.uses_offset(wall, offset) {
            let zone = calendar.zone(calendar.care_day(wall));
            table.add(
                Rule::UnusualOffset,
                key,
                format!("{zone} does not use the offset {offset} at that time"),
                "check the date of the clock change and the patient's time zone",
            );
        }
        return wall.checked_sub_offset(offset).map(|utc| utc.and_utc());
    }
    match calendar.instant(wall) {
        Ok(instant) => Some(instant),
        Err(ClockChange::Skipped) => {
            table.add(
                Rule::SkippedTime,
                key,
                format!("{wall} does not exist: the clocks went forward past it"),
                "write the time with its offset, such as 2026-03-08T03:30:00-05:00",
            );
            None
        }
        Err(ClockChange::Repeated) => {
            table.add(
                Rule::RepeatedTime,
                key,
                format!("{wall} happened twice: the clocks went back over it"),
                "write the time with its offset, such as 2026-11-01T01:30:00-05:00 for the first one",
            );
            None
        }
    }
}

/// Checks dates within a fact that cannot be before, or cannot be after, the event.
fn compare_dates_inside(table: &mut Table, fact: Option<&Fact>, when: &When) {
    match fact {
        Some(Fact::Culture(Culture { result: Some(result), .. })) if result.on < when.care_day => {
            table.add(
                Rule::OlderThanItsEvent,
                "result",
                format!("the result is dated {}, before the culture", result.on),
                "check both dates",
            );
        }
        Some(Fact::Treatment(Treatment { until: Some(until), .. })) if *until < when.care_day => {
            table.add(
                Rule::EndsBeforeItBegins,
                "until",
                format!("the treatment ends on {until}, before it begins"),
                "correct the wrong date",
            );
        }
        Some(Fact::Log(Log { through, .. })) if *through > when.care_day => {
            table.add(
                Rule::LogAhead,
                "through",
                format!("the log ends on {through}, after the day it was read in ({})", when.care_day),
                "correct the wrong date; a log covers days through the day it was read in",
            );
        }
        _ => {}
    }
}
