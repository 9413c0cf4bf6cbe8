//! Interventions of the program: the rates before and after, and the evidence that the rate has fallen.

use super::rates::{comparison, months_words};
use super::{Picture, Section};
use crate::audit::Month;
use crate::policy::Intervention;
use crate::report::audit::{AuditReport, ControlChart, Intervened, LowerAlarm, Quiet, SumPoint};
use crate::surveillance::rate::Rate;
use crate::text::{count, thousands, visible};
use crate::view::table::Cell;

/// The maximum number of interventions described in sentences, most recent last. The table has all.
const MOST: usize = 3;
/// The caution for all figures of this section.
const NOT_A_CAUSE: &str = "A before-and-after comparison is not proof: other changes contribute, and after a bad period rates tend to improve on their own (regression to the mean). Recent infections may not be determined yet.";

/// Builds the section on interventions, if there are any.
pub(super) fn interventions(report: &AuditReport) -> Option<Section> {
    let (made, later) = (&report.interventions, &report.interventions_later);
    let last = report.counted_through;
    let begins_later = |one: &Intervention| {
        format!("{}: begins after {last}, the last day of this report, so there is no comparison yet.", name(one))
    };
    let section = Section::new("Changes made by the program");
    let section = match made.last() {
        None if later.is_empty() => return None,
        None => return Some(section.say_all(later.iter().map(begins_later))),
        Some(latest) => section.say(meaning(latest)),
    };
    let with_words = &made[made.len().saturating_sub(MOST)..];
    let section = section
        .show(&["time", "infections", "device-days", "per 1,000", "95 %"], made.iter().flat_map(rows))
        .say_all(with_words.iter().flat_map(|one| words(one, made.last())))
        .say_all(later.iter().map(begins_later))
        .say(NOT_A_CAUSE);
    Some(if drawn(made).is_some() { section.draw(Picture::LowerAlarm) } else { section })
}

/// Returns the intervention whose lower-sided alarm is drawn: the latest with one.
pub(in crate::view::audit) fn drawn(made: &[Intervened]) -> Option<&Intervened> {
    made.iter().rev().find(|one| !one.lower_alarm.points.is_empty())
}

/// Names an intervention by its first day and its text.
pub(in crate::view::audit) fn name(intervention: &Intervention) -> String {
    format!("{} ({})", intervention.on, visible(&intervention.what))
}

/// Describes the latest intervention in one sentence.
fn meaning(one: &Intervened) -> String {
    let compared = &one.comparison;
    let name = name(&one.intervention);
    let (Some(rate), Some(before)) = (one.rate.rate, one.rate_before.rate) else {
        return format!("{name}: {}", not_compared(one));
    };
    let ratio = match (compared.ratio.rate_ratio, compared.ratio.low, compared.ratio.high) {
        (Some(ratio), low, high) if compared.events + compared.events_before > 0 => {
            format!(" Ratio {ratio:.2} (95 % limits {}).", Cell::Limits(low, high, 2))
        }
        _ => String::new(),
    };
    format!("Since {name}: {rate:.2} per 1,000 device-days; in the 12 months before: {before:.2}.{ratio}")
}

/// Returns the reason why there is no comparison.
fn not_compared(one: &Intervened) -> &'static str {
    match one.comparison.device_days_before {
        0 => "no device-days on file before it, so there is no rate to compare with.",
        _ => "no device-days since, so there is no rate to compare.",
    }
}

fn rows(one: &Intervened) -> [Vec<Cell>; 2] {
    let compared = &one.comparison;
    let row = |time: Cell, events, days, rate: &Rate| {
        let limits = Cell::Limits(rate.low, rate.high, 2);
        vec![time, Cell::count(events), Cell::Count(days), Cell::number(rate.rate, 2), limits]
    };
    let before = Cell::Text(format!("12 months to {}", compared.before_to));
    let since = Cell::Part(format!("since {}", compared.from));
    [
        row(before, compared.events_before, compared.device_days_before, &one.rate_before),
        row(since, compared.events, compared.device_days, &one.rate),
    ]
}

/// Describes one intervention. For the latest one, the reason for no comparison is already in the section's first sentence.
fn words(one: &Intervened, latest: Option<&Intervened>) -> Vec<String> {
    let intervention = &one.intervention;
    let why = format!("{}, reason: {}.", name(intervention), visible(&intervention.why));
    if one.rate.rate.is_none() || one.rate_before.rate.is_none() {
        let is_latest = latest.is_some_and(|latest| std::ptr::eq(latest, one));
        return vec![if is_latest { why } else { format!("{why} Not compared: {}", not_compared(one)) }];
    }
    let first = format!("{why} {}", comparison(&one.comparison));
    [Some(first), quiet(one), Some(lower_alarm(&one.lower_alarm))].into_iter().flatten().collect()
}

/// Describes the infection-free time, if there was no infection since the change: after one, the time from the last onset on
/// is no evidence.
fn quiet(one: &Intervened) -> Option<String> {
    let Quiet { from, days, device_days, chance, chance_low, chance_high } = &one.quiet;
    if *device_days <= 0 || one.comparison.events > 0 {
        return None;
    }
    let time = format!(
        "No infection since {from}: {:.1} months, {} device-days.",
        *days as f64 / 30.4375,
        thousands(*device_days)
    );
    Some(match (chance, chance_low, chance_high) {
        (Some(chance), Some(low), Some(high)) => format!(
            "{time} At the previous rate, the probability of none in that time is {} ({} to {} at the 95 % limits of that rate).",
            percent(*chance),
            percent(*low),
            percent(*high)
        ),
        _ => format!("{time} There was also none in the 12 months before, so this does not show a fall."),
    })
}

/// Formats a probability in percent, never rounded to 0 or 100.
fn percent(chance: f64) -> String {
    match chance * 100.0 {
        percent if percent < 0.1 => "under 0.1 %".to_owned(),
        percent if percent < 10.0 => format!("{percent:.1} %"),
        percent if percent > 99.0 => "over 99 %".to_owned(),
        percent => format!("{percent:.0} %"),
    }
}

/// Describes the lower-sided alarm.
fn lower_alarm(alarm: &ControlChart<SumPoint, Month, LowerAlarm>) -> String {
    let facts = &alarm.of_kind;
    if let Some(why) = facts.none_because {
        return format!("No lower-sided alarm for a halved rate: {why}.");
    }
    let Some(last) = alarm.points.last() else { return "No month has passed since the change.".to_owned() };
    let threshold = Cell::number(alarm.high, 2);
    let state = match (facts.alarm_since, facts.first_alarm) {
        (Some(since), _) => format!(
            "Lower-sided alarm for a halved rate since {since}: CUSUM {:.2}, threshold {threshold}. The rate is lower than before.",
            last.value
        ),
        (None, Some(first)) => format!(
            "Lower-sided alarm for a halved rate in {first}, since ended: CUSUM {:.2}, threshold {threshold}.",
            last.value
        ),
        (None, None) => format!(
            "No lower-sided alarm for a halved rate through {}: CUSUM {:.2}, threshold {threshold}.",
            last.month, last.value
        ),
    };
    format!(
        "{state} If the rate has not changed, a false alarm occurs once in about {} months ({} at the lower 95 % limit of the previous rate, {} at the upper). A halved rate is detected after {} months on average. The watch has run {}.",
        months_words(facts.in_control_months),
        months_words(facts.in_control_months_at_low),
        months_words(facts.in_control_months_at_high),
        Cell::number(facts.expected_delay_months, 1),
        count(alarm.points.len() as i64, "month")
    )
}
