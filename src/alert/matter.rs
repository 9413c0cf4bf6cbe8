//! The matter of an alert, with its facts.

use chrono::NaiveDate;

use crate::day::Instant;
use crate::event::Signal;
use crate::problem::Problem;
use crate::schedule::Because;
use crate::signal::{LatestAction, Observation, Urgency};
use crate::word::words;

words! {
    /// The matter of an alert.
    pub enum MatterKind {
        /// A change is overdue.
        Overdue = "overdue",
        /// A signal is open.
        Signal = "signal",
        /// A file is unreadable.
        Unusable = "unusable",
        /// Too few people are signed off for a planned move home.
        SignOff = "sign-off",
        /// A supply is running short.
        Supply = "supply",
        /// Support ended.
        SupportEnded = "support-ended",
        /// No records were entered for a long time.
        Quiet = "quiet",
        /// The policy has an error; the rest was checked.
        Policy = "policy",
        /// The state file cannot be written.
        Unkept = "unkept",
        /// No records could be checked.
        NotJudged = "not-judged",
    }
}

/// The matter of an alert, with its facts.
#[derive(Debug, Clone, PartialEq)]
pub enum Matter {
    /// A change is overdue.
    Overdue {
        /// Whole hours since the deadline.
        hours: i64,
        /// Reason why it was due.
        because: Option<Because>,
    },
    /// A signal is open.
    Signal {
        /// The signal.
        signal: Signal,
        /// The urgency.
        urgency: Urgency,
        /// Evidence in the records.
        evidence: Vec<Observation>,
        /// The first record that acted on it.
        acted_on: Option<ActedOn>,
    },
    /// Files are unreadable: for a patient, the alerts are unknown or incomplete.
    Unusable {
        /// The files.
        files: Vec<String>,
    },
    /// Too few people are signed off for a planned move home.
    SignOff {
        /// Day of the move.
        home_on: NaiveDate,
    },
    /// A supply is running short.
    Supply {
        /// Item.
        item: String,
    },
    /// Support ended.
    SupportEnded {
        /// Day.
        on: NaiveDate,
    },
    /// No records were entered for a long time.
    Quiet {
        /// Hours; `None` if no record was ever entered.
        hours: Option<i64>,
    },
    /// The policy has an error; everything except that part was checked.
    Policy {
        /// First error.
        first: Box<Problem>,
        /// Number of errors.
        errors: usize,
    },
    /// The state file cannot be written, so the next run will not know the alerts of this one.
    Unkept {
        /// Reason.
        why: String,
    },
    /// No records could be checked.
    NotJudged {
        /// Reason.
        why: String,
    },
}

/// The record that acted on a signal.
#[derive(Debug, Clone, PartialEq)]
pub struct ActedOn {
    /// Time of the event.
    pub at: Instant,
    /// File.
    pub by: String,
    /// True if the latest news of the signal was acted on, too.
    pub is_of_all: bool,
    /// The action on the latest news.
    pub action: Option<Box<LatestAction>>,
}

impl Matter {
    /// The kind of the matter, without its facts.
    pub fn what(&self) -> MatterKind {
        match self {
            Matter::Overdue { .. } => MatterKind::Overdue,
            Matter::Signal { .. } => MatterKind::Signal,
            Matter::Unusable { .. } => MatterKind::Unusable,
            Matter::SignOff { .. } => MatterKind::SignOff,
            Matter::Supply { .. } => MatterKind::Supply,
            Matter::SupportEnded { .. } => MatterKind::SupportEnded,
            Matter::Quiet { .. } => MatterKind::Quiet,
            Matter::Policy { .. } => MatterKind::Policy,
            Matter::Unkept { .. } => MatterKind::Unkept,
            Matter::NotJudged { .. } => MatterKind::NotJudged,
        }
    }
}
