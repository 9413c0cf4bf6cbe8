//! An event: one record file's facts, with who, when and from where.
//!
//! ```toml
//! kind = "change"
//! at = 2026-11-23T18:55:00-06:00
//! by = "p014-spouse"
//! source = "told"
//! reason = "after-shower"
//!
//! [left]
//! dressing = "intact"
//! anchor = "in-place"
//! ```
//!
//! Left out on purpose: what an event means beside others. It knows nothing of exit sites, implants or deadlines.

mod change;
mod clinical;
mod code;
mod dressing;
mod household;
mod name;
mod seen;
mod site;

use std::sync::Arc;

use chrono::{NaiveDate, NaiveDateTime, Timelike};

pub use change::{Change, Cleanser, Disc, Materials, Reason};
pub use clinical::{Certainty, Culture, CultureResult, Infection, Part, Remedy, Specimen, Treatment};
pub use code::{is_patient_code, is_person_code, person};
pub use dressing::{Anchor, Covering, Dressing};
pub use household::{About, Contact, Log, Mode, Outcome, Supply, Tally, Teaching};
pub use name::{EventName, Kind};
pub use seen::{Assessment, Inspection, Mechanism, Shower, Trauma, Water};
pub use site::{Amount, Drainage, Finding, Pain, Site, SiteField, Swelling};

use crate::day::{Calendar, ClockChange, Instant};
use crate::place::{Source, Span};
use crate::problem::{Problem, Rule, makes_unusable};
use crate::record::{self, Field, Moment, Spans, Table};
use crate::word::{Word, words};

words! {
    /// How the facts reached the records.
    pub enum Telling {
        /// Seen by the writer or by `by`.
        Seen = "seen",
        /// Told on the telephone.
        Told = "told",
        /// From a household's log.
        Log = "log",
        /// From a picture.
        Image = "image",
    }
}

/// What an event says.
#[derive(Debug, Clone, PartialEq)]
pub enum Fact {
    /// A dressing change.
    Change(Change),
    /// A shower.
    Shower(Shower),
    /// A look at the site.
    Assessment(Assessment),
    /// A look at dressing and anchor.
    Inspection(Inspection),
    /// A pull.
    Trauma(Trauma),
    /// A culture.
    Culture(Culture),
    /// A determination.
    Infection(Infection),
    /// A treatment.
    Treatment(Treatment),
    /// A checkoff.
    Teaching(Teaching),
    /// A contact.
    Contact(Contact),
    /// A log.
    Log(Log),
    /// Kits.
    Supply(Supply),
    /// The record was voided: it stays on file and counts for nothing.
    Voided,
}

/// When something happened: a moment, or only the day.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct When {
    /// The wall time as written; none where only the day is known.
    pub wall: Option<NaiveDateTime>,
    /// The care day: that of the wall time, or the date itself.
    pub care_day: NaiveDate,
    /// For order: the instant, or one second before the end of the care day where only the day is known.
    pub instant: Instant,
}

/// Who made an amendment or a void, when and why.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Correction {
    /// When.
    pub at: Moment,
    /// Who.
    pub by: String,
    /// Why.
    pub why: String,
    /// What stood there before, or the file that replaces a voided one.
    pub what: Option<String>,
}

/// One event of a patient or of staff.
#[derive(Debug, Clone)]
pub struct Event {
    /// The file, with its text, so that a later check can point into it.
    pub source: Arc<Source>,
    /// The file name.
    pub name: EventName,
    /// When it happened.
    pub when: When,
    /// Who did or saw it.
    pub by: String,
    /// How it reached the records.
    pub telling: Telling,
    /// The exit site that it names.
    pub exit: Option<String>,
    /// When it was written into the records.
    pub entered_at: Option<Moment>,
    /// A note.
    pub note: Option<String>,
    /// What was corrected.
    pub amended: Vec<Correction>,
    /// Why it counts for nothing.
    pub void: Option<Correction>,
    /// What it says.
    pub fact: Fact,
    spans: Spans,
}

/// What the records of every kind have in common.
struct Common {
    moment: Option<Moment>,
    on: Option<NaiveDate>,
    by: Option<String>,
    telling: Option<Telling>,
    exit: Option<String>,
    entered_at: Option<Moment>,
    note: Option<String>,
    amended: Vec<Correction>,
    void: Option<Correction>,
}

impl Event {
    /// Reads one event file, whose name promises `name`.
    ///
    /// None if the file cannot be used; `problems` says why, and gets what is only to be looked at, too.
    pub fn read(
        source: &Arc<Source>,
        name: EventName,
        calendar: &Calendar,
        problems: &mut Vec<Problem>,
    ) -> Option<Event> {
        let known_before = problems.len();
        let event = record::read(source, problems, |table| read_table(table, source, name, calendar));
        if makes_unusable(&problems[known_before..]) { None } else { event }
    }

    /// The path of the file in the records folder.
    pub fn file(&self) -> &str {
        &self.source.file
    }

    /// The time if it is known.
    pub fn is_timed(&self) -> bool {
        self.when.wall.is_some()
    }

    /// Whether the event is there as of a moment: with a time, if it is not later; without, from the start of its day.
    pub fn exists(&self, calendar: &Calendar, as_of: Instant) -> bool {
        if self.is_timed() { self.when.instant <= as_of } else { calendar.start(self.when.care_day) <= as_of }
    }

    /// The place of a key of the file, inside a table or "" for the top; the first line where the key is missing.
    pub fn span(&self, table: &str, key: &str) -> Span {
        self.spans.iter().find(|(t, k, _)| (*t, *k) == (table, key)).map_or(0..0, |(.., span)| span.clone())
    }

    /// A problem at a key of this event.
    pub fn problem(&self, rule: Rule, key: &str, message: impl Into<String>, help: impl Into<String>) -> Problem {
        self.source.problem(rule, &self.span("", key), message, help)
    }

    /// The key that says when.
    pub fn time_key(&self) -> &'static str {
        if self.is_timed() { "at" } else { "on" }
    }

    /// The `[site]` of the event, where it has one.
    pub fn site(&self) -> Option<&Site> {
        match &self.fact {
            Fact::Change(change) => Some(&change.site),
            Fact::Assessment(assessment) => Some(&assessment.site),
            _ => None,
        }
    }

    /// The last word of the event on the anchor: in one change `left` beats `found`.
    pub fn anchor(&self) -> Option<Anchor> {
        match &self.fact {
            Fact::Change(change) => change.left.anchor.or(change.found.anchor),
            Fact::Shower(shower) => shower.anchor,
            Fact::Inspection(inspection) => inspection.covering.anchor,
            Fact::Trauma(trauma) => trauma.covering.anchor,
            _ => None,
        }
    }

    /// For the order of a timeline: by instant; on the same instant those of an unknown time last, of them a change
    /// last, then by kind, then by number.
    pub fn order(&self) -> impl Ord + use<> {
        (self.when.instant, !self.is_timed(), self.name.kind == Kind::Change, self.name.kind.word(), self.name.n)
    }
}

impl Kind {
    /// Whether an event of this kind concerns one exit site, and may name it.
    pub fn concerns_one_exit(self) -> bool {
        matches!(self, Kind::Change | Kind::Inspection | Kind::Assessment | Kind::Trauma)
    }

    /// The fields of a record of this kind.
    pub fn fields(self) -> Vec<Field> {
        record::describe(|table| {
            table.needed().word::<Kind>("kind", "what the event says");
            Common::read(table);
            self.read_fact(table);
        })
    }

    fn read_fact(self, table: &mut Table) -> Option<Fact> {
        match self {
            Kind::Change => Change::read(table).map(Fact::Change),
            Kind::Shower => Shower::read(table).map(Fact::Shower),
            Kind::Assessment => Assessment::read(table).map(Fact::Assessment),
            Kind::Inspection => Inspection::read(table).map(Fact::Inspection),
            Kind::Trauma => Trauma::read(table).map(Fact::Trauma),
            Kind::Culture => Culture::read(table).map(Fact::Culture),
            Kind::Infection => Infection::read(table).map(Fact::Infection),
            Kind::Treatment => Treatment::read(table).map(Fact::Treatment),
            Kind::Teaching => Teaching::read(table).map(Fact::Teaching),
            Kind::Contact => Contact::read(table).map(Fact::Contact),
            Kind::Log => Log::read(table).map(Fact::Log),
            Kind::Supply => Supply::read(table).map(Fact::Supply),
        }
    }
}

fn read_table(table: &mut Table, source: &Arc<Source>, name: EventName, calendar: &Calendar) -> Option<Event> {
    let kind = table.needed().word::<Kind>("kind", "what the event says");
    table.point_at("kind");
    let common = Common::read(table);
    // A kind that is no word is one fault; what else stands there is judged by the kind of the name.
    let mut fact = kind.unwrap_or(name.kind).read_fact(table);
    if let Some(Fact::Contact(contact)) = &mut fact {
        contact.expect_by_instant = contact.expect_by.and_then(|moment| instant(table, "expect_by", moment, calendar));
    }
    if let Some(moment) = common.entered_at {
        instant(table, "entered", moment, calendar);
    }
    if common.exit.is_some() && !kind.unwrap_or(name.kind).concerns_one_exit() {
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
        common.compare_corrections(table, when);
        compare_dates_inside(table, fact.as_ref(), when);
    }
    table.report_unknown_keys();
    if is_voided {
        table.retain_problems(|problem| problem.rule.applies_to_voided());
    }
    Some(Event {
        source: source.clone(),
        name,
        when: when?,
        by: common.by.or(is_voided.then(String::new))?,
        telling: common.telling.unwrap_or(Telling::Seen),
        exit: common.exit,
        entered_at: common.entered_at,
        note: common.note,
        amended: common.amended,
        void: common.void,
        fact: if is_voided { Fact::Voided } else { fact? },
        spans: table.take_spans(),
    })
}

impl Common {
    fn read(table: &mut Table) -> Common {
        let moment = table.moment("at", "when: day and time");
        let on = table.date("on", "when: the day, where only that is known");
        table.needed();
        let by = person(table, "by", &["patient"], "who did or saw it: a code, or patient");
        let telling = table.word("source", "how it reached the records: seen, told, log or image");
        let exit = table.text("exit", "the exit site, where several are open");
        let note = table.text("note", "a note; never a name");
        let entered_at = table.table("entered", "who wrote the record, and when", |table| {
            let at = table.moment("at", "when it was written");
            person(table, "by", &[], "who wrote it");
            at
        });
        let amended = table.rows("amended", "what was corrected", |table| {
            let what = table.needed().text("was", "what stood there before");
            Correction::read(table, what, Rule::AmendmentIncomplete)
        });
        let void = table.table("void", "why the record counts for nothing", |table| {
            let what = table.text("replaced_by", "the file that replaces it");
            Correction::read(table, what, Rule::VoidIncomplete)
        });
        Common {
            moment,
            on,
            by,
            telling,
            exit,
            entered_at: entered_at.flatten(),
            note,
            amended: amended.unwrap_or_default(),
            void: void.flatten(),
        }
    }

    /// When it happened, or a problem that says what to write.
    fn when(&self, table: &mut Table, calendar: &Calendar) -> Option<When> {
        match (self.moment, self.on) {
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

    fn compare_corrections(&self, table: &mut Table, when: &When) {
        let day = |moment: &Moment| moment.wall.date();
        let key = if self.amended.iter().any(|row| day(&row.at) < when.care_day) {
            Some("amended")
        } else if self.void.as_ref().is_some_and(|void| day(&void.at) < when.care_day) {
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

impl Correction {
    fn read(table: &mut Table, what: Option<String>, incomplete: Rule) -> Option<Correction> {
        let at = table.needed().moment("at", "when it was corrected");
        table.needed();
        let by = person(table, "by", &[], "who corrected it");
        let why = table.needed().text("why", "why it was corrected").filter(|why| !why.trim().is_empty());
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
pub fn instant(table: &mut Table, key: &str, moment: Moment, calendar: &Calendar) -> Option<Instant> {
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

/// Dates inside a fact that cannot lie before the event.
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
        _ => {}
    }
}
