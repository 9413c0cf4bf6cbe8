//! Findings that need review, most urgent first.

use std::collections::BTreeMap;

use chrono::Duration;
use schemars::JsonSchema;
use serde::Serialize;

use crate::chart::Chart;
use crate::day::Instant;
use crate::event::Signal;
use crate::rules::Rules;
use crate::signal::{self, Episode, SignalInputs, Urgency};
use crate::word::Word;

/// Signals, open or also ended.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct SignalsReport {
    /// Each, most urgent first.
    pub signals: Vec<Episode>,
    /// Signals that the program's policy has turned off, with the reason.
    pub off: BTreeMap<String, String>,
    /// Patients of whom not all signals are known, since a file or a part of the policy cannot be used.
    pub not_known: Vec<String>,
    /// Signals that are not known of anybody, since a part of policy.toml, or people.toml, cannot be used.
    pub signals_not_known: Vec<Signal>,
    /// The wait that was asked about; null where all open signals were.
    pub waiting: Option<Waiting>,
}

/// The signals of today that wait for someone to act on them.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Waiting {
    /// Only those that have waited so many hours or more are listed.
    pub hours: i64,
    /// Signals of today that are open and not acted on, however long they have waited.
    pub open: usize,
}

impl SignalsReport {
    /// Keeps the signals of today that have waited for so many hours or more, the longest first.
    pub fn waiting(mut self, hours: i64, now: Instant) -> SignalsReport {
        let since = |episode: &Episode| episode.waiting_since().filter(|_| episode.urgency == Urgency::Today);
        self.signals.retain(|episode| since(episode).is_some());
        self.waiting = Some(Waiting { hours, open: self.signals.len() });
        self.signals.retain(|episode| since(episode).is_some_and(|since| now - since >= Duration::hours(hours)));
        self.signals.sort_by_key(since);
        self
    }
}

/// A patient's signals as far as they are known.
#[derive(Debug)]
pub struct OfPatient {
    /// The patient's code.
    pub patient: String,
    /// Open and ended ones; `None` if the policy or patient.toml cannot be used.
    pub signals: Option<Vec<Episode>>,
    /// Every file that they need could be used.
    pub is_complete: bool,
}

/// A patient's signals, open and ended. They need the windows `Signals` and `State`.
pub fn of_patient(chart: &Chart) -> OfPatient {
    let signals = SignalInputs::of(chart.rules, &chart.timeline()).map(|watch| watch.episodes());
    OfPatient { patient: chart.patient.code.clone(), signals, is_complete: chart.unread.is_empty() }
}

/// The signals of a patient who cannot be judged.
pub fn unjudged(code: &str) -> OfPatient {
    OfPatient { patient: code.to_owned(), signals: None, is_complete: false }
}

/// The signals of patients: the open ones, or with `is_all` those that have ended, too.
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
    SignalsReport { signals, off, not_known, signals_not_known, waiting: None }
}

/// Open before ended, today before this week, not acted on before acted on, a clinical finding of today before all others, the
/// oldest first.
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
