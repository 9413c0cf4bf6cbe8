//! Who needs a change or a call, worst first, and why.

mod acting;
mod census;
mod group;
mod row;
mod words;

pub use census::Census;
pub use row::{Also, AnchorSaid, Aside, LastChange, LastContact, LastScore, OpenSignal, Promised, Row};

use std::collections::BTreeMap;

use schemars::JsonSchema;
use serde::Serialize;

use crate::chart::{Chart, Unjudged};
use crate::event::Signal;
use crate::patient::Exit;
use crate::problem::Problem;
use crate::rules::Rules;
use crate::schedule::{Due, Schedule};
use crate::signal::{Episode, Watch, not_known, off_today};

/// The due list.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct DueReport {
    /// A row for each exit site that is followed, and for each name that is no patient's, worst first.
    pub rows: Vec<Row>,
    /// Everybody on file, counted once.
    pub census: Census,
    /// Signals of today that the program's policy has turned off, with the reason.
    pub off: BTreeMap<String, String>,
    /// Signals that are not known of anybody, since a part of policy.toml, or people.toml, cannot be used.
    pub signals_not_known: Vec<Signal>,
}

/// The due list of patients' rows and of names in the folder of patients that are no patient's, worst first.
pub fn report(rules: Rules, mut rows: Vec<Row>, strays: &[(String, Problem)]) -> DueReport {
    rows.extend(strays.iter().map(|(name, problem)| Row::unusable(name, problem)));
    rows.sort_by_cached_key(Row::rank);
    let census = Census::of(&rows);
    DueReport { rows, census, off: off_today(rules), signals_not_known: not_known(rules) }
}

/// The row of a patient who cannot be judged, by the first problem of patient.toml.
pub fn unjudged(code: &str, unjudged: &Unjudged) -> Vec<Row> {
    unjudged.problems.first().map(|problem| Row::unusable(code, problem)).into_iter().collect()
}

/// A patient's row for each exit site that is followed. It needs the windows `Signals` and `Recent`.
pub fn rows(chart: &Chart) -> Vec<Row> {
    let rules = chart.rules;
    let Some(plan) = rules.plan() else { return vec![Row::unusable(&chart.patient.code, &rules.policy_problem())] };
    if let Some(problem) = chart.unread.state() {
        return vec![Row::unusable(&chart.patient.code, problem)];
    }
    let (patient, timeline) = (&chart.patient, chart.timeline());
    let ahead = (!chart.as_of().is_given).then(|| chart.ahead.clone());
    let exits = patient.exits_followed(timeline.today);
    let watch = Watch::of(rules, &timeline);
    let open: Option<Vec<Episode>> = watch.map(|watch| watch.episodes().into_iter().filter(Episode::is_open).collect());
    let is_complete = chart.unread.is_empty() && not_known(rules).is_empty();
    let signed_off = watch.and_then(|watch| watch.school).map(|school| {
        let signed_off = school.signed_off(patient, timeline.events(), timeline.today);
        signed_off.into_iter().map(str::to_owned).collect::<Vec<String>>()
    });
    let row = |exit: &&Exit| {
        let schedule = Schedule { plan, patient, exit };
        let due = Due::of(&schedule, &timeline);
        let mut row = Row::of(rules, &schedule, &timeline, &due, ahead.clone(), &chart.unread);
        row.watch(open.as_deref(), is_complete, &exits);
        row.signed_off = signed_off.clone();
        let reason = words::reason(&schedule, &timeline, &due);
        // A signal of today stands before everything else, even before what is due.
        let of_today = words::of_today(&row, timeline.today);
        row.reason = of_today.map_or(reason.clone(), |signals| format!("{signals}; {reason}"));
        let also = words::also(&schedule, &timeline, &due);
        row.beside = words::beside(&row, &due, also, timeline.today, (exits.len() > 1).then_some(exit));
        row
    };
    exits.iter().map(row).collect()
}
