//! Who needs a change or a call, worst first, and why.

mod acting;
mod census;
mod group;
mod row;
mod words;

pub use census::Census;
pub use row::{Also, AnchorSaid, Aside, LastChange, LastContact, LastScore, OpenSignal, Promised, Row};

use std::collections::BTreeMap;

use rayon::prelude::*;
use schemars::JsonSchema;
use serde::Serialize;

use super::{Unusable, unusable_of};
use crate::chart::{Unjudged, Window};
use crate::day::AsOf;
use crate::event::Signal;
use crate::patient::Exit;
use crate::policy;
use crate::problem::{Problem, Rule};
use crate::program::Program;
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

/// Reads what the due list needs of `codes`, and makes their rows, worst first.
///
/// Names in the folder of patients that are no patient's are rows, too, unless patients were named.
pub fn report(program: &Program, codes: &[&str], as_of: AsOf, with_strays: bool) -> (DueReport, Vec<Unusable>) {
    let read: Vec<(Vec<Row>, Vec<Unusable>)> =
        codes.par_iter().map(|code| patient_rows(program, code, as_of)).collect();
    let mut unusable = unusable_of(program, with_strays);
    let mut rows = Vec::new();
    for (patient_rows, files) in read {
        rows.extend(patient_rows);
        unusable.extend(files);
    }
    if with_strays {
        for (name, problem) in &program.patients.strays {
            rows.push(Row::unusable(name, problem));
        }
    }
    rows.sort_by_cached_key(Row::rank);
    let census = Census::of(&rows);
    let off = off_today(program.policy.as_ref());
    (DueReport { rows, census, off, signals_not_known: signals_not_known(program) }, unusable)
}

fn signals_not_known(program: &Program) -> Vec<Signal> {
    not_known(program.policy.as_ref(), program.people.as_ref())
}

fn patient_rows(program: &Program, code: &str, as_of: AsOf) -> (Vec<Row>, Vec<Unusable>) {
    let Some((policy, plan)) = program.policy.as_ref().zip(program.plan()) else {
        let of_policy = |problem: &&Problem| problem.makes_unusable() && problem.place.file == policy::FILE;
        let unknown =
            || Problem::of_file(Rule::CannotBeRead, policy::FILE, "the policy cannot be used", "run exitsite check");
        let problem = program.problems.iter().find(of_policy).cloned().unwrap_or_else(unknown);
        return (vec![Row::unusable(code, &problem)], Vec::new());
    };
    let chart = match program.chart(code, &[Window::Signals, Window::Recent], as_of) {
        Ok(chart) => chart,
        Err(Unjudged { problems }) => {
            let row = problems.first().map(|problem| Row::unusable(code, problem));
            return (row.into_iter().collect(), problems.iter().map(Unusable::from).collect());
        }
    };
    let files = chart.unread.problems().map(Unusable::from).collect();
    if let Some(problem) = chart.unread.state() {
        return (vec![Row::unusable(code, problem)], files);
    }
    let (patient, timeline) = (&chart.patient, chart.timeline());
    let ahead = (!as_of.is_given).then(|| chart.ahead.clone());
    let exits = patient.exits_followed(timeline.today);
    let watch = Watch::of(policy, program.people.as_ref(), &timeline);
    let open: Option<Vec<Episode>> = watch.map(|watch| watch.episodes().into_iter().filter(Episode::is_open).collect());
    let is_complete = chart.unread.is_empty() && signals_not_known(program).is_empty();
    let signed_off = watch.and_then(|watch| watch.school).map(|school| {
        let signed_off = school.signed_off(patient, timeline.events(), timeline.today);
        signed_off.into_iter().map(str::to_owned).collect::<Vec<String>>()
    });
    let row = |exit: &&Exit| {
        let schedule = Schedule { plan, patient, exit };
        let due = Due::of(&schedule, &timeline);
        let mut row = Row::of(program, &schedule, &timeline, &due, ahead.clone(), &chart.unread);
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
    (exits.iter().map(row).collect(), files)
}
