//! What in the records somebody should look at, most urgent first.

use std::collections::BTreeMap;

use rayon::prelude::*;
use schemars::JsonSchema;
use serde::Serialize;

use super::{Unusable, unusable_of};
use crate::chart::Window;
use crate::day::AsOf;
use crate::event::Signal;
use crate::program::Program;
use crate::signal::{self, Episode, Watch};
use crate::word::Word;

/// Signals, open or also ended.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct SignalsReport {
    /// Each, most urgent first.
    pub signals: Vec<Episode>,
    /// Signals that the program's policy has turned off, with the reason.
    pub off: BTreeMap<String, String>,
    /// Patients of whom not all signals are known, since a file or a part of the policy cannot be used.
    pub not_known: Vec<String>,
    /// Signals that are not known of anybody, since a part of policy.toml, or people.toml, cannot be used.
    pub signals_not_known: Vec<Signal>,
}

/// The signals of `codes`; the open ones, or with `is_all` those that have ended, too.
pub fn report(program: &Program, codes: &[&str], as_of: AsOf, is_all: bool) -> (SignalsReport, Vec<Unusable>) {
    let read: Vec<(Option<Vec<Episode>>, Vec<Unusable>)> =
        codes.par_iter().map(|code| patient_signals(program, code, as_of)).collect();
    let mut unusable = unusable_of(program, false);
    let signals_not_known = signal::not_known(program.policy.as_ref(), program.people.as_ref());
    let mut signals = Vec::new();
    let mut not_known = Vec::new();
    for (code, (read, files)) in codes.iter().zip(read) {
        if read.is_none() || !files.is_empty() || !signals_not_known.is_empty() {
            not_known.push((*code).to_owned());
        }
        signals.extend(read.into_iter().flatten().filter(|episode| is_all || episode.is_open()));
        unusable.extend(files);
    }
    signals.sort_by(|a, b| rank(a).cmp(&rank(b)));
    let settings = program.policy.iter().filter_map(|policy| policy.signals.as_ref()).flat_map(|all| &all.by_name);
    let off = settings.filter_map(|(name, setting)| Some(((*name).to_owned(), setting.off.clone()?))).collect();
    (SignalsReport { signals, off, not_known, signals_not_known }, unusable)
}

fn patient_signals(program: &Program, code: &str, as_of: AsOf) -> (Option<Vec<Episode>>, Vec<Unusable>) {
    let chart = match program.chart(code, &[Window::Signals, Window::State], as_of) {
        Ok(chart) => chart,
        Err(unjudged) => return (None, unjudged.problems.iter().map(Unusable::from).collect()),
    };
    let timeline = chart.timeline();
    let watch = program.policy.as_ref().and_then(|policy| Watch::of(policy, program.people.as_ref(), &timeline));
    let signals = watch.map(|watch| watch.episodes());
    (signals, chart.unread.problems().map(Unusable::from).collect())
}

/// Open before ended, today before this week, unanswered before answered, the oldest first.
fn rank(episode: &Episode) -> impl Ord + use<'_> {
    (
        episode.ended.is_some(),
        episode.urgency,
        episode.answered.is_some(),
        episode.since,
        episode.patient.as_bytes(),
        episode.exit.as_deref(),
        episode.signal.word(),
    )
}
