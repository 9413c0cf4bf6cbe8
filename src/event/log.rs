//! A household's log that was read in.

use chrono::NaiveDate;

use crate::problem::Rule;
use crate::record::{Table, fields};

fields! {
    /// A household's log that was read in for a range of days.
    #[derive(Debug, Clone, Copy, PartialEq, Eq)]
    pub struct Log {
        /// First day of the log.
        pub from: NaiveDate,
        /// Last day of the log.
        pub through: NaiveDate,
        /// True if the log is complete: every event of these days is in it.
        pub complete: bool,
    }
    then check
}

impl Log {
    fn check(&self, table: &mut Table) {
        if self.through < self.from {
            table.add(
                Rule::EndsBeforeItBegins,
                "through",
                format!("the log's last day, {}, is before its first day, {}", self.through, self.from),
                "correct the wrong date",
            );
        }
    }
}
