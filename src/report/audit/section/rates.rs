//! Infections over device-days, beside a time before, and the alarm.

use super::{Picture, Section, known, limits, p_words};
use crate::report::audit::{Alarm, AuditReport, Comparison, CountChart, Outside, Restatement};
use crate::surveillance::rate::Rate;
use crate::text::{count, thousands, visible};

/// So many months are named in a sentence.
const MOST_MONTHS: usize = 3;

pub(super) fn infections(report: &AuditReport) -> Section {
    let (found, compared) = (&report.infections, &report.comparison);
    let rates = &found.rates;
    let row = |unit: &str, rate: &Rate| {
        vec![
            unit.to_owned(),
            known(rate.rate, 2),
            limits(rate.low, rate.high, 2),
            limits(rate.mid_p_low, rate.mid_p_high, 2),
        ]
    };
    let definition = report
        .case_definition
        .as_deref()
        .map_or("not known: that part of policy.toml cannot be used".to_owned(), visible);
    let parts: Vec<String> =
        found.by_part.iter().filter(|(_, count)| **count > 0).map(|(part, count)| format!("{part} {count}")).collect();
    let parts = if parts.is_empty() { String::new() } else { format!(" By part: {}.", parts.join(", ")) };
    let mut section = Section::new("Infections")
        .say(meaning(report))
        .say(format!(
            "Counted: determinations by a clinician as proven ({}) or probable ({}), by the day of onset, recurrences apart, in {}; over all device-days, also those elsewhere. Case definition: {definition}.{parts}",
            found.by_certainty.proven,
            found.by_certainty.probable,
            count(found.patients as i64, "patient"),
        ))
        .say(format!(
            "Not among them: {} possible and {} that came back.",
            found.possible, found.recurrences
        ));
    let files = |of: &[Outside]| {
        let files: Vec<String> = of.iter().map(|one| format!("{} ({})", visible(&one.file), one.onset)).collect();
        files.join(", ")
    };
    if !found.outside.is_empty() {
        section = section.say(format!(
            "An error in the data, and not counted: the onset lies outside of the patient's time on file in {}.",
            files(&found.outside)
        ));
    }
    if !found.twice.is_empty() {
        section = section.say(format!(
            "One infection with two determinations of the same onset is counted once; not counted: {}.",
            files(&found.twice)
        ));
    }
    section
        .show(
            &["rate", "value", "95 % exact", "95 % mid-P"],
            vec![
                row("per 1,000 device-days", &rates.per_1000_device_days),
                row("per 100 patient-months", &rates.per_100_patient_months),
                row("per patient-year", &rates.per_patient_year),
            ],
        )
        .show(&["months", "infections", "device-days", "per 1,000"], comparison_rows(compared))
        .show(&["the ratio of both", "value", "95 % exact", "95 % mid-P"], ratio_rows(compared))
        .show(&["month", "infections", "device-days", "per 1,000", "limits", ""], months(&report.charts.infections))
        .draw(Picture::DaysBetween)
        .draw(Picture::Infections)
}

/// What the rate means, in one sentence.
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
                    "{} and no device-days, so there is no rate: {}. Look at the onset, and at `implanted`, `records_from` and [ended] in patient.toml.",
                    count(events as i64, "infection"),
                    whose.join(", ")
                )
            }
        };
    };
    format!(
        "{} in {} device-days: {value:.2} per 1,000, between {}. {}",
        count(found.events as i64, "infection"),
        thousands(census.device_days),
        limits(rate.low, rate.high, 2).replace(" to ", " and "),
        comparison(&report.comparison)
    )
}

fn comparison(compared: &Comparison) -> String {
    let of = |from, to, rate: Option<f64>, events: u64| {
        let rate = rate.map_or("no device-days".to_owned(), |rate| format!("{rate:.2} per 1,000"));
        format!("{from} to {to}: {rate} ({})", count(events as i64, "infection"))
    };
    let both = format!(
        "{}; {}",
        of(compared.from, compared.to, compared.per_1000_device_days, compared.events),
        of(compared.before_from, compared.before_to, compared.per_1000_device_days_before, compared.events_before)
    );
    let Some(p) = compared.ratio.p else { return format!("{both}; the two cannot be compared.") };
    let chance = match () {
        () if compared.events + compared.events_before == 0 => "none in either".to_owned(),
        () if p < 0.05 => format!("a difference of this size is seldom chance ({})", p_words(p)),
        () => format!("a difference of this size is easily chance ({})", p_words(p)),
    };
    let power = match compared.ratio.smallest_detectable {
        _ if p < 0.05 => String::new(),
        None if compared.events_before == 0 => ", and no ratio can be named, since there was none before".to_owned(),
        Some(ratio) => format!(", and in four of five times only a ratio of {ratio:.1} or more would have shown"),
        None => ", and these numbers are too small to have shown any ratio".to_owned(),
    };
    format!("{both}; {chance}{power}.")
}

fn comparison_rows(compared: &Comparison) -> Vec<Vec<String>> {
    let row = |from, to, events: u64, days, rate| {
        vec![format!("{from} to {to}"), events.to_string(), thousands(days), known(rate, 2)]
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

fn ratio_rows(compared: &Comparison) -> Vec<Vec<String>> {
    let ratio = &compared.ratio;
    vec![
        vec![
            "first ÷ second".to_owned(),
            known(ratio.rate_ratio, 2),
            limits(ratio.low, ratio.high, 2),
            limits(ratio.mid_p_low, ratio.mid_p_high, 2),
        ],
        vec![
            "p".to_owned(),
            String::new(),
            ratio.p.map_or("-".to_owned(), |p| format!("{p:.4}")),
            ratio.mid_p.map_or("-".to_owned(), |p| format!("{p:.4}")),
        ],
    ]
}

/// The last 13 months of the chart.
fn months(chart: &CountChart) -> Vec<Vec<String>> {
    let row = |point: &crate::report::audit::CountPoint| {
        vec![
            point.month.clone(),
            point.events.to_string(),
            thousands(point.device_days),
            known(point.rate, 2),
            limits(point.low, point.high, 2),
            if point.beyond { "outside".to_owned() } else { String::new() },
        ]
    };
    chart.points.iter().rev().take(13).rev().map(row).collect()
}

pub(super) fn alarm(alarm: &Alarm) -> Section {
    let mut section = Section::new("Alarm for a doubled rate");
    if let Some(why) = &alarm.none_because {
        return section.say(format!("There is no alarm: {why}."));
    }
    let last = alarm.points.last();
    let open = alarm.points.iter().filter(|point| point.alarm && !point.acknowledged).collect::<Vec<_>>();
    section = section.say(match (open.last(), last) {
        (Some(point), Some(last)) if point.month == last.month => format!(
            "Alarm in {}: since the baseline there are more infections than chance at that rate explains; somebody has to look for the cause.",
            point.month
        ),
        (Some(point), _) => format!("An alarm in {} that nobody has marked as acknowledged in policy.toml.", point.month),
        (None, Some(last)) => format!(
            "No alarm through {}: the sum is {:.2}, and {} is the threshold.",
            last.month,
            last.value,
            known(alarm.high, 2)
        ),
        (None, None) => "No month has passed since the baseline.".to_owned(),
    });
    if let Some(days) = alarm.baseline {
        section = section.say(format!(
            "Baseline {} to {}: {} in {} device-days. At that rate an alarm comes by chance about once in {} months; a doubled rate is seen after about {} months.",
            days.from,
            days.to,
            count(alarm.baseline_events.unwrap_or(0) as i64, "infection"),
            thousands(alarm.baseline_device_days.unwrap_or(0)),
            known(alarm.in_control_months, 0),
            known(alarm.expected_delay_months, 1)
        ));
    }
    let row = |point: &crate::report::audit::SumPoint| {
        let says = match (point.alarm, point.acknowledged) {
            (true, true) => "alarm, acknowledged",
            (true, false) => "alarm",
            _ => "",
        };
        vec![
            point.month.clone(),
            point.events.to_string(),
            format!("{:.2}", point.expected),
            format!("{:.2}", point.value),
            says.to_owned(),
        ]
    };
    section
        .show(
            &["month", "infections", "expected", "sum", ""],
            alarm.points.iter().rev().take(13).rev().map(row).collect(),
        )
        .draw(Picture::Alarm)
}

pub(super) fn restatement(restated: &Restatement) -> Section {
    let as_of = format!("Issued as of {}", visible(&restated.issued_as_of));
    let mut section = Section::new("Since the report that was issued").say(match restated.months.len() {
        0 if restated.compared == 0 => format!("{as_of}: none of its months is compared."),
        0 if restated.not_compared.is_empty() => format!(
            "{as_of}: the number of infections of each of its months is as it was, and of its own period they are the same ones."
        ),
        0 => format!("{as_of}: the number of infections of each month that is compared is as it was."),
        n => format!("{as_of}: the infections of {} are not as they were.", count(n as i64, "month")),
    });
    if let (Some(first), Some(last)) = (restated.not_compared.first(), restated.not_compared.last()) {
        let months = if first == last { visible(first) } else { format!("{} to {}", visible(first), visible(last)) };
        section = section.say(format!(
            "Not compared: {months}, since this report ends before the days that the issued one counted."
        ));
    }
    if !restated.device_days.is_empty() {
        let days = restated.device_days.iter().rev().take(MOST_MONTHS).rev();
        let days: Vec<String> =
            days.map(|one| format!("{} {} → {}", one.month, thousands(one.issued), thousands(one.now))).collect();
        section = section.say(format!(
            "The device-days of {} are not as they were; the last: {}.",
            count(restated.device_days.len() as i64, "month"),
            days.join(", ")
        ));
    }
    if restated.case_definition_changed {
        section = section.say("The case definition is another one now, so the counts are not of the same thing.");
    }
    let row = |one: &crate::report::audit::Restated| {
        vec![visible(&one.month), format!("{} → {}", one.issued, one.now), one.why.clone()]
    };
    section.show(&["month", "infections", "why"], restated.months.iter().map(row).collect())
}
