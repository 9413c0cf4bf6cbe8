//! How a dressing and an anchor were found or left.

use crate::record::fields;
use crate::word::words;

words! {
    /// Dressing.
    pub enum Dressing {
        /// Closed all around, clean and dry.
        Intact = "intact",
        /// An edge is lifting.
        Lifting = "lifting",
        /// Wet.
        Wet = "wet",
        /// Soiled.
        Soiled = "soiled",
        /// Off.
        Off = "off",
    }
}

words! {
    /// The anchor, which holds the line to the skin away from the site.
    pub enum Anchor {
        /// Holds.
        InPlace = "in-place",
        /// Does not hold.
        Loose = "loose",
        /// None there.
        Absent = "absent",
    }
}

fields! {
    /// Dressing and anchor together, as at one moment.
    #[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
    pub struct DressingAndAnchor {
        /// Dressing.
        pub dressing: Option<Dressing>,
        /// Anchor.
        pub anchor: Option<Anchor>,
    }
}

impl Dressing {
    /// True if the dressing no longer keeps the site sterile: wet, soiled, lifting or off.
    pub fn is_damaged(self) -> bool {
        self != Dressing::Intact
    }
}
