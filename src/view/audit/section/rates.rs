//! Infections over device-days, the comparison with an earlier period, and the alarm.

use super::charted::{MOST_ROWS, gap_limits, gaps, limits_heading, month_limits, months};
use super::{Picture, Section, groups, p_words};
use crate::audit::Month;
use crate::report::audit::{
    Alarm, AuditReport, Comparison, ControlChart, Outside, Restated, Restatement, Sensitivity, SumPoint, Variant,
};
use crate::surveillance::rate::Rate;
use crate::text::{count, thousands, visible};
use crate::view::table::Cell;

/// The maximum number of months named in a sentence.
const MOST_MONTHS: usize = 3;

/// The chance of a small p among the comparisons of a year of monthly reports; simulated by a test of the ratio.
const REPEATED: &str = "Repeated in monthly reports, it has p under 0.05 at least once in 12 reports with a probability of 16 to 20 % (at 10 to 40 infections in 12 months) even if nothing changed.";
/// The days of a yearly report, which is not repeated within the year.
const YEAR: i64 = 365;

pub(super) fn infections(report: &AuditReport) -> Section {
    let (found, compared) = (&report.infections, &report.comparison);
    let rates = &found.rates;
    let row = |unit: &str, rate: &Rate| {
        vec![
            Cell::text(unit),
            Cell::number(rate.rate, 2),
            Cell::Limits(rate.low, rate.high, 2),
            Cell::Limits(rate.mid_p_low, rate.mid_p_high, 2),
        ]
    };
    let definition = report
        .case_definition
        .as_deref()
        .map_or("not known, because that part of policy.toml is invalid".to_owned(), visible);
    let parts: Vec<String> =
        found.by_part.iter().filter(|(_, count)| **count > 0).map(|(part, count)| format!("{part} {count}")).collect();
    let parts = if parts.is_empty() { String::new() } else { format!(" By part: {}.", parts.join(", ")) };
    let mut section = Section::new("Infections")
        .say(alarm_first(&report.charts.alarm) + &meaning(report))
        .say(format!(
            "Counted: infections determined by a clinician as proven ({}) or probable ({}), by date of onset, excluding recurrences, in {}; over all device-days, including those away. Case definition: {definition}.{parts}",
            found.by_certainty.proven,
            found.by_certainty.probable,
            count(found.patients as i64, "patient"),
        ))
        .say(format!(
            "Not counted: {} possible and {} recurrent.",
            found.possible, found.recurrences
        ))
        .say(sensitivity(&found.sensitivity))
        .say(month_limits(&report.charts.infections))
        .say_all(gap_limits(&report.charts.days_between));
    if (report.period.to - report.period.from).num_days() + 1 < YEAR {
        let watch = match report.charts.alarm.of_kind.none_because {
            None => "Use the alarm for surveillance; the comparison only describes.",
            Some(_) => "The comparison only describes, and no alarm is computed for surveillance.",
        };
        section = section.say(format!("{watch} {REPEATED}"));
    }
    let files = |of: &[Outside]| {
        let files: Vec<String> = of.iter().map(|one| format!("{} ({})", visible(&one.file), one.onset)).collect();
        files.join(", ")
    };
    if !found.outside.is_empty() {
        section = section.say(format!(
            "Data error, not counted: the onset is outside the patient's time on file in {}.",
            files(&found.outside)
        ));
    }
    if !found.twice.is_empty() {
        section = section.say(format!(
            "Two determinations of the same onset count as one infection; not counted: {}.",
            files(&found.twice)
        ));
    }
    section
        .show(
            &["rate", "value", "95 % exact", "95 % mid-P"],
            [
                row("per 1,000 device-days", &rates.per_1000_device_days),
                row("per 100 patient-months", &rates.per_100_patient_months),
                row("per patient-year", &rates.per_patient_year),
            ],
        )
        .show(&["group", "patients", "infections", "device-days", "per 1,000", "95 % exact"], groups::rows(report))
        .show(&["months", "infections", "device-days", "per 1,000"], comparison_rows(compared))
        .show(&["ratio", "value", "95 % exact", "95 % mid-P"], ratio_rows(compared))
        .show(
            &["month", "infections", "device-days", "per 1,000", limits_heading(&report.charts.infections), ""],
            months(&report.charts.infections),
        )
        .show(&["onset", "device-days since previous", ""], gaps(&report.charts.days_between))
        .draw(Picture::DaysBetween)
        .draw(Picture::Infections)
}

/// Names an open alarm ahead of the rate; a comparison without a difference is no all-clear while it is open.
fn alarm_first(alarm: &ControlChart<SumPoint, Month, Alarm>) -> String {
    let open = open_alarm(alarm).map(|point| alarm.of_kind.alarm_since.unwrap_or(point.month));
    open.map_or(String::new(), |since| format!("Alarm for a doubled rate since {since}, not acknowledged. "))
}

/// The last month with an alarm that the policy does not mark as acknowledged.
fn open_alarm(alarm: &ControlChart<SumPoint, Month, Alarm>) -> Option<&SumPoint> {
    alarm.points.iter().rfind(|point| point.alarm && !point.acknowledged)
}

/// Describes the rate in one sentence.
fn meaning(report: &AuditReport) -> String {
    let (found, census) = (&report.infections, &report.census);
    let rate = &found.rates.per_1000_device_days;
    let Some(value) = rate.rate else {
        return match found.events {
            0 => "No device-days, so there is no rate.".to_owned(),
            events => {
                let whose: Vec<String> =
                    report.before_infection.iter().map(|one| format!("{} of {}", one.patient, one.onset)).collect();
                format!(
                    "{} but no device-days, so there is no rate: {}. Check the onset, and `implanted`, `records_from` and [ended] in patient.toml.",
                    count(events as i64, "infection"),
                    whose.join(", ")
                )
            }
        };
    };
    format!(
        "{} in {} device-days: {value:.2} per 1,000 (95 % limits {}). {}",
        count(found.events as i64, "infection"),
        thousands(census.device_days),
        Cell::Limits(rate.low, rate.high, 2),
        comparison(&report.comparison)
    )
}

/// Describes both rates, their ratio, and the power of the comparison.
pub(super) fn comparison(compared: &Comparison) -> String {
    let of = |from, to, rate: Option<f64>, events: u64| {
        let rate = rate.map_or("no device-days".to_owned(), |rate| format!("{rate:.2} per 1,000"));
        format!("{from} to {to}: {rate} ({})", count(events as i64, "infection"))
    };
    let both = format!(
        "{}; {}",
        of(compared.from, compared.to, compared.per_1000_device_days, compared.events),
        of(compared.before_from, compared.before_to, compared.per_1000_device_days_before, compared.events_before)
    );
    let ratio = &compared.ratio;
    let Some(p) = ratio.p else { return format!("{both}; no comparison is possible.") };
    if compared.events + compared.events_before == 0 {
        return format!("{both}; no infection in either.");
    }
    let limits = Cell::Limits(ratio.low, ratio.high, 2);
    let ratio_words = match ratio.rate_ratio {
        Some(value) => format!("Ratio {value:.2} (95 % {limits})."),
        None => format!("None before, so the 95 % limits of the ratio are {limits}."),
    };
    format!(
        "{both}. {ratio_words} If the rate had not changed, a difference at least this large would occur in {} such comparisons ({}). {}",
        of_comparisons(p),
        p_words(p),
        power(compared)
    )
}

/// Expresses p as a frequency.
fn of_comparisons(p: f64) -> String {
    match p {
        p if p < 0.001 => "fewer than 1 of 1,000".to_owned(),
        p if p < 0.01 => format!("about {:.0} of 1,000", p * 1000.0),
        p => format!("about {:.0} of 100", p * 100.0),
    }
}

/// Describes the smallest detectable rise and fall.
fn power(compared: &Comparison) -> String {
    if compared.events_before == 0 {
        return "Without an earlier infection, no detectable rise or fall can be given.".to_owned();
    }
    let rise = compared.ratio.smallest_detectable.map(|ratio| format!("a rise to {ratio:.1} times the rate or more"));
    let fall = compared.ratio.detectable_fall.map(|ratio| format!("a fall to {ratio:.2} times the rate or less"));
    let power = match (rise, fall) {
        (Some(rise), Some(fall)) => format!("power was 80 % to detect {rise}, or {fall}"),
        (Some(rise), None) => format!("power was 80 % to detect {rise}; no fall was detectable"),
        (None, Some(fall)) => format!("power was 80 % to detect {fall}; no rise was detectable"),
        (None, None) => "neither a rise nor a fall was detectable with 80 % power".to_owned(),
    };
    format!("At the two-sided 5 % level, earlier rate taken as true, {power}.")
}

/// Describes the sensitivity analysis.
fn sensitivity(otherwise: &Sensitivity) -> String {
    let variant = |name: &str, one: &Variant| {
        let rate = &one.per_1000_device_days;
        format!(
            "{name} {} ({}; {})",
            Cell::number(rate.rate, 2),
            Cell::Limits(rate.low, rate.high, 2),
            count(one.events as i64, "infection")
        )
    };
    format!(
        "Sensitivity analysis, per 1,000 device-days: {}, {}, {}, {}.",
        variant("without days away", &otherwise.without_days_elsewhere),
        variant("without days on an antibiotic for an infection", &otherwise.without_days_treated),
        variant("proven only", &otherwise.proven_only),
        variant("with possible", &otherwise.with_possible)
    )
}

fn comparison_rows(compared: &Comparison) -> Vec<Vec<Cell>> {
    let row = |from, to, events: u64, days, rate| {
        vec![Cell::Text(format!("{from} to {to}")), Cell::count(events), Cell::Count(days), Cell::number(rate, 2)]
    };
    vec![
        row(compared.from, compared.to, compared.events, compared.device_days, compared.per_1000_device_days),
        row(
            compared.before_from,
            compared.before_to,
            compared.events_before,
            compared.device_days_before,
            compared.per_1000_device_days_before,
        ),
    ]
}

fn ratio_rows(compared: &Comparison) -> Vec<Vec<Cell>> {
    let ratio = &compared.ratio;
    vec![
        vec![
            Cell::text("first ÷ second"),
            Cell::number(ratio.rate_ratio, 2),
            Cell::Limits(ratio.low, ratio.high, 2),
            Cell::Limits(ratio.mid_p_low, ratio.mid_p_high, 2),
        ],
        vec![Cell::text("p"), Cell::Empty, Cell::number(ratio.p, 4), Cell::number(ratio.mid_p, 4)],
    ]
}

pub(super) fn alarm(alarm: &ControlChart<SumPoint, Month, Alarm>) -> Section {
    let mut section = Section::new("Alarm for a doubled rate");
    let facts = &alarm.of_kind;
    if let Some(why) = &facts.none_because {
        return section.say(format!("Alarm not computed: {why}."));
    }
    let last = alarm.points.last();
    let since = facts.alarm_since.zip(facts.sum_left_zero);
    let since =
        since.map_or(String::new(), |(since, left)| format!(", since {since}; the CUSUM rose above 0 in {left}"));
    section = section.say(match (open_alarm(alarm), last) {
        (Some(point), Some(last)) if point.month == last.month => {
            format!("Alarm in {}{since}. Infections exceed the baseline rate; look for the cause.", point.month)
        }
        (Some(point), _) => {
            format!("Alarm in {}{since}, not marked as acknowledged in policy.toml.", point.month)
        }
        (None, Some(last)) => format!(
            "No alarm through {}: CUSUM {:.2}, threshold {}.",
            last.month,
            last.value,
            Cell::number(alarm.high, 2)
        ),
        (None, None) => "No month has passed since the baseline.".to_owned(),
    });
    if let Some(days) = facts.baseline {
        section = section.say(format!(
            "Baseline {} to {}: {} in {} device-days. At that rate, a false alarm occurs once in about {} months; at the baseline's lower 95 % limit, once in about {}; at its upper limit, once in about {}. A doubled rate is detected after {} months on average.",
            days.from,
            days.to,
            count(facts.baseline_events.unwrap_or(0) as i64, "infection"),
            thousands(facts.baseline_device_days.unwrap_or(0)),
            months_words(facts.in_control_months),
            months_words(facts.in_control_months_at_low),
            months_words(facts.in_control_months_at_high),
            Cell::number(facts.expected_delay_months, 1)
        ));
    }
    let row = |point: &SumPoint| {
        vec![
            Cell::text(point.month.to_string()),
            Cell::count(point.events),
            Cell::Number(point.expected, 2),
            Cell::Number(point.value, 2),
            match (point.alarm, point.acknowledged) {
                (true, true) => Cell::text("alarm, acknowledged"),
                (true, false) => Cell::text("alarm"),
                _ => Cell::Empty,
            },
        ]
    };
    section
        .show(&["month", "infections", "expected", "sum", ""], alarm.points.iter().rev().take(MOST_ROWS).rev().map(row))
        .draw(Picture::Alarm)
}

/// Months to two digits: no more are known of a run length.
pub(super) fn months_words(months: Option<f64>) -> String {
    let two_digits = |months: f64| {
        let step = 10f64.powf((months.max(10.0).log10().floor() - 1.0).max(0.0));
        thousands(((months / step).round() * step) as i64)
    };
    months.map_or("more than can be computed".to_owned(), two_digits)
}

pub(super) fn restatement(restated: &Restatement) -> Section {
    let as_of = format!("Issued as of {}", restated.issued_as_of.minute());
    let mut section = Section::new("Changes since the issued report").say(match restated.months.len() {
        0 if restated.compared == 0 => format!("{as_of}: none of its months can be compared."),
        0 if restated.not_compared.is_empty() => format!(
            "{as_of}: the number of infections is unchanged in each of its months, and the infections of its own period are the same."
        ),
        0 => format!("{as_of}: the number of infections is unchanged in each compared month."),
        n => format!("{as_of}: the infections of {} have changed.", count(n as i64, "month")),
    });
    if let (Some(first), Some(last)) = (restated.not_compared.first(), restated.not_compared.last()) {
        let months = if first == last { first.to_string() } else { format!("{first} to {last}") };
        section = section.say(format!(
            "Not compared: {months}, because this report ends before the days that the issued one counted."
        ));
    }
    if !restated.device_days.is_empty() {
        let days = restated.device_days.iter().rev().take(MOST_MONTHS).rev();
        let days: Vec<String> =
            days.map(|one| format!("{} {} → {}", one.month, thousands(one.issued), thousands(one.now))).collect();
        section = section.say(format!(
            "The device-days of {} have changed; the last: {}.",
            count(restated.device_days.len() as i64, "month"),
            days.join(", ")
        ));
    }
    if restated.case_definition_changed {
        section = section.say("The case definition has changed, so the counts are not comparable.");
    }
    let row = |one: &Restated| {
        vec![
            Cell::text(one.month.to_string()),
            Cell::Figure(format!("{} → {}", one.issued, one.now)),
            Cell::text(&one.why),
        ]
    };
    section.show(&["month", "infections", "reason"], restated.months.iter().map(row))
}
