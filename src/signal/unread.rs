//! Signals that unread records may have raised. Records are read from the newest back; once nothing older can have left a
//! signal open, the rest stays unread.
//!
//! Every signal is assumed open before the first day that is read. The records read since then must end each of them by
//! the signal's own rule, whatever raised it; from that end on, earlier days no longer matter. A signal is not assumed
//! open if, judging by file names, no earlier record can have raised it. The families, and what must be read for each:
//!
//! **A finding at a site**, and comparisons: back to a full look by staff without it, a few days after the first day that
//! is read (time zone offsets are up to 26 hours apart). A comparison that reaches further back than the records read
//! treats the unread site as clean, so that the signal starts.
//!
//! ```
//! # use exitsite::story::Story;
//! let clean = "[site]\ndrainage = 'none'\nredness_mm = 0\nswelling = 'none'\ncrust_mm = 0\npain = 'none'\nodor = false\nwarmth = false\novergranulation = false\nbleeding = false";
//! let home = Story::implanted("2026-06-01").home_from("2026-06-30").event("2026-09-01T09:00", "change", "");
//! let seen = home.event("2026-11-10T09:00", "change", clean);
//! let site = ["pus", "redness-wide", "score-rising", "drainage-more", "warmth-or-odor"];
//! let open = |story: &Story, from: &str| story.may_be_open("2026-11-24T07:15", from);
//! assert!(site.iter().all(|name| open(&home, "2026-11-01").contains(&(*name).to_owned())));
//! assert!(site.iter().all(|name| !open(&seen, "2026-11-01").contains(&(*name).to_owned())));
//! // the look on the day on which reading begins may be older than a record that is not read
//! assert!(open(&seen, "2026-11-10").contains(&"pus".to_owned()));
//! // two points since the look: what was 30 days before is read, too
//! let worse = seen.event("2026-11-20T09:00", "assessment", "[site]\ndrainage = 'serous'\nredness_mm = 2");
//! assert!(open(&worse, "2026-11-01").contains(&"score-rising".to_owned()));
//! ```
//!
//! **No look by staff**: back to the last full look. **A fever**: back to a full look by staff, or a temperature, as long
//! after the first day that is read as the policy requires.
//!
//! ```
//! # use exitsite::story::Story;
//! # let clean = "[site]\ndrainage = 'none'\nredness_mm = 0\nswelling = 'none'\ncrust_mm = 0\npain = 'none'\nodor = false\nwarmth = false\novergranulation = false\nbleeding = false";
//! let home = Story::implanted("2026-06-01").home_from("2026-06-30").event("2026-09-01T09:00", "change", clean);
//! let seen = home.event("2026-11-10T09:00", "change", clean);
//! let fever = |from: &str| seen.may_be_open("2026-11-24T07:15", from).contains(&"fever".to_owned());
//! assert_eq!([fever("2026-11-01"), fever("2026-10-30")], [true, false]); // a week, and the days that names can lag
//! ```
//!
//! **Missed changes, an anchor, water at the site**: back to the last change, and the latest record of the anchor. **An
//! anchor or a dressing that is often off**: as many changes as the policy counts.
//!
//! ```
//! # use exitsite::story::Story;
//! let home = Story::implanted("2026-06-01").home_from("2026-06-30").event("2026-09-01T09:00", "shower", "dressing_after = 'wet'");
//! let open = |story: &Story| story.may_be_open("2026-11-24T07:15", "2026-11-01");
//! let of_line = ["changes-missed", "anchor-off", "water-at-site"];
//! assert!(of_line.iter().all(|name| open(&home).contains(&(*name).to_owned())));
//! let changed = home.event("2026-11-22T09:00", "change", "[left]\nanchor = 'in-place'");
//! let may_be = open(&changed);
//! assert!(["anchor-off", "water-at-site"].iter().all(|name| !may_be.contains(&(*name).to_owned())));
//! ```
//!
//! **A shower**: if an older file of one exists, back to the record that acts on it or ends it. File names alone show
//! which showers were before the first allowed day.
//!
//! ```
//! # use exitsite::story::Story;
//! let home = Story::implanted("2026-06-01").home_from("2026-06-30");
//! let open = |story: &Story| story.may_be_open("2026-11-24T07:15", "2026-11-01").contains(&"shower-unchecked".to_owned());
//! assert!(!open(&home));
//! let shower = home.event("2026-09-01T09:00", "shower", "");
//! assert!(open(&shower));
//! assert!(!open(&shower.event("2026-11-10T09:00", "assessment", "[site]\ndrainage = 'none'")));
//! ```
//!
//! **A change by a person who is not signed off**: each change on a day on which a member of the household was not signed
//! off; only a sign-off ends it. **A pull, cultures, infections, treatments, checkoffs**: all of `look_back_days`, since
//! they are few. **An overdue log, a move home, a stay elsewhere**: the newest logs, the checkoffs, the course.

use chrono::NaiveDate;

use super::rule::RaisedBy;
use super::{Episode, SignalInputs};
use crate::day::{Instant, Period, before, plus};
use crate::event::{EventName, Kind, Signal};

/// The maximum lag in days between an event's name and its place in the order of events: time zone offsets are up to 26
/// hours apart, and an event without a time is placed at the end of its care day.
pub(crate) const NAME_LAG_DAYS: i64 = 3;

/// The first day from which every file of a kind has been read, and the file names of the look-back period.
#[derive(Debug, Clone, Copy)]
pub(crate) struct ReadWindow<'a> {
    /// The first day of changes, not later than `looks`.
    pub changes: NaiveDate,
    /// The first day of assessments, contacts and logs.
    pub looks: NaiveDate,
    /// The first day of showers.
    pub showers: NaiveDate,
    /// The first day of inspections.
    pub inspections: NaiveDate,
    /// The file names of the days over which signals look back.
    pub names: &'a [EventName],
}

/// A signal that is open, or may be open because of unread records.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct Open {
    /// The signal.
    pub signal: Signal,
    /// True if it is open regardless of unread records.
    pub is_certain: bool,
}

/// The instant before which every unread record lies.
#[derive(Debug, Clone, Copy)]
pub(super) struct UnreadPast {
    pub(super) until: Instant,
}

impl Signal {
    /// Returns true if a record of this kind can raise it and old records of the kind may be unread.
    pub(crate) fn is_raised_by(self, kind: Kind) -> bool {
        matches!(self.rule().raised, RaisedBy::By(kinds) if kinds.contains(&kind))
    }
}

impl ReadWindow<'_> {
    /// The first day from which files of a kind have been read.
    pub(crate) fn from(&self, kind: Kind) -> NaiveDate {
        match kind {
            Kind::Change => self.changes,
            Kind::Shower => self.showers,
            Kind::Inspection => self.inspections,
            _ => self.looks,
        }
    }

    /// The first day from which every record that can start or end a signal has been read; `None` if no unread record
    /// can.
    fn first_day(&self, signal: Signal, looked_at_from: NaiveDate) -> Option<NaiveDate> {
        let kinds = match signal.rule().raised {
            RaisedBy::Rarely => return None,
            RaisedBy::InTime => return Some(self.looks).filter(|day| *day > looked_at_from),
            RaisedBy::By(kinds) => kinds,
        };
        let day = match kinds {
            [Kind::Change] => self.changes,
            kinds => kinds.iter().map(|kind| self.from(*kind)).fold(self.looks, NaiveDate::max),
        };
        let is_before = |name: &&EventName| looked_at_from <= name.date && name.date <= day;
        let can_be_up = self.names.iter().filter(is_before).any(|name| kinds.contains(&name.kind));
        (can_be_up && day > looked_at_from).then_some(day)
    }
}

impl<'a> SignalInputs<'a> {
    /// The signals that are open, or may be open because of unread records.
    pub(crate) fn may_be_open(&self, unread: &ReadWindow) -> Vec<Open> {
        let mut open = self.perhaps_open(unread);
        if let Some(timeline) = self.timeline.ahead() {
            open.extend(SignalInputs { timeline: &timeline, ..*self }.perhaps_open(unread));
        }
        open.sort();
        open.dedup();
        open
    }

    fn perhaps_open(&self, unread: &ReadWindow) -> Vec<Open> {
        let is_asked = |signal: &Signal| !self.signals.is_off(*signal) && self.is_known(*signal);
        let asked: Vec<Signal> = Signal::ALL.iter().copied().filter(is_asked).collect();
        let days: Vec<Option<NaiveDate>> =
            asked.iter().map(|signal| unread.first_day(*signal, self.first_day)).collect();
        let of_day = |day: Option<NaiveDate>| {
            let signals = asked.iter().zip(&days).filter(|(_, of)| **of == day).map(|(signal, _)| *signal);
            self.read_from(day, unread.looks).search(&signals.collect::<Vec<_>>(), |site, search| search(site))
        };
        let mut groups = days.clone();
        groups.sort();
        groups.dedup();
        let mut episodes: Vec<Episode> = groups.into_iter().flat_map(of_day).collect();
        episodes.iter_mut().for_each(|episode| self.end_with_support(episode));
        let open = |episode: Episode| {
            let is_certain = !episode.evidence.is_empty() && episode.signal.rule().raised != RaisedBy::Rarely;
            Open { signal: episode.signal, is_certain }
        };
        episodes.into_iter().filter(Episode::is_open).map(open).collect()
    }

    /// The inputs restricted to records from a day on: anything may have happened before it.
    fn read_from(&self, day: Option<NaiveDate>, looks: NaiveDate) -> SignalInputs<'a> {
        let looks_from = Some(looks);
        match day {
            None => SignalInputs { looks_from, ..*self },
            Some(first_day) => {
                let until = self.calendar().start(plus(first_day, NAME_LAG_DAYS));
                SignalInputs { first_day, looks_from, unread: Some(UnreadPast { until }), ..*self }
            }
        }
    }

    /// The days on which changes may be unread.
    pub(super) fn unread_days(&self) -> Option<Period> {
        self.unread.map(|unread| Period { from: self.rare_from, to: before(self.calendar().today(unread.until)) })
    }

    /// Returns true if every look around a day, up to the next one read, has been read.
    pub(super) fn is_read_around(&self, day: NaiveDate) -> bool {
        self.looks_from.is_none_or(|from| plus(from, NAME_LAG_DAYS) <= day)
    }
}
