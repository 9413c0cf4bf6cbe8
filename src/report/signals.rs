//! What in the records somebody should look at, most urgent first.

use std::collections::BTreeMap;

use rayon::prelude::*;
use schemars::JsonSchema;
use serde::Serialize;

use super::{Unusable, rfc3339, unusable_of};
use crate::chart::Window;
use crate::day::{AsOf, Calendar, Instant};
use crate::event::{Outcome, Signal};
use crate::patient::Patient;
use crate::program::Program;
use crate::signal::{self, Episode, Evidence, Urgency, Watch};
use crate::word::Word;

/// Signals, open or also ended.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct SignalsReport {
    /// Each, most urgent first.
    pub signals: Vec<Reported>,
    /// Signals that the program's policy has turned off, with the reason.
    pub off: BTreeMap<String, String>,
    /// Patients of whom not all signals are known, since a file or a part of the policy cannot be used.
    pub not_known: Vec<String>,
    /// Signals that are not known of anybody, since a part of policy.toml, or people.toml, cannot be used.
    pub signals_not_known: Vec<Signal>,
}

/// One signal.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Reported {
    /// The patient's code.
    pub patient: String,
    /// The exit site's id; null where it concerns the patient.
    pub exit: Option<String>,
    /// Its name.
    pub signal: Signal,
    /// today or this-week.
    pub urgency: Urgency,
    /// When it rose.
    pub since: String,
    /// When it could be known.
    pub known_since: String,
    /// What the records say.
    pub evidence: Vec<Evidence>,
    /// A later record does not show it, but none that could end it.
    pub better_not_confirmed: bool,
    /// The last contact about it that is no answer, such as a call to the household; null if there is none.
    pub called: Option<Called>,
    /// When it was answered first; null if it was not.
    pub answered: Option<String>,
    /// The record that answered it.
    pub answered_by: Option<String>,
    /// Whole hours from when it could be known to its answer.
    pub hours_to_answer: Option<i64>,
    /// When it ended; null while it is open.
    pub ended: Option<String>,
    /// Whether what was news last is answered, too.
    #[serde(skip)]
    pub is_news_answered: bool,
    /// For the order of the list.
    #[serde(skip)]
    pub since_instant: Instant,
}

/// A contact that is no answer.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Called {
    /// When.
    pub at: String,
    /// With whom.
    pub with: String,
    /// How it ended.
    pub outcome: Outcome,
}

/// The signals of `codes`; the open ones, or with `is_all` those that have ended, too.
pub fn report(program: &Program, codes: &[&str], as_of: AsOf, is_all: bool) -> (SignalsReport, Vec<Unusable>) {
    let read: Vec<(Option<Vec<Reported>>, Vec<Unusable>)> =
        codes.par_iter().map(|code| patient_signals(program, code, as_of)).collect();
    let mut unusable = unusable_of(program, false);
    let signals_not_known = signal::not_known(program.policy.as_ref(), program.people.as_ref());
    let mut signals = Vec::new();
    let mut not_known = Vec::new();
    for (code, (read, files)) in codes.iter().zip(read) {
        if read.is_none() || !files.is_empty() || !signals_not_known.is_empty() {
            not_known.push((*code).to_owned());
        }
        signals.extend(read.into_iter().flatten().filter(|signal| is_all || signal.ended.is_none()));
        unusable.extend(files);
    }
    signals.sort_by(|a, b| a.rank().cmp(&b.rank()));
    let settings = program.policy.iter().filter_map(|policy| policy.signals.as_ref()).flat_map(|all| &all.by_name);
    let off = settings.filter_map(|(name, setting)| Some(((*name).to_owned(), setting.off.clone()?))).collect();
    (SignalsReport { signals, off, not_known, signals_not_known }, unusable)
}

fn patient_signals(program: &Program, code: &str, as_of: AsOf) -> (Option<Vec<Reported>>, Vec<Unusable>) {
    let chart = match program.chart(code, &[Window::Signals, Window::State], as_of) {
        Ok(chart) => chart,
        Err(unjudged) => return (None, unjudged.problems.iter().map(Unusable::from).collect()),
    };
    let timeline = chart.timeline();
    let watch = program.policy.as_ref().and_then(|policy| Watch::of(policy, program.people.as_ref(), &timeline));
    let signal = |episode: &Episode| Reported::of(episode, &chart.patient);
    let signals = watch.map(|watch| watch.episodes().iter().map(signal).collect());
    (signals, chart.unread.problems().map(Unusable::from).collect())
}

impl Reported {
    /// An episode as it is reported.
    pub fn of(episode: &Episode, patient: &Patient) -> Reported {
        let shown = |instant: Instant| shown(instant, &patient.calendar);
        Reported {
            patient: patient.code.clone(),
            exit: episode.exit.clone(),
            signal: episode.signal,
            urgency: episode.urgency(),
            since: shown(episode.since),
            known_since: shown(episode.known_since),
            evidence: episode.evidence.clone(),
            better_not_confirmed: episode.better_not_confirmed,
            called: episode.called.as_ref().map(|called| Called {
                at: shown(called.at),
                with: called.with.clone(),
                outcome: called.outcome,
            }),
            answered: episode.answer.as_ref().map(|answer| shown(answer.at)),
            answered_by: episode.answer.as_ref().map(|answer| answer.file.clone()),
            hours_to_answer: episode.hours_to_answer(),
            ended: episode.ended.map(shown),
            is_news_answered: episode.is_news_answered,
            since_instant: episode.since,
        }
    }

    /// Open before ended, today before this week, unanswered before answered, the oldest first.
    fn rank(&self) -> impl Ord + use<'_> {
        (
            self.ended.is_some(),
            self.urgency,
            self.answered.is_some(),
            self.since_instant,
            self.patient.as_bytes(),
            self.exit.as_deref(),
            self.signal.word(),
        )
    }
}

/// An instant as the patient's clock showed it.
fn shown(instant: Instant, calendar: &Calendar) -> String {
    rfc3339(&calendar.on_the_wall(instant, calendar.today(instant)))
}
