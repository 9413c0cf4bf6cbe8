//! An episode: one occurrence of a signal from start to end, its evidence, and the action on it.

use chrono::{Duration, NaiveDate};
use schemars::JsonSchema;
use serde::Serialize;

use super::Observation;
use super::rule::Urgency;
use crate::day::{Instant, WallTime};
use crate::event::{ActedBy, ContactOutcome, Kind, Remedy, Signal};
use crate::word::Word;

/// An observation and the file that records it.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Evidence {
    /// The record.
    pub file: String,
    /// The observation.
    pub what: Observation,
}

/// A contact about a signal that does not act on it, such as a call to the household.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Called {
    /// Time.
    pub at: WallTime,
    /// Person reached.
    pub with: String,
    /// Outcome.
    pub outcome: ContactOutcome,
    /// The time by which a change or visit was promised: as agreed, or by the policy if no time was given; null without a
    /// promise, and if the promise was kept and no time was given.
    pub expect_by: Option<WallTime>,
    /// True if that time passed without a change.
    pub broken: bool,
}

/// A treatment that has ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, JsonSchema)]
pub struct EndedTreatment {
    /// The treatment.
    pub what: Remedy,
    /// Its last day.
    pub until: NaiveDate,
}

/// The first record that acted on a signal.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Acted {
    /// Kind of action.
    pub how: ActedBy,
    /// The kind of the record.
    pub kind: Kind,
    /// Person who recorded it, by code.
    pub by: String,
    /// Person reached, if the record is a contact; otherwise null.
    pub with: Option<String>,
    /// Outcome, if the record is a contact; otherwise null.
    pub outcome: Option<ContactOutcome>,
}

/// The action on the latest news of a signal.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct LatestAction {
    /// Time.
    pub at: WallTime,
    /// The action.
    #[serde(flatten)]
    pub acted: Acted,
    /// The record.
    pub file: String,
    /// True if a clinician recorded it.
    pub by_clinician: bool,
    /// Time of the visit agreed in the contact; null if none was agreed.
    pub expect_by: Option<WallTime>,
    /// The last contact in which a clinician was told of the latest news; null if none is on file.
    pub told: Option<ToldClinician>,
}

/// A contact in which a clinician was told of a signal.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct ToldClinician {
    /// Time.
    pub at: WallTime,
    /// The clinician's code; null if the record names none.
    pub clinician: Option<String>,
}

/// A record that shows more than all earlier ones of its episode: wider redness, a higher score, more drainage.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Worsening {
    /// Time of the record.
    pub at: WallTime,
    /// Time from which it could be known: when the record was written, if later.
    pub known_at: WallTime,
    /// The record.
    pub file: String,
    /// The observation.
    pub what: Observation,
    /// The last observation before it.
    pub was: Observation,
    /// True if an action followed it, or one followed a record no better than it.
    pub acted_on: bool,
    /// Time of the last action before it; null if none.
    pub acted_before: Option<WallTime>,
}

/// A site record after the last evidence of a score in the review band, with a score in that band and pus: evidence of `pus`.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct LaterScore {
    /// Time of the record.
    pub at: WallTime,
    /// The record.
    pub file: String,
    /// Its score.
    pub what: Observation,
}

/// One occurrence of a signal, from its start to its end.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Episode {
    /// Patient code.
    pub patient: String,
    /// Exit site id; null if the signal concerns the patient.
    pub exit: Option<String>,
    /// Signal name.
    pub signal: Signal,
    /// Urgency: today or this-week.
    pub urgency: Urgency,
    /// Start.
    pub since: WallTime,
    /// Time from which it could be known: when its record was written, if later.
    pub known_since: WallTime,
    /// Records that raised it or joined it, in order.
    pub evidence: Vec<Evidence>,
    /// True if a later record does not show it, but no record that could end it confirms that.
    pub better_not_confirmed: bool,
    /// Last contact about it that did not act on it, such as a call to the household; null if none.
    pub called: Option<Called>,
    /// Time of the first action on it; null if none.
    pub answered: Option<WallTime>,
    /// Record that acted on it.
    pub answered_by: Option<String>,
    /// Kind of action.
    pub acted: Option<Acted>,
    /// Action on its latest news, and the clinician told of it; null if none.
    pub latest_action: Option<LatestAction>,
    /// True if its latest news was acted on; a record that shows it unchanged needs no further action.
    pub news_answered: bool,
    /// The last treatment during the episode, if the signal was acted on, is open, and no treatment is ongoing; otherwise null.
    pub treatment_ended: Option<EndedTreatment>,
    /// The last contact in which a clinician was told of it and that does not act on it; null if none is on file.
    pub told: Option<ToldClinician>,
    /// Whole hours from when it could be known to the first action.
    pub hours_to_answer: Option<i64>,
    /// End of the episode; null while it is open.
    pub ended: Option<WallTime>,
    /// Times of its news: its start, each worsening, and the first record after an action that shows it unchanged.
    pub news: Vec<WallTime>,
    /// Times of records that showed it unchanged.
    pub again: Vec<WallTime>,
    /// Records that showed more than all earlier ones, in order.
    pub worse: Vec<Worsening>,
    /// The last score in the review band with pus since the last evidence of such a score without; otherwise null.
    pub later_score: Option<LaterScore>,
}

impl Episode {
    /// The latest record that shows it, and the observation.
    pub(crate) fn latest(&self) -> Option<(&str, &Observation)> {
        let with_pus = self.later_score.as_ref().map(|score| (score.file.as_str(), &score.what));
        with_pus.or(self.evidence.last().map(|said| (said.file.as_str(), &said.what)))
    }

    /// Returns true if it has not ended.
    pub fn is_open(&self) -> bool {
        self.ended.is_none()
    }

    /// The time since which its news awaits action; `None` if it was acted on or has ended.
    pub(crate) fn waiting_since(&self) -> Option<Instant> {
        let is_waiting = self.is_open() && !self.news_answered;
        let is_acted_on = |news: WallTime| self.worse.iter().any(|worse| worse.acted_on && worse.known_at == news);
        let later = self.answered.and_then(|at| self.news.iter().filter(|one| **one > at && !is_acted_on(**one)).min());
        is_waiting.then(|| later.unwrap_or(&self.known_since).instant())
    }

    /// The records worse than all that was on file at the last action on the open episode, in order; empty if it was never
    /// acted on.
    pub(crate) fn worse_since_action(&self) -> impl Iterator<Item = &Worsening> {
        let is_acted_on = self.is_open() && self.answered.is_some();
        self.worse.iter().filter(move |worse| is_acted_on && !worse.acted_on)
    }

    /// Returns true if it was acted on, and has not worsened since.
    pub(crate) fn is_acted_on(&self) -> bool {
        self.answered.is_some() && self.worse.iter().all(|worse| worse.acted_on)
    }

    /// The reporting delay in days, if it was reported late.
    pub(crate) fn learnt_after_days(&self) -> Option<i64> {
        learnt_after_days(self.since.instant(), self.known_since.instant())
    }
}

/// The order of start.
pub(super) fn rank(episode: &Episode) -> impl Ord + use<> {
    (episode.since, episode.signal.word(), episode.exit.clone())
}

/// A record written more than this many days after the event is reported late.
const LATE_DAYS: i64 = 7;

/// The reporting delay in days, if more than a week.
pub(crate) fn learnt_after_days(since: Instant, known_since: Instant) -> Option<i64> {
    let late = known_since - since;
    (late > Duration::days(LATE_DAYS)).then(|| late.num_days())
}
