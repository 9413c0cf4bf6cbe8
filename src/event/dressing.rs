//! The condition of a dressing and an anchor, as found or as left.

use crate::record::fields;
use crate::word::words;

words! {
    /// Dressing.
    pub enum Dressing {
        /// Intact: closed on all sides, clean and dry.
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
        /// Secure.
        InPlace = "in-place",
        /// Loose.
        Loose = "loose",
        /// Absent.
        Absent = "absent",
    }
}

fields! {
    /// Dressing and anchor at one moment.
    #[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
    pub struct DressingAndAnchor {
        /// Dressing.
        pub dressing: Option<Dressing>,
        /// Anchor.
        pub anchor: Option<Anchor>,
    }
}

impl Dressing {
    /// Returns true if the dressing no longer keeps the site sterile: wet, soiled, lifting or off.
    pub(crate) fn is_damaged(self) -> bool {
        self != Dressing::Intact
    }
}
