//! One patient's records, opened as far as a question needs: the only reader of a patient's files.
//!
//! A question names its [`Window`]s, [`Program::chart`] opens what they cover, each file once, and the [`Chart`] answers
//! from memory. A file that cannot be used is no failure: [`UnreadableFiles`] says which answers it blocks. A patient whose
//! patient.toml cannot be used has no chart.

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
    /// The last change of each exit site, and every file named later: what the state needs.
    State,
    /// The files of [`Window::State`], and the last word on each fact of the due list.
    Recent,
    /// The files that say which signals are open: those from the newest back until none older can still be; where one can, those of
    /// [`Window::LookBack`].
    Signals,
    /// The files of the days over which signals look back, and older ones that say since when one of passing days is up.
    LookBack,
    /// The changes and logs around a period, from the last change before it to the first one after it.
    Changes(Period),
    /// Site records, newest first.
    Sites(Looks),
    /// Every checkoff, however old.
    Checkoffs,
    /// Supplies back to the last count of each item, and the changes of at least so many days.
    Supplies {
        /// Days of own use.
        own_use_days: i64,
    },
    /// The files of an audit: every file from a day on, the charts' changes and supplies, and every rare record.
    Audit {
        /// The first day of which every file is opened.
        first: chrono::NaiveDate,
        /// The days of the charts.
        charts: Period,
        /// Days of own use of supplies.
        own_use_days: i64,
    },
    /// Every file.
    Everything,
}

/// The site records that a question asks for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Looks {
    /// The latest of each exit site, and the one before it.
    Latest,
    /// Each in a period and the one before it, or each ever.
    Each(Option<Period>),
}

/// One patient's records, as of a moment.
#[derive(Debug)]
pub struct Chart<'p> {
    /// The policy and the staff list.
    pub rules: Rules<'p>,
    /// The patient's course.
    pub patient: Patient,
    /// The files that were opened and cannot be used.
    pub unread: UnreadableFiles,
    /// Files of events that have not happened yet; empty unless the state was asked for.
    pub ahead: Vec<String>,
    as_of: AsOf,
    events: SortedEvents,
}

/// A patient without a chart: the problems of patient.toml that keep it from being used.
#[derive(Debug, Clone)]
pub struct Unjudged {
    /// Each of them.
    pub problems: Vec<Problem>,
}

impl Program {
    /// Opens what `windows` cover of a patient's records, and puts it in order as of a moment.
    ///
    /// # Errors
    /// patient.toml cannot be used; no other file of the patient is opened.
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

    /// Returns true if a record of a site scores; where the rubric cannot be used, if it holds anything.
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
            Window::Changes(period) => history.open_changes_around(period.from, period.to),
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

    /// The moment asked about, and whether it was given.
    pub fn as_of(&self) -> AsOf {
        self.as_of
    }

    /// Every event that was opened, voided ones and those that have not happened yet included, in no promised order.
    pub fn all_events(&self) -> impl Iterator<Item = &Event> + Clone {
        self.events.all()
    }
}

/// Says of each event, newest first, whether enough have been opened: of each exit site the one asked for and the one
/// before it, or all back to the period's first day and one more.
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
