//! Risk by time since implant.

use super::Section;
use crate::report::audit::{RiskByTime, TimeSinceImplant};
use crate::text::{count, thousands};
use crate::view::table::Cell;

/// The largest factor at which the limits of observed ÷ expected are given: from twice the variance on, the earlier count
/// decides the ratio. Common practice, no source.
const STANDARD_ERRORS: f64 = 1.732_050_807_568_877_2;
/// An interval has few earlier device-days if it has more than this many times as many now.
const TIMES_AS_MANY: i64 = 2;

pub(super) fn by_time(risk: &RiskByTime) -> Section {
    let section = Section::new("Risk by time since implant");
    if risk.by_days.iter().all(|time| time.device_days == 0 && time.events == 0) {
        return section.say(format!("No device-days from {} to {}, so there are no rates.", risk.from, risk.to));
    }
    let section = section.say(format!("{} to {}: {}", risk.from, risk.to, compared(risk)));
    let section = match risk.standardized.ratio.and(risk.earlier_from) {
        Some(from) => section.say(format!(
            "Expected: device-days in each interval since implant × its earlier rate, {from} to {} ({}). {}The limits of the rate ratios allow for both counts (exact, conditional on the total of each interval, or of all for the crude ratio).",
            risk.earlier_to,
            count(risk.standardized.earlier_events as i64, "infection"),
            if is_reference_thin(risk) { "" } else { "The limits of observed ÷ expected take the earlier rate as known (exact Poisson), so they are too narrow. " }
        )),
        None => section,
    };
    let section = match risk.earlier_from.is_some() && risk.left_out_device_days > 0 {
        true => section.say(format!(
            "Excluded from the comparison, because no earlier patient was observed in that interval since implant: {} in {} device-days.",
            count(risk.left_out_events as i64, "infection"),
            thousands(risk.left_out_device_days)
        )),
        false => section,
    };
    let section =
        section.show(&["day", "infections", "device-days", "per 1,000", "95 %"], risk.by_days.iter().map(row));
    match risk.earlier_from {
        None => section,
        Some(_) => section.show(
            &["day", "earlier infections", "earlier device-days", "per 1,000", "expected now"],
            risk.by_days.iter().map(|time| earlier_row(time, is_reference_thin(risk))),
        ),
    }
}

/// Returns true if the earlier device-days are too few for observed ÷ expected.
fn is_reference_thin(risk: &RiskByTime) -> bool {
    risk.standardized.standard_error_factor.is_some_and(|factor| factor > STANDARD_ERRORS)
}

fn has_few_earlier_days(time: &TimeSinceImplant) -> bool {
    time.device_days > TIMES_AS_MANY * time.earlier_device_days
}

fn compared(risk: &RiskByTime) -> String {
    let (standardized, crude) = (&risk.standardized, &risk.crude);
    let ratio = |ratio, low, high| format!("{} (95 % {})", Cell::number(ratio, 2), Cell::Limits(low, high, 2));
    let (crude_low, crude_high) = (risk.crude_conditional_low, risk.crude_conditional_high);
    if risk.earlier_from.is_none() {
        return "no earlier device-days on file, so there is no expected number.".to_owned();
    }
    if standardized.ratio.is_none() {
        return "no earlier infection in the same intervals since implant, so the expected number is 0 and there is no ratio."
            .to_owned();
    }
    let within = match risk.within_intervals {
        within if within.low.is_none() && within.high.is_none() => String::new(),
        within => format!(
            " Rate ratio to earlier patient-time within the same intervals: {}.",
            match within.ratio {
                Some(_) => ratio(within.ratio, within.low, within.high),
                None => format!("not estimable, 95 % limits {}", Cell::Limits(within.low, within.high, 2)),
            }
        ),
    };
    let observed = count(standardized.observed as i64, "infection");
    let by_crude = format!(
        "By the crude earlier rate {:.2} expected: ratio {}.",
        crude.expected,
        ratio(crude.ratio, crude_low, crude_high)
    );
    if is_reference_thin(risk) {
        let few = || risk.by_days.iter().filter(|time| has_few_earlier_days(time));
        let all: i64 = risk.by_days.iter().map(|time| time.device_days).sum();
        return format!(
            "{observed} observed. No ratio to an expected number is given: {} of {} device-days are in intervals since implant with only {} earlier device-days.{within} {by_crude}",
            thousands(few().map(|time| time.device_days).sum()),
            thousands(all),
            thousands(few().map(|time| time.earlier_device_days).sum()),
        );
    }
    format!(
        "{observed} observed and {:.2} expected by the program's own earlier rates for the same time since implant: ratio {}.{within} {by_crude}",
        standardized.expected,
        ratio(standardized.ratio, standardized.low, standardized.high),
    )
}

fn days(time: &TimeSinceImplant) -> Cell {
    Cell::Text(match time.to_day {
        Some(to) => format!("{} to {to}", time.from_day),
        None => format!("over {}", time.from_day - 1),
    })
}

fn row(time: &TimeSinceImplant) -> Vec<Cell> {
    let rate = &time.per_1000_device_days;
    vec![
        days(time),
        Cell::count(time.events),
        Cell::Count(time.device_days),
        Cell::number(rate.rate, 2),
        Cell::Limits(rate.low, rate.high, 2),
    ]
}

fn earlier_row(time: &TimeSinceImplant, is_reference_thin: bool) -> Vec<Cell> {
    let expected = time.expected.filter(|_| !is_reference_thin || !has_few_earlier_days(time));
    vec![
        days(time),
        Cell::count(time.earlier_events),
        Cell::Count(time.earlier_device_days),
        Cell::number(time.earlier_per_1000_device_days.rate, 2),
        Cell::number(expected, 2),
    ]
}
