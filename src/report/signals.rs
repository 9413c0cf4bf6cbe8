//! Findings that need review, most urgent first.

use std::collections::BTreeMap;

use chrono::Duration;
use schemars::JsonSchema;
use serde::Serialize;

use crate::chart::Chart;
use crate::day::Instant;
use crate::event::Signal;
use crate::policy::Threshold;
use crate::rules::Rules;
use crate::signal::{self, Episode, SignalInputs, Urgency};
use crate::word::Word;

/// Open signals, and on request ended ones.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct SignalsReport {
    /// The signals, most urgent first.
    pub signals: Vec<Episode>,
    /// Signals that the program's policy has turned off, with the reason.
    pub off: BTreeMap<String, String>,
    /// Patients with incomplete signals, because a file or a part of the policy is invalid.
    pub not_known: Vec<String>,
    /// Signals that cannot be computed for any patient because people.toml or a part of policy.toml is invalid.
    pub signals_not_known: Vec<Signal>,
    /// The requested minimum wait; null if all open signals were requested.
    pub waiting: Option<Waiting>,
    /// The policy's conditions for the end of a fever; null if they cannot be read.
    pub fever_ends: Option<FeverEnds>,
}

/// The conditions for the end of a fever.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, JsonSchema)]
pub struct FeverEnds {
    /// The temperature in °C below which there is no fever.
    pub below_celsius: f64,
    /// The hours after the last fever from which on a lower temperature ends it.
    pub after_hours: i64,
    /// The days after the last fever from which on a full look by staff ends it.
    pub after_days: i64,
}

/// The signals of today that are waiting for action.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Waiting {
    /// The minimum wait of the listed signals, in hours.
    pub hours: i64,
    /// Open signals of today not acted on, regardless of the wait.
    pub open: usize,
}

impl SignalsReport {
    /// Keeps the signals of today that have waited for at least `hours`, longest first.
    pub fn waiting(mut self, hours: i64, now: Instant) -> SignalsReport {
        let since = |episode: &Episode| episode.waiting_since().filter(|_| episode.urgency == Urgency::Today);
        self.signals.retain(|episode| since(episode).is_some());
        self.waiting = Some(Waiting { hours, open: self.signals.len() });
        self.signals.retain(|episode| since(episode).is_some_and(|since| now - since >= Duration::hours(hours)));
        self.signals.sort_by_key(since);
        self
    }
}

/// A patient's known signals.
#[derive(Debug)]
pub struct OfPatient {
    /// The patient's code.
    pub patient: String,
    /// Open and ended signals; `None` if the policy or patient.toml is invalid.
    pub signals: Option<Vec<Episode>>,
    /// True if every file they depend on is valid.
    pub is_complete: bool,
}

/// Returns a patient's signals, open and ended. Requires the windows `Signals` and `State`.
pub fn of_patient(chart: &Chart) -> OfPatient {
    let signals = SignalInputs::of(chart.rules, &chart.timeline()).map(|watch| watch.episodes());
    OfPatient { patient: chart.patient.code.clone(), signals, is_complete: chart.unread.is_empty() }
}

/// Returns the signals of a patient whose records cannot be read.
pub(crate) fn unjudged(code: &str) -> OfPatient {
    OfPatient { patient: code.to_owned(), signals: None, is_complete: false }
}

/// Builds the report of the patients' open signals; with `is_all`, also of the ended ones.
pub fn report(rules: Rules, patients: Vec<OfPatient>, is_all: bool) -> SignalsReport {
    let signals_not_known = signal::not_known(rules);
    let (mut signals, mut not_known) = (Vec::new(), Vec::new());
    for one in patients {
        if one.signals.is_none() || !one.is_complete || !signals_not_known.is_empty() {
            not_known.push(one.patient);
        }
        signals.extend(one.signals.into_iter().flatten().filter(|episode| is_all || episode.is_open()));
    }
    signals.sort_by(|a, b| rank(a).cmp(&rank(b)));
    let signals_policy = rules.policy.and_then(|policy| policy.signals.as_ref());
    let off = signals_policy.map(|policy| policy.off().clone()).unwrap_or_default();
    let fever_ends = signals_policy.map(|policy| FeverEnds {
        below_celsius: policy.threshold(Threshold::FeverCelsius),
        after_hours: policy.threshold(Threshold::FeverEndsAfterHours) as i64,
        after_days: policy.threshold(Threshold::FeverEndsAfterDays) as i64,
    });
    SignalsReport { signals, off, not_known, signals_not_known, waiting: None, fever_ends }
}

/// Returns the sort key: open before ended, today before this week, not acted on before acted on, clinical findings of today
/// first, then oldest first.
fn rank(episode: &Episode) -> impl Ord + use<'_> {
    (
        episode.ended.is_some(),
        episode.urgency,
        episode.news_answered,
        episode.answered.is_some(),
        !episode.signal.is_clinical_finding_of_today(),
        episode.since,
        episode.patient.as_bytes(),
        episode.exit.as_deref(),
        episode.signal.word(),
    )
}
