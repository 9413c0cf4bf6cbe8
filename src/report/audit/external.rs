//! The external report: one page of figures for a complete calendar year that may leave the program.
//! Disclosure control does not rest on complementary suppression. There are few figures, and none is part of another or a sum
//! of others, so subtraction reveals no suppressed count: each of the values 1 to 4 gives an identical report, byte for byte, in
//! this year and in others. Derived figures use published figures only: a rate divides by the
//! rounded device-days, and a proportion has no limits, since they would reveal its denominator.
//! Left out on purpose: months, phases, groups, curves, charts, codes, dates, notes, and breakdowns of any count.

use schemars::JsonSchema;
use serde::Serialize;

use super::changes::{cares, sum, timely};
use super::{Population, Rates, events};
use crate::audit::{AuditSpan, ChangeFindings, Contribution, ExitCare};
use crate::score::CAUTION;
use crate::surveillance::share::ClusterCount;
use crate::word::words;

/// The smallest nonzero number of patients or events that is published. Source: common practice of small-count suppression.
pub const FEWEST: u64 = 5;

/// The significant figures of published device-days.
const FIGURES: u32 = 3;

words! {
    /// A nonzero count below [`FEWEST`].
    pub enum Few {
        /// 1, 2, 3 or 4.
        OneToFour = "1 to 4",
    }
}

/// A count as it may leave the program. Zero is published: it identifies no one, and without it a year with no infection
/// would look like a year with four.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(untagged)]
pub enum Count {
    /// 0, or at least 5.
    Exact(u64),
    /// 1 to 4.
    Few(Few),
}

/// The marker at the beginning of every external report.
pub const RELEASE: &str = "external report: may leave the program";

/// The JSON envelope of the external report. Unlike internal reports, it has no `as_of` and names no file.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct ExternalReport {
    /// The marker that the report may leave the program.
    pub release: String,
    /// Always `audit`.
    pub command: String,
    /// The version of exitsite.
    pub version: String,
    /// The limitations of the figures.
    pub caution: String,
    /// The figures.
    #[serde(flatten)]
    pub figures: ExternalFigures,
}

/// The figures of a calendar year that may leave the program.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct ExternalFigures {
    /// The program's name, from the policy.
    pub program: String,
    /// The calendar year.
    pub year: i32,
    /// The program's case definition of an infection; null if that part of the policy cannot be read.
    pub case_definition: Option<String>,
    /// False if a file of the records cannot be read, so that patients or events may be missing.
    pub is_complete: bool,
    /// Patients with at least one day of support. If 1 to 4, all other figures are null.
    pub patients: Count,
    /// Device-days, rounded to three significant figures.
    pub device_days: Option<i64>,
    /// Proven or probable infections by onset, excluding recurrences.
    pub infections: Events,
    /// Line pulls.
    pub pulls: Events,
    /// Proportions in whole percent.
    pub percent: Percent,
}

/// Events of the year.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, JsonSchema)]
pub struct Events {
    /// The number of events.
    pub count: Option<Count>,
    /// The rate per 1,000 rounded device-days; null for fewer than 5 events.
    pub per_1000_device_days: Option<RateLimits>,
}

/// A rate with exact 95 % confidence limits, to two decimals.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, JsonSchema)]
pub struct RateLimits {
    /// The rate.
    pub rate: f64,
    /// Lower limit.
    pub low: f64,
    /// Upper limit.
    pub high: f64,
}

/// Proportions in whole percent, 1 to 99; null unless they are based on at least 5 patients, 5 in the numerator and 5 outside
/// it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Percent {
    /// Covered days that ended with no change past due.
    pub days_in_date: Option<u8>,
    /// Expected changes done on time.
    pub changes_on_time: Option<u8>,
    /// Showers followed by a timely change, of those with a known result.
    pub showers_followed: Option<u8>,
    /// Showers followed by a change in time, if none of the unknown were; null also if fewer than 5 are unknown.
    pub showers_followed_at_least: Option<u8>,
    /// Showers followed by a change in time, if all of the unknown were; null as above.
    pub showers_followed_at_most: Option<u8>,
    /// Changes that found the anchor in place, of those that record it.
    pub anchor_in_place: Option<u8>,
    /// Changes that found the dressing intact, of those that record it.
    pub dressing_intact: Option<u8>,
}

impl ExternalReport {
    /// Builds the report of these figures.
    pub fn of(figures: ExternalFigures) -> ExternalReport {
        ExternalReport {
            release: RELEASE.into(),
            command: "audit".into(),
            version: env!("CARGO_PKG_VERSION").into(),
            caution: CAUTION.into(),
            figures,
        }
    }
}

impl ExternalFigures {
    pub(super) fn of(
        all: &[Contribution],
        span: &AuditSpan,
        (program, year): (String, i32),
        case_definition: Option<String>,
        is_complete: bool,
    ) -> ExternalFigures {
        let census = Population::of(all, span.period);
        let patients = Count::of(census.patients);
        // Device-days, or any rate over them, would reveal the suppressed number of patients.
        let days = (patients == Count::Exact(census.patients)).then(|| rounded(census.device_days));
        let of = |count: usize| days.map_or(Events::NOT_TOLD, |days| Events::of(count as u64, days));
        let share = |of_each: &dyn Fn(&ExitCare) -> ClusterCount| {
            let counted: Vec<ClusterCount> = cares(all).map(of_each).collect();
            days.and_then(|_| percent(&counted))
        };
        let is_unknown_told = cares(all).map(|care| care.showers_followed(span.period).1).sum::<u64>() >= FEWEST;
        let showers = |is_followed: bool| {
            let of_each = move |care: &ExitCare| {
                let (known, unknown) = care.showers_followed(span.period);
                let known = sum(&known, |_| true);
                let part = known.part + if is_followed { unknown } else { 0 };
                ClusterCount { part, whole: known.whole + unknown }
            };
            share(&of_each).filter(|_| is_unknown_told)
        };
        let found =
            |what: fn(&ChangeFindings) -> Option<bool>| share(&|care| sum(&care.found(span.period, what).0, |_| true));
        ExternalFigures {
            program,
            year,
            case_definition,
            is_complete,
            patients,
            device_days: days,
            infections: of(events(all, span.period).count()),
            pulls: of(all.iter().map(|one| one.traumas as usize).sum()),
            percent: Percent {
                days_in_date: share(&|care| sum(&care.days_in_date(span.period), |_| true)),
                changes_on_time: share(&|care| timely(care, span.period, &|_| true)),
                showers_followed: share(&|care| sum(&care.showers_followed(span.period).0, |_| true)),
                showers_followed_at_least: showers(false),
                showers_followed_at_most: showers(true),
                anchor_in_place: found(|found| found.anchor),
                dressing_intact: found(|found| found.dressing),
            },
        }
    }
}

impl Count {
    fn of(count: u64) -> Count {
        if count == 0 || count >= FEWEST { Count::Exact(count) } else { Count::Few(Few::OneToFour) }
    }
}

impl Events {
    const NOT_TOLD: Events = Events { count: None, per_1000_device_days: None };

    fn of(count: u64, device_days: i64) -> Events {
        let rate = Rates::of(count, device_days).per_1000_device_days;
        let limits = (rate.rate, rate.low, rate.high);
        let per_1000_device_days = match limits {
            (Some(rate), Some(low), Some(high)) if count >= FEWEST => {
                Some(RateLimits { rate: hundredths(rate), low: hundredths(low), high: hundredths(high) })
            }
            _ => None,
        };
        Events { count: Some(Count::of(count)), per_1000_device_days }
    }
}

fn hundredths(value: f64) -> f64 {
    (value * 100.0).round() / 100.0
}

/// Rounds to three significant figures.
fn rounded(days: i64) -> i64 {
    let step = 10_i64.pow(days.unsigned_abs().max(1).ilog10().saturating_sub(FIGURES - 1));
    (days + step / 2) / step * step
}

/// Returns the proportion in whole percent. Neither the numerator nor its complement may be below [`FEWEST`]: with a known
/// denominator such as 30 showers, "97 %" would reveal the one that was not followed. Values are not rounded to 0 % or 100 %,
/// which would claim that there was no exception.
fn percent(patients: &[ClusterCount]) -> Option<u8> {
    let counted: ClusterCount = patients.iter().copied().sum();
    let rest = counted.whole.saturating_sub(counted.part);
    let behind_it = patients.iter().filter(|one| one.whole > 0).count() as u64;
    let is_told = [behind_it, counted.part, rest].iter().all(|count| *count >= FEWEST);
    is_told.then(|| (100.0 * counted.part as f64 / counted.whole as f64).round().clamp(1.0, 99.0) as u8)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn device_days_are_told_to_three_figures() {
        let check = |days, expected| assert_eq!(rounded(days), expected, "{days}");
        check(0, 0);
        check(7, 7);
        check(999, 999);
        check(1_234, 1_230);
        check(1_235, 1_240);
        check(9_996, 10_000);
        check(123_456, 123_000);
    }

    #[test]
    fn counts_of_one_to_four_are_one_word() {
        let written = |count| serde_json::to_string(&Count::of(count)).unwrap();
        assert_eq!([0, 1, 4, 5, 12].map(written), ["0", "\"1 to 4\"", "\"1 to 4\"", "5", "12"]);
    }

    #[test]
    fn a_share_is_told_only_of_five_beside_five_others() {
        let check = |part: u64, whole: u64, patients: u64, expected: Option<u8>| {
            let mut all = vec![ClusterCount { part: 0, whole: 0 }];
            all.extend((1..patients).map(|_| ClusterCount { part: 1, whole: 1 }));
            all.push(ClusterCount { part: part + 1 - patients, whole: whole + 1 - patients });
            assert_eq!(percent(&all), expected, "{part} of {whole}");
        };
        check(25, 30, 5, Some(83));
        check(25, 30, 4, None);
        check(26, 30, 5, None);
        check(30, 30, 5, None);
        check(4, 30, 5, None);
        check(2_990, 3_000, 5, Some(99));
        assert_eq!(percent(&[]), None);
    }
}
