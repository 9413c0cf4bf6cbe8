//! Everybody on file, counted once: a list that adds up leaves nobody out in silence.

use std::collections::BTreeMap;

use schemars::JsonSchema;
use serde::Serialize;

use super::group::Standing;
use super::row::Row;
use crate::schedule::State;
use crate::text;
use crate::word::Word;

/// Everybody on file, each counted by that of their rows whose state comes first.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Census {
    /// Everybody.
    pub on_file: usize,
    /// How many in each state.
    pub by_state: BTreeMap<String, usize>,
    /// Of those of whom nothing is due: elsewhere.
    pub elsewhere: usize,
    /// Of those of whom nothing is due: support ended in this month.
    pub ended_this_month: usize,
    /// The census in words.
    #[serde(skip)]
    pub words: String,
}

impl Census {
    pub(super) fn of(rows: &[Row]) -> Census {
        let mut by_patient: BTreeMap<&str, &Row> = BTreeMap::new();
        let mut order: Vec<&str> = Vec::new();
        for row in rows {
            let counted = by_patient.entry(&row.patient).or_insert_with(|| {
                order.push(&row.patient);
                row
            });
            if row.state < counted.state {
                *counted = row;
            }
        }
        let first: Vec<&Row> = order.iter().filter_map(|code| by_patient.get(code).copied()).collect();
        let mut by_state: BTreeMap<String, usize> = State::WORDS.iter().map(|state| ((*state).to_owned(), 0)).collect();
        for row in &first {
            *by_state.entry(row.state.word().to_owned()).or_default() += 1;
        }
        let none: Vec<&&Row> = first.iter().filter(|row| row.state == State::None).collect();
        let away: Vec<(&str, i64)> = none
            .iter()
            .filter_map(|row| match row.standing {
                Standing::ElsewhereFor(days) => Some((row.patient.as_str(), days)),
                _ => None,
            })
            .collect();
        let ended = none.iter().filter(|row| row.standing == Standing::EndedThisMonth).count();
        let before = none.iter().filter(|row| row.standing == Standing::EndedBefore).count();
        let mut parts: Vec<String> = State::WORDS
            .iter()
            .filter(|state| **state != "none")
            .filter_map(|state| {
                let count = by_state.get(*state).copied().filter(|count| *count > 0)?;
                Some(format!("{count} {}", state.replace("awaiting-log", "awaiting a log")))
            })
            .collect();
        if !away.is_empty() {
            let who: Vec<String> =
                away.iter().map(|(code, days)| format!("{code} for {}", text::count(*days, "day"))).collect();
            parts.push(format!("{} elsewhere ({})", away.len(), who.join(", ")));
        }
        let other = none.len() - away.len() - ended - before;
        for (count, what) in [(ended, "ended this month"), (before, "ended before"), (other, "with nothing due")] {
            if count > 0 {
                parts.push(format!("{count} {what}"));
            }
        }
        let words = format!(
            "{} on file: {}",
            first.len(),
            if parts.is_empty() { "nobody".to_owned() } else { parts.join(", ") }
        );
        Census { on_file: first.len(), by_state, elsewhere: away.len(), ended_this_month: ended, words }
    }
}
