//! An open signal of a row: its clock, and the last record that shows it.

use schemars::JsonSchema;
use serde::Serialize;

use crate::chart::Chart;
use crate::day::WallTime;
use crate::event::{At, Signal, Site, Source};
use crate::patient::ExitSite;
use crate::signal::{Episode, Observation, Urgency, not_known};

/// A signal that is open.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct OpenSignal {
    /// Its name.
    pub name: Signal,
    /// today or this-week.
    pub urgency: Urgency,
    /// The exit site; null where it concerns the patient.
    pub exit: Option<String>,
    /// The exit site, where it is closed and has no row of its own.
    pub closed_exit: Option<String>,
    /// The time of its rise.
    pub since: WallTime,
    /// The latest observation behind it.
    pub observed: Option<Observation>,
    /// The record of that observation; null where no single record shows it.
    pub seen: Option<Sighting>,
    /// True if it was acted on.
    #[serde(rename = "answered")]
    pub is_answered: bool,
    /// True if its latest news was acted on, too.
    #[serde(rename = "news_answered")]
    pub is_news_answered: bool,
}

/// The record that shows a signal.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Sighting {
    /// The time.
    pub at: At,
    /// By whom.
    pub by: String,
    /// How it reached the records.
    pub source: Source,
    /// The findings at the site, where the record holds some.
    pub site: Option<Site>,
}

impl OpenSignal {
    pub(super) fn of(chart: &Chart, episode: &Episode) -> OpenSignal {
        let evidence = episode.evidence.last();
        OpenSignal {
            name: episode.signal,
            urgency: episode.urgency,
            exit: episode.exit.clone(),
            closed_exit: None,
            since: episode.since,
            observed: evidence.map(|said| said.what.clone()),
            seen: evidence.and_then(|said| Sighting::of(chart, &said.file)),
            is_answered: episode.answered.is_some(),
            is_news_answered: episode.news_answered,
        }
    }

    /// Today before this week, not acted on before acted on, then the more dangerous one.
    pub(super) fn rank(&self) -> (Urgency, bool, bool, Signal) {
        (self.urgency, self.is_news_answered, self.is_answered, self.name)
    }

    /// The open signals of an exit site and of the patient, and those of an exit site that has no row of its own.
    ///
    /// Where a file cannot be used those that are known are given, and no list says that there is none.
    pub(super) fn of_row(
        chart: &Chart,
        exits: &[&ExitSite],
        open: &[Episode],
        exit: &ExitSite,
    ) -> Option<Vec<OpenSignal>> {
        let has_row = |id: &Option<String>| exits.iter().any(|exit| id.as_ref() == Some(&exit.id));
        let is_own = |id: &Option<String>| id.as_ref() == Some(&exit.id) || !has_row(id);
        let signal = |episode: &Episode| OpenSignal {
            closed_exit: episode.exit.clone().filter(|_| !has_row(&episode.exit)),
            ..OpenSignal::of(chart, episode)
        };
        let mut signals: Vec<OpenSignal> = open.iter().filter(|episode| is_own(&episode.exit)).map(signal).collect();
        signals.sort_by_key(OpenSignal::rank);
        let is_complete = chart.unread.is_empty() && not_known(chart.rules).is_empty();
        (is_complete || !signals.is_empty()).then_some(signals)
    }
}

impl Sighting {
    fn of(chart: &Chart, file: &str) -> Option<Sighting> {
        let event = chart.all_events().find(|event| event.file() == file)?;
        let has_findings = |site: &&Site| **site != Site::default();
        Some(Sighting {
            at: At::of(&event.when, &chart.patient.calendar),
            by: event.by.clone(),
            source: event.source,
            site: event.site().filter(has_findings).cloned(),
        })
    }
}
