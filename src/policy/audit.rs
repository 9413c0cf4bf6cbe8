//! Infection counting: the case definition, and the baseline of the alarm.

use chrono::NaiveDate;
use schemars::JsonSchema;
use serde::Serialize;

use crate::problem::Rule;
use crate::record::{Table, fields};

fields! {
    /// Infection counting.
    #[derive(Debug, Clone, PartialEq, Eq)]
    pub struct Audit {
        /// Case definition of an infection, with its year.
        pub case_definition: String = preset,
        /// The baseline: the months against which the alarm is computed.
        pub baseline: Option<Baseline>,
        /// Alarms that were reviewed.
        pub acknowledged: Vec<Acknowledged> = default,
        /// The minimum number of patients at risk for a curve to be shown.
        pub curve_at_risk: i64 = preset whole((1, 1000)),
        /// Changes that the program made, marked in the charts.
        pub interventions as "intervention": Vec<Intervention> = default,
    }
}

fields! {
    /// The baseline: the months against which the alarm is computed.
    #[derive(Debug, Clone, PartialEq, Eq)]
    pub struct Baseline {
        /// First month, such as 2025-01.
        pub from: String = needed month(),
        /// Last month, such as 2025-12.
        pub through: String = needed month(),
    }
    then check
}

fields! {
    /// An alarm that was reviewed; the chart restarts after it.
    #[derive(Debug, Clone, PartialEq, Eq)]
    pub struct Acknowledged {
        /// Month of the alarm, such as 2026-05.
        pub month: String = needed month(),
        /// Person who reviewed it, by code.
        pub by: String = needed person(&[]),
        /// Finding and action taken.
        pub why: String,
    }
}

fields! {
    /// A change that the program made, such as a new kit; rates before and after it are compared.
    #[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
    pub struct Intervention {
        /// First day.
        pub on: NaiveDate,
        /// The change.
        pub what: String,
        /// Reason.
        pub why: String,
    }
}

impl Baseline {
    fn check(&self, table: &mut Table) {
        if self.through < self.from {
            table.add(
                Rule::EndsBeforeItBegins,
                "through",
                "the baseline ends before it begins",
                "correct the wrong month",
            );
        }
    }
}

impl Table<'_> {
    /// A month, such as 2025-01.
    fn month(&mut self, name: &'static str, about: &'static str) -> Option<String> {
        let month = self.text(name, about)?;
        if format!("{month}-01").parse::<chrono::NaiveDate>().is_err() || month.len() != 7 {
            self.add(
                Rule::WrongType,
                name,
                format!("`{name}` is not a month"),
                "write year and month in quotes, such as \"2025-01\"",
            );
            return None;
        }
        Some(month)
    }
}
