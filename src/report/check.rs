//! The findings of `check` as a script gets them.

use schemars::JsonSchema;
use serde::Serialize;

use crate::place::Place;
use crate::problem::{Level, Problem, Severities};
use crate::word::Word;

/// The faults of the records.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct CheckReport {
    /// Each finding, by file and line.
    pub findings: Vec<Finding>,
    /// The number of each level.
    pub counts: Counts,
}

/// One finding.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Finding {
    /// The rule's name.
    pub rule: String,
    /// The level in this program.
    pub level: Level,
    /// The path relative to the records folder.
    pub file: String,
    /// The line, where it is known.
    pub line: Option<usize>,
    /// The character in the line, where it is known.
    pub column: Option<usize>,
    /// The fault.
    pub message: String,
    /// The correction.
    pub help: String,
    /// Other places that belong to it.
    pub related: Vec<Related>,
}

/// Another place that belongs to a finding.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Related {
    /// The path relative to the records folder.
    pub file: String,
    /// The line, where it is known.
    pub line: Option<usize>,
}

/// The number of findings of each level.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Counts {
    /// The record cannot be used.
    pub error: usize,
    /// The record is used, but look.
    pub warning: usize,
    /// For the record.
    pub note: usize,
}

/// The findings as a report.
pub fn report(problems: &[Problem], severities: &Severities) -> CheckReport {
    let mut counts = Counts::default();
    let findings = problems.iter().map(|problem| {
        let level = severities.level(problem.rule);
        match level {
            Level::Error => counts.error += 1,
            Level::Warning => counts.warning += 1,
            Level::Note => counts.note += 1,
        }
        let related = |place: &Place| Related { file: place.file.clone(), line: place.line };
        Finding {
            rule: problem.rule.word().to_owned(),
            level,
            file: problem.place.file.clone(),
            line: problem.place.line,
            column: problem.place.column,
            message: problem.message.clone(),
            help: problem.help.clone(),
            related: problem.related.iter().map(related).collect(),
        }
    });
    let findings = findings.collect();
    CheckReport { findings, counts }
}
