//! The days on which a sign-off is valid: from the checkoff that completes it, minus the days on which it is suspended.

use std::collections::BTreeSet;

use chrono::NaiveDate;
use schemars::JsonSchema;
use serde::Serialize;

use super::{SignOffRules, checkoffs};
use crate::day::plus;
use crate::event::{Event, Mode};
use crate::policy::Curriculum;

/// A return demonstration with a critical step that was missed or prompted.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Failed {
    /// Its care day.
    pub on: NaiveDate,
    /// The file.
    pub file: String,
    /// The critical steps that were missed or prompted.
    pub steps: Vec<String>,
}

/// A failed return demonstration, and the day of the passed checkoff that resolved it; `None` if there is none yet.
#[derive(Debug, Clone)]
pub(super) struct Suspension {
    pub(super) failed: Failed,
    made_up_on: Option<NaiveDate>,
}

impl Suspension {
    /// Returns true if the failure is not resolved on a day.
    pub(super) fn holds(&self, day: NaiveDate) -> bool {
        self.failed.on <= day && self.made_up_on.is_none_or(|made_up| day < made_up)
    }
}

/// A sign-off: its first and last day, both included, and its version.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct SignOff {
    /// Day of the checkoff that completed it.
    pub from: NaiveDate,
    /// Last day.
    pub until: NaiveDate,
    /// The version.
    pub version: i64,
}

/// A learner's sign-offs in every curriculum.
#[derive(Debug, Clone)]
pub(crate) struct SignedDays(Vec<Learned>);

/// A learner's sign-offs in one curriculum, and the failures that suspend them.
#[derive(Debug, Clone)]
struct Learned {
    sign_offs: Vec<SignOff>,
    suspended_by: Vec<Suspension>,
}

impl SignedDays {
    /// Returns true if the learner is signed off on a day in every curriculum.
    pub(crate) fn hold(&self, day: NaiveDate) -> bool {
        let holds = |learned: &Learned| {
            learned.sign_offs.iter().any(|one| one.from <= day && day <= one.until)
                && !learned.suspended_by.iter().any(|failed| failed.holds(day))
        };
        !self.0.is_empty() && self.0.iter().all(holds)
    }
}

impl SignOffRules<'_> {
    /// Computes a learner's sign-offs once, for questions about many days.
    pub(crate) fn signed_days(&self, learner: &str, events: &[Event]) -> SignedDays {
        let taught = self.taught(self.role(learner));
        let learned = |curriculum: &&Curriculum| {
            let failed = self.failed(learner, &curriculum.name, events);
            Learned {
                sign_offs: self.sign_offs(learner, &curriculum.name, events),
                suspended_by: if self.settings.failed_suspends { failed } else { Vec::new() },
            }
        };
        SignedDays(taught.iter().map(learned).collect())
    }

    /// Returns a learner's sign-offs in a curriculum, one per checkoff that completed it.
    ///
    /// A passed checkoff counts for as long as a sign-off is valid: of two that are further apart, the first has expired.
    pub(crate) fn sign_offs(&self, learner: &str, curriculum: &str, events: &[Event]) -> Vec<SignOff> {
        let mut qualified: Vec<(i64, NaiveDate)> = Vec::new();
        let mut sign_offs = Vec::new();
        for (event, teaching) in checkoffs(learner, curriculum, events) {
            if !self.counts(event, teaching) {
                continue;
            }
            let (day, version) = (event.when.care_day, teaching.version);
            let is_attested = teaching.mode == Mode::Attested;
            if !is_attested {
                qualified.push((version, day));
            }
            if is_attested || self.days_that_count(&qualified, version, day) >= self.settings.sign_off_after {
                sign_offs.push(SignOff { from: day, until: plus(day, self.settings.valid_days), version });
            }
        }
        sign_offs
    }

    /// Returns the failed return demonstrations, whoever observed them, each with the checkoff that resolved it. A step
    /// is critical if it is critical in any version: removing a version from the policy must not make a failure pass.
    pub(super) fn failed(&self, learner: &str, curriculum: &str, events: &[Event]) -> Vec<Suspension> {
        let role = self.role(learner);
        let versions = self.curricula.iter().filter(|known| known.name == curriculum && known.role == role);
        let critical: BTreeSet<&str> =
            versions.flat_map(|known| &known.steps).filter(|step| step.critical).map(|step| step.id.as_str()).collect();
        let mut all: Vec<Suspension> = Vec::new();
        for (event, teaching) in checkoffs(learner, curriculum, events) {
            // An attestation demonstrates nothing: only a step that was observed resolves one that was missed.
            if self.counts(event, teaching) && teaching.mode == Mode::ReturnDemonstration {
                for failed in all.iter_mut().filter(|failed| failed.made_up_on.is_none()) {
                    failed.made_up_on = Some(event.when.care_day);
                }
                continue;
            }
            let not_unaided = teaching.missed.iter().chain(&teaching.prompted);
            let steps: Vec<String> = not_unaided.filter(|step| critical.contains(step.as_str())).cloned().collect();
            if teaching.mode == Mode::ReturnDemonstration && !steps.is_empty() {
                let failed = Failed { on: event.when.care_day, file: event.file().to_owned(), steps };
                all.push(Suspension { failed, made_up_on: None });
            }
        }
        all
    }

    /// Returns the number of different days of a version that count on a day.
    pub(super) fn days_that_count(&self, qualified: &[(i64, NaiveDate)], version: i64, on: NaiveDate) -> i64 {
        let first = plus(on, -self.settings.valid_days);
        let of_version = qualified.iter().filter(|(of, day)| *of == version && *day >= first);
        of_version.map(|(_, day)| day).collect::<BTreeSet<_>>().len() as i64
    }
}
