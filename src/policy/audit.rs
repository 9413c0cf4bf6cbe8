//! How infections are counted: the case definition, and the months that the alarm is compared with.

use chrono::NaiveDate;
use schemars::JsonSchema;
use serde::Serialize;

use crate::problem::Rule;
use crate::record::{Table, fields};

fields! {
    /// Counting of infections.
    #[derive(Debug, Clone, PartialEq, Eq)]
    pub struct Audit {
        /// Case definition of an infection, with its year.
        pub case_definition: String = preset,
        /// The months that the alarm is compared with.
        pub baseline: Option<Baseline>,
        /// An alarm that somebody has dealt with.
        pub acknowledged: Vec<Acknowledged> = default,
        /// The fewest patients at risk for a curve to be shown.
        pub curve_at_risk: i64 = preset whole((1, 1000)),
        /// A change that the program made, marked in the charts.
        pub interventions as "intervention": Vec<Intervention> = default,
    }
}

fields! {
    /// The months that the alarm is compared with.
    #[derive(Debug, Clone, PartialEq, Eq)]
    pub struct Baseline {
        /// The first month, as 2025-01.
        pub from: String = needed month(),
        /// The last month, as 2025-12.
        pub through: String = needed month(),
    }
    then check
}

fields! {
    /// An alarm that somebody has dealt with: the alarm begins anew after it.
    #[derive(Debug, Clone, PartialEq, Eq)]
    pub struct Acknowledged {
        /// The month of the alarm, as 2026-05.
        pub month: String = needed month(),
        /// Person who dealt with it, by code.
        pub by: String = needed person(&[]),
        /// Finding, and what was done.
        pub why: String,
    }
}

fields! {
    /// A change that the program made, against which its rates are read.
    #[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
    pub struct Intervention {
        /// Its first day.
        pub on: NaiveDate,
        /// The change that the program made.
        pub what: String,
        /// The reason for it.
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
                "correct the one that is wrong",
            );
        }
    }
}

impl Table<'_> {
    /// A month, as 2025-01.
    fn month(&mut self, name: &'static str, about: &'static str) -> Option<String> {
        let month = self.text(name, about)?;
        if format!("{month}-01").parse::<chrono::NaiveDate>().is_err() || month.len() != 7 {
            self.add(
                Rule::WrongType,
                name,
                format!("`{name}` is not a month"),
                "write year and month in quotes, as \"2025-01\"",
            );
            return None;
        }
        Some(month)
    }
}
