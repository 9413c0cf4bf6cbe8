//! The discharge checklist of a household, for dressing care only: each line met, not met or not known, with the reason.
//!
//! It is a checklist, not a permission.

mod reason;

use std::collections::BTreeMap;

use chrono::NaiveDate;
use schemars::JsonSchema;
use serde::Serialize;

pub use reason::{Needed, OpenChange, Reason};

use super::{Household, learners, unjudged};
use crate::chart::Chart;
use crate::event::{Kind, Signal};
use crate::policy::{Policy, SupplyItem};
use crate::report::supplies;
use crate::schedule::{Because, Due, Schedule, State};
use crate::signal::{Episode, SignalInputs, Urgency, not_known, off_today};
use crate::supply::{FirstDays, Stock, planned_home};
use crate::teaching::{Progress, SignOffRules};
use crate::timeline::Timeline;
use crate::word::words;

words! {
    /// A requirement for discharge.
    pub enum DischargeRequirement {
        /// Enough caregivers, or the patient, signed off.
        SignedOff = "signed-off",
        /// Supplies for the first days at home.
        Supplies = "supplies",
        /// No signal of today open.
        NoSignalOfToday = "no-signal-of-today",
        /// No change overdue, and none required after a shower or damage.
        DressingCurrent = "dressing-change-current",
    }
}

words! {
    /// The state of a line.
    pub enum LineState {
        /// Met.
        Met = "met",
        /// Not met.
        NotMet = "not-met",
        /// Not known.
        NotKnown = "not-known",
    }
}

/// The checklist of one household.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Discharge {
    /// The patient's code.
    pub patient: String,
    /// The date of the planned move home; null if none is planned.
    pub planned_on: Option<NaiveDate>,
    /// The lines.
    pub lines: Vec<Line>,
}

/// One line.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Line {
    /// The requirement.
    pub needs: DischargeRequirement,
    /// The state.
    pub state: LineState,
    /// The reason.
    pub why: Reason,
}

impl Discharge {
    /// Returns an unknown checklist, for an invalid patient.toml or policy.
    pub(super) fn not_known(code: &str) -> Discharge {
        let unknown = DischargeRequirement::ALL.iter().map(|needs| Line {
            needs: *needs,
            state: LineState::NotKnown,
            why: Reason::Unreadable,
        });
        Discharge { patient: code.to_owned(), planned_on: None, lines: unknown.collect() }
    }
}

/// Returns a household with its checklist. Requires the windows `Checkoffs`, `Signals` and those of supplies.
pub fn household(chart: &Chart) -> Household {
    let rules = chart.rules;
    let Some(policy) = rules.policy else { return unjudged(&chart.patient.code, true) };
    let (patient, timeline) = (&chart.patient, chart.timeline());
    let is_stock_known = supplies::is_stock_known(chart);
    let is_teaching_known = !chart.unread.blocks(&[Kind::Teaching]);
    let people = learners(rules, patient, timeline.events(), timeline.today, is_teaching_known);
    let planned_on = planned_home(patient, timeline.today);
    let school = SignOffRules::of(rules);
    let watch = SignalInputs::of(rules, &timeline);
    let unknown = not_known(rules);
    let is_complete = chart.unread.is_empty() && unknown.iter().all(|signal| signal.urgency() != Urgency::Today);
    let lines = vec![
        signed_off(school.filter(|_| is_teaching_known), &timeline, planned_on.unwrap_or(timeline.today)),
        enough(policy, &timeline, is_stock_known),
        quiet(watch.map(|watch| watch.episodes()), is_complete && watch.is_some(), off_today(rules)),
        current(chart, policy, &timeline),
    ];
    let discharge = Discharge { patient: patient.code.clone(), planned_on, lines };
    let move_home = school.filter(|_| is_teaching_known).and_then(|school| school.move_home(&timeline));
    Household { people, has_ended: patient.has_ended(timeline.today), discharge: Some(discharge), move_home }
}

/// Returns the line for sign-offs on the day of the move home.
fn signed_off(school: Option<SignOffRules>, timeline: &Timeline, home: NaiveDate) -> Line {
    let line = |state, why| Line { needs: DischargeRequirement::SignedOff, state, why };
    let Some(school) = school else { return line(LineState::NotKnown, Reason::SignOffsNotKnown) };
    let signed = school.signed_off(timeline.patient, timeline.events(), home);
    let suspended = timeline.patient.household().flat_map(|code| {
        let standings = school.standing(code, timeline.events(), timeline.today).into_iter();
        let suspended = standings.filter(|one| one.state == Progress::Suspended).filter_map(|one| one.failed);
        suspended.map(move |failed| (code.to_owned(), failed))
    });
    let reason = Reason::SignedOff {
        home,
        signed: signed.iter().map(|code| (*code).to_owned()).collect(),
        needed: school.settings.caregivers_required,
        suspended: suspended.collect(),
    };
    line(if school.are_enough(&signed) { LineState::Met } else { LineState::NotMet }, reason)
}

/// Returns the line for supplies in the first days at home.
fn enough(policy: &Policy, timeline: &Timeline, is_known: bool) -> Line {
    let line = |state, why| Line { needs: DischargeRequirement::Supplies, state, why };
    let Some((items, plan)) = policy.supplies.as_ref().zip(policy.plan.as_ref()).filter(|_| is_known) else {
        return line(LineState::NotKnown, Reason::SuppliesNotKnown);
    };
    let needs = |item: &SupplyItem| Needed {
        item: item.item.clone(),
        on_hand: Stock::of(item, plan, timeline).on_hand,
        first: FirstDays::of(item, plan, timeline),
    };
    let needed: Vec<Needed> = items.iter().map(needs).collect();
    let state = match () {
        _ if needed.iter().any(|one| one.on_hand.is_some_and(|left| left < one.first.needed)) => LineState::NotMet,
        _ if needed.iter().any(|one| one.on_hand.is_none()) => LineState::NotKnown,
        _ => LineState::Met,
    };
    line(state, Reason::Supplies(needed))
}

/// Returns the line for the dressing changes of the exit sites followed.
fn current(chart: &Chart, policy: &Policy, timeline: &Timeline) -> Line {
    let line = |state, why| Line { needs: DischargeRequirement::DressingCurrent, state, why };
    let Some(plan) = policy.plan.as_ref().filter(|_| chart.unread.state().is_none()) else {
        return line(LineState::NotKnown, Reason::ScheduleNotKnown);
    };
    let patient = &chart.patient;
    let open = patient.exits_followed(timeline.today).into_iter().flat_map(|exit| {
        let due = Due::of(&Schedule { plan, patient, exit }, timeline);
        let first = due.because.zip(due.deadline).map(|(because, deadline)| {
            let hours_overdue = due.hours_overdue.filter(|_| due.state == State::Overdue);
            OpenChange { exit: exit.id.clone(), because, deadline, hours_overdue }
        });
        let also = due.also.iter().map(|other| OpenChange {
            exit: exit.id.clone(),
            because: other.because,
            deadline: other.deadline,
            hours_overdue: other.hours_overdue,
        });
        first.into_iter().chain(also.collect::<Vec<_>>())
    });
    let is_reported = |open: &OpenChange| matches!(open.because, Because::AfterShower | Because::Damage);
    let open: Vec<OpenChange> = open.filter(|open| open.hours_overdue.is_some() || is_reported(open)).collect();
    line(if open.is_empty() { LineState::Met } else { LineState::NotMet }, Reason::Changes(open))
}

/// Returns the line for open signals of today. It lists those turned off by the policy, since they were not checked.
fn quiet(episodes: Option<Vec<Episode>>, is_complete: bool, off: BTreeMap<String, String>) -> Line {
    let all = episodes.iter().flatten();
    let open: Vec<Signal> = all
        .filter(|episode| episode.is_open() && episode.urgency == Urgency::Today)
        .map(|episode| episode.signal)
        .collect();
    let state = match (open.is_empty(), episodes.is_some() && is_complete) {
        (false, _) => LineState::NotMet,
        (true, true) => LineState::Met,
        (true, false) => LineState::NotKnown,
    };
    Line {
        needs: DischargeRequirement::NoSignalOfToday,
        state,
        why: Reason::Signals { open, is_known: is_complete, off },
    }
}
