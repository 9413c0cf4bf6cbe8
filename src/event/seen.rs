//! Events between changes: an assessment, an inspection, a shower, a trauma.

use super::dressing::{Anchor, Dressing, DressingAndAnchor};
use super::site::Site;
use crate::problem::Rule;
use crate::record::{Table, fields};
use crate::word::words;

fields! {
    /// A look at the site without a dressing change, or at a picture.
    #[derive(Debug, Clone, PartialEq)]
    pub struct Assessment {
        /// Exit site.
        pub site: Site = needed look(),
    }
}

impl Table<'_> {
    /// Reads a look at the site, which must include a finding.
    fn look(&mut self, name: &'static str, about: &'static str) -> Option<Site> {
        let (is_empty, site) = self.table(name, about, |table| (table.is_empty(), Site::read(table)))?;
        if is_empty {
            let help =
                "write the findings, such as drainage = \"none\"; if the site was not seen, record an inspection";
            self.add(Rule::MissingKey, name, "[site] is empty", help);
        }
        site
    }
}

fields! {
    /// A look at the dressing and anchor; the site was not seen.
    #[derive(Debug, Clone, PartialEq, Eq)]
    pub struct Inspection {
        /// Dressing and anchor.
        pub covering: DressingAndAnchor = with(DressingAndAnchor::read),
    }
}

words! {
    /// Kind of water.
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

fields! {
    /// A shower or other water.
    #[derive(Debug, Clone, PartialEq, Eq)]
    pub struct Shower {
        /// Kind of water.
        pub water: Option<Water>,
        /// Dressing before the water.
        pub dressing_before: Option<Dressing>,
        /// Dressing after the water.
        pub dressing_after: Option<Dressing>,
        /// Anchor.
        pub anchor: Option<Anchor>,
    }
}

words! {
    /// Mechanism.
    pub enum Mechanism {
        /// A controller or a bag was dropped.
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

fields! {
    /// A pull on the line, or dropped equipment.
    #[derive(Debug, Clone, PartialEq, Eq)]
    pub struct Trauma {
        /// Mechanism.
        pub mechanism: Option<Mechanism>,
        /// Dressing and anchor at that time.
        pub covering: DressingAndAnchor = with(DressingAndAnchor::read),
        /// Bleeding from the site.
        pub site_bleeding: Option<bool>,
    }
}
