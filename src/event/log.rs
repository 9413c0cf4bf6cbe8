//! A household's log of some days that has been read in.

use chrono::NaiveDate;

use crate::problem::Rule;
use crate::record::{Table, fields};

fields! {
    /// A household's log of some days has been read in.
    #[derive(Debug, Clone, Copy, PartialEq, Eq)]
    pub struct Log {
        /// The log's first day.
        pub from: NaiveDate,
        /// The log's last day.
        pub through: NaiveDate,
        /// Whether it says all that happened on these days.
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
                format!("the log ends on {}, before it begins on {}", self.through, self.from),
                "correct the one that is wrong",
            );
        }
    }
}
