//! The question about a time without am or pm whose other half of the day is nearer.

use super::{Choice, Enter, Leave, Questions};
use crate::entry::Clock;
use crate::text::{cut, visible};
use crate::view::words::question::record;

impl Questions<'_> {
    /// Returns a past time as typed, or if it could be in either half of the day, the one that the user picks; there is no
    /// default.
    ///
    /// # Errors
    /// Neither was picked: the time is asked for again.
    pub(in crate::command) fn half_day(&self, clock: Clock, text: &str) -> Result<String, String> {
        let Some(halves) = clock.either_half(text) else { return Ok(text.to_owned()) };
        let choices =
            halves.each_ref().map(|half| Choice { key: half.typed.clone(), ..Choice::of(half.words.as_str(), "") });
        let typed = cut(&visible(text.trim()), 60);
        match (Questions { kept: None, ..*self }).choose(record::HALF_OF_DAY.with(&[&typed]), &choices, Enter::Asks) {
            Ok(Some(at)) => Ok(halves[at].typed.clone()),
            Ok(None) | Err(Leave::Back | Leave::Kept | Leave::Stops) => Err("Type the time.".to_owned()),
            Err(Leave::Fails(failure)) => Err(failure.to_string()),
        }
    }
}
