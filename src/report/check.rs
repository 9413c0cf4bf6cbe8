//! The findings of `check`, as serialized for scripts.

use schemars::JsonSchema;
use serde::Serialize;

use crate::place::Place;
use crate::problem::{Level, Problem, Severities};
use crate::word::Word;

/// The problems found in the records.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct CheckReport {
    /// The findings, by file and line.
    pub findings: Vec<CheckFinding>,
    /// The number of findings by level.
    pub counts: FindingCounts,
}

/// One finding.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct CheckFinding {
    /// The rule's name.
    pub rule: String,
    /// The level set by the program.
    pub level: Level,
    /// The path relative to the records folder.
    pub file: String,
    /// The line, if known.
    pub line: Option<usize>,
    /// The column, in characters, if known.
    pub column: Option<usize>,
    /// The problem.
    pub message: String,
    /// The correction.
    pub help: String,
    /// Related places.
    pub related: Vec<Related>,
}

/// A place related to a finding.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Related {
    /// The path relative to the records folder.
    pub file: String,
    /// The line, if known.
    pub line: Option<usize>,
}

/// The number of findings by level.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, JsonSchema)]
pub struct FindingCounts {
    /// The record is not used.
    pub error: usize,
    /// The record is used but needs a check.
    pub warning: usize,
    /// For information.
    pub note: usize,
}

/// Builds the report of the findings.
pub fn report(problems: &[Problem], severities: &Severities) -> CheckReport {
    let mut counts = FindingCounts::default();
    let findings = problems.iter().map(|problem| {
        let level = severities.level(problem.rule);
        match level {
            Level::Error => counts.error += 1,
            Level::Warning => counts.warning += 1,
            Level::Note => counts.note += 1,
        }
        let related = |place: &Place| Related { file: place.file.clone(), line: place.line };
        CheckFinding {
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
