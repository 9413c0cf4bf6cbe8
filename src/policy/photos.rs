//! Pictures: the places where the program keeps them.

use crate::event::is_place;
use crate::problem::Rule;
use crate::record::{Table, fields};
use crate::text;

fields! {
    /// Pictures, which are kept outside of the records.
    #[derive(Debug, Clone, PartialEq, Eq)]
    pub struct Photos {
        /// Places where pictures are kept, each a word, as imaging; no path.
        pub kept_at: Vec<String> = preset texts(),
    }
    then check
}

impl Photos {
    fn check(&self, table: &mut Table) {
        if let Some(place) = self.kept_at.iter().find(|place| !is_place(place)) {
            let message = format!("\"{}\" is not a word; a place is letters, digits and hyphens", text::visible(place));
            table.add(Rule::PhotoPlace, "kept_at", message, "write a word such as imaging, never a path");
        }
    }
}
