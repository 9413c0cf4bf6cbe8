//! The interval of dressing changes: every so many days, or on weekdays.

use chrono::{Datelike, NaiveDate};

use crate::day::plus;
use crate::problem::Rule;
use crate::record::Table;
use crate::word::words;

words! {
    /// A day of the week.
    pub enum Weekday {
        /// Monday.
        Mon = "mon",
        /// Tuesday.
        Tue = "tue",
        /// Wednesday.
        Wed = "wed",
        /// Thursday.
        Thu = "thu",
        /// Friday.
        Fri = "fri",
        /// Saturday.
        Sat = "sat",
        /// Sunday.
        Sun = "sun",
    }
}

/// The interval of dressing changes.
#[derive(Debug, Clone, PartialEq, Eq, schemars::JsonSchema)]
#[schemars(with = "String", inline)]
pub enum Interval {
    /// Every so many days after the last change.
    EveryDays(i64),
    /// On these weekdays, at least `min_days` after the last change.
    OnWeekdays {
        /// The weekdays.
        weekdays: Vec<Weekday>,
        /// The minimum number of days after the last change.
        min_days: i64,
    },
}

impl Interval {
    /// Reads `every_days`, or `on_weekdays` with `min_days`; `None` without either.
    pub fn read(table: &mut Table) -> Option<Interval> {
        let every_days = table.whole("every_days", (1, 366), "days from one change to the next");
        let weekdays = table.words::<Weekday>("on_weekdays", "weekdays on which a change is due");
        let min_days = table.whole("min_days", (1, 6), "with on_weekdays: minimum days after a change");
        if table.has("every_days") && table.has("on_weekdays") {
            table.add(
                Rule::Interval,
                "on_weekdays",
                "both `every_days` and `on_weekdays` are given",
                "keep the one that applies",
            );
        } else if table.has("min_days") && !table.has("on_weekdays") {
            table.add(Rule::Interval, "min_days", "`min_days` needs `on_weekdays`", "remove it, or add on_weekdays");
        }
        match (every_days, weekdays) {
            (_, Some(weekdays)) if weekdays.is_empty() => {
                if !table.is_description() {
                    table.add(
                        Rule::Interval,
                        "on_weekdays",
                        "no weekday is given",
                        "write at least one, such as [\"mon\", \"wed\", \"fri\"]",
                    );
                }
                None
            }
            (_, Some(weekdays)) => Some(Interval::OnWeekdays { weekdays, min_days: min_days.unwrap_or(1) }),
            (every_days, None) => every_days.map(Interval::EveryDays),
        }
    }

    /// Returns true if a change is due on `day` when the last one was on `last`.
    ///
    /// With weekdays: at least `min_days` later and on one of them. If the first such day is more than a week after the
    /// last change, `min_days` alone decides.
    ///
    /// ```
    /// # use exitsite::policy::{Interval, Weekday};
    /// # let date = |t: &str| t.parse::<chrono::NaiveDate>().unwrap();
    /// let daily = Interval::EveryDays(1);
    /// assert!(daily.is_met(date("2028-02-28"), date("2028-02-29")));
    /// let weekdays = Interval::OnWeekdays { weekdays: vec![Weekday::Mon, Weekday::Thu], min_days: 2 };
    /// // 2026-11-26 is a Thursday
    /// assert!(weekdays.is_met(date("2026-11-24"), date("2026-11-26")));
    /// assert!(!weekdays.is_met(date("2026-11-25"), date("2026-11-26")));
    /// assert!(!weekdays.is_met(date("2026-11-24"), date("2026-11-27")));
    /// // Mondays, not within 6 days: after Tuesday 11-24 the first is 11-30; after Wednesday 11-25 it would be 12-07,
    /// // 12 days later, so Tuesday 12-01 will do
    /// let mondays = Interval::OnWeekdays { weekdays: vec![Weekday::Mon], min_days: 6 };
    /// assert!(!mondays.is_met(date("2026-11-24"), date("2026-12-01")));
    /// assert!(mondays.is_met(date("2026-11-24"), date("2026-11-30")));
    /// assert!(!mondays.is_met(date("2026-11-25"), date("2026-11-30")));
    /// assert!(mondays.is_met(date("2026-11-25"), date("2026-12-01")));
    /// ```
    pub fn is_met(&self, last: NaiveDate, day: NaiveDate) -> bool {
        let days = (day - last).num_days();
        match self {
            Interval::EveryDays(every) => days >= *every,
            Interval::OnWeekdays { weekdays, min_days } => {
                let is_one = |n: i64| weekdays.contains(&weekday(plus(last, n)));
                days >= *min_days && (weekdays.contains(&weekday(day)) || !(*min_days..=7).any(is_one))
            }
        }
    }

    /// The longest gap between a change and the next due one, if the interval does not change.
    pub fn longest_days(&self) -> i64 {
        self.days().unwrap_or(7)
    }

    /// Returns the days of an `every_days` interval.
    pub fn days(&self) -> Option<i64> {
        match self {
            Interval::EveryDays(days) => Some(*days),
            Interval::OnWeekdays { .. } => None,
        }
    }
}

impl serde::Serialize for Interval {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

impl std::fmt::Display for Interval {
    fn fmt(&self, out: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Interval::EveryDays(1) => out.write_str("daily"),
            Interval::EveryDays(days) => write!(out, "every {days} days"),
            Interval::OnWeekdays { weekdays, min_days } => {
                let days: Vec<_> = weekdays.iter().map(ToString::to_string).collect();
                write!(out, "on {}", days.join(" "))?;
                if *min_days > 1 { write!(out, ", at least {min_days} days apart") } else { Ok(()) }
            }
        }
    }
}

fn weekday(day: NaiveDate) -> Weekday {
    match day.weekday() {
        chrono::Weekday::Mon => Weekday::Mon,
        chrono::Weekday::Tue => Weekday::Tue,
        chrono::Weekday::Wed => Weekday::Wed,
        chrono::Weekday::Thu => Weekday::Thu,
        chrono::Weekday::Fri => Weekday::Fri,
        chrono::Weekday::Sat => Weekday::Sat,
        chrono::Weekday::Sun => Weekday::Sun,
    }
}
