//! A contact: a call or a visit, its subject and its outcome.

use super::Subject;
use crate::day::Instant;
use crate::problem::Rule;
use crate::record::{Limits, Moment, Table, fields};
use crate::word::words;

words! {
    /// The outcome of a contact.
    pub enum ContactOutcome {
        /// The household will change the dressing.
        WillChange = "will-change",
        /// The patient is coming in.
        ComingIn = "coming-in",
        /// Advice was given.
        Advised = "advised",
        /// Escalated to a clinician.
        Escalated = "escalated",
        /// The caller reported that support has ended.
        SupportEnded = "support-ended",
        /// No one was reached.
        NoAnswer = "no-answer",
        /// Otherwise.
        Other = "other",
    }
}

fields! {
    /// A call or a message.
    #[derive(Debug, Clone, PartialEq)]
    pub struct Contact {
        /// Person reached: a code, patient or other.
        pub with: String = needed person(&["patient", "other"]),
        /// Subjects: overdue, log, supply, other, or signal names.
        pub about: Vec<Subject> = needed words(),
        /// Outcome.
        pub outcome: ContactOutcome,
        /// Clinician to whom it was escalated, by code, if the outcome is escalated.
        pub escalated_to: Option<String> = maybe person(&[]),
        /// Time by which the promised change or visit is expected.
        pub expect_by: Option<Moment>,
        /// The instant of that time.
        pub expect_by_instant: Option<Instant> = from(|_: &mut Table| None),
        /// Reported temperature, in °C.
        pub temperature_c: Option<f64> = maybe measure(Limits::CELSIUS),
    }
    then check
}

impl Contact {
    fn check(&self, table: &mut Table) {
        if self.escalated_to.is_some() && self.outcome != ContactOutcome::Escalated {
            table.add(
                Rule::Contradiction,
                "escalated_to",
                format!("`escalated_to` is given, but the outcome is \"{}\"", self.outcome),
                "write `outcome = \"escalated\"`, or leave `escalated_to` out",
            );
        }
    }
}
