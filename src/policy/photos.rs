//! The places where the program keeps pictures.

use crate::event::is_place;
use crate::problem::Rule;
use crate::record::{Table, fields};
use crate::text;

fields! {
    /// Pictures, which are kept outside the records.
    #[derive(Debug, Clone, PartialEq, Eq)]
    pub struct Photos {
        /// Places where pictures are kept, each a word such as imaging, not a path.
        pub kept_at: Vec<String> = preset texts(),
    }
    then check
}

impl Photos {
    fn check(&self, table: &mut Table) {
        if let Some(place) = self.kept_at.iter().find(|place| !is_place(place)) {
            let message = format!("\"{}\" is not a valid place; use letters, digits and hyphens", text::visible(place));
            table.add(Rule::PhotoPlace, "kept_at", message, "write a word such as imaging, not a path");
        }
    }
}
