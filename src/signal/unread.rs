//! The records that determine the open signals. Records are read from the newest back; once every open signal is known, with its
//! start, its evidence and the actions on it, and nothing older can have left another one open, the rest stays unread.
//!
//! Every signal is assumed open before the first day that is read. The records read since then must end each of them by
//! the signal's own rule, whatever raised it; from that end on, earlier days no longer matter: a signal that rises after it
//! is known as it would be if every record was read. A signal is not assumed open if, judging by file names, no earlier
//! record can have raised it. The kinds of records that raise or end a signal stand in its rule, and each kind is read only
//! as far as some signal needs it. The families, and what must be read for each:
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
//! // pus since the look: it is open, and known
//! let pus = seen.event("2026-11-20T09:00", "assessment", "[site]\ndrainage = 'purulent'");
//! assert!(!open(&pus, "2026-11-01").contains(&"pus".to_owned()));
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
//! **A pull**: pulls are few, and all of `look_back_days` are read; the looks back to one that ends it whatever was before, or
//! to the last full look before the pull, with which later ones are compared.
//!
//! ```
//! # use exitsite::story::Story;
//! # let clean = "[site]\ndrainage = 'none'\nredness_mm = 0\nswelling = 'none'\ncrust_mm = 0\npain = 'none'";
//! let home = Story::implanted("2026-06-01").home_from("2026-06-30").event("2026-10-01T09:00", "change", clean);
//! let pulled = home.event("2026-11-16T09:00", "trauma", "mechanism = 'snag'");
//! let pull = |story: &Story, from: &str| story.may_be_open("2026-11-24T07:15", from).contains(&"line-pulled".to_owned());
//! assert_eq!([pull(&pulled, "2026-11-01"), pull(&pulled, "2026-09-20")], [true, false]);
//! // a look without a finding, a week after the pull
//! assert!(!pull(&pulled.event("2026-11-23T10:00", "assessment", clean), "2026-11-01"));
//! ```
//!
//! **A change by a person who is not signed off**: each change on a day on which a member of the household was not signed
//! off. No file name shows who made a change, and only a sign-off ends the signal: in a household of which one member, often
//! the patient, was never signed off, every change of `look_back_days` is opened, although that member may have made none of
//! them. Fewer are needed only where the rule itself ends the signal: changes back to the last sign-off of each member who
//! is not signed off now; and with `untaught = { ends_after_days = N }` those of the last N days, since an older one has ended.
//!
//! ```
//! # use exitsite::story::Story;
//! let home = Story::implanted("2026-06-01").home_from("2026-06-30");
//! let open = |story: &Story| story.may_be_open("2026-11-24T07:15", "2026-11-01").contains(&"untaught".to_owned());
//! let unread = home.event("2026-10-01T09:00", "change", "");
//! assert!(open(&unread));
//! let attested = |who: &str| {
//!     format!("by = 'ed-1'\nlearner = '{who}'\nobserver = 'ed-1'\ncurriculum = 'dressing-change'\nversion = 1\nmode = 'attested'")
//! };
//! let son = unread.event("2026-07-01T09:00", "teaching", &attested("p001-son"));
//! assert!(open(&son)); // the patient may have made it
//! assert!(!open(&son.event("2026-07-01T10:00", "teaching", &attested("patient"))));
//! ```
//!
//! **Cultures, infections, treatments, checkoffs**: all of `look_back_days`, since they are few; contacts since the growth.
//! **An overdue log, a move home, a stay elsewhere**: the newest logs, all of them if one is overdue; the checkoffs, the
//! course.
//!
//! **The actions on an open signal**: contacts since its start and, for most signals, looks since then.

use std::collections::BTreeMap;

use chrono::NaiveDate;

use super::rule::{Answered, EpisodeSearch, RaisedBy, SITE};
use super::{Episode, SignalInputs, is_clean};
use crate::day::{Instant, Period, before, plus};
use crate::event::{Event, EventName, Kind, Signal};
use crate::score::Graded;

/// The maximum lag in days between an event's name and its place in the order of events: time zone offsets are up to 26
/// hours apart, and an event without a time is placed at the end of its care day.
pub(crate) const NAME_LAG_DAYS: i64 = 3;

/// The days after the one on which a log is expected from which it is overdue in every time zone.
const LOG_LAG_DAYS: i64 = 2 * NAME_LAG_DAYS;

/// The minimum number of days that are read further back at a time, and the share of the days read so far that are added
/// to it.
const STEP_DAYS: i64 = 7;
const STEPS_BACK: i64 = 8;

/// The kinds with few records, which are always read for the whole look-back period.
pub(crate) const RARE: [Kind; 5] = [Kind::Culture, Kind::Infection, Kind::Treatment, Kind::Trauma, Kind::Teaching];

/// The first day from which every file of each kind has been read, and the file names of the look-back period.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct ReadWindow<'a> {
    /// The first day of the look-back period.
    oldest: NaiveDate,
    first_days: BTreeMap<Kind, NaiveDate>,
    names: &'a [EventName],
}

/// The records that are needed, besides those that were read, to determine the open signals.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum StillWanted {
    /// Further records of some kinds, from a day on; none if the open signals are known.
    From(BTreeMap<Kind, NaiveDate>),
    /// Every record of the look-back period, and older ones.
    Everything,
}

/// The instant before which every unread record lies.
#[derive(Debug, Clone, Copy)]
pub(super) struct UnreadPast {
    pub(super) until: Instant,
}

/// A signal that is open, or that unread records may have left open.
#[derive(Debug)]
struct Open {
    signal: Signal,
    exit: Option<String>,
    /// Its start; `None` if unread records determine whether it is open, or since when.
    since: Option<Instant>,
    /// The first day of the records that were searched for it, if older ones are unread.
    first_day: Option<NaiveDate>,
}

impl<'a> ReadWindow<'a> {
    /// Starts with the files from a day on, and those of the rare kinds from the first day of the look-back period on.
    pub(crate) fn from_day(first_day: NaiveDate, oldest: NaiveDate, names: &'a [EventName]) -> ReadWindow<'a> {
        let mut read = ReadWindow { oldest, first_days: BTreeMap::new(), names };
        let rules = Signal::ALL.iter().map(|signal| signal.rule());
        rules.flat_map(|rule| rule.read).for_each(|kind| read.extend(*kind, first_day));
        RARE.iter().for_each(|kind| read.extend(*kind, oldest));
        read
    }

    /// Adds the files of a kind from a day on; no older ones than those of the look-back period.
    pub(crate) fn extend(&mut self, kind: Kind, day: NaiveDate) {
        let known = self.first_day(kind);
        self.first_days.insert(kind, known.min(day).max(self.oldest));
    }

    /// The first day from which every file of a kind has been read.
    pub(crate) fn first_day(&self, kind: Kind) -> NaiveDate {
        self.first_days.get(&kind).copied().unwrap_or(NaiveDate::MAX)
    }

    /// Returns true if a file was read, or would be for this window.
    pub(crate) fn holds(&self, name: &EventName) -> bool {
        name.date >= self.first_day(name.kind)
    }

    /// Returns true if a file of a kind is unread.
    pub(crate) fn is_unread(&self, kind: Kind) -> bool {
        self.names.iter().any(|name| name.kind == kind && name.date < self.first_day(kind))
    }

    /// Returns true if every file of the kind in the look-back period has been read.
    fn is_complete(&self, kind: Kind) -> bool {
        self.first_day(kind) <= self.oldest
    }

    /// The first day from which every record of some kinds has been read.
    fn first_day_of(&self, kinds: &[Kind]) -> NaiveDate {
        kinds.iter().map(|kind| self.first_day(*kind)).fold(self.oldest, NaiveDate::max)
    }

    /// The first day from which every record that raises, improves or ends a signal has been read; `None` if no unread one
    /// can matter.
    fn first_day_for(&self, signal: Signal) -> Option<NaiveDate> {
        let rule = signal.rule();
        let day = self.first_day_of(rule.read);
        let is_before = |name: &&EventName| self.oldest <= name.date && name.date <= day;
        let can_be_up = match rule.raised {
            RaisedBy::Rarely => false,
            RaisedBy::InTime => true,
            RaisedBy::By(kinds) => self.names.iter().filter(is_before).any(|name| kinds.contains(&name.kind)),
        };
        (can_be_up && day > self.oldest).then_some(day)
    }

    /// The further records of some kinds: those of the kinds that were read least far back, a while before them.
    fn further(&self, kinds: &[Kind], today: NaiveDate) -> StillWanted {
        let day = self.first_day_of(kinds);
        let days = STEP_DAYS + (today - day).num_days().max(0) / STEPS_BACK;
        let behind = kinds.iter().filter(|kind| self.first_day(**kind) >= day);
        StillWanted::From(behind.map(|kind| (*kind, plus(day, -days))).collect())
    }

    /// The records of some kinds back to a day, as far as they were not read.
    fn back_to(&self, kinds: &[Kind], day: NaiveDate) -> StillWanted {
        let day = day.max(self.oldest);
        StillWanted::From(kinds.iter().filter(|kind| self.first_day(**kind) > day).map(|kind| (*kind, day)).collect())
    }
}

impl StillWanted {
    /// No further records.
    const NOTHING: StillWanted = StillWanted::From(BTreeMap::new());

    fn and(self, other: StillWanted) -> StillWanted {
        let (StillWanted::From(mut all), StillWanted::From(others)) = (self, other) else {
            return StillWanted::Everything;
        };
        for (kind, day) in others {
            let known = all.entry(kind).or_insert(day);
            *known = day.min(*known);
        }
        StillWanted::From(all)
    }
}

impl<'a> SignalInputs<'a> {
    /// The records that are needed besides those that were read, so that every open signal is known, with its start, its
    /// evidence and the actions on it. Of `signals`, only those that need some are kept: further records change no other.
    pub(crate) fn wanted(&self, read: &ReadWindow, signals: &mut Vec<Signal>) -> StillWanted {
        signals.retain(|signal| !self.signals.is_off(*signal) && self.is_known(*signal));
        let needs = |open: Open| (open.signal, self.wanted_for(&open, read));
        let needs: Vec<(Signal, StillWanted)> = self.open(read, signals).into_iter().map(needs).collect();
        signals.retain(|signal| needs.iter().any(|(of, wanted)| of == signal && *wanted != StillWanted::NOTHING));
        needs.into_iter().map(|(_, wanted)| wanted).fold(StillWanted::NOTHING, StillWanted::and)
    }

    /// The signals that unread records may have left open, or whose start they determine.
    pub(crate) fn may_be_open(&self, read: &ReadWindow) -> Vec<Signal> {
        let open = self.open(read, Signal::ALL).into_iter();
        open.filter(|open| open.since.is_none()).map(|open| open.signal).collect()
    }

    /// Those of some signals that are open or may be.
    fn open(&self, read: &ReadWindow, signals: &[Signal]) -> Vec<Open> {
        let mut open = self.open_after(read, signals, None);
        if let Some(timeline) = self.timeline.ahead() {
            // A record dated ahead raises a signal that later ones do not end, so it must be known before them.
            let now = self.timeline.as_of;
            open.extend(SignalInputs { timeline: &timeline, ..*self }.open_after(read, signals, Some(now)));
        }
        open
    }

    /// Those of some signals that are open or may be, and those of which that was unknown until after `now`.
    fn open_after(&self, read: &ReadWindow, signals: &[Signal], now: Option<Instant>) -> Vec<Open> {
        let mut groups: BTreeMap<Option<NaiveDate>, Vec<Signal>> = BTreeMap::new();
        for signal in signals {
            groups.entry(read.first_day_for(*signal)).or_default().push(*signal);
        }
        let of_group = |(first_day, signals): (Option<NaiveDate>, Vec<Signal>)| {
            let mut episodes = self.read_from(first_day).search(&signals, |site, search| search(site));
            episodes.iter_mut().for_each(|episode| self.end_with_support(episode));
            let open = move |episode: Episode| {
                let is_known = !episode.evidence.is_empty();
                let is_unknown_until = |now| episode.ended.is_some_and(|ended| !is_known && ended.instant() > now);
                (episode.is_open() || now.is_some_and(is_unknown_until)).then(|| Open {
                    signal: episode.signal,
                    exit: episode.exit,
                    since: is_known.then(|| episode.since.instant()),
                    first_day,
                })
            };
            episodes.into_iter().filter_map(open).collect::<Vec<_>>()
        };
        groups.into_iter().flat_map(of_group).collect()
    }

    /// The records that are needed for one signal.
    fn wanted_for(&self, open: &Open, read: &ReadWindow) -> StillWanted {
        let (signal, rule) = (open.signal, open.signal.rule());
        let today = self.timeline.today;
        let Some(start) = open.since else {
            let changes = Some(read.first_day(Kind::Change)).filter(|_| signal == Signal::Untaught);
            return match changes.and_then(|first_day| self.untaught_from(first_day)) {
                Some(day) => read.back_to(rule.read, day),
                None => read.further(rule.read, today),
            };
        };
        // The logs of the whole period determine since when the next one is overdue.
        if signal == Signal::LogLate && !read.is_complete(Kind::Log) {
            return read.back_to(rule.read, read.oldest);
        }
        let since = self.calendar().today(start);
        // An action on a signal of the first days can have a name from before them.
        if since < plus(read.oldest, NAME_LAG_DAYS) || signal == Signal::LogLate && self.is_by_older_log(start, read) {
            return StillWanted::Everything;
        }
        let is_of_exit = matches!(rule.episodes, EpisodeSearch::Exit(_));
        if is_of_exit && open.first_day.is_none() && self.may_be_older(open.exit.as_deref()) {
            return match SITE.iter().all(|kind| read.is_complete(*kind)) {
                true => StillWanted::Everything,
                false => read.further(SITE, today),
            };
        }
        let actions: &[Kind] = match rule.answered {
            Answered::Act | Answered::Contact => &[Kind::Contact, Kind::Change, Kind::Assessment],
            Answered::Clinician | Answered::HandOver | Answered::HearAgain | Answered::Remedy => &[Kind::Contact],
        };
        read.back_to(actions, plus(since, -NAME_LAG_DAYS))
    }

    /// Returns true if a log from before the look-back period may determine since when the next one is overdue, or be the
    /// last one before it: after a long stay elsewhere, that log can be of any age.
    fn is_by_older_log(&self, start: Instant, read: &ReadWindow) -> bool {
        let is_before = |event: &Event| event.name.kind == Kind::Log && event.when.instant <= start;
        let is_early = self.calendar().today(start) < plus(read.oldest, self.plan.log_days + LOG_LAG_DAYS);
        is_early || !self.timeline.events().iter().any(is_before)
    }

    /// Returns true if records from before the look-back period may determine the start of a signal at an exit site: no
    /// look by staff in the period ended every earlier one.
    fn may_be_older(&self, exit: Option<&str>) -> bool {
        let exits = self.patient().exits.iter().filter(|known| exit == Some(known.id.as_str()));
        let is_clean_look =
            |graded: &Graded| graded.event.when.care_day >= self.rare_from && graded.is_staff_look && is_clean(graded);
        exits.filter(|exit| exit.from < self.rare_from).any(|exit| !self.graded(exit).iter().any(is_clean_look))
    }

    /// The inputs restricted to records from a day on: anything may have happened before it.
    fn read_from(&self, day: Option<NaiveDate>) -> SignalInputs<'a> {
        match day {
            None => *self,
            Some(first_day) => {
                let until = self.calendar().start(plus(first_day, NAME_LAG_DAYS));
                SignalInputs { first_day, unread: Some(UnreadPast { until }), ..*self }
            }
        }
    }

    /// The days on which changes may be unread.
    pub(super) fn unread_days(&self) -> Option<Period> {
        self.unread.map(|unread| Period { from: self.rare_from, to: before(self.calendar().today(unread.until)) })
    }
}
