//! What was seen or happened between two changes: an assessment, an inspection, a shower, a trauma.

use super::dressing::{Anchor, Covering, Dressing};
use super::site::Site;
use crate::problem::Rule;
use crate::record::Table;
use crate::word::words;

/// Somebody looked at the site without changing the dressing, or at a picture.
#[derive(Debug, Clone, PartialEq)]
pub struct Assessment {
    /// The exit site as it was seen.
    pub site: Site,
}

impl Assessment {
    pub(super) fn read(table: &mut Table) -> Option<Assessment> {
        let read =
            table.needed().table("site", "the exit site as it was seen", |table| (table.is_empty(), Site::read(table)));
        let (is_empty, site) = read?;
        if is_empty {
            let help = "write what was looked at, such as drainage = \"none\"; if nothing was seen it is an inspection";
            table.add(Rule::MissingKey, "site", "[site] says nothing", help);
        }
        Some(Assessment { site })
    }
}

/// Dressing and anchor looked at, the site not seen.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Inspection {
    /// How they were.
    pub covering: Covering,
}

impl Inspection {
    pub(super) fn read(table: &mut Table) -> Option<Inspection> {
        Some(Inspection { covering: Covering::read(table) })
    }
}

words! {
    /// What kind of water.
    pub enum Water {
        /// A shower.
        Shower = "shower",
        /// A bath.
        Bath = "bath",
        /// A pool.
        Pool = "pool",
        /// Other water.
        Other = "other",
    }
}

/// A shower or other water.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Shower {
    /// What kind of water.
    pub water: Option<Water>,
    /// How the dressing was before.
    pub dressing_before: Option<Dressing>,
    /// How the dressing was after.
    pub dressing_after: Option<Dressing>,
    /// How the anchor was.
    pub anchor: Option<Anchor>,
}

impl Shower {
    pub(super) fn read(table: &mut Table) -> Option<Shower> {
        Some(Shower {
            water: table.word("water", "what kind of water"),
            dressing_before: table.word("dressing_before", "how the dressing was before"),
            dressing_after: table.word("dressing_after", "how the dressing was after"),
            anchor: table.word("anchor", "how the anchor was"),
        })
    }
}

words! {
    /// How it happened.
    pub enum Mechanism {
        /// A controller or a bag dropped.
        DroppedEquipment = "dropped-equipment",
        /// The line caught on something.
        Snag = "snag",
        /// The patient fell.
        Fall = "fall",
        /// The line was twisted.
        Twist = "twist",
        /// Otherwise.
        Other = "other",
    }
}

/// The line was pulled, or equipment dropped.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Trauma {
    /// How it happened.
    pub mechanism: Option<Mechanism>,
    /// Dressing and anchor at that moment.
    pub covering: Covering,
    /// Whether the site bled.
    pub site_bleeding: Option<bool>,
}

impl Trauma {
    pub(super) fn read(table: &mut Table) -> Option<Trauma> {
        Some(Trauma {
            mechanism: table.word("mechanism", "how it happened"),
            covering: Covering::read(table),
            site_bleeding: table.flag("site_bleeding", "whether the site bled"),
        })
    }
}
