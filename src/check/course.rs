//! The problems of a patient's course that depend on the rest of the program.

use super::person::person_problem;
use crate::day::Instant;
use crate::event::Event;
use crate::patient::Patient;
use crate::policy::{self, Interval};
use crate::problem::{Problem, Rule};
use crate::program::Program;

/// The maximum number of days from an implant to the first event, for records that begin at the implant. Common
/// practice, no source.
const FIRST_EVENT_DAYS: i64 = 30;

/// The problem of records that begin at the implant although the following weeks have no event.
pub(super) fn begins_early(patient: &Patient, events: &[Event], latest: Instant) -> Option<Problem> {
    if patient.records_from != patient.implanted {
        return None;
    }
    let is_later = |day: chrono::NaiveDate| (day - patient.implanted).num_days() > FIRST_EVENT_DAYS;
    let standing = events.iter().filter(|event| event.void.is_none()).map(|event| event.when.care_day);
    let said = match standing.min() {
        Some(first) if is_later(first) => format!("but the first event is on {first}"),
        None if is_later(patient.calendar.today(latest)) => "but no event is on file".to_owned(),
        _ => return None,
    };
    let key = if patient.span("records_from").is_empty() { "implanted" } else { "records_from" };
    Some(patient.source.problem(
        Rule::RecordsBeginEarly,
        &patient.span(key),
        format!("the records begin at the implant on {}, {said}", patient.implanted),
        "set `records_from`, the first day of this program's records, and `infections_before`",
    ))
}

/// The problems of patient.toml that need the policy or the staff.
pub(super) fn problems(program: &Program, patient: &Patient) -> Vec<Problem> {
    let mut problems = Vec::new();
    let longest_days = program.policy.as_ref().and_then(|policy| policy.orders).map(|orders| orders.longest_days);
    for order in &patient.orders {
        if let Some((Interval::EveryDays(days), longest)) = order.interval.as_ref().zip(longest_days)
            && *days > longest
        {
            let message = format!("the order sets a change every {days} days, more than {longest}");
            let help = format!("correct `every_days`, or raise [orders] longest_days in {}", policy::FILE);
            problems.push(patient.source.problem(Rule::IntervalLong, &order.interval_span, message, help));
        }
        if let Some((rule, message, help)) = person_problem(program, Some(patient), &order.by, order.from, &[]) {
            problems.push(patient.source.problem(rule, &order.by_span, message, help));
        }
    }
    // The policy's own time zone is checked once, with the policy.
    let policy_zone = patient.calendar.policy_zone();
    if patient.care.iter().any(|row| row.time_zone.is_some_and(|zone| zone != policy_zone))
        && let Some((zone, day)) = patient.calendar.start_in_clock_change().filter(|(zone, _)| *zone != policy_zone)
        && let Some(row) = patient.care.iter().find(|row| row.time_zone == Some(zone))
    {
        let message =
            format!("the care day starts at {}, which {zone} skips or repeats on {day}", patient.calendar.starts());
        let help = format!("choose another care_day_starts in {}", policy::FILE);
        problems.push(patient.source.problem(Rule::CareDayInClockChange, &row.zone_span, message, help));
    }
    problems
}
