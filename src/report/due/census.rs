//! The census: each patient on file counted once, so that the list adds up and omits no one silently.

use std::collections::{BTreeMap, BTreeSet};

use chrono::{Datelike, NaiveDate};
use schemars::JsonSchema;
use serde::Serialize;

use super::row::{Row, SiteRow};
use crate::schedule::State;
use crate::signal::{Review, Urgency};
use crate::word::Word;

/// The patients on file, each counted once, by the most urgent state among their rows.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Census {
    /// All patients on file.
    pub on_file: usize,
    /// The number of patients by state.
    pub by_state: BTreeMap<String, usize>,
    /// Patients away.
    pub elsewhere: usize,
    /// Patients whose support ended in this month.
    pub ended_this_month: usize,
    /// Patients whose support ended before this month.
    pub ended_before: usize,
    /// The patients away.
    pub away: Vec<Away>,
    /// Patients with a signal of today not acted on, in any state.
    pub needs_review_today: usize,
    /// Open signals of today, each counted once.
    pub signals_today: Review,
}

/// A patient who is away.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Away {
    /// The patient's code.
    pub patient: String,
    /// Days since the patient left.
    pub days: i64,
}

impl Census {
    pub(super) fn of(rows: &[Row]) -> Census {
        let mut first: Vec<&Row> = Vec::new();
        let mut places: BTreeMap<&str, usize> = BTreeMap::new();
        for row in rows {
            let place = *places.entry(row.patient()).or_insert(first.len());
            match first.get_mut(place) {
                Some(counted) if row.state() < counted.state() => *counted = row,
                Some(_) => {}
                None => first.push(row),
            }
        }
        let review: BTreeSet<&str> = rows.iter().filter(|row| row.needs_review_today()).map(Row::patient).collect();
        // A signal of the patient, not of one exit site, appears in the row of every exit site.
        let today: BTreeMap<_, bool> = rows
            .iter()
            .flat_map(|row| row.signals().map(|signal| (row.patient(), signal)))
            .filter(|(_, signal)| signal.urgency == Urgency::Today)
            .map(|(patient, signal)| ((patient, signal.name, &signal.exit, signal.since), signal.is_news_answered))
            .collect();
        let mut by_state: BTreeMap<String, usize> = State::WORDS.iter().map(|state| ((*state).to_owned(), 0)).collect();
        for row in &first {
            *by_state.entry(row.state().word().to_owned()).or_default() += 1;
        }
        let idle: Vec<&SiteRow> =
            first.iter().filter(|row| row.state() == State::None).filter_map(|row| row.site()).collect();
        let ended = idle.iter().filter_map(|row| Some((row.ended.as_ref()?.on, row.today)));
        let month = |day: NaiveDate| (day.year(), day.month());
        let (this_month, before): (Vec<_>, Vec<_>) = ended.partition(|(on, today)| month(*on) == month(*today));
        let away = idle
            .iter()
            .filter(|row| row.ended.is_none())
            .filter_map(|row| Some(Away { patient: row.patient.clone(), days: row.days_elsewhere? }));
        let away: Vec<Away> = away.collect();
        Census {
            on_file: first.len(),
            by_state,
            elsewhere: away.len(),
            ended_this_month: this_month.len(),
            ended_before: before.len(),
            away,
            needs_review_today: review.len(),
            signals_today: Review::of(today.into_values()),
        }
    }

    /// Returns the number of patients in a state.
    pub(crate) fn in_state(&self, state: State) -> usize {
        self.by_state.get(state.word()).copied().unwrap_or_default()
    }

    /// Returns the number of patients with nothing due for any other reason.
    pub(crate) fn with_nothing_due(&self) -> usize {
        let named = self.elsewhere + self.ended_this_month + self.ended_before;
        self.in_state(State::None).saturating_sub(named)
    }
}
