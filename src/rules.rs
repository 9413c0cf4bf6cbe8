//! The policy and the staff list, which apply to every question.

use crate::people::People;
use crate::policy::{self, CarePlan, Policy, Scoring};
use crate::problem::{Problem, Rule};

/// The policy and the staff list, as far as they are readable.
#[derive(Debug, Clone, Copy)]
pub struct Rules<'p> {
    /// The policy; `None` if invalid.
    pub policy: Option<&'p Policy>,
    /// The staff; `None` if people.toml exists but is unreadable.
    pub people: Option<&'p People>,
    /// The problems of both files.
    pub problems: &'p [Problem],
}

impl<'p> Rules<'p> {
    /// The part of the policy for the schedule; `None` if invalid.
    pub fn plan(&self) -> Option<&'p CarePlan> {
        self.policy.and_then(|policy| policy.plan.as_ref())
    }

    /// The part of the policy for scoring exit sites; `None` if invalid.
    pub fn scoring(&self) -> Option<&'p Scoring> {
        self.policy.and_then(|policy| policy.scoring.as_ref())
    }

    /// The problem that makes the policy invalid.
    pub(crate) fn policy_problem(&self) -> Problem {
        let is_of_policy = |problem: &&Problem| problem.makes_unusable() && problem.place.file == policy::FILE;
        let unknown =
            || Problem::of_file(Rule::CannotBeRead, policy::FILE, "the policy cannot be used", "run exitsite check");
        self.problems.iter().find(is_of_policy).cloned().unwrap_or_else(unknown)
    }
}
