//! The columns of a household's log: what a person reads above them, and the keys under which `import` reads them back.

use crate::entry::Draft;
use crate::event::Kind;
use crate::record::Shape;
use crate::word::Word;

/// A column that is filled in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Column {
    /// The key of the records.
    pub key: &'static str,
    /// What it is called on paper.
    pub heading: &'static str,
    /// The same in a few letters.
    pub short: &'static str,
}

const COLUMNS: [Column; 12] = [
    Column { key: "kind", heading: "Change or shower", short: "what" },
    Column { key: "time", heading: "Time", short: "time" },
    Column { key: "by", heading: "Who", short: "who" },
    Column { key: "dressing_before", heading: "Dressing before shower", short: "before" },
    Column { key: "reason", heading: "Why changed", short: "why" },
    Column { key: "found.dressing", heading: "Dressing found", short: "found" },
    Column { key: "found.anchor", heading: "Anchor found", short: "anchor" },
    Column { key: "left.anchor", heading: "Anchor left", short: "left" },
    Column { key: "site.drainage", heading: "Drainage", short: "drain" },
    Column { key: "site.redness_mm", heading: "Redness in mm", short: "mm" },
    Column { key: "site.pain", heading: "Pain if pressed", short: "pain" },
    Column { key: "note", heading: "Note, no names", short: "note" },
];

/// The columns, from left to right, those of the patient and the day before them left out.
pub fn columns() -> &'static [Column] {
    &COLUMNS
}

/// The words that may stand in the columns; columns that take the same words together.
pub fn shared_words() -> Vec<(Vec<Column>, Vec<&'static str>)> {
    let mut shared: Vec<(Vec<Column>, Vec<&'static str>)> = Vec::new();
    for column in columns() {
        let Some(words) = column.words() else { continue };
        match shared.iter_mut().find(|(_, known)| *known == words) {
            Some((columns, _)) => columns.push(*column),
            None => shared.push((vec![*column], words)),
        }
    }
    shared
}

impl Column {
    /// The words that may stand in it; none where anything may.
    pub fn words(&self) -> Option<Vec<&'static str>> {
        if self.key == "kind" {
            return Some(vec![Kind::Change.word(), Kind::Shower.word()]);
        }
        let keys = [Kind::Change, Kind::Shower].into_iter().flat_map(Draft::keys);
        keys.filter(|(key, ..)| key == self.key).find_map(|(_, shape, _)| match shape {
            Shape::Words(words) => Some(words.to_vec()),
            _ => None,
        })
    }
}
