//! Infections over device-days, and the comparison with an earlier period.

use std::collections::{BTreeMap, BTreeSet};

use chrono::{Months, NaiveDate};
use schemars::JsonSchema;
use serde::Serialize;

use super::{MONTH_DAYS, YEAR_DAYS, device_days, events};
use crate::audit::{self, Contribution};
use crate::day::{Period, after, before};
use crate::event::{Certainty, InfectedPart};
use crate::surveillance::rate::Rate;
use crate::surveillance::ratio::Ratio;
use crate::word::Word;

/// Infections with onset in the period.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Infections {
    /// Proven or probable infections, excluding recurrences.
    pub events: u64,
    /// Possible infections; not included in `events`.
    pub possible: u64,
    /// Proven or probable recurrences; not included in `events`.
    pub recurrences: u64,
    /// Patients with an event.
    pub patients: u64,
    /// The events by infected part.
    pub by_part: BTreeMap<String, u64>,
    /// Infections by diagnostic certainty.
    pub by_certainty: ByCertainty,
    /// The rates of the events.
    pub rates: Rates,
    /// The rate under other definitions.
    pub sensitivity: Sensitivity,
    /// Determinations with an onset up to the period's end but outside the patient's time on file: data errors, not counted.
    pub outside: Vec<Outside>,
    /// Duplicate determinations of an onset in the period, not counted.
    pub twice: Vec<Outside>,
}

/// Infections by diagnostic certainty.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, JsonSchema)]
pub struct ByCertainty {
    /// Proven.
    pub proven: u64,
    /// Probable.
    pub probable: u64,
    /// Possible.
    pub possible: u64,
}

/// A rate in three units.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, JsonSchema)]
pub struct Rates {
    /// Per 1,000 device-days.
    pub per_1000_device_days: Rate,
    /// Per 100 patient-months of 30.4375 days.
    pub per_100_patient_months: Rate,
    /// Per patient-year of 365.25 days.
    pub per_patient_year: Rate,
}

/// Sensitivity of the rate per 1,000 device-days to the counting rules.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, JsonSchema)]
pub struct Sensitivity {
    /// Excluding days away, and infections with an onset on such a day.
    pub without_days_elsewhere: Variant,
    /// Excluding days on an antibiotic for an infection, and infections with an onset on such a day.
    pub without_days_treated: Variant,
    /// Proven infections only.
    pub proven_only: Variant,
    /// Including possible infections.
    pub with_possible: Variant,
}

/// A rate with its numerator and denominator.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, JsonSchema)]
pub struct Variant {
    /// Infections.
    pub events: u64,
    /// Device-days.
    pub device_days: i64,
    /// The rate.
    pub per_1000_device_days: Rate,
}

/// An excluded determination.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Outside {
    /// The patient's code.
    pub patient: String,
    /// The record.
    pub file: String,
    /// The date of onset.
    pub onset: NaiveDate,
}

/// The rates of two periods compared.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Comparison {
    /// The first day of the period.
    pub from: NaiveDate,
    /// The last day of that period.
    pub to: NaiveDate,
    /// The first day of the earlier period.
    pub before_from: NaiveDate,
    /// The last day of that period.
    pub before_to: NaiveDate,
    /// Infections in the period.
    pub events: u64,
    /// Device-days in that period.
    pub device_days: i64,
    /// Infections in the earlier period.
    pub events_before: u64,
    /// Device-days in that period.
    pub device_days_before: i64,
    /// The period's rate per 1,000 device-days.
    pub per_1000_device_days: Option<f64>,
    /// The earlier period's rate per 1,000 device-days.
    pub per_1000_device_days_before: Option<f64>,
    /// The rate ratio with its limits, and the power of the comparison.
    #[serde(flatten)]
    pub ratio: Ratio,
}

impl Infections {
    pub(super) fn of(all: &[Contribution], period: Period) -> Infections {
        let counted: Vec<_> = events(all, period).collect();
        let patients: BTreeSet<&str> = counted.iter().map(|(one, _)| one.patient.as_str()).collect();
        let mut by_part: BTreeMap<String, u64> =
            InfectedPart::WORDS.iter().map(|part| ((*part).to_owned(), 0)).collect();
        for (_, infection) in &counted {
            *by_part.entry(infection.part.word().to_owned()).or_default() += 1;
        }
        let others = |is_so: &dyn Fn(&audit::Determination) -> bool| {
            let of_one = |one: &Contribution| {
                let inside = |onset| period.contains(onset) && one.stay.holds(onset);
                one.infections.iter().filter(|infection| inside(infection.onset) && is_so(infection)).count()
            };
            all.iter().map(of_one).sum::<usize>() as u64
        };
        let certain =
            |certainty| counted.iter().filter(|(_, infection)| infection.certainty == certainty).count() as u64;
        let possible = others(&|infection| !infection.is_certain());
        let outside = all.iter().flat_map(|one| {
            let strays = one
                .infections
                .iter()
                .filter(|infection| infection.onset <= period.to && !one.stay.holds(infection.onset));
            strays.map(|infection| Outside::of(one, infection))
        });
        let twice = all.iter().flat_map(|one| {
            let twice = one.infections_twice.iter().filter(|infection| period.contains(infection.onset));
            twice.map(|infection| Outside::of(one, infection))
        });
        Infections {
            events: counted.len() as u64,
            possible,
            recurrences: others(&|infection| infection.is_certain() && infection.is_recurrence),
            patients: patients.len() as u64,
            by_part,
            by_certainty: ByCertainty {
                proven: certain(Certainty::Proven),
                probable: certain(Certainty::Probable),
                possible,
            },
            rates: Rates::of(counted.len() as u64, device_days(all, period)),
            sensitivity: Sensitivity::of(all, period),
            outside: outside.collect(),
            twice: twice.collect(),
        }
    }
}

impl Sensitivity {
    fn of(all: &[Contribution], period: Period) -> Sensitivity {
        type FoundInfection = audit::Determination;
        let variant = |days: i64, is_counted: &dyn Fn(&Contribution, &FoundInfection) -> bool| {
            let of_one = |one: &Contribution| {
                let is_there = |found: &&FoundInfection| period.contains(found.onset) && one.stay.holds(found.onset);
                one.infections.iter().filter(is_there).filter(|found| is_counted(one, found)).count() as u64
            };
            let events = all.iter().map(of_one).sum();
            Variant { events, device_days: days, per_1000_device_days: Rate::of(events, days as f64 / 1000.0) }
        };
        let days = device_days(all, period);
        let elsewhere: i64 = all.iter().map(|one| one.stay.days_elsewhere(period)).sum();
        let treated: i64 = all.iter().map(|one| one.stay.days_within(period, &one.treated)).sum();
        let is_treated = |one: &Contribution, day| one.treated.iter().any(|days| days.contains(day));
        Sensitivity {
            without_days_elsewhere: variant(days - elsewhere, &|one, found| {
                found.is_event() && !one.stay.is_elsewhere(found.onset)
            }),
            without_days_treated: variant(days - treated, &|one, found| {
                found.is_event() && !is_treated(one, found.onset)
            }),
            proven_only: variant(days, &|_, found| found.is_event() && found.certainty == Certainty::Proven),
            with_possible: variant(days, &|_, found| !found.is_recurrence),
        }
    }
}

impl Outside {
    fn of(one: &Contribution, infection: &audit::Determination) -> Outside {
        Outside { patient: one.patient.clone(), file: infection.file.clone(), onset: infection.onset }
    }
}

impl Rates {
    /// Computes the rates of events over device-days.
    pub fn of(events: u64, device_days: i64) -> Rates {
        let days = device_days as f64;
        Rates {
            per_1000_device_days: Rate::of(events, days / 1000.0),
            per_100_patient_months: Rate::of(events, days / (100.0 * MONTH_DAYS)),
            per_patient_year: Rate::of(events, days / YEAR_DAYS),
        }
    }
}

impl Comparison {
    pub(super) fn of(all: &[Contribution], period: Period, compare: Option<Period>) -> Comparison {
        let (now, then) = match compare {
            Some(then) => (period, then),
            None => {
                let now = year_to(period.to);
                (now, year_to(before(now.from)))
            }
        };
        let count = |period: Period| (events(all, period).count() as u64, device_days(all, period));
        let ((events, device_days), (events_before, device_days_before)) = (count(now), count(then));
        let per_1000 = |events, days| Rates::of(events, days).per_1000_device_days.rate;
        Comparison {
            from: now.from,
            to: now.to,
            before_from: then.from,
            before_to: then.to,
            events,
            device_days,
            events_before,
            device_days_before,
            per_1000_device_days: per_1000(events, device_days),
            per_1000_device_days_before: per_1000(events_before, device_days_before),
            ratio: Ratio::of(events, device_days as f64, events_before, device_days_before as f64),
        }
    }
}

/// Returns the 12 months ending with a day, inclusive.
pub(super) fn year_to(last: NaiveDate) -> Period {
    Period { from: after(last).checked_sub_months(Months::new(12)).unwrap_or(last), to: last }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn twelve_months_end_with_the_last_day_of_a_month_also_in_leap_years() {
        let check = |last: &str, first: &str| {
            assert_eq!(year_to(last.parse().unwrap()).from, first.parse::<NaiveDate>().unwrap(), "{last}");
        };
        check("2026-10-31", "2025-11-01");
        check("2027-02-28", "2026-03-01");
        check("2028-02-29", "2027-03-01");
        check("2029-02-28", "2028-03-01");
        check("2026-11-12", "2025-11-13");
    }
}
