//! One patient's records, read as far as a question needs: the only reader of a patient's files.
//!
//! A question names its [`Window`]s, [`Program::chart`] opens the files that they cover, each once, and the [`Chart`]
//! answers from memory. An unreadable file is not a failure: [`UnreadableFiles`] lists the answers that it blocks. A
//! patient whose patient.toml is unreadable has no chart.

mod everything;
mod history;
mod older;
mod settled;
mod unread;

use history::{History, Recent};

use crate::day::{AsOf, Period};
use crate::event::{Event, Kind, Site};
use crate::patient::Patient;
use crate::policy::Scoring;
use crate::problem::Problem;
use crate::program::Program;
use crate::rules::Rules;
use crate::score::Score;
use crate::timeline::{SortedEvents, Timeline};

pub use unread::UnreadableFiles;

/// The part of a patient's records that a question needs.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Window {
    /// The last change of each exit site, and every file named later: the files for the state.
    State,
    /// The files of [`Window::State`], and the latest record of each fact on the due list.
    Recent,
    /// The files that determine the open signals: from the newest back until none older can have left one open; if one
    /// can, those of [`Window::LookBack`].
    Signals,
    /// The files of the days over which signals look back, and older ones that determine when a signal of passing days
    /// started.
    LookBack,
    /// The changes and logs around a period, from the last change before it to the first one after it.
    Changes(Period),
    /// Site records, newest first.
    Sites(Looks),
    /// All checkoffs, however old.
    Checkoffs,
    /// Supplies back to the last count of each item, and the changes of at least this many days.
    Supplies {
        /// Days over which own use is measured.
        own_use_days: i64,
    },
    /// The files of an audit: every file from a day on, the changes and supplies of the charts, and every record of a
    /// rare kind.
    Audit {
        /// First day from which every file is opened.
        first: chrono::NaiveDate,
        /// Days of the charts.
        charts: Period,
        /// Days over which own use of supplies is measured.
        own_use_days: i64,
    },
    /// Every file.
    Everything,
}

/// The selection of site records.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Looks {
    /// The latest of each exit site, and the one before it.
    Latest,
    /// Those of a period and the one before it; without a period, all.
    Each(Option<Period>),
}

/// One patient's records, as of an instant.
#[derive(Debug)]
pub struct Chart<'p> {
    /// The policy and the staff list.
    pub rules: Rules<'p>,
    /// The patient's course.
    pub patient: Patient,
    /// The unreadable files among those opened.
    pub unread: UnreadableFiles,
    /// Files of future events; filled only with [`Window::State`].
    pub ahead: Vec<String>,
    as_of: AsOf,
    events: SortedEvents,
}

/// A patient without a chart: the problems that make patient.toml unreadable.
#[derive(Debug, Clone)]
pub struct Unjudged {
    /// The problems.
    pub problems: Vec<Problem>,
}

impl Program {
    /// Opens the files that `windows` cover, and sorts the events as of an instant.
    ///
    /// # Errors
    /// patient.toml is unreadable; no other file of the patient is opened.
    pub fn chart(&self, code: &str, windows: &[Window], as_of: AsOf) -> Result<Chart<'_>, Unjudged> {
        let mut problems = Vec::new();
        let Some(patient) = self.patient(code, &mut problems) else {
            problems.retain(|problem| problem.makes_unusable());
            return Err(Unjudged { problems });
        };
        let mut history = History::of(&self.folder, &patient, self.folder.patient(code));
        for window in windows {
            self.open_window(&mut history, &patient, *window, as_of);
        }
        let recent = match [Window::Recent, Window::State].map(|window| windows.contains(&window)) {
            [true, _] => Recent::of(history, &patient, as_of, &|site| self.scores(site)),
            [_, true] => Recent::without_facts(history, &patient, as_of),
            _ => {
                let (events, others) = history.into_events();
                Recent { events, others, unusable: Vec::new(), ahead: Vec::new() }
            }
        };
        let Recent { events, unusable, others, ahead } = recent;
        let unread = UnreadableFiles::of(unusable, others, &patient, as_of);
        let events = SortedEvents::as_of(&patient, events, as_of);
        Ok(Chart { rules: self.rules(), patient, unread, ahead, as_of, events })
    }

    /// Returns true if a record of a site scores; without a valid rubric, if it has any finding.
    fn scores(&self, site: &Site) -> bool {
        let scoring = self.policy.as_ref().and_then(|policy| policy.scoring.as_ref());
        scoring.map_or(!site.is_empty(), |scoring| Score::of(&scoring.rubric, site).is_site_record())
    }

    fn open_window(&self, history: &mut History, patient: &Patient, window: Window, as_of: AsOf) {
        let policy = self.policy.as_ref();
        let items = || -> Vec<&str> {
            policy.iter().flat_map(|policy| policy.supplies.iter().flatten()).map(|item| item.item.as_str()).collect()
        };
        match window {
            Window::State | Window::Recent => {}
            Window::Signals => settled::open(self, history, patient, as_of),
            Window::LookBack => {
                policy.into_iter().for_each(|policy| history.open_for_signals(policy, as_of, |_| true));
                older::open(self, history, patient, as_of);
            }
            Window::Changes(period) => history.open_changes_around(period.from, period.to, as_of),
            Window::Sites(looks) => {
                let scoring = policy.and_then(|policy| policy.scoring.as_ref());
                scoring.into_iter().for_each(|scoring| history.open_sites(enough(scoring, patient, as_of, looks)));
            }
            Window::Checkoffs => history.open_where(None, |name| name.kind == Kind::Teaching),
            Window::Supplies { own_use_days } => history.open_supplies(&items(), own_use_days, as_of),
            Window::Audit { first, charts, own_use_days } => {
                history.open_for_audit(first, charts, &items(), own_use_days, as_of);
            }
            Window::Everything => history.open_where(None, |_| true),
        }
    }
}

impl<'p> Chart<'p> {
    /// The events that exist and count, in order.
    pub fn timeline(&self) -> Timeline<'_> {
        Timeline::over(&self.patient, &self.events, self.as_of.instant)
    }

    /// The instant asked about, and whether it was given.
    pub fn as_of(&self) -> AsOf {
        self.as_of
    }

    /// Every event that was opened, including voided and future ones, unordered.
    pub(crate) fn all_events(&self) -> impl Iterator<Item = &Event> + Clone {
        self.events.all()
    }
}

/// Returns a predicate that receives each event, newest first, and returns true once enough have been opened: for each
/// exit site the requested record and the one before it, or all back to the period's first day and one more.
fn enough<'a>(
    scoring: &'a Scoring,
    patient: &'a Patient,
    as_of: AsOf,
    looks: Looks,
) -> impl FnMut(&Event) -> bool + 'a {
    let mut records = vec![0; patient.exits.len()];
    move |event| {
        let is_site =
            event.site().is_some_and(|site| scoring.rubric.items.iter().any(|item| site.finding(item.field).is_some()));
        let is_early_enough = match looks {
            Looks::Latest => true,
            Looks::Each(Some(period)) => event.when.care_day < period.from,
            Looks::Each(None) => false,
        };
        if is_site && is_early_enough && event.void.is_none() && event.exists(&patient.calendar, as_of.instant) {
            for (n, exit) in patient.exits.iter().enumerate() {
                records[n] += i32::from(patient.concerns(event, exit));
            }
        }
        let needed = if looks == Looks::Latest { 2 } else { 1 };
        records.iter().all(|count| *count >= needed)
    }
}
