//! Advice for a row that has two records, such as a shower and the change after it: one row is one record, so the
//! message shows the two rows to write instead.

use super::filled::{FilledValue, Whereabouts};
use super::target::{KEYS, Target};
use crate::event::Kind;
use crate::privacy;
use crate::text::a;
use crate::word::Word;

/// The kinds in a cell that names several, such as `shower + change`; empty for any other cell.
///
/// ```text
/// shower, change    shower and change    Shower/Change
/// ```
pub(super) fn kinds(text: &str) -> Vec<Kind> {
    let lower = text.to_lowercase();
    let words = lower.split(|c: char| !c.is_ascii_alphabetic()).filter(|word| !matches!(*word, "" | "and" | "then"));
    let mut kinds: Vec<Option<Kind>> = words.map(Kind::from_word).collect();
    kinds.dedup();
    if kinds.len() < 2 { Vec::new() } else { kinds.into_iter().collect::<Option<_>>().unwrap_or_default() }
}

/// The message that a kind of record has no such key, with the rows to write instead.
pub(super) fn stranger(kind: Kind, key: &str, found: &[FilledValue], at: Whereabouts) -> String {
    let strange = |(target, ..): &FilledValue| match target {
        Target::Field(key) if key != "exit" && KEYS.shape(kind, key).is_none() => Some(key.clone()),
        _ => None,
    };
    let strange: Vec<String> = found.iter().filter_map(strange).collect();
    let has_all = |other: &Kind| *other != kind && strange.iter().all(|key| KEYS.shape(*other, key).is_some());
    // Most often this is the change after a shower, or the shower before a change.
    let other = [Kind::Change, Kind::Shower].iter().chain(Kind::ALL).find(|other| has_all(other));
    match other {
        Some(other) if strange.first().is_some_and(|first| first == key) => {
            format!("{} has no {key}, {} has; {}", record(kind), record(*other), advice(found, at, &[kind, *other]))
        }
        Some(other) => format!("{} has no {key}; move it to the row of the {other}", record(kind)),
        None => format!("{} has no {key}; clear the cell", record(kind)),
    }
}

/// A record of a kind: `an assessment record`.
fn record(kind: Kind) -> String {
    format!("{} record", a(kind.word()))
}

/// The advice, with the rows to write instead if a column has the kind and no cell looks private.
pub(super) fn advice(found: &[FilledValue], at: Whereabouts, kinds: &[Kind]) -> String {
    let has_kind = found.iter().any(|(target, n, _)| **target == Target::Kind && n.is_some());
    let is_private = at.row.cells.iter().any(|cell| privacy::find(cell).is_some());
    let whose: Vec<&str> = kinds.iter().map(|kind| kind.word()).collect();
    let advice = format!(
        "one row is one record: write a row for the {}, each with its own time",
        whose.join(" and one for the ")
    );
    if !has_kind || is_private {
        return advice;
    }
    let shown: Vec<String> = kinds.iter().map(|kind| format!("`{}`", of_kind(found, at, *kind))).collect();
    format!("{advice}: {}", shown.join(" and "))
}

/// The row with only the cells of one kind.
fn of_kind(found: &[FilledValue], at: Whereabouts, kind: Kind) -> String {
    let cell = |n: usize| {
        let own = at.row.cells.get(n).map(String::as_str).unwrap_or_default();
        let text = match found.iter().find(|(_, column, _)| *column == Some(n)).map(|(target, ..)| *target) {
            Some(Target::Kind) => kind.word(),
            Some(Target::Field(key)) if KEYS.shape(kind, key).is_none() => "",
            _ => own,
        };
        let needs_quotes = text.contains([',', ';', '\t', '"', '\n']);
        if needs_quotes { format!("\"{}\"", text.replace('"', "\"\"")) } else { text.to_owned() }
    };
    (0..at.layout.header.len()).map(cell).collect::<Vec<_>>().join(",")
}
