//! What is wrong with a patient's course beside the rest of the program.

use super::person::person_problem;
use crate::patient::Patient;
use crate::policy;
use crate::problem::{Problem, Rule};
use crate::program::Program;

/// The problems of patient.toml that need the policy or the staff.
pub(super) fn problems(program: &Program, patient: &Patient) -> Vec<Problem> {
    let mut problems = Vec::new();
    for order in &patient.orders {
        if let Some((rule, message, help)) = person_problem(program, patient, &order.by, order.from, &[]) {
            problems.push(patient.source.problem(rule, &order.by_span, message, help));
        }
    }
    // The policy's own zone is judged once, at the policy.
    if let Some((zone, day)) =
        patient.calendar.start_in_clock_change().filter(|(zone, _)| *zone != patient.calendar.policy_zone())
        && let Some(row) = patient.care.iter().find(|row| row.time_zone == Some(zone))
    {
        let message =
            format!("the care day starts at {}, which {zone} skips or repeats on {day}", patient.calendar.starts());
        let help = format!("choose another care_day_starts in {}", policy::FILE);
        problems.push(patient.source.problem(Rule::CareDayInClockChange, &row.zone_span, message, help));
    }
    problems
}
