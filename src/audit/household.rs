//! A household on the last day of the period: sign-offs, changes without a sign-off, supplies.

use std::collections::BTreeMap;

use super::{AuditSpan, Stay};
use crate::day::AsOf;
use crate::event::{Event, Fact, Kind};
use crate::policy::CarePlace;
use crate::program::Program;
use crate::supply;
use crate::teaching::{Progress, SignOffRules, SignedDays};
use crate::timeline::Timeline;

/// A household on the last day of the period.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct HouseholdStatus {
    /// Number of caregivers on file, of a patient on support.
    pub caregivers: u64,
    /// Number signed off in every curriculum; `None` if unknown.
    pub signed_off: Option<u64>,
    /// Number whose sign-off has lapsed.
    pub lapsed: Option<u64>,
    /// Changes in the period by a household member who was neither signed off nor taught that day.
    pub changes_by_untaught: Option<u64>,
    /// True if the patient was at home.
    pub is_home: bool,
    /// True if an item must be ordered by then; `None` if unknown.
    pub is_short: Option<bool>,
}

impl HouseholdStatus {
    pub(super) fn of(program: &Program, timeline: &Timeline, span: &AuditSpan) -> HouseholdStatus {
        let (patient, last) = (timeline.patient, span.period.to);
        let is_supported = Stay::of(patient).is_patient_day(last);
        let school = SignOffRules::of(program.rules());
        let by_then: Vec<Event> = timeline
            .events()
            .iter()
            .filter(|event| event.when.care_day <= last && event.name.kind == Kind::Teaching)
            .cloned()
            .collect();
        let codes: Vec<&str> = match is_supported {
            true => patient.caregivers.iter().map(|caregiver| caregiver.code.as_str()).collect(),
            false => Vec::new(),
        };
        let count = |is_so: &dyn Fn(&SignOffRules, &str) -> bool| {
            school.map(|school| codes.iter().filter(|code| is_so(&school, code)).count() as u64)
        };
        let is_signed_off = |school: &SignOffRules, code: &str| school.is_signed_off(code, &by_then, last);
        let is_lapsed = |school: &SignOffRules, code: &str| {
            let standing = school.standing(code, &by_then, last);
            !is_signed_off(school, code) && standing.iter().any(|one| one.state == Progress::Lapsed)
        };
        let is_home = is_supported && patient.place(last) == CarePlace::Home;
        HouseholdStatus {
            caregivers: codes.len() as u64,
            signed_off: count(&is_signed_off),
            lapsed: count(&is_lapsed),
            changes_by_untaught: school.map(|school| changes_by_untaught(&school, timeline, span)),
            is_home,
            is_short: if is_home { is_short(program, timeline, span) } else { None },
        }
    }
}

/// Counts changes by a caregiver or the patient without a sign-off valid that day, on a day without teaching of that
/// person.
fn changes_by_untaught(school: &SignOffRules, timeline: &Timeline, span: &AuditSpan) -> u64 {
    let checkoffs: Vec<Event> =
        timeline.events().iter().filter(|event| event.name.kind == Kind::Teaching).cloned().collect();
    let of_household = timeline.patient.household();
    let signed: BTreeMap<&str, SignedDays> =
        of_household.map(|code| (code, school.signed_days(code, &checkoffs))).collect();
    let is_untaught = |event: &&Event| {
        let (day, by) = (event.when.care_day, event.by.as_str());
        let is_taught_that_day = || {
            checkoffs.iter().any(|other| {
                matches!(&other.fact, Fact::Teaching(teaching) if teaching.learner == by) && other.when.care_day == day
            })
        };
        matches!(event.fact, Fact::Change(_))
            && span.period.contains(day)
            && signed.get(by).is_some_and(|signed| !signed.hold(day))
            && !is_taught_that_day()
    };
    timeline.events().iter().filter(is_untaught).count() as u64
}

/// Returns true if an item must be ordered on the last day of the period, as far as was known by its end.
fn is_short(program: &Program, timeline: &Timeline, span: &AuditSpan) -> Option<bool> {
    let policy = program.policy.as_ref()?;
    let (items, plan) = (policy.supplies.as_ref()?, policy.plan.as_ref()?);
    let end = timeline.patient.calendar.end(span.period.to) - chrono::Duration::seconds(1);
    let then = AsOf { instant: end.min(timeline.as_of), is_given: true };
    let feeds = |event: &&Event| matches!(event.name.kind, Kind::Supply | Kind::Change | Kind::Log);
    let events = timeline.events().iter().filter(feeds).cloned().collect();
    supply::is_short(&supply::stocks(items, plan, &Timeline::of(timeline.patient, events, then.instant)))
}
