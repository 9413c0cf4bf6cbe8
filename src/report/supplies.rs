//! Each household's supplies, with the days to order by; worst first.

use schemars::JsonSchema;
use serde::Serialize;

use crate::chart::{Chart, Window};
use crate::event::{Fact, Kind};
use crate::policy::{CarePlace, Policy};
use crate::rules::Rules;
use crate::supply::{self, OWN_USE_DAYS, Stock};
use crate::timeline::Timeline;

/// Supplies.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct SuppliesReport {
    /// A row for each patient whose support has not ended, and for those who were named; worst first.
    pub rows: Vec<Row>,
    /// Patients whose support has ended, and who were not named.
    pub ended: Vec<String>,
}

/// One household.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Row {
    /// The patient's code.
    pub patient: String,
    /// Where the patient is today; null where that is not known.
    pub place: Option<CarePlace>,
    /// Each item of the policy; null where a file or a part of the policy cannot be used.
    pub items: Option<Vec<Stock>>,
    /// Items that the records name and the policy does not.
    pub not_in_policy: Vec<String>,
    #[serde(skip)]
    has_ended: bool,
}

/// The supplies of households, worst first; with `is_named` of those whose support has ended, too.
pub fn report(households: Vec<Row>, is_named: bool) -> SuppliesReport {
    let (ended, mut rows): (Vec<Row>, Vec<Row>) = households.into_iter().partition(|row| row.has_ended && !is_named);
    rows.sort_by_cached_key(Row::rank);
    SuppliesReport { rows, ended: ended.into_iter().map(|row| row.patient).collect() }
}

/// The row of a household whose patient.toml cannot be used.
pub fn unjudged(code: &str) -> Row {
    Row { patient: code.to_owned(), place: None, items: None, not_in_policy: Vec::new(), has_ended: false }
}

/// A household's row. It needs [`windows`].
pub fn household(chart: &Chart) -> Row {
    let timeline = chart.timeline();
    let has_ended = chart.patient.has_ended(timeline.today);
    let row = Row { place: Some(chart.patient.place(timeline.today)), has_ended, ..unjudged(&chart.patient.code) };
    let Some(policy) = chart.rules.policy.filter(|policy| policy.supplies.is_some()) else { return row };
    let items = is_stock_known(chart).then(|| of_timeline(policy, &timeline)).flatten();
    Row { items, not_in_policy: not_in_policy(policy, &timeline), ..row }
}

/// The windows that the supplies of a household need; none if the policy names no supplies that can be used.
pub fn windows(rules: Rules) -> &'static [Window] {
    if rules.policy.is_some_and(|policy| policy.supplies.is_some()) { &WINDOWS } else { &[] }
}

/// The windows that the supplies of a household need.
pub const WINDOWS: [Window; 2] = [Window::Supplies { own_use_days: OWN_USE_DAYS }, Window::State];

/// Returns true if no unreadable file could be a delivery, a count or a use of supplies.
pub(super) fn is_stock_known(chart: &Chart) -> bool {
    chart.unread.state().is_none() && !chart.unread.blocks(&[Kind::Supply, Kind::Change])
}

/// Each item of the policy, by a timeline that holds what they need; none where the policy's part cannot be used.
pub fn of_timeline(policy: &Policy, timeline: &Timeline) -> Option<Vec<Stock>> {
    let (items, plan) = (policy.supplies.as_ref()?, policy.plan.as_ref()?);
    Some(supply::stocks(items, plan, timeline))
}

fn not_in_policy(policy: &Policy, timeline: &Timeline) -> Vec<String> {
    let is_known = |name: &String| policy.supplies.iter().flatten().any(|item| item.item == *name);
    let named = timeline.events().iter().filter_map(|event| match &event.fact {
        Fact::Supply(supply) => Some(supply.item.clone()),
        _ => None,
    });
    let mut others: Vec<String> = named.filter(|name| !is_known(name)).collect();
    others.sort();
    others.dedup();
    others
}

impl Row {
    /// Unreadable households first, then short ones, then by the day to order by; last those never counted.
    fn rank(&self) -> impl Ord + use<> {
        let items = || self.items.iter().flatten();
        let is_short = items().any(|item| item.short == Some(true));
        let order_by = items().filter_map(|item| item.order_by).min();
        let is_counted = items().any(|item| item.on_hand.is_some());
        let group = match (&self.items, is_short, order_by) {
            (None, ..) => 0,
            (_, true, _) => 1,
            (.., Some(_)) => 2,
            _ if is_counted => 3,
            _ => 4,
        };
        (group, order_by, self.patient.clone().into_bytes())
    }
}
