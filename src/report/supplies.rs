//! Household supplies with order-by days, worst first.

use schemars::JsonSchema;
use serde::Serialize;

use crate::chart::{Chart, Window};
use crate::event::{Fact, Kind};
use crate::patient::Ended;
use crate::policy::{CarePlace, Policy};
use crate::rules::Rules;
use crate::supply::{self, OWN_USE_DAYS, Stock};
use crate::timeline::Timeline;

/// The supplies report.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct SuppliesReport {
    /// One row per patient under support or named on the command line, worst first.
    pub rows: Vec<SupplyRow>,
    /// Patients whose support has ended and who were not named.
    pub ended: Vec<String>,
}

/// One household.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct SupplyRow {
    /// The patient's code.
    pub patient: String,
    /// The patient's place today; null if not known.
    pub place: Option<CarePlace>,
    /// The items of the policy; null if a file or a part of the policy is invalid.
    pub items: Option<Vec<Stock>>,
    /// Items in the records that are not in the policy.
    pub not_in_policy: Vec<String>,
    /// The end of support; null if it has not ended, or if patient.toml is invalid.
    pub ended: Option<Ended>,
}

/// Builds the report of the households, worst first; with `is_named`, including those whose support has ended.
pub fn report(households: Vec<SupplyRow>, is_named: bool) -> SuppliesReport {
    let (ended, mut rows): (Vec<SupplyRow>, Vec<SupplyRow>) =
        households.into_iter().partition(|row| row.ended.is_some() && !is_named);
    rows.sort_by_cached_key(SupplyRow::rank);
    SuppliesReport { rows, ended: ended.into_iter().map(|row| row.patient).collect() }
}

/// Returns the row of a household whose patient.toml is invalid.
pub(crate) fn unjudged(code: &str) -> SupplyRow {
    SupplyRow { patient: code.to_owned(), place: None, items: None, not_in_policy: Vec::new(), ended: None }
}

/// Returns a household's row. Requires [`windows`].
pub fn household(chart: &Chart) -> SupplyRow {
    let timeline = chart.timeline();
    let ended = chart.patient.ended.as_ref().map(Ended::from).filter(|ended| ended.on <= timeline.today);
    let row = SupplyRow { place: Some(chart.patient.place(timeline.today)), ended, ..unjudged(&chart.patient.code) };
    let Some(policy) = chart.rules.policy.filter(|policy| policy.supplies.is_some()) else { return row };
    let items = is_stock_known(chart).then(|| of_timeline(policy, &timeline)).flatten();
    SupplyRow { items, not_in_policy: not_in_policy(policy, &timeline), ..row }
}

/// Returns the windows needed for the supplies of a household; empty if the policy has no valid supplies.
pub fn windows(rules: Rules) -> &'static [Window] {
    if rules.policy.is_some_and(|policy| policy.supplies.is_some()) { &WINDOWS } else { &[] }
}

/// The windows needed for the supplies of a household.
pub(crate) const WINDOWS: [Window; 2] = [Window::Supplies { own_use_days: OWN_USE_DAYS }, Window::State];

/// Returns true if no unreadable file could record a delivery, a count or a use of supplies.
pub(super) fn is_stock_known(chart: &Chart) -> bool {
    chart.unread.state().is_none() && !chart.unread.blocks(&[Kind::Supply, Kind::Change])
}

/// Returns the stock of each item, from a timeline with the needed records; `None` if that part of the policy is invalid.
pub(crate) fn of_timeline(policy: &Policy, timeline: &Timeline) -> Option<Vec<Stock>> {
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

impl SupplyRow {
    /// Returns the sort key: unreadable households first, then short ones, then by order-by day, and those never counted
    /// last.
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
