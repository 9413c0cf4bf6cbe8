//! Tests of whether a row needs action now.

use super::open_signal::OpenSignal;
use super::row::Row;
use crate::schedule::State;
use crate::signal::Urgency;

impl Row {
    /// Returns true if a signal of today is open.
    pub(crate) fn has_signal_of_today(&self) -> bool {
        self.signals().any(|signal| signal.urgency == Urgency::Today)
    }

    /// Returns true if a signal of today is open and not acted on.
    pub fn needs_review_today(&self) -> bool {
        self.signals().any(is_not_acted_on)
    }

    /// Returns true if a call is needed now, regardless of earlier calls: a signal of today not acted on, or signals not
    /// known; a running shower or damage deadline; a broken promise; an overdue change without a promise.
    pub(crate) fn is_to_call(&self) -> bool {
        let Row::Site(site) = self else { return true };
        let due = &site.due;
        let may_be_open = site.signals.as_ref().is_none_or(|signals| signals.iter().any(is_not_acted_on));
        let is_late = due.state == State::Overdue && due.promise.is_none();
        may_be_open || due.reported_deadline().is_some() || due.has_broken_promise() || is_late
    }

    /// Returns true if the row sets the exit status for scripts: overdue, a signal of today, or not known.
    pub(crate) fn is_to_act_on(&self) -> bool {
        matches!(self.state(), State::Overdue | State::Unusable) || self.has_signal_of_today()
    }

    /// Returns true if staff last recorded that support has ended, but patient.toml does not say so yet.
    pub(crate) fn is_end_reported(&self) -> bool {
        self.site().is_some_and(|site| site.end_reported)
    }
}

fn is_not_acted_on(signal: &OpenSignal) -> bool {
    signal.urgency == Urgency::Today && !signal.is_news_answered
}
