//! The score of each exit site: item by item, band, trend.

use schemars::JsonSchema;
use serde::Serialize;

use crate::chart::{Chart, Looks};
use crate::event::Kind;
use crate::patient::ExitSite;
use crate::policy::Scoring;
use crate::rules::Rules;
use crate::score::{Graded, ScoredSite, grade};
use crate::signal::{Episode, SignalInputs, Urgency, not_known};
use crate::timeline::Timeline;

/// The grade report.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct GradeReport {
    /// One row per exit site on file.
    pub rows: Vec<GradeRow>,
}

/// One exit site's row.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct GradeRow {
    /// The patient's code.
    pub patient: String,
    /// The exit site's id; null if the patient's records cannot be read.
    pub exit: Option<String>,
    /// The requested site records, in order.
    pub assessments: Vec<ScoredSite>,
    /// Unreadable files that may be later than the latest site record.
    pub later_unusable: Vec<String>,
    /// Open signals of the exit site, and the patient's signals of today, most urgent first; null if not known.
    pub signals: Option<Vec<Episode>>,
}

/// Returns a patient's rows, one per exit site. Requires the windows `Sites` and `Signals`.
pub fn rows(scoring: &Scoring, chart: &Chart, wanted: Looks) -> Vec<GradeRow> {
    let timeline = chart.timeline();
    let watch = SignalInputs::of(chart.rules, &timeline);
    let mut open: Option<Vec<Episode>> = watch.map(|watch| watch.episodes());
    open.iter_mut().for_each(|open| {
        open.retain(Episode::is_open);
        open.sort_by_key(|signal| (signal.urgency, signal.news_answered, signal.signal));
    });
    let is_complete = chart.unread.is_empty() && not_known(chart.rules).is_empty();
    let row = |exit: &ExitSite| {
        let (assessments, later_unusable) = exit_site(scoring, chart, exit, wanted);
        let is_own = |signal: &&Episode| match &signal.exit {
            Some(id) => *id == exit.id,
            None => signal.urgency == Urgency::Today,
        };
        GradeRow {
            patient: chart.patient.code.clone(),
            exit: Some(exit.id.clone()),
            assessments,
            later_unusable,
            signals: open
                .as_ref()
                .map(|open| open.iter().filter(is_own).cloned().collect::<Vec<_>>())
                .filter(|own| is_complete || !own.is_empty()),
        }
    };
    chart.patient.exits.iter().map(row).collect()
}

/// Returns the row of a patient whose records cannot be read.
pub(crate) fn unjudged(code: &str) -> Vec<GradeRow> {
    let (assessments, later_unusable) = (Vec::new(), Vec::new());
    vec![GradeRow { patient: code.to_owned(), exit: None, assessments, later_unusable, signals: None }]
}

/// Returns the requested site records of an exit site, and the unreadable files that may be later than the latest one.
fn exit_site(scoring: &Scoring, chart: &Chart, exit: &ExitSite, wanted: Looks) -> (Vec<ScoredSite>, Vec<String>) {
    let timeline = chart.timeline();
    let graded = graded(chart.rules, scoring, &timeline, exit);
    let latest = graded.last().map(|graded| graded.event);
    let later_unusable = chart.unread.later_than(latest, &[Kind::Change, Kind::Assessment]);
    (assessments(scoring, &timeline, &graded, wanted), later_unusable)
}

/// Scores every site record of an exit site by the program's policy.
pub(crate) fn graded<'t>(
    rules: Rules,
    scoring: &Scoring,
    timeline: &'t Timeline,
    exit: &'t ExitSite,
) -> Vec<Graded<'t>> {
    let signals = rules.policy.and_then(|policy| policy.signals.as_ref());
    let image_counts = signals.is_some_and(|signals| signals.image_counts);
    grade(timeline, exit, scoring, rules.people, image_counts)
}

fn assessments(scoring: &Scoring, timeline: &Timeline, graded: &[Graded], wanted: Looks) -> Vec<ScoredSite> {
    let chosen: Vec<&Graded> = match wanted {
        Looks::Latest => graded.last().into_iter().collect(),
        Looks::Each(period) => graded
            .iter()
            .filter(|graded| period.is_none_or(|period| period.contains(graded.event.when.care_day)))
            .collect(),
    };
    chosen.into_iter().map(|graded| graded.assessment(scoring, &timeline.patient.calendar)).collect()
}
