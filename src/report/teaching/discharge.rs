//! The discharge checklist of a household, dressing care only: each line met, not met or not known, and why.
//!
//! It is a checklist, not a permission.

use std::collections::BTreeMap;

use chrono::NaiveDate;
use schemars::JsonSchema;
use serde::Serialize;

use super::{Household, learners, unjudged};
use crate::chart::Chart;
use crate::event::Kind;
use crate::policy::{Policy, SupplyItem};
use crate::report::supplies;
use crate::signal::{Episode, Urgency, Watch, not_known, off_today};
use crate::supply::{FirstDays, Stock, planned_home};
use crate::teaching::{Progress, School};
use crate::text::count;
use crate::timeline::Timeline;
use crate::word::{Word, words};

words! {
    /// What a household needs before a discharge.
    pub enum Requirement {
        /// So many caregivers signed off, or the patient.
        SignedOff = "signed-off",
        /// Supplies for the first days at home.
        Supplies = "supplies",
        /// No signal of urgency today open.
        NoSignalOfToday = "no-signal-of-today",
    }
}

words! {
    /// Whether a line is met.
    pub enum LineState {
        /// It is.
        Met = "met",
        /// It is not.
        NotMet = "not-met",
        /// That cannot be said.
        NotKnown = "not-known",
    }
}

/// The checklist of one household.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Discharge {
    /// The patient's code.
    pub patient: String,
    /// The day of the move home that is planned; null where none is.
    pub planned_on: Option<NaiveDate>,
    /// Line by line.
    pub lines: Vec<Line>,
}

/// One line.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Line {
    /// What is needed.
    pub needs: Requirement,
    /// Whether it is met.
    pub state: LineState,
    /// Why.
    pub why: String,
}

impl Discharge {
    /// A checklist of which nothing is known, since patient.toml or the policy cannot be used.
    pub(super) fn not_known(code: &str) -> Discharge {
        let unknown = Requirement::ALL.iter().map(|needs| Line {
            needs: *needs,
            state: LineState::NotKnown,
            why: "patient.toml or policy.toml cannot be used".to_owned(),
        });
        Discharge { patient: code.to_owned(), planned_on: None, lines: unknown.collect() }
    }
}

/// A household with its checklist. It needs the windows `Checkoffs`, `Signals` and those of supplies.
pub fn household(chart: &Chart) -> Household {
    let rules = chart.rules;
    let Some(policy) = rules.policy else { return unjudged(&chart.patient.code, true) };
    let (patient, timeline) = (&chart.patient, chart.timeline());
    let is_stock_known = supplies::is_stock_known(chart);
    let is_teaching_known = !chart.unread.blocks(&[Kind::Teaching]);
    let people = learners(rules, patient, timeline.events(), timeline.today, is_teaching_known);
    let planned_on = planned_home(patient, timeline.today);
    let school = School::of(rules);
    let watch = Watch::of(rules, &timeline);
    let unknown = not_known(rules);
    let is_complete = chart.unread.is_empty() && unknown.iter().all(|signal| signal.urgency() != Urgency::Today);
    let lines = vec![
        signed_off(school.filter(|_| is_teaching_known), &timeline, planned_on.unwrap_or(timeline.today)),
        enough(policy, &timeline, is_stock_known),
        quiet(watch.map(|watch| watch.episodes()), is_complete, &off_today(rules)),
    ];
    let discharge = Discharge { patient: patient.code.clone(), planned_on, lines };
    Household { people, has_ended: patient.has_ended(timeline.today), discharge: Some(discharge) }
}

/// So many caregivers, or the patient, are signed off on the day home.
fn signed_off(school: Option<School>, timeline: &Timeline, home: NaiveDate) -> Line {
    let line = |state, why: String| Line { needs: Requirement::SignedOff, state, why };
    let Some(school) = school else {
        return line(LineState::NotKnown, "who is signed off is not known".to_owned());
    };
    let signed = school.signed_off(timeline.patient, timeline.events(), home);
    let who = if signed.is_empty() { "nobody".to_owned() } else { signed.join(", ") };
    let needed = count(school.settings.caregivers_required, "caregiver");
    let suspended = timeline.patient.household().flat_map(|code| {
        let standings = school.standing(code, timeline.events(), timeline.today).into_iter();
        standings.filter(|one| one.state == Progress::Suspended).filter_map(move |one| {
            let failed = one.failed?;
            Some(format!("; {code} is suspended: {} missed or prompted on {}", failed.steps.join(", "), failed.on))
        })
    });
    let why = format!("on {home} {who}, needed {needed} or the patient{}", suspended.collect::<String>());
    line(if school.are_enough(&signed) { LineState::Met } else { LineState::NotMet }, why)
}

/// Of each item what the first days at home use.
fn enough(policy: &Policy, timeline: &Timeline, is_known: bool) -> Line {
    let line = |state, why: String| Line { needs: Requirement::Supplies, state, why };
    let Some((items, plan)) = policy.supplies.as_ref().zip(policy.plan.as_ref()).filter(|_| is_known) else {
        return line(LineState::NotKnown, "what is on hand is not known".to_owned());
    };
    let of_item = |item: &SupplyItem| {
        let stock = Stock::of(item, plan, timeline);
        let first = FirstDays::of(item, plan, timeline);
        let needed = format!("{} needed from {} to {}", first.needed, first.from, first.to);
        let (state, left) = match stock.on_hand {
            Some(left) if left >= first.needed => (LineState::Met, left.to_string()),
            Some(left) => (LineState::NotMet, left.to_string()),
            None => return (LineState::NotKnown, format!("{} never counted, {needed}", item.item)),
        };
        (state, format!("{} {left} on hand, {needed}", item.item))
    };
    let lines: Vec<(LineState, String)> = items.iter().map(of_item).collect();
    let worst =
        [LineState::NotMet, LineState::NotKnown].into_iter().find(|state| lines.iter().any(|(of, _)| of == state));
    let why: Vec<String> = lines.into_iter().map(|(_, why)| why).collect();
    line(
        worst.unwrap_or(LineState::Met),
        if why.is_empty() { "the policy names none".to_owned() } else { why.join("; ") },
    )
}

/// No signal of urgency today is open; those that the policy has turned off are named, since nobody looked for them.
fn quiet(episodes: Option<Vec<Episode>>, is_complete: bool, off: &BTreeMap<String, String>) -> Line {
    let line = |state, why: String| Line { needs: Requirement::NoSignalOfToday, state, why };
    let open = episodes.iter().flatten().filter(|episode| episode.is_open() && episode.urgency == Urgency::Today);
    let names: Vec<&str> = open.map(|episode| episode.signal.word()).collect();
    let (state, why) = match (names.is_empty(), episodes.is_some() && is_complete) {
        (false, _) => (LineState::NotMet, format!("open: {}", names.join(", "))),
        (true, true) => (LineState::Met, "none is open".to_owned()),
        (true, false) => (LineState::NotKnown, "not all signals are known".to_owned()),
    };
    let off: Vec<String> = off.iter().map(|(name, why)| format!("{name} ({why})")).collect();
    let off = if off.is_empty() { String::new() } else { format!("; turned off by the policy: {}", off.join(", ")) };
    line(state, why + &off)
}
