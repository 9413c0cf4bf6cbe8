//! Supplies that came, were counted or were lost.

use crate::problem::Rule;
use crate::record::{Table, fields};

/// A number of supplies, and what happened to it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Tally {
    /// Number received.
    Received(i64),
    /// Number counted.
    Counted(i64),
    /// Number lost or spoiled.
    Lost(i64),
}

fields! {
    /// Kits that came, were counted or were lost.
    #[derive(Debug, Clone, PartialEq, Eq)]
    pub struct Supply {
        /// Item.
        pub item: String,
        /// Number, and what happened to it.
        pub tally: Tally = with(Tally::read),
    }
}

impl Tally {
    fn read(table: &mut Table) -> Option<Tally> {
        let tallies = [
            table.whole("received", (0, 3650), "number received").map(Tally::Received),
            table.whole("counted", (0, 3650), "number counted").map(Tally::Counted),
            table.whole("lost", (0, 3650), "number lost or spoiled").map(Tally::Lost),
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
