//! The columns of a household's sheet and the numbers of their answers, which are the same in every language.
//!
//! A sheet is filled in by hand and typed in by number; 0 always means "none". Left out on purpose: headings and the
//! words of the answers, which depend on the language.

/// A column to fill in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Column {
    /// The key in the records.
    pub key: &'static str,
    /// The records' words for the answers, in the order of their numbers; empty for free text.
    pub answers: &'static [&'static str],
}

const DRESSING: &[&str] = &["intact", "lifting", "wet", "soiled", "off"];
const ANCHOR: &[&str] = &["in-place", "loose", "absent"];
const NO_YES: &[&str] = &["false", "true"];

/// The columns from left to right, without those of the patient and the day.
pub(crate) const COLUMNS: [Column; 16] = [
    Column { key: "kind", answers: &["change", "shower"] },
    Column { key: "time", answers: &[] },
    Column { key: "by", answers: &[] },
    Column { key: "dressing_before", answers: DRESSING },
    Column { key: "reason", answers: &[] },
    Column { key: "found.dressing", answers: DRESSING },
    Column { key: "found.anchor", answers: ANCHOR },
    Column { key: "left.anchor", answers: ANCHOR },
    Column { key: "site.drainage", answers: &["none", "serous", "sanguineous", "purulent"] },
    Column { key: "site.redness_mm", answers: &[] },
    Column { key: "site.swelling", answers: &["none", "exit", "tunnel"] },
    Column { key: "site.odor", answers: NO_YES },
    Column { key: "site.warmth", answers: NO_YES },
    Column { key: "site.pain", answers: &["none", "slight", "severe"] },
    Column { key: "site.temperature_c", answers: &[] },
    Column { key: "note", answers: &[] },
];

impl Column {
    /// The number of the first answer: 0 if it is "none", else 1.
    pub(crate) fn first_number(&self) -> usize {
        usize::from(!matches!(self.answers.first(), Some(&("none" | "false"))))
    }
}

/// The numbers of a column's answers as typed, each with the records' word; empty for a column without numbered
/// answers.
///
/// ```
/// # use exitsite::entry::paper::answers;
/// let of = |key| answers(key).map(|(number, word)| format!("{number} {word}")).collect::<Vec<_>>().join(", ");
/// assert_eq!(of("site.drainage"), "0 none, 1 serous, 2 sanguineous, 3 purulent");
/// assert_eq!(of("left.anchor"), "1 in-place, 2 loose, 3 absent");
/// assert_eq!(of("site.redness_mm"), "");
/// ```
pub fn answers(key: &str) -> impl Iterator<Item = (String, &'static str)> {
    let column = COLUMNS.iter().find(|column| column.key == key);
    column.into_iter().flat_map(|column| {
        column.answers.iter().enumerate().map(|(n, word)| ((n + column.first_number()).to_string(), *word))
    })
}
