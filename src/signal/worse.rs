//! A finding that worsens within an open episode: what was acted on is the finding as it was then, so it needs review again.

use super::{Episode, Evidence, Observation, SignalInputs, Worsening, answer};
use crate::day::Instant;
use crate::event::{Amount, Event};

impl Observation {
    /// The values by which a later record of the same signal can be worse, higher if worse: the amount of pus, the points of a
    /// score, redness in mm, the kind and amount of drainage, warmth and odor. Zero for an observation without such a value.
    fn severity(&self) -> [f64; 2] {
        use Observation::*;
        // An amount that was not recorded is not more than another one.
        let rank = |amount: Option<_>| amount.map_or(0.0, |amount: Amount| f64::from(amount as u8));
        match self {
            Pus { amount } => [0.0, rank(*amount)],
            Score { least, .. } => [*least as f64, 0.0],
            ScoreBesideGrowth { points, .. } => [*points as f64, 0.0],
            ScoreUp { now, then, .. } => [(now - then) as f64, 0.0],
            Redness { mm } | RednessUp { now: mm, .. } => [*mm, 0.0],
            DrainageMore { drainage, amount } => [f64::from(*drainage as u8), rank(*amount)],
            WarmthOrOdor { warmth, odor } => [f64::from(u8::from(*warmth)), f64::from(u8::from(*odor))],
            Growth
            | SwellingTunnel
            | Overgranulation
            | BledAtPull
            | Bleeding
            | Temperature { .. }
            | InWater { .. }
            | SignedOff { .. }
            | ShowerAgainstOrder
            | Pulled { .. }
            | Anchor(_)
            | Dressing(_)
            | Grew { .. }
            | DrainageSince(_)
            | Missed(_)
            | LogExpected(_)
            | NoLookSince { .. }
            | NoResult(_)
            | OftenFound { .. }
            | FoundAgain(_)
            | ShowerOnPod { .. }
            | ShowerOver(_)
            | ChangeBy(_)
            | ElsewhereSince(_) => [0.0, 0.0],
        }
    }

    /// Returns true if a value exceeds that of every one of the others; false without others.
    fn is_worse_than<'o>(&self, others: impl Iterator<Item = &'o Observation>) -> bool {
        let highest = others.map(Observation::severity).reduce(|[a, b], [c, d]| [a.max(c), b.max(d)]);
        highest.is_some_and(|highest| self.severity().iter().zip(highest).any(|(value, highest)| *value > highest))
    }
}

/// Returns the record as a worsening if it shows more than all evidence of the episode before it.
pub(super) fn worsening(
    watch: &SignalInputs,
    episode: &Episode,
    evidence: &Evidence,
    at: Instant,
    known_at: Instant,
) -> Option<Worsening> {
    let is_worse = evidence.what.is_worse_than(episode.evidence.iter().map(|before| &before.what));
    let was = episode.worse.last().map(|worse| &worse.what).or(episode.evidence.first().map(|first| &first.what))?;
    is_worse.then(|| Worsening {
        at: watch.calendar().wall(at),
        known_at: watch.calendar().wall(known_at.max(at)),
        file: evidence.file.clone(),
        what: evidence.what.clone(),
        was: was.clone(),
        acted_on: false,
        acted_before: None,
    })
}

/// Determines which worsenings were acted on, after the actions on the episode: those no worse than the worst on file at
/// some action. A record is on file at an action that came after it and was written after it; a look by staff after it saw
/// the site, whenever it was written.
pub(super) fn find_acted_on(watch: &SignalInputs, episode: &mut Episode) {
    if episode.worse.is_empty() {
        return;
    }
    let (signal, events) = (episode.signal, watch.timeline.events());
    let record = |said: &Evidence| events.iter().find(|event| event.file() == said.file);
    let shown: Vec<(&Observation, Option<&Event>)> =
        episode.evidence.iter().map(|said| (&said.what, record(said))).collect();
    let is_on_file = |event: &Event, action: &Event| {
        let is_look = answer::is_staff_look(watch, episode.exit.as_deref(), action);
        (is_look || watch.known(event) <= watch.known(action))
            && answer::is_later(watch, signal, action, event.when.instant)
    };
    // The evidence on file at each action; that which raised the episode always is.
    let on_file = |action: &Event| -> Vec<Observation> {
        let all = shown.iter().enumerate();
        let known = all.filter(|(n, (_, event))| *n == 0 || event.is_some_and(|event| is_on_file(event, action)));
        known.map(|(_, (what, _))| (*what).clone()).collect()
    };
    let actions = answer::actions(watch, episode, episode.since.instant());
    let actions: Vec<(Instant, Vec<Observation>)> =
        actions.map(|action| (action.when.instant, on_file(action))).collect();
    let mut worse = std::mem::take(&mut episode.worse);
    for one in &mut worse {
        one.acted_on = actions.iter().any(|(_, known)| !one.what.is_worse_than(known.iter()));
        let before = actions.iter().rev().find(|(at, _)| *at < one.at.instant());
        one.acted_before = before.map(|(at, _)| watch.calendar().wall(*at));
    }
    episode.worse = worse;
    episode.news_answered &= episode.worse.iter().all(|worse| worse.acted_on);
    episode.treatment_ended = episode.treatment_ended.filter(|_| episode.news_answered);
    // A worse finding is news from when it was written, however old.
    episode.news.extend(episode.worse.iter().map(|worse| worse.known_at));
    episode.news.sort();
    episode.news.dedup();
}
