//! Signals that cannot be determined because a part of the policy, or people.toml, is unreadable.
//!
//! A signal raised by a score, or by a comparison of scored records, is unknown without the rubric. A finding, such as
//! pus, wide redness, a fever, a pull or immersion, is known: it needs no score, and it stays open where a full look
//! would have ended it, so that it gets reviewed.

use super::SignalInputs;
use super::rule::RestsOn;
use crate::event::Signal;
use crate::rules::Rules;
use crate::teaching::SignOffRules;

/// The signals that are unknown for every patient, except those that the policy turned off.
pub(crate) fn not_known(rules: Rules) -> Vec<Signal> {
    let (policy, people) = (rules.policy, rules.people);
    let signals = policy.and_then(|policy| policy.signals.as_ref().filter(|_| policy.plan.is_some()));
    let Some(signals) = signals else { return Signal::ALL.to_vec() };
    let knows = Knows {
        scores: rules.scoring().is_some(),
        staff: people.is_some(),
        sign_offs: SignOffRules::of(rules).is_some(),
    };
    let is_not_known = |signal: &Signal| !signals.is_off(*signal) && !knows.signal(*signal);
    Signal::ALL.iter().copied().filter(is_not_known).collect()
}

impl SignalInputs<'_> {
    /// Returns true if everything on which a signal depends is readable.
    pub(super) fn is_known(&self, signal: Signal) -> bool {
        let (scores, staff) = (self.scoring.is_some(), self.people.is_some());
        Knows { scores, staff, sign_offs: self.school.is_some() }.signal(signal)
    }
}

/// The readable parts.
struct Knows {
    scores: bool,
    staff: bool,
    sign_offs: bool,
}

impl Knows {
    fn signal(&self, signal: Signal) -> bool {
        match signal.rule().rests_on {
            RestsOn::Records => true,
            RestsOn::Scores => self.scores,
            RestsOn::Looks => self.scores && self.staff,
            RestsOn::SignOffs => self.sign_offs,
        }
    }
}
