//! Risk by time since implant.

use super::Section;
use crate::report::audit::{RiskByTime, TimeSinceImplant};
use crate::surveillance::standardized::ObservedExpected;
use crate::text::{count, thousands};
use crate::view::table::Cell;

pub(super) fn by_time(risk: &RiskByTime) -> Section {
    let section = Section::new("Risk by time since implant");
    if risk.by_days.iter().all(|time| time.device_days == 0 && time.events == 0) {
        return section.say(format!("No device-days from {} to {}, so there are no rates.", risk.from, risk.to));
    }
    let section = section.say(format!("{} to {}: {}", risk.from, risk.to, compared(risk)));
    let section = match risk.standardized.ratio.and(risk.earlier_from) {
        Some(from) => section.say(format!(
            "Expected: device-days in each interval since implant × its earlier rate, {from} to {} ({}). Limits of the ratio by time since implant take the earlier rate as known (exact Poisson): with few earlier infections they are too narrow. Those of the crude ratio allow for the earlier count (exact, conditional on the total).",
            risk.earlier_to,
            count(risk.standardized.earlier_events as i64, "infection")
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
            risk.by_days.iter().map(earlier_row),
        ),
    }
}

fn compared(risk: &RiskByTime) -> String {
    let (standardized, crude) = (&risk.standardized, &risk.crude);
    let ratio = |one: &ObservedExpected, low, high| {
        format!("{} (95 % {})", Cell::number(one.ratio, 2), Cell::Limits(low, high, 2))
    };
    match (risk.earlier_from, standardized.ratio) {
        (None, _) => "no earlier device-days on file, so there is no expected number.".to_owned(),
        (_, None) => {
            "no earlier infection in the same intervals since implant, so the expected number is 0 and there is no ratio."
                .to_owned()
        }
        _ => format!(
            "{} observed and {:.2} expected by the program's own earlier rates for the same time since implant: ratio {}. By the crude earlier rate {:.2}: ratio {}.",
            count(standardized.observed as i64, "infection"),
            standardized.expected,
            ratio(standardized, standardized.low, standardized.high),
            crude.expected,
            ratio(crude, risk.crude_conditional_low, risk.crude_conditional_high)
        ),
    }
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

fn earlier_row(time: &TimeSinceImplant) -> Vec<Cell> {
    vec![
        days(time),
        Cell::count(time.earlier_events),
        Cell::Count(time.earlier_device_days),
        Cell::number(time.earlier_per_1000_device_days.rate, 2),
        Cell::number(time.expected, 2),
    ]
}
