//! Risk by time since implant, and observed ÷ expected infections by the program's own earlier rates for the same time.

use chrono::NaiveDate;
use schemars::JsonSchema;
use serde::Serialize;

use super::{device_days, events};
use crate::audit::Contribution;
use crate::day::{Period, before, plus};
use crate::surveillance::matched::{MatchedRatio, MatchedSet};
use crate::surveillance::rate::Rate;
use crate::surveillance::ratio::Ratio;
use crate::surveillance::standardized::{ObservedExpected, Stratum};

/// The first and the last day of each interval since implant; the last interval is open-ended. Source: rules of the audit.
const TIMES: [(i64, Option<i64>); 4] = [(0, Some(30)), (31, Some(90)), (91, Some(365)), (366, None)];

/// Infections by time since implant, in the comparison period and in all earlier time on file.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct RiskByTime {
    /// The first day of the period, as in `comparison`.
    pub from: NaiveDate,
    /// The last day of the period.
    pub to: NaiveDate,
    /// The first device-day of the earlier time; null if there is none.
    pub earlier_from: Option<NaiveDate>,
    /// The last day of the earlier time.
    pub earlier_to: NaiveDate,
    /// The intervals since implant.
    pub by_days: Vec<TimeSinceImplant>,
    /// Observed ÷ expected, standardized to the earlier rate of each interval.
    pub standardized: ObservedExpected,
    /// The rate ratio within intervals since implant; its limits allow for both counts.
    pub within_intervals: MatchedRatio,
    /// Observed ÷ expected by the overall earlier rate.
    pub crude: ObservedExpected,
    /// Lower 95 % limit of the crude ratio that allows for the earlier count: exact, conditional on the total.
    pub crude_conditional_low: Option<f64>,
    /// Upper limit that allows for the earlier count.
    pub crude_conditional_high: Option<f64>,
    /// Infections in intervals without an earlier device-day; excluded from the standardized figure.
    pub left_out_events: u64,
    /// Device-days in those intervals.
    pub left_out_device_days: i64,
}

/// An interval since implant.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct TimeSinceImplant {
    /// The first day since implant; 0 is the day of implant.
    pub from_day: i64,
    /// The last day since implant; null if open-ended.
    pub to_day: Option<i64>,
    /// Infections.
    pub events: u64,
    /// Device-days.
    pub device_days: i64,
    /// The rate.
    pub per_1000_device_days: Rate,
    /// Earlier infections.
    pub earlier_events: u64,
    /// Earlier device-days.
    pub earlier_device_days: i64,
    /// The rate.
    pub earlier_per_1000_device_days: Rate,
    /// Infections expected at the earlier rate; null without earlier device-days.
    pub expected: Option<f64>,
}

impl RiskByTime {
    pub(super) fn of(all: &[Contribution], now: Period) -> RiskByTime {
        let earlier = Period { from: NaiveDate::MIN, to: before(now.from) };
        let by_days: Vec<TimeSinceImplant> =
            TIMES.iter().map(|(from, to)| TimeSinceImplant::of(all, (*from, *to), now, earlier)).collect();
        let strata: Vec<Stratum> = by_days.iter().map(TimeSinceImplant::stratum).collect();
        let crude = Stratum {
            events: events(all, now).count() as u64,
            exposure: device_days(all, now) as f64,
            earlier_events: events(all, earlier).count() as u64,
            earlier_exposure: device_days(all, earlier) as f64,
        };
        let conditional = Ratio::of(crude.events, crude.exposure, crude.earlier_events, crude.earlier_exposure);
        let matched: Vec<MatchedSet> = strata.iter().map(Stratum::matched).collect();
        let left_out = || by_days.iter().filter(|time| time.expected.is_none());
        RiskByTime {
            from: now.from,
            to: now.to,
            earlier_from: all.iter().filter(|one| one.stay.days(earlier) > 0).map(|one| one.stay.from).min(),
            earlier_to: earlier.to,
            standardized: ObservedExpected::of(&strata),
            within_intervals: MatchedRatio::of(&matched),
            crude: ObservedExpected::of(&[crude]),
            crude_conditional_low: conditional.low,
            crude_conditional_high: conditional.high,
            left_out_events: left_out().map(|time| time.events).sum(),
            left_out_device_days: left_out().map(|time| time.device_days).sum(),
            by_days,
        }
    }
}

impl TimeSinceImplant {
    fn of(all: &[Contribution], days: (i64, Option<i64>), now: Period, earlier: Period) -> TimeSinceImplant {
        let of = |period: Period| {
            let (mut events_in, mut days_in) = (0, 0);
            for one in all {
                let time = Period {
                    from: plus(one.stay.implanted, days.0).max(period.from),
                    to: days.1.map_or(period.to, |last| plus(one.stay.implanted, last).min(period.to)),
                };
                if time.from <= time.to {
                    events_in += events(std::slice::from_ref(one), time).count() as u64;
                    days_in += one.stay.days(time);
                }
            }
            (events_in, days_in)
        };
        let ((events, device_days), (earlier_events, earlier_device_days)) = (of(now), of(earlier));
        let mut time = TimeSinceImplant {
            from_day: days.0,
            to_day: days.1,
            events,
            device_days,
            per_1000_device_days: Rate::of(events, device_days as f64 / 1000.0),
            earlier_events,
            earlier_device_days,
            earlier_per_1000_device_days: Rate::of(earlier_events, earlier_device_days as f64 / 1000.0),
            expected: None,
        };
        time.expected = time.stratum().expected();
        time
    }

    fn stratum(&self) -> Stratum {
        Stratum {
            events: self.events,
            exposure: self.device_days as f64,
            earlier_events: self.earlier_events,
            earlier_exposure: self.earlier_device_days as f64,
        }
    }
}
