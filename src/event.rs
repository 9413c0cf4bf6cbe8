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

mod at;
mod change;
mod clinical;
mod code;
mod contact;
mod dressing;
mod kind;
mod log;
mod name;
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
pub use kind::{Fact, Kind, Lane, Traits};
pub use log::Log;
pub use name::EventName;
pub(crate) use name::{is_event_path, is_year};
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
use crate::record::{self, Moment, Spans, Table, Values};
use crate::word::{Word, words};

words! {
    /// The source of a record.
    pub enum Source {
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

/// The time of an event: a moment, or only the day.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct When {
    /// The wall time as written; none where only the day is known.
    pub wall: Option<NaiveDateTime>,
    /// The care day: that of the wall time, or the date itself.
    pub care_day: NaiveDate,
    /// For order: the instant, or one second before the end of the care day where only the day is known.
    pub instant: Instant,
}

/// The place of an event in a timeline.
pub type InOrder = (Instant, bool, bool, &'static str, u16, NaiveDate, Option<NaiveTime>);

impl When {
    /// The first moment at which it can have been.
    pub(crate) fn earliest(&self, calendar: &Calendar) -> Instant {
        if self.wall.is_some() { self.instant } else { calendar.start(self.care_day) }
    }

    /// True if it has been as of a moment.
    pub(crate) fn exists(&self, calendar: &Calendar, as_of: Instant) -> bool {
        self.earliest(calendar) <= as_of
    }

    /// The order of an event of this name in a timeline.
    pub(crate) fn order(&self, name: EventName) -> InOrder {
        let is_untimed = self.wall.is_none();
        (self.instant, is_untimed, name.kind == Kind::Change, name.kind.word(), name.n, name.date, name.time)
    }
}

/// An amendment or a void: person, time and reason.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Correction {
    /// Time.
    pub at: Moment,
    /// Person.
    pub by: String,
    /// Why.
    pub why: String,
    /// The value before, or the file that replaces a voided one.
    pub what: Option<String>,
}

/// One event of a patient or of staff.
#[derive(Debug, Clone, PartialEq)]
pub struct Event {
    /// The file, with its text, so that a later check can point into it.
    pub record: Arc<RecordText>,
    /// The file name.
    pub name: EventName,
    /// Time of the event.
    pub when: When,
    /// Person who did or saw it.
    pub by: String,
    /// Source.
    pub source: Source,
    /// The exit site that it names.
    pub exit: Option<String>,
    /// Time of writing.
    pub entered_at: Option<Moment>,
    /// A note.
    pub note: Option<String>,
    /// Amendments.
    pub amended: Vec<Correction>,
    /// Why it counts for nothing.
    pub void: Option<Correction>,
    /// Facts.
    pub fact: Fact,
    spans: Spans,
}

impl Event {
    /// Reads one event file, whose name promises `name`.
    ///
    /// None if the file cannot be used; `problems` says why, and gets what is only to be looked at, too.
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

    /// Makes an event of values that are in no file yet, as [`Event::read`] does of a file's text.
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
        if makes_unusable(&problems[known_before..]) { None } else { event }
    }

    /// The event of a voided record as it was before; `None` if it is not voided or could not be used without its void.
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

    /// The time if it is known.
    pub fn is_timed(&self) -> bool {
        self.when.wall.is_some()
    }

    /// The time from which a record could be known: the later of the event and of its writing.
    pub fn known_at(&self, calendar: &Calendar) -> Instant {
        let entered = self.entered_at.and_then(|moment| moment.instant(calendar));
        entered.map_or(self.when.instant, |entered| entered.max(self.when.instant))
    }

    /// The first moment at which it can have happened: its time, or the start of its care day where only that is known.
    pub fn earliest(&self, calendar: &Calendar) -> Instant {
        self.when.earliest(calendar)
    }

    /// True if the event is there as of a moment: with a time, if it is not later; without, from the start of its day.
    pub fn exists(&self, calendar: &Calendar, as_of: Instant) -> bool {
        self.when.exists(calendar, as_of)
    }

    /// The place of a key of the file, inside a table or "" for the top; the first line where the key is missing.
    pub fn span(&self, table: &str, key: &str) -> Span {
        self.spans.iter().find(|(t, k, _)| (*t, *k) == (table, key)).map_or(0..0, |(.., span)| span.clone())
    }

    /// A problem at a key of this event; one inside a table is named with a point.
    pub fn problem(&self, rule: Rule, key: &str, message: impl Into<String>, help: impl Into<String>) -> Problem {
        let (table, name) = key.split_once('.').unwrap_or(("", key));
        self.record.problem(rule, &self.span(table, name), message, help).of_key(key)
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
    pub fn order(&self) -> InOrder {
        self.when.order(self.name)
    }
}
