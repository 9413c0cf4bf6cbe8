//! Patients who need a change or a call, worst first, with the reason.

mod acting;
mod census;
mod group;
mod noted;
mod open_signal;
mod row;
mod site;

pub use census::{Away, Census};
pub use group::Group;
pub use noted::FindingInNote;
pub use open_signal::{OpenSignal, Sighting};
pub use row::{AnchorSaid, Hidden, LastContact, LastScore, Relative, Row, SiteRow, UnusableRow};

use std::collections::BTreeMap;

use schemars::JsonSchema;
use serde::Serialize;

use site::Shared;

use crate::chart::{Chart, Unjudged};
use crate::event::Signal;
use crate::patient::ExitSite;
use crate::problem::Problem;
use crate::rules::Rules;
use crate::schedule::Schedule;
use crate::signal::{Episode, SignalInputs, not_known, off_today};

/// The due list.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct DueReport {
    /// One row per followed exit site, and per folder name that is not a patient code; worst first.
    pub rows: Vec<Row>,
    /// The census: each patient on file counted once.
    pub census: Census,
    /// Signals of today that the program's policy has turned off, with the reason.
    pub off: BTreeMap<String, String>,
    /// Signals that cannot be computed for any patient because people.toml or a part of policy.toml is invalid.
    pub signals_not_known: Vec<Signal>,
}

/// Builds the due list from the patients' rows and the folder names that are not patient codes, worst first.
pub fn report(rules: Rules, mut rows: Vec<Row>, strays: &[(String, Problem)]) -> DueReport {
    rows.extend(strays.iter().map(|(name, problem)| Row::unusable(name, problem)));
    rows.sort_by_cached_key(Row::rank);
    let census = Census::of(&rows);
    DueReport { rows, census, off: off_today(rules), signals_not_known: not_known(rules) }
}

/// Returns the row of a patient whose records cannot be read, with the first problem of patient.toml.
pub(crate) fn unjudged(code: &str, unjudged: &Unjudged) -> Vec<Row> {
    unjudged.problems.first().map(|problem| Row::unusable(code, problem)).into_iter().collect()
}

/// Returns a patient's rows, one per followed exit site. Requires the windows `Signals` and `Recent`.
pub fn rows(chart: &Chart) -> Vec<Row> {
    let (rules, patient) = (chart.rules, &chart.patient);
    let Some(plan) = rules.plan() else { return vec![Row::unusable(&patient.code, &rules.policy_problem())] };
    let timeline = chart.timeline();
    let watch = SignalInputs::of(rules, &timeline);
    let open: Option<Vec<Episode>> = watch.map(|watch| watch.episodes().into_iter().filter(Episode::is_open).collect());
    if let Some(problem) = chart.unread.state() {
        let mut signals: Vec<OpenSignal> = open.iter().flatten().map(|open| OpenSignal::of(chart, open)).collect();
        signals.sort_by_key(OpenSignal::rank);
        return vec![Row::Unusable(Box::new(UnusableRow {
            patient: patient.code.clone(),
            problem: problem.clone(),
            signals,
            date: Some(patient.calendar.date(timeline.as_of)),
            place: Some(patient.place(timeline.today)),
            caregivers: Relative::all_of(patient),
        }))];
    }
    let exits = patient.exits_followed(timeline.today);
    let signed_off = watch.and_then(|watch| watch.school).map(|school| {
        let signed_off = school.signed_off(patient, timeline.events(), timeline.today);
        signed_off.into_iter().map(str::to_owned).collect()
    });
    let move_home = watch.and_then(|watch| watch.school).and_then(|school| school.move_home(&timeline));
    let noted = noted::findings_in_notes(chart, watch.as_ref());
    let open = open.as_deref();
    let shared = Shared { chart, timeline: &timeline, exits: &exits, open, signed_off, move_home, noted };
    let row = |exit: &&ExitSite| Row::Site(Box::new(SiteRow::of(&shared, &Schedule { plan, patient, exit })));
    exits.iter().map(row).collect()
}
