//! An event: the facts of one record file, with who recorded them, when, and from which source.
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
//! Left out on purpose: how an event relates to others. It knows nothing of exit sites, implants or deadlines.

mod at;
mod change;
mod clinical;
mod code;
mod contact;
mod dressing;
mod kind;
mod log;
mod name;
mod noted;
mod noted_sign;
mod photo;
mod reading;
mod seen;
mod signal;
mod site;
mod subject;
mod supply;
mod teaching;

use std::sync::Arc;

use chrono::{NaiveDate, NaiveDateTime, NaiveTime};

pub use at::{At, rfc3339};
pub use change::{Change, ChangeReason, Cleanser, Disc, Materials};
pub use clinical::{Certainty, Culture, CultureResult, InfectedPart, Infection, Remedy, Specimen, Treatment};
pub use code::{is_patient_code, is_person_code};
pub use contact::{Contact, ContactOutcome};
pub use dressing::{Anchor, Dressing, DressingAndAnchor};
pub use kind::{ActedBy, Fact, Kind, Lane, Traits};
pub use log::Log;
pub use name::EventName;
pub(crate) use name::{is_event_path, is_year};
pub(crate) use noted::{noted, only_in_note};
pub use noted_sign::NotedFinding;
pub(crate) use noted_sign::NotedSign;
pub use photo::Photo;
pub(crate) use photo::{LARGEST_PICTURE, is_place};
pub use seen::{Assessment, Inspection, Mechanism, Shower, Trauma, Water};
pub use signal::Signal;
pub(crate) use signal::each_signal;
pub use site::{Amount, Drainage, Finding, Pain, Site, SiteField, Swelling};
pub use subject::Subject;
pub use supply::{Supply, Tally};
pub use teaching::{Mode, Teaching};

use crate::day::{Calendar, Instant};
use crate::place::{RecordText, Span};
use crate::problem::{Problem, Rule, makes_unusable};
use crate::record::{self, Moment, Table, Values};
use crate::word::{Word, words};

words! {
    /// The source of a record.
    pub enum Source {
        /// Seen by the writer or by `by`.
        Seen = "seen",
        /// Reported by telephone.
        Told = "told",
        /// From a household's log.
        Log = "log",
        /// From a picture.
        Image = "image",
    }
}

/// The time of an event: a moment, or only the day.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct When {
    /// The wall-clock time as written; `None` if only the day is known.
    pub wall: Option<NaiveDateTime>,
    /// The care day of the wall-clock time, or the date itself.
    pub care_day: NaiveDate,
    /// The sort key: the instant, or one second before the end of the care day if only the day is known.
    pub instant: Instant,
}

/// The place of an event in a timeline.
pub type InOrder = (Instant, bool, bool, &'static str, u16, NaiveDate, Option<NaiveTime>);

impl When {
    /// The earliest instant at which the event can have happened.
    pub(crate) fn earliest(&self, calendar: &Calendar) -> Instant {
        if self.wall.is_some() { self.instant } else { calendar.start(self.care_day) }
    }

    /// Returns true if the event happened at or before `as_of`.
    pub(crate) fn exists(&self, calendar: &Calendar, as_of: Instant) -> bool {
        self.earliest(calendar) <= as_of
    }

    /// Returns the sort key of an event with this name.
    pub(crate) fn order(&self, name: EventName) -> InOrder {
        let is_untimed = self.wall.is_none();
        (self.instant, is_untimed, name.kind == Kind::Change, name.kind.word(), name.n, name.date, name.time)
    }
}

/// An amendment or a void: who, when and why.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Correction {
    /// Time.
    pub at: Moment,
    /// Person.
    pub by: String,
    /// Reason.
    pub why: String,
    /// The value before, or the file that replaces a voided one.
    pub what: Option<String>,
}

/// One event of a patient or of staff.
#[derive(Debug, Clone, PartialEq)]
pub struct Event {
    /// The file with its text, so that a later check can point into it.
    pub record: Arc<RecordText>,
    /// The file name.
    pub name: EventName,
    /// Time of the event.
    pub when: When,
    /// Person who did or saw it.
    pub by: String,
    /// Source of the record.
    pub source: Source,
    /// The exit site named in the record.
    pub exit: Option<String>,
    /// Time at which the record was written.
    pub entered_at: Option<Moment>,
    /// A note.
    pub note: Option<String>,
    /// Amendments.
    pub amended: Vec<Correction>,
    /// The void of the record; `None` if it counts.
    pub void: Option<Correction>,
    /// The facts, by kind.
    pub fact: Fact,
    /// False if it was made of values that are not in a file.
    is_in_file: bool,
}

impl Event {
    /// Reads one event file; `name` is the event name from its file name.
    ///
    /// Returns `None` if the file cannot be used. `problems` receives the reasons, and warnings as well.
    pub fn read(
        source: &Arc<RecordText>,
        name: EventName,
        calendar: &Calendar,
        problems: &mut Vec<Problem>,
    ) -> Option<Event> {
        let known_before = problems.len();
        let event = record::read(source, problems, |table| reading::read_table(table, source, name, calendar));
        if makes_unusable(&problems[known_before..]) { None } else { event }
    }

    /// The person who told the facts of a contact; `None` for other records.
    pub(crate) fn told_by(&self) -> Option<&str> {
        match &self.fact {
            Fact::Contact(contact) => Some(&contact.with),
            _ => None,
        }
    }

    /// Builds an event from values that are not in a file yet, as [`Event::read`] does from a file's text.
    pub(crate) fn of_values(
        values: &Values,
        source: &Arc<RecordText>,
        name: EventName,
        calendar: &Calendar,
        problems: &mut Vec<Problem>,
    ) -> Option<Event> {
        let known_before = problems.len();
        let reader = |table: &mut Table| reading::read_table(table, source, name, calendar);
        let event = record::read_values(values, source, problems, reader);
        let event = event.map(|event| Event { is_in_file: false, ..event });
        if makes_unusable(&problems[known_before..]) { None } else { event }
    }

    /// Returns the event of a voided record as it was before; `None` if it is not voided or is unreadable even without
    /// its void.
    pub(crate) fn before_void(&self, calendar: &Calendar) -> Option<Event> {
        self.void.as_ref()?;
        let mut values = Values::of(&self.record.text)?;
        values.remove("void");
        Event::of_values(&values, &self.record, self.name, calendar, &mut Vec::new())
    }

    /// The path of the file in the records folder.
    pub fn file(&self) -> &str {
        &self.record.file
    }

    /// The instant of the event; `None` if the time is unknown.
    pub fn is_timed(&self) -> bool {
        self.when.wall.is_some()
    }

    /// The time from which the record could be known: the later of the event and its writing.
    pub fn known_at(&self, calendar: &Calendar) -> Instant {
        let entered = self.entered_at.and_then(|moment| moment.instant(calendar));
        entered.map_or(self.when.instant, |entered| entered.max(self.when.instant))
    }

    /// The earliest instant at which the event can have happened: its time, or the start of its care day if the time is
    /// unknown.
    pub fn earliest(&self, calendar: &Calendar) -> Instant {
        self.when.earliest(calendar)
    }

    /// Returns true if the event happened as of `as_of`: a timed event if it is not later, an untimed one from the start
    /// of its day.
    pub fn exists(&self, calendar: &Calendar, as_of: Instant) -> bool {
        self.when.exists(calendar, as_of)
    }

    /// The span of a key in the file; `table` is "" for the top level. A missing key has the span of the first line.
    pub fn span(&self, table: &str, key: &str) -> Span {
        if self.is_in_file { record::place(&self.record.text, table, key) } else { 0..0 }
    }

    /// A problem at a key of this event; a key inside a table is dotted: `table.key`.
    pub fn problem(&self, rule: Rule, key: &str, message: impl Into<String>, help: impl Into<String>) -> Problem {
        let (table, name) = key.split_once('.').unwrap_or(("", key));
        self.record.problem(rule, &self.span(table, name), message, help).of_key(key)
    }

    /// The key of the time: `at` or `on`.
    pub(crate) fn time_key(&self) -> &'static str {
        if self.is_timed() { "at" } else { "on" }
    }

    /// The `[site]` table of the event, if any.
    pub fn site(&self) -> Option<&Site> {
        match &self.fact {
            Fact::Change(change) => Some(&change.site),
            Fact::Assessment(assessment) => Some(&assessment.site),
            Fact::Contact(_) | Fact::Culture(_) | Fact::Infection(_) | Fact::Inspection(_) | Fact::Log(_) => None,
            Fact::Photo(_) | Fact::Shower(_) | Fact::Supply(_) | Fact::Teaching(_) | Fact::Trauma(_) => None,
            Fact::Treatment(_) | Fact::Voided => None,
        }
    }

    /// The body temperature that the event tells, in °C.
    pub(crate) fn temperature_c(&self) -> Option<f64> {
        match &self.fact {
            Fact::Contact(contact) => contact.temperature_c,
            _ => self.site().and_then(|site| site.temperature_c),
        }
    }

    /// Dressing and anchor as the event found them, and as it left them.
    pub(crate) fn found_and_left(&self) -> [DressingAndAnchor; 2] {
        let nothing = DressingAndAnchor::default();
        match &self.fact {
            Fact::Change(change) => [change.found, change.left],
            Fact::Shower(Shower { dressing_before, dressing_after, anchor, .. }) => [
                DressingAndAnchor { dressing: *dressing_before, anchor: None },
                DressingAndAnchor { dressing: *dressing_after, anchor: *anchor },
            ],
            Fact::Inspection(Inspection { covering }) | Fact::Trauma(Trauma { covering, .. }) => [nothing, *covering],
            Fact::Assessment(_) | Fact::Contact(_) | Fact::Culture(_) | Fact::Infection(_) | Fact::Log(_) => {
                [nothing; 2]
            }
            Fact::Photo(_) | Fact::Supply(_) | Fact::Teaching(_) | Fact::Treatment(_) | Fact::Voided => [nothing; 2],
        }
    }

    /// The dressing after the event: as left, or as found.
    pub fn dressing(&self) -> Option<Dressing> {
        let [found, left] = self.found_and_left();
        left.dressing.or(found.dressing)
    }

    /// The anchor after the event: as left, or as found.
    pub fn anchor(&self) -> Option<Anchor> {
        let [found, left] = self.found_and_left();
        left.anchor.or(found.anchor)
    }

    /// The timeline order: by instant; at one instant, untimed events last and changes last among them, then by kind,
    /// then by number.
    pub fn order(&self) -> InOrder {
        self.when.order(self.name)
    }
}
