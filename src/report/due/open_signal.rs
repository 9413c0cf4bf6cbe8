//! An open signal of a row: when it opened, and the last record that shows it.

use schemars::JsonSchema;
use serde::Serialize;

use crate::chart::Chart;
use crate::day::WallTime;
use crate::event::{At, Signal, Site, Source};
use crate::patient::ExitSite;
use crate::signal::{EndedTreatment, Episode, LaterScore, LatestAction, Observation, Urgency, Worsening, not_known};

/// An open signal.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct OpenSignal {
    /// The signal's name.
    pub name: Signal,
    /// `today` or `this-week`.
    pub urgency: Urgency,
    /// The exit site's id; null if the signal concerns the patient as such.
    pub exit: Option<String>,
    /// The exit site's id, if the exit site is closed and has no row of its own.
    pub closed_exit: Option<String>,
    /// The time at which it opened.
    pub since: WallTime,
    /// The latest observation behind it.
    pub observed: Option<Observation>,
    /// The record of that observation; null if no single record shows it.
    pub seen: Option<Sighting>,
    /// True if it was acted on.
    #[serde(rename = "answered")]
    pub is_answered: bool,
    /// The time of the first action; null if there was none.
    pub answered_at: Option<WallTime>,
    /// The action on its latest news, and the clinician told of it; null if there is none.
    pub latest_action: Option<LatestAction>,
    /// True if its latest evidence was also acted on.
    #[serde(rename = "news_answered")]
    pub is_news_answered: bool,
    /// The records that showed more than at the last action, in order; empty if it was never acted on.
    pub worse: Vec<Worsening>,
    /// The last treatment during the episode, if it was acted on and no treatment is ongoing; otherwise null.
    pub treatment_ended: Option<EndedTreatment>,
    /// The last score in the review band with pus since the last evidence of such a score without; otherwise null.
    pub later_score: Option<LaterScore>,
}

/// The record that shows a signal.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Sighting {
    /// The time.
    pub at: At,
    /// The person's code.
    pub by: String,
    /// The person who told it, if the record is a contact; otherwise null.
    pub told_by: Option<String>,
    /// The way the facts reached the records.
    pub source: Source,
    /// The site findings, if the record has any.
    pub site: Option<Site>,
}

impl OpenSignal {
    pub(super) fn of(chart: &Chart, episode: &Episode) -> OpenSignal {
        let latest = episode.latest();
        OpenSignal {
            name: episode.signal,
            urgency: episode.urgency,
            exit: episode.exit.clone(),
            closed_exit: None,
            since: episode.since,
            observed: latest.map(|(_, what)| what.clone()),
            seen: latest.and_then(|(file, _)| Sighting::of(chart, file)),
            is_answered: episode.answered.is_some(),
            answered_at: episode.answered,
            latest_action: episode.latest_action.clone(),
            is_news_answered: episode.news_answered,
            worse: episode.worse_since_action().cloned().collect(),
            treatment_ended: episode.treatment_ended,
            later_score: episode.later_score.clone(),
        }
    }

    /// Returns true if it was acted on, and has not worsened since.
    pub(crate) fn is_acted_on(&self) -> bool {
        self.is_answered && self.worse.is_empty()
    }

    /// Returns the sort key: today before this week, not acted on before acted on, then by danger.
    pub(super) fn rank(&self) -> (Urgency, bool, bool, Signal) {
        (self.urgency, self.is_news_answered, self.is_answered, self.name)
    }

    /// Returns the open signals of an exit site and of the patient, and those of exit sites without a row of their own.
    /// If a file is invalid, only the known signals are returned; `None`, never an empty list, if none is known.
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
            told_by: event.told_by().map(str::to_owned),
            source: event.source,
            site: event.site().filter(has_findings).cloned(),
        })
    }
}
