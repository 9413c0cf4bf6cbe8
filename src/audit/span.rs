//! The days of an audit: its period, its charts, and the first day whose files are opened.

use std::fmt;

use chrono::{Datelike, NaiveDate};
use schemars::JsonSchema;
use serde::{Serialize, Serializer};

use crate::day::{Period, before, plus};

/// The number of days before an onset that are searched for precursor events. Source: rules of the audit, common
/// practice.
pub const BEFORE_DAYS: i64 = 30;
/// The number of days before those that serve as the patient's own comparison period.
pub const OWN_DAYS: i64 = 365;

/// The days of an audit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct AuditSpan {
    /// The requested period, both days included.
    pub asked: Period,
    /// The period up to today, if it is not over.
    pub period: Period,
    /// The days whose changes are charted and compared: the period, the twelve months before its last one, and the days
    /// before its first onset.
    pub charts: Period,
    /// The first day whose files are opened.
    pub files_from: NaiveDate,
    /// The first day over which signals look back.
    pub signals_from: NaiveDate,
    /// The day of the request.
    pub today: NaiveDate,
    /// True if the period is over.
    pub is_over: bool,
}

impl AuditSpan {
    /// Returns the days covered by an audit, or `None` if the period has not started yet.
    ///
    /// ```
    /// # use exitsite::audit::AuditSpan;
    /// # use exitsite::day::Period;
    /// # let day = |text: &str| text.parse::<chrono::NaiveDate>().unwrap();
    /// let october = Period { from: day("2026-10-01"), to: day("2026-10-31") };
    /// let span = AuditSpan::of(october, day("2026-11-25"), 400).unwrap();
    /// assert_eq!(span.charts.from, day("2025-09-01")); // 395 days before October, from the first of that month on
    /// assert_eq!(span.files_from, day("2025-08-26")); // signals look back 400 days, and a name may be of the day before
    /// assert!(span.is_over);
    /// // a month that is not over is counted up to today
    /// assert_eq!(AuditSpan::of(october, day("2026-10-12"), 400).unwrap().period.to, day("2026-10-12"));
    /// assert_eq!(AuditSpan::of(october, day("2026-09-30"), 400), None);
    /// ```
    pub fn of(asked: Period, today: NaiveDate, look_back_days: i64) -> Option<AuditSpan> {
        if today < asked.from {
            return None;
        }
        let period = Period { from: asked.from, to: asked.to.min(today) };
        let charts_from = month_of(plus(period.from, -(BEFORE_DAYS + OWN_DAYS)));
        let signals_from = plus(period.from, -look_back_days);
        let files_from = before(charts_from.min(signals_from));
        let charts = Period { from: charts_from, to: period.to };
        Some(AuditSpan { asked, period, charts, files_from, signals_from, today, is_over: asked.to < today })
    }
}

/// A calendar month, written `2026-10`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, JsonSchema)]
#[schemars(with = "String")]
pub struct Month(NaiveDate);

impl Month {
    /// The month of a day.
    pub fn of(day: NaiveDate) -> Month {
        Month(month_of(day))
    }

    /// Parses a text such as `2026-10`; `None` if it is not a month.
    pub fn read(text: &str) -> Option<Month> {
        format!("{text}-01").parse().ok().map(Month)
    }

    /// The days of the month.
    pub fn days(self) -> Period {
        Period { from: self.0, to: before(next_month(self.0)) }
    }

    /// Months since the year 0.
    pub fn number(self) -> i64 {
        i64::from(self.0.year()) * 12 + i64::from(self.0.month0())
    }
}

impl fmt::Display for Month {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.format("%Y-%m").fmt(out)
    }
}

impl Serialize for Month {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

/// The first day of a day's month.
pub fn month_of(day: NaiveDate) -> NaiveDate {
    day.with_day(1).unwrap_or(day)
}

/// The first day of the month after a day's month.
pub fn next_month(day: NaiveDate) -> NaiveDate {
    month_of(plus(month_of(day), 32))
}

/// The months of a period; the first and last are cut to the period.
///
/// ```
/// # use exitsite::audit::months;
/// # use exitsite::day::Period;
/// # let day = |text: &str| text.parse::<chrono::NaiveDate>().unwrap();
/// let months: Vec<_> = months(Period { from: day("2027-12-15"), to: day("2028-02-29") }).collect();
/// assert_eq!(months[0], Period { from: day("2027-12-15"), to: day("2027-12-31") });
/// assert_eq!(months[2], Period { from: day("2028-02-01"), to: day("2028-02-29") });
/// ```
pub fn months(period: Period) -> impl Iterator<Item = Period> {
    let first = (period.from <= period.to).then_some(period.from);
    let starts = std::iter::successors(first, move |day| Some(next_month(*day)).filter(|next| *next <= period.to));
    starts.map(move |from| Period { from, to: before(next_month(from)).min(period.to) })
}
