//! The reasons why a checkoff does not count, as values. `Display` gives the text of the reports, for scripts; `view` has
//! the words for people.

use std::fmt::{Display, Formatter, Result};

use schemars::JsonSchema;
use serde::{Serialize, Serializer};

use super::Lack;
use crate::event::Mode;
use crate::policy::CurriculumRole;

/// A reason why a checkoff does not count.
#[derive(Debug, Clone, PartialEq, Eq, JsonSchema)]
#[schemars(with = "String")]
pub enum Objection {
    /// The observer is the learner.
    ObserverIsLearner,
    /// The observer may not sign that day.
    MayNotSign(String),
    /// The curriculum is for another role.
    TaughtToOthers {
        /// Its name.
        curriculum: String,
        /// Its version.
        version: i64,
        /// The role that it is for.
        role: CurriculumRole,
    },
    /// The policy has no such version.
    NotInPolicy {
        /// The name.
        curriculum: String,
        /// The version.
        version: i64,
    },
    /// It is not a return demonstration.
    NoDemonstration(Mode),
    /// A step was missed.
    Missed(String),
    /// A critical step was prompted, or is not listed.
    Critical {
        /// Its id.
        step: String,
        /// Its result.
        how: Lack,
    },
}

impl Display for Objection {
    fn fmt(&self, out: &mut Formatter<'_>) -> Result {
        match self {
            Objection::ObserverIsLearner => out.write_str("the observer is the learner"),
            Objection::MayNotSign(observer) => write!(out, "{observer} may not sign that day"),
            Objection::TaughtToOthers { curriculum, version, role } => {
                write!(out, "{curriculum} version {version} is not taught to the learner, but to a {role}")
            }
            Objection::NotInPolicy { curriculum, version } => {
                write!(out, "the policy has no {curriculum} version {version}")
            }
            Objection::NoDemonstration(mode) => write!(out, "{mode}, no return demonstration"),
            Objection::Missed(step) => write!(out, "{step} missed"),
            Objection::Critical { step, how: Lack::NotDone } => write!(out, "{step} not done, and critical"),
            Objection::Critical { step, how } => write!(out, "{step} {how}, and critical"),
        }
    }
}

impl Serialize for Objection {
    fn serialize<S: Serializer>(&self, serializer: S) -> std::result::Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}
