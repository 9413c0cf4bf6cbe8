//! What passes between the program and a household: a contact, a log, a checkoff, supplies.

use chrono::NaiveDate;

use super::Subject;
use crate::day::Instant;
use crate::problem::Rule;
use crate::record::{Limits, Moment, Table, fields};
use crate::word::words;

words! {
    /// How a contact ended.
    pub enum Outcome {
        /// The household will change the dressing.
        WillChange = "will-change",
        /// The patient comes in.
        ComingIn = "coming-in",
        /// Advice was given.
        Advised = "advised",
        /// Handed on to a clinician.
        Escalated = "escalated",
        /// The caller reported that support has ended.
        SupportEnded = "support-ended",
        /// Nobody was reached.
        NoAnswer = "no-answer",
        /// Otherwise.
        Other = "other",
    }
}

fields! {
    /// Somebody called or wrote.
    #[derive(Debug, Clone, PartialEq)]
    pub struct Contact {
        /// With whom: a code, patient or other.
        pub with: String = needed person(&["patient", "other"]),
        /// About what: overdue, log, supply, other, or names of signals.
        pub about: Vec<Subject> = needed words(),
        /// How it ended.
        pub outcome: Outcome,
        /// Until when the promised change or visit is expected.
        pub expect_by: Option<Moment>,
        /// The instant of that time.
        pub expect_by_instant: Option<Instant> = from(|_: &mut Table| None),
        /// A temperature that was told, in °C.
        pub temperature_c: Option<f64> = maybe measure(Limits::CELSIUS),
    }
}

fields! {
    /// A household's log of some days has been read in.
    #[derive(Debug, Clone, Copy, PartialEq, Eq)]
    pub struct Log {
        /// The log's first day.
        pub from: NaiveDate,
        /// The log's last day.
        pub through: NaiveDate,
        /// Whether it says all that happened on these days.
        pub complete: bool,
    }
    then check
}

impl Log {
    fn check(&self, table: &mut Table) {
        if self.through < self.from {
            table.add(
                Rule::EndsBeforeItBegins,
                "through",
                format!("the log ends on {}, before it begins on {}", self.through, self.from),
                "correct the one that is wrong",
            );
        }
    }
}

words! {
    /// How much the learner did.
    pub enum Mode {
        /// Was shown it.
        Shown = "shown",
        /// Did it with help.
        Assisted = "assisted",
        /// Did it, unaided, in front of an observer.
        ReturnDemonstration = "return-demonstration",
        /// Was signed off elsewhere or before the records began; the observer vouches.
        Attested = "attested",
    }
}

fields! {
    /// A teaching checkoff.
    #[derive(Debug, Clone, PartialEq, Eq)]
    pub struct Teaching {
        /// Who learned.
        pub learner: String = needed person(&["patient"]),
        /// Who watched.
        pub observer: String = needed person(&[]),
        /// The name of the curriculum.
        pub curriculum: String,
        /// Its version.
        pub version: i64 = needed whole((1, 3650)),
        /// How much the learner did.
        pub mode: Mode,
        /// Ids of steps done unaided.
        pub unaided: Vec<String> = default ids(),
        /// Ids of steps done after a prompt.
        pub prompted: Vec<String> = default ids(),
        /// Ids of steps missed.
        pub missed: Vec<String> = default ids(),
    }
    then check
}

impl Teaching {
    /// Each step once: unaided, prompted or missed.
    fn check(&self, table: &mut Table) {
        let mut taken: Vec<&String> = Vec::new();
        for (name, steps) in [("unaided", &self.unaided), ("prompted", &self.prompted), ("missed", &self.missed)] {
            for step in steps {
                if taken.contains(&step) {
                    table.add(
                        Rule::StepTwice,
                        name,
                        format!("the step \"{}\" stands twice", crate::text::visible(step)),
                        "a step is unaided, prompted or missed; keep it in one list",
                    );
                }
                taken.push(step);
            }
        }
    }
}

/// What happened to how many.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Tally {
    /// So many came.
    Received(i64),
    /// So many were there.
    Counted(i64),
    /// So many were lost or spoilt.
    Lost(i64),
}

fields! {
    /// Kits that came, were counted or were lost.
    #[derive(Debug, Clone, PartialEq, Eq)]
    pub struct Supply {
        /// Of what.
        pub item: String,
        /// How many, and what happened to them.
        pub tally: Tally = with(Tally::read),
    }
}

impl Tally {
    fn read(table: &mut Table) -> Option<Tally> {
        let tallies = [
            table.whole("received", (0, 3650), "so many came").map(Tally::Received),
            table.whole("counted", (0, 3650), "so many were there").map(Tally::Counted),
            table.whole("lost", (0, 3650), "so many were lost or spoilt").map(Tally::Lost),
        ];
        let given = ["received", "counted", "lost"].iter().filter(|name| table.has(name)).count();
        if given != 1 && !table.is_description() {
            table.add(
                Rule::MissingKey,
                "item",
                "a supply record says exactly one of `received`, `counted`, `lost`",
                "write one of them; for two things write two records",
            );
        }
        tallies.into_iter().flatten().next()
    }
}
