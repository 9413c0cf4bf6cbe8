//! Supplies that came, were counted or were lost.

use crate::problem::Rule;
use crate::record::{Table, fields};

/// What happened to how many.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Tally {
    /// So many came.
    Received(i64),
    /// So many were there.
    Counted(i64),
    /// So many were lost or spoilt.
    Lost(i64),
}

fields! {
    /// Kits that came, were counted or were lost.
    #[derive(Debug, Clone, PartialEq, Eq)]
    pub struct Supply {
        /// Of what.
        pub item: String,
        /// How many, and what happened to them.
        pub tally: Tally = with(Tally::read),
    }
}

impl Tally {
    fn read(table: &mut Table) -> Option<Tally> {
        let tallies = [
            table.whole("received", (0, 3650), "so many came").map(Tally::Received),
            table.whole("counted", (0, 3650), "so many were there").map(Tally::Counted),
            table.whole("lost", (0, 3650), "so many were lost or spoilt").map(Tally::Lost),
        ];
        let given = ["received", "counted", "lost"].iter().filter(|name| table.has(name)).count();
        if given != 1 && !table.is_description() {
            table.add(
                Rule::MissingKey,
                "item",
                "a supply record says exactly one of `received`, `counted`, `lost`",
                "write one of them; for two things write two records",
            );
        }
        tallies.into_iter().flatten().next()
    }
}
