//! A household's log of some days that has been read in.

use chrono::NaiveDate;

use crate::problem::Rule;
use crate::record::{Table, fields};

fields! {
    /// A household's log of some days has been read in.
    #[derive(Debug, Clone, Copy, PartialEq, Eq)]
    pub struct Log {
        /// First day of the log.
        pub from: NaiveDate,
        /// Last day of the log.
        pub through: NaiveDate,
        /// Complete: everything that happened on these days is in it.
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
