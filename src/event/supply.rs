//! Supplies received, counted or lost.

use crate::problem::Rule;
use crate::record::{Table, fields};

/// A number of supplies received, counted or lost.
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
    /// Supplies received, counted or lost.
    #[derive(Debug, Clone, PartialEq, Eq)]
    pub struct Supply {
        /// Item.
        pub item: String,
        /// The number received, counted or lost.
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
                "a supply record takes exactly one of `received`, `counted`, `lost`",
                "keep one of them, and write a second record for another",
            );
        }
        tallies.into_iter().flatten().next()
    }
}
