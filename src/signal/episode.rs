//! An episode: one rise of a signal to its end, its evidence, and who acted on it.

use chrono::Duration;
use schemars::JsonSchema;
use serde::Serialize;

use super::Observation;
use super::rule::Urgency;
use crate::day::{Instant, WallTime};
use crate::event::{ContactOutcome, Kind, Signal};
use crate::word::{Word, words};

/// An observation, and its file.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Evidence {
    /// The record.
    pub file: String,
    /// The observation.
    pub what: Observation,
}

/// A contact about a signal that answers nothing, such as a call to the household.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Called {
    /// The time.
    pub at: WallTime,
    /// With whom.
    pub with: String,
    /// How it ended.
    pub outcome: ContactOutcome,
}

words! {
    /// The way in which a record acts on a signal.
    pub enum ActedBy {
        /// A look at the site by staff.
        Look = "look",
        /// A culture, an infection or a treatment.
        Clinical = "clinical",
        /// A contact about it.
        Contact = "contact",
        /// The record that ends it.
        Remedy = "remedy",
    }
}

/// The record that acted on a signal first.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Acted {
    /// How.
    pub how: ActedBy,
    /// The kind of the record.
    pub kind: Kind,
    /// By whom.
    pub by: String,
    /// With whom a contact was; null for any other kind.
    pub with: Option<String>,
    /// How a contact ended; null for any other kind.
    pub outcome: Option<ContactOutcome>,
}

/// One rise of a signal, to its end if it has ended.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Episode {
    /// The patient's code.
    pub patient: String,
    /// The exit site's id; null where it concerns the patient.
    pub exit: Option<String>,
    /// Its name.
    pub signal: Signal,
    /// today or this-week.
    pub urgency: Urgency,
    /// The time of its rise.
    pub since: WallTime,
    /// The time from which it could be known: that of writing its record, if later.
    pub known_since: WallTime,
    /// The records that raised it and joined it, in order.
    pub evidence: Vec<Evidence>,
    /// A later record does not show it, but none that could end it.
    pub better_not_confirmed: bool,
    /// The last contact about it that is no answer, such as a call to the household; null if there is none.
    pub called: Option<Called>,
    /// The time of its first answer; null if there is none.
    pub answered: Option<WallTime>,
    /// The record that answered it.
    pub answered_by: Option<String>,
    /// How that record acted on it.
    pub acted: Option<Acted>,
    /// True if the last thing that happened in it is answered; a record that shows it unchanged asks for no other answer.
    pub news_answered: bool,
    /// Whole hours from when it could be known to its answer.
    pub hours_to_answer: Option<i64>,
    /// The time of its end; null while it is open.
    pub ended: Option<WallTime>,
    /// The times of its news: its rise, and later growth.
    #[serde(skip)]
    pub news: Vec<Instant>,
    /// The times of records that showed it unchanged.
    #[serde(skip)]
    pub again: Vec<Instant>,
}

impl Episode {
    /// Returns true if it has not ended.
    pub fn is_open(&self) -> bool {
        self.ended.is_none()
    }

    /// The time since which its news waits for someone to act on it; `None` if that is done or it has ended.
    pub fn waiting_since(&self) -> Option<Instant> {
        let is_waiting = self.is_open() && !self.news_answered;
        let later = self.answered.and_then(|at| self.news.iter().filter(|news| **news > at.instant()).min());
        is_waiting.then(|| later.copied().unwrap_or(self.known_since.instant()))
    }

    /// After how many days it was learnt, where that was late.
    pub fn learnt_after_days(&self) -> Option<i64> {
        learnt_after_days(self.since.instant(), self.known_since.instant())
    }
}

/// In the order in which they rose.
pub(super) fn rank(episode: &Episode) -> impl Ord + use<> {
    (episode.since, episode.signal.word(), episode.exit.clone())
}

/// A record written more days than this after the event is reported late.
const LATE_DAYS: i64 = 7;

/// After how many days something was learnt, where that was more than a week.
pub(crate) fn learnt_after_days(since: Instant, known_since: Instant) -> Option<i64> {
    let late = known_since - since;
    (late > Duration::days(LATE_DAYS)).then(|| late.num_days())
}
