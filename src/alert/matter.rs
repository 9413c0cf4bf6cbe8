//! The matter of an alert, with its facts.

use chrono::NaiveDate;

use crate::day::Instant;
use crate::event::Signal;
use crate::problem::Problem;
use crate::schedule::Because;
use crate::signal::{Observation, Urgency};
use crate::word::words;

words! {
    /// The matter of an alert.
    pub enum MatterKind {
        /// A change is overdue.
        Overdue = "overdue",
        /// A signal is open.
        Signal = "signal",
        /// A file cannot be used.
        Unusable = "unusable",
        /// Too few are signed off for a planned move home.
        SignOff = "sign-off",
        /// A supply runs short.
        Supply = "supply",
        /// Support ended.
        SupportEnded = "support-ended",
        /// No records were entered for long.
        Quiet = "quiet",
        /// The policy has an error; the rest was judged.
        Policy = "policy",
        /// The state file cannot be written.
        Unkept = "unkept",
        /// Nothing could be judged.
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
        /// The reason why it was due.
        because: Option<Because>,
    },
    /// A signal is open.
    Signal {
        /// The signal.
        signal: Signal,
        /// The urgency.
        urgency: Urgency,
        /// The evidence in the records.
        evidence: Vec<Observation>,
        /// The record on file that acted on it first.
        acted_on: Option<ActedOn>,
    },
    /// Files cannot be used: with a patient, nothing or not everything can be said of that patient.
    Unusable {
        /// The files.
        files: Vec<String>,
    },
    /// Too few at home are signed off for a planned move home.
    SignOff {
        /// The day of the move.
        home_on: NaiveDate,
    },
    /// A supply runs short.
    Supply {
        /// The item.
        item: String,
    },
    /// Support ended.
    SupportEnded {
        /// The day.
        on: NaiveDate,
    },
    /// No records were entered for long.
    Quiet {
        /// The hours; `None` if no record was ever entered.
        hours: Option<i64>,
    },
    /// The policy has an error: everything but the part with the error was judged.
    Policy {
        /// The first error.
        first: Box<Problem>,
        /// The number of errors.
        errors: usize,
    },
    /// The state file cannot be written, so that the next run does not know the alerts of this one.
    Unkept {
        /// The reason.
        why: String,
    },
    /// Nothing could be judged.
    NotJudged {
        /// The reason.
        why: String,
    },
}

/// The record that acted on a signal.
#[derive(Debug, Clone, PartialEq)]
pub struct ActedOn {
    /// The time of the event.
    pub at: Instant,
    /// The file.
    pub by: String,
    /// True if the latest news of the signal is acted on, too.
    pub is_of_all: bool,
}

impl Matter {
    /// The matter without its facts.
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
