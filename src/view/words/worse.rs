//! A finding that is worse than when its signal was acted on, in words.

use chrono::NaiveDate;

use super::observation;
use crate::day::WallTime;
use crate::signal::{Observation, Worsening};

/// Describes a worsening since the last action: `worse than when acted on Fri 10:00 (redness 22 mm)`; `None` without one.
/// `at` formats a time.
pub(crate) fn worse(
    worse: &[Worsening],
    last_seen: Option<&Observation>,
    at: impl Fn(WallTime) -> String,
    today: NaiveDate,
) -> Option<String> {
    let (first, last) = (worse.first()?, worse.last()?);
    let than = first.acted_before.map_or("before".to_owned(), |acted| format!("when acted on {}", at(acted)));
    // The last record may show less than the worst one.
    let worst = (last_seen.is_some_and(|seen| *seen != last.what))
        .then(|| format!("; {} {}", observation(&last.what, today), at(last.at)));
    Some(format!("worse than {than} ({}{})", observation(&first.was, today), worst.unwrap_or_default()))
}

/// Describes a worsening since the last action by its start: `worse since Mon 18:40: redness 32 mm`; `None` without one.
pub(crate) fn worse_since(worse: &[Worsening], at: impl Fn(WallTime) -> String, today: NaiveDate) -> Option<String> {
    let (first, last) = (worse.first()?, worse.last()?);
    Some(format!("worse since {}: {}", at(first.at), observation(&last.what, today)))
}
