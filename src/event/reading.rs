//! An event's text as an event: what all kinds have in common, and what must agree inside one file.

use std::sync::Arc;

use chrono::{NaiveDate, Timelike};

use super::{Correction, Culture, Event, EventName, Fact, Kind, Log, Source, Treatment, When};
use crate::day::{Calendar, ClockChange, Instant};
use crate::place::RecordText;
use crate::problem::Rule;
use crate::record::{Moment, Table, fields};

fields! {
    /// Keys that the records of every kind begin with.
    pub(super) struct Common {
        /// Date and time.
        at: Option<Moment>,
        /// Date, where the time is not known.
        on: Option<NaiveDate>,
        /// Person who did or saw it: a code, or patient.
        by: Option<String> = from(|table: &mut Table| {
            table.needed().person("by", &["patient"], "person who did or saw it: a code, or patient")
        }),
        /// Seen, told, log or image.
        source: Option<Source>,
        /// Exit site, where several are open.
        exit: Option<String>,
    }
}

fields! {
    /// Keys that the records of every kind end with.
    pub(super) struct Bookkeeping {
        /// Free text; never a name.
        note: Option<String>,
        /// Writer and time of writing.
        entered_at as "entered": Option<Moment> = inside(entered),
        /// Corrections.
        amended: Vec<Correction> = each(Correction::amendment),
        /// Void: the record counts for nothing.
        void: Option<Correction> = inside(Correction::of_void),
    }
}

fn entered(table: &mut Table) -> Option<Moment> {
    let at = table.moment("at", "time of writing");
    table.person("by", &[], "writer");
    at
}

/// Reads the whole table of an event file.
pub(super) fn read_table(
    table: &mut Table,
    source: &Arc<RecordText>,
    name: EventName,
    calendar: &Calendar,
) -> Option<Event> {
    let kind = table.needed().word::<Kind>("kind", "kind of event");
    table.point_at("kind");
    let common = Common::read(table)?;
    // A kind that is no word is one fault; what else stands there is judged by the kind of the name.
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
            format!("a {kind} record names no exit site"),
            "leave `exit` out; it concerns the patient, or every exit site that is open",
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
        spans: table.take_spans(),
    })
}

impl Common {
    /// The time of the event, or a problem with the text to write.
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
                        "keep `at` if the time is known, otherwise `on`",
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
                format!("the file is named {name}, but it is {right}"),
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
                "look at the year and the day of both",
            );
        }
    }
}

impl Moment {
    /// True if it is certainly before an event: by instants where both are known, else by the clock on the wall.
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
            // One fault, one problem: the missing keys are named in it.
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
                "the correction does not say who made it, when and why",
                format!("write {keys} below this line"),
            );
        }
        Some(Correction { at: at?, by: by?, why: why?, what })
    }
}

/// The instant of a time in a record, or a problem where the clock on the wall does not say which it is.
fn instant(table: &mut Table, key: &str, moment: Moment, calendar: &Calendar) -> Option<Instant> {
    let Moment { wall, offset } = moment;
    if let Some(offset) = offset {
        if !calendar.uses_offset(wall, offset) {
            let zone = calendar.zone(calendar.care_day(wall));
            table.add(
                Rule::UnusualOffset,
                key,
                format!("{zone} does not use the offset {offset} at that time"),
                "look at the clock change, and at the zone of the patient",
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
                format!("{wall} never was: the clocks were put forward over it"),
                "write the time with its offset, as in 2026-03-08T03:30:00-05:00",
            );
            None
        }
        Err(ClockChange::Repeated) => {
            table.add(
                Rule::RepeatedTime,
                key,
                format!("{wall} was twice: the clocks were put back over it"),
                "write the time with its offset, as in 2026-11-01T01:30:00-05:00 for the first",
            );
            None
        }
    }
}

/// Dates inside a fact that cannot be before the event, or after it.
fn compare_dates_inside(table: &mut Table, fact: Option<&Fact>, when: &When) {
    match fact {
        Some(Fact::Culture(Culture { result: Some(result), .. })) if result.on < when.care_day => {
            table.add(
                Rule::OlderThanItsEvent,
                "result",
                format!("the result is of {}, before the culture", result.on),
                "look at both dates",
            );
        }
        Some(Fact::Treatment(Treatment { until: Some(until), .. })) if *until < when.care_day => {
            table.add(
                Rule::EndsBeforeItBegins,
                "until",
                format!("the treatment ends on {until}, before it begins"),
                "correct the one that is wrong",
            );
        }
        Some(Fact::Log(Log { through, .. })) if *through > when.care_day => {
            table.add(
                Rule::LogAhead,
                "through",
                format!("the log ends on {through}, after the day on which it was read in ({})", when.care_day),
                "correct the one that is wrong; a log covers days up to its own",
            );
        }
        _ => {}
    }
}
