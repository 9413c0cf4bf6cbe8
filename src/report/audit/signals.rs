//! Signals that opened in the period, and the time to action.

use std::collections::BTreeMap;

use chrono::NaiveDate;
use schemars::JsonSchema;
use serde::Serialize;

use crate::audit::Contribution;
use crate::day::Instant;
use crate::event::Signal;
use crate::rules::Rules;
use crate::signal::{Episode, Urgency, not_known};
use crate::word::Word;

/// Signals that opened in the period.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct SignalCounts {
    /// Each signal that opened, `today` before `this-week`, most frequent first. Null, like the counts, if a signal cannot be
    /// computed for any patient.
    pub by_name: Option<Vec<SignalCount>>,
    /// All episodes.
    pub episodes: Option<u64>,
    /// The median of completed hours until acted on. Signals not acted on count as longer than any other; null if they are at
    /// least half.
    pub median_hours_to_answer: Option<f64>,
    /// Signals not acted on as of this report.
    pub unanswered: Option<u64>,
    /// Signals recorded more than a week after they opened.
    pub learnt_late: Option<u64>,
    /// Signals that the program's policy has turned off, with the reason.
    pub off: BTreeMap<String, String>,
    /// Patients whose signals are not known.
    pub not_known: Vec<String>,
    /// Signals that cannot be computed for any patient because people.toml or a part of policy.toml is invalid.
    pub signals_not_known: Vec<Signal>,
}

/// The episodes of one signal.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct SignalCount {
    /// The signal's name.
    pub signal: Signal,
    /// `today` or `this-week`.
    pub urgency: Urgency,
    /// Episodes.
    pub episodes: u64,
    /// As in the totals.
    pub median_hours_to_answer: Option<f64>,
    /// Not acted on. A signal that ends once corrected needs no action after it has ended.
    pub unanswered: u64,
    /// Ended by the correction by the end of the last day counted; null for a signal that only an action or a look by staff
    /// settles.
    pub ended: Option<u64>,
    /// The median of completed hours to that end. Signals that have not ended count as longer than any other; null if they
    /// are at least half.
    pub median_hours_to_end: Option<f64>,
    /// Open at the end of the last day counted; null as for `ended`.
    pub open: Option<u64>,
    /// Recorded more than a week after they opened.
    pub learnt_late: u64,
}

impl SignalCounts {
    pub(super) fn of(all: &[Contribution], rules: Rules, last: NaiveDate) -> SignalCounts {
        let end = rules.plan().map_or(Instant::MAX_UTC, |plan| plan.calendar.end(last));
        let signals_not_known = not_known(rules);
        let is_known = signals_not_known.is_empty();
        let episodes: Vec<&Episode> = all.iter().filter_map(|one| one.episodes.as_ref()).flatten().collect();
        let of_name = |signal: Signal| {
            let named: Vec<&Episode> = episodes.iter().copied().filter(|episode| episode.signal == signal).collect();
            let is_remedied = signal.ends().is_remedy();
            let count = |is_so: &dyn Fn(&Episode) -> bool| named.iter().filter(|episode| is_so(episode)).count() as u64;
            SignalCount {
                signal,
                urgency: signal.urgency(),
                episodes: named.len() as u64,
                median_hours_to_answer: median_hours(&named),
                unanswered: unanswered(&named),
                ended: is_remedied.then(|| count(&|episode| has_ended(episode, end))),
                median_hours_to_end: is_remedied.then(|| median_hours_to_end(&named, end)).flatten(),
                open: is_remedied.then(|| count(&|episode| !has_ended(episode, end))),
                learnt_late: learnt_late(&named),
            }
        };
        let mut by_name: Vec<SignalCount> =
            Signal::ALL.iter().map(|signal| of_name(*signal)).filter(|count| count.episodes > 0).collect();
        by_name.sort_by_key(|count| (count.urgency, std::cmp::Reverse(count.episodes), count.signal.word()));
        let signals_policy = rules.policy.and_then(|policy| policy.signals.as_ref());
        SignalCounts {
            by_name: is_known.then_some(by_name),
            episodes: is_known.then_some(episodes.len() as u64),
            median_hours_to_answer: median_hours(&episodes),
            unanswered: is_known.then(|| unanswered(&episodes)),
            learnt_late: is_known.then(|| learnt_late(&episodes)),
            off: signals_policy.map(|policy| policy.off().clone()).unwrap_or_default(),
            not_known: all.iter().filter(|one| one.episodes.is_none()).map(|one| one.patient.clone()).collect(),
            signals_not_known,
        }
    }
}

/// Returns the median hours until acted on; a signal not acted on counts as longer than any other.
fn median_hours(episodes: &[&Episode]) -> Option<f64> {
    median(episodes.iter().map(|episode| episode.hours_to_answer).collect())
}

/// Returns the median; `None` counts as longer than any other.
pub(super) fn median(mut hours: Vec<Option<i64>>) -> Option<f64> {
    hours.sort_by_key(|hours| hours.unwrap_or(i64::MAX));
    let middle = |n: usize| hours.get(n).copied().flatten();
    match hours.len() {
        0 => None,
        n if n % 2 == 1 => middle(n / 2).map(|hours| hours as f64),
        n => Some((middle(n / 2 - 1)? + middle(n / 2)?) as f64 / 2.0),
    }
}

/// Returns true if an episode ended before the end of the last day counted.
fn has_ended(episode: &Episode, end: Instant) -> bool {
    episode.ended.is_some_and(|ended| ended.instant() < end)
}

/// Returns the median hours until ended, by the end of the last day counted.
fn median_hours_to_end(episodes: &[&Episode], end: Instant) -> Option<f64> {
    let hours = |episode: &&Episode| {
        let ended = episode.ended.filter(|_| has_ended(episode, end))?;
        Some((ended.instant() - episode.known_since.instant()).num_hours().max(0))
    };
    median(episodes.iter().map(hours).collect())
}

fn unanswered(episodes: &[&Episode]) -> u64 {
    let is_settled = |episode: &Episode| episode.signal.ends().is_remedy() && episode.ended.is_some();
    episodes.iter().filter(|episode| episode.answered.is_none() && !is_settled(episode)).count() as u64
}

fn learnt_late(episodes: &[&Episode]) -> u64 {
    episodes.iter().filter(|episode| episode.learnt_after_days().is_some()).count() as u64
}

#[cfg(test)]
mod tests {
    use super::median;

    #[test]
    fn an_unanswered_signal_counts_as_longer_than_any() {
        let check = |hours: &[Option<i64>], expected| assert_eq!(median(hours.to_vec()), expected, "{hours:?}");
        check(&[], None);
        check(&[Some(5)], Some(5.0));
        check(&[Some(9), Some(2)], Some(5.5));
        check(&[None, Some(2), Some(9)], Some(9.0));
        check(&[None, None, Some(2)], None);
        check(&[None, Some(2)], None);
        check(&[None, Some(1), Some(3), Some(2)], Some(2.5));
    }
}
