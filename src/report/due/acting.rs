//! Whether a row asks for something now.

use super::row::{OpenSignal, Row};
use crate::schedule::State;
use crate::signal::Urgency;

impl Row {
    /// Whether a signal of today is open.
    pub fn has_signal_of_today(&self) -> bool {
        self.signals.iter().flatten().any(|signal| signal.urgency == Urgency::Today)
    }

    /// Whether a signal of today is open that is not acted on.
    pub fn needs_review_today(&self) -> bool {
        self.signals.iter().flatten().any(is_not_acted_on)
    }

    /// Whether someone has to be called now, whoever was called before: a signal of today that is not acted on, or signals
    /// that are not known; the clock of a shower or damage; a broken promise; an overdue change without a promise.
    pub fn is_to_call(&self) -> bool {
        let may_be_open = self.signals.as_ref().is_none_or(|signals| signals.iter().any(is_not_acted_on));
        let is_promised = self.promise.as_ref().is_some_and(|promise| !promise.broken);
        let is_broken = self.promise.as_ref().is_some_and(|promise| promise.broken);
        let has_clock = self.reported_deadline.is_some();
        let is_late = self.state == State::Unusable || self.state == State::Overdue && !is_promised;
        may_be_open || has_clock || is_broken || is_late
    }

    /// Whether a script that asked is told of it: overdue, a signal of today, or it cannot be said.
    pub fn is_to_act_on(&self) -> bool {
        matches!(self.state, State::Overdue | State::Unusable) || self.has_signal_of_today()
    }
}

fn is_not_acted_on(signal: &OpenSignal) -> bool {
    signal.urgency == Urgency::Today && !signal.is_news_answered
}
