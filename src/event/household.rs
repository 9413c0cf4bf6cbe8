//! What passes between the program and a household: a contact, a log, a checkoff, supplies.

use chrono::NaiveDate;

use super::Subject;
use super::code::person;
use crate::day::Instant;
use crate::problem::Rule;
use crate::record::{Limits, Moment, Table};
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

/// Somebody called or wrote.
#[derive(Debug, Clone, PartialEq)]
pub struct Contact {
    /// With whom: a code, `patient` or `other`.
    pub with: String,
    /// About what.
    pub about: Vec<Subject>,
    /// How it ended.
    pub outcome: Outcome,
    /// Until when a promised change or visit is expected.
    pub expect_by: Option<Moment>,
    /// The instant of that time.
    pub expect_by_instant: Option<Instant>,
    /// A temperature that was told, in °C.
    pub temperature_c: Option<f64>,
}

impl Contact {
    pub(super) fn read(table: &mut Table) -> Option<Contact> {
        table.needed();
        let with = person(table, "with", &["patient", "other"], "with whom: a code, patient or other");
        let about = table.needed().words("about", "about what: overdue, log, supply, other, or names of signals");
        let outcome = table.needed().word("outcome", "how it ended");
        let expect_by = table.moment("expect_by", "until when the promised change or visit is expected");
        let temperature_c = table.measure("temperature_c", Limits::CELSIUS, "a temperature that was told, in °C");
        Some(Contact {
            with: with?,
            about: about?,
            outcome: outcome?,
            expect_by,
            expect_by_instant: None,
            temperature_c,
        })
    }
}

/// A household's log of some days has been read in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Log {
    /// Its first day.
    pub from: NaiveDate,
    /// Its last day.
    pub through: NaiveDate,
    /// Whether it says all that happened on these days.
    pub complete: bool,
}

impl Log {
    pub(super) fn read(table: &mut Table) -> Option<Log> {
        let from = table.needed().date("from", "the log's first day");
        let through = table.needed().date("through", "the log's last day");
        let complete = table.needed().flag("complete", "whether it says all that happened on these days");
        let log = Log { from: from?, through: through?, complete: complete? };
        if log.through < log.from {
            table.add(
                Rule::EndsBeforeItBegins,
                "through",
                format!("the log ends on {}, before it begins on {}", log.through, log.from),
                "correct the one that is wrong",
            );
        }
        Some(log)
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

/// A teaching checkoff.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Teaching {
    /// Who learned.
    pub learner: String,
    /// Who watched.
    pub observer: String,
    /// What.
    pub curriculum: String,
    /// In which version.
    pub version: i64,
    /// How much the learner did.
    pub mode: Mode,
    /// Steps done unaided.
    pub unaided: Vec<String>,
    /// Steps done after a prompt.
    pub prompted: Vec<String>,
    /// Steps missed.
    pub missed: Vec<String>,
}

impl Teaching {
    pub(super) fn read(table: &mut Table) -> Option<Teaching> {
        table.needed();
        let learner = person(table, "learner", &["patient"], "who learned");
        table.needed();
        let observer = person(table, "observer", &[], "who watched");
        let curriculum = table.needed().text("curriculum", "the name of the curriculum");
        let version = table.needed().whole("version", (1, 3650), "its version");
        let mode = table.needed().word("mode", "how much the learner did");
        let mut taken: Vec<String> = Vec::new();
        let [unaided, prompted, missed] = [
            ("unaided", "ids of steps done unaided"),
            ("prompted", "ids of steps done after a prompt"),
            ("missed", "ids of steps missed"),
        ]
        .map(|(name, about)| {
            let steps = table.ids(name, about).unwrap_or_default();
            for step in &steps {
                if taken.contains(step) {
                    table.add(
                        Rule::StepTwice,
                        name,
                        format!("the step \"{}\" stands twice", crate::text::visible(step)),
                        "a step is unaided, prompted or missed; keep it in one list",
                    );
                }
                taken.push(step.clone());
            }
            steps
        });
        Some(Teaching {
            learner: learner?,
            observer: observer?,
            curriculum: curriculum?,
            version: version?,
            mode: mode?,
            unaided,
            prompted,
            missed,
        })
    }
}

/// Kits that came, were counted or were lost.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Supply {
    /// Of what.
    pub item: String,
    /// How many.
    pub tally: Tally,
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

impl Supply {
    pub(super) fn read(table: &mut Table) -> Option<Supply> {
        let item = table.needed().text("item", "of what");
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
        Some(Supply { item: item?, tally: tallies.into_iter().flatten().next()? })
    }
}
