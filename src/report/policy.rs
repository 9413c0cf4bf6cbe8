//! The effects of a policy that changed: values, next changes that move, and days of the past that are judged differently.

use chrono::NaiveDate;
use schemars::JsonSchema;
use serde::Serialize;

use super::At;
use super::due::{DueReport, Row as DueRow};
use super::grade::{GradeReport, Row as GradeRow};
use super::missed::{Figures, MissedReport, Row as MissedRow};
use super::signals::SignalsReport;
use crate::day::{Period, WallTime};
use crate::event::Signal;
use crate::policy::PolicyChange;
use crate::schedule::{Because, State};
use crate::score::ScoredSite;
use crate::signal::{Episode, Urgency};
use crate::word::words;

/// The differences between two policies over the same records.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct PolicyReport {
    /// The commit of the earlier policy; null if a tree without a commit was named.
    pub since_commit: Option<String>,
    /// The values that differ.
    pub changes: Vec<PolicyChange>,
    /// The exit sites whose next change could be judged under both policies.
    pub exit_sites: usize,
    /// The exit sites whose next change moves.
    pub next_changes: Vec<Moved>,
    /// The period over which expected changes are compared.
    pub period: Period,
    /// The exit sites of which past changes are counted differently in that period.
    pub missed: Vec<Recounted>,
    /// The signals that only one of the policies raises, or that are open under only one; null if either cannot tell.
    pub signals: Option<Vec<Rejudged>>,
    /// The site records that score differently; null if either policy has no rubric that can be used.
    pub scores: Option<Vec<Rescored>>,
}

/// A pair of answers, under the earlier policy and under the present one.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Moved {
    /// The patient's code.
    pub patient: String,
    /// The exit site's id.
    pub exit: String,
    /// Under the earlier policy.
    pub was: NextChange,
    /// Under the present one.
    pub now: NextChange,
}

/// The next change of an exit site.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct NextChange {
    /// overdue, due, upcoming, awaiting-log, none.
    pub state: State,
    /// The care day in which it falls due.
    pub due_on: Option<NaiveDate>,
    /// Its deadline.
    pub deadline: Option<WallTime>,
    /// Why it is due.
    pub because: Option<Because>,
    /// The day on which the household's log is expected.
    pub log_expected: Option<NaiveDate>,
}

/// The expected changes of an exit site, counted under both policies.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Recounted {
    /// The patient's code.
    pub patient: String,
    /// The exit site's id.
    pub exit: String,
    /// Under the earlier policy.
    pub was: Counts,
    /// Under the present one.
    pub now: Counts,
}

/// Expected changes by what became of them.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Counts {
    /// On time, late and missed.
    pub expected: i64,
    /// On its day, or early.
    pub on_time: i64,
    /// After its day, before the next was due.
    pub late: i64,
    /// Not before the next was due.
    pub missed: i64,
}

words! {
    /// How a policy judges a signal.
    pub enum Raised {
        /// It is raised and has not ended.
        Open = "open",
        /// It is raised and has ended.
        Ended = "ended",
        /// It is not raised.
        No = "not-raised",
    }
}

/// A signal that the policies judge differently.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Rejudged {
    /// The patient's code.
    pub patient: String,
    /// The exit site's id; null where it concerns the patient.
    pub exit: Option<String>,
    /// Its name.
    pub signal: Signal,
    /// today or this-week.
    pub urgency: Urgency,
    /// The time of its rise.
    pub since: WallTime,
    /// Under the earlier policy.
    pub was: Raised,
    /// Under the present one.
    pub now: Raised,
}

/// A site record that scores differently.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Rescored {
    /// The patient's code.
    pub patient: String,
    /// The exit site's id.
    pub exit: String,
    /// The time of the record, or its day.
    pub at: At,
    /// The record.
    pub file: String,
    /// Under the earlier policy.
    pub was: Points,
    /// Under the present one.
    pub now: Points,
}

/// A score.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Points {
    /// The rubric.
    pub rubric: String,
    /// The total; null where an item was not looked at.
    pub total: Option<i64>,
    /// The least that it can be.
    pub total_min: i64,
    /// The most that it can be.
    pub total_max: i64,
    /// The band.
    pub band: String,
}

/// The exit sites judged under both policies, and those whose next change moves.
pub fn next_changes(was: &DueReport, now: &DueReport) -> (usize, Vec<Moved>) {
    let key = |row: &DueRow| row.site().map(|site| (site.patient.clone(), site.exit.clone()));
    let pairs = pairs(&was.rows, &now.rows, key);
    let moved = |(was, now): &(&DueRow, &DueRow)| {
        let (was, now) = (was.site()?, now.site()?);
        let moved = Moved {
            patient: now.patient.clone(),
            exit: now.exit.clone(),
            was: NextChange::of(&was.due),
            now: NextChange::of(&now.due),
        };
        (moved.was != moved.now).then_some(moved)
    };
    (pairs.len(), pairs.iter().filter_map(moved).collect())
}

/// The exit sites of which past changes are counted differently.
pub fn missed(was: &MissedReport, now: &MissedReport) -> Vec<Recounted> {
    let key = |row: &MissedRow| Some((row.patient.clone(), row.exit.clone()?));
    let recounted = |(was, now): (&MissedRow, &MissedRow)| {
        let recounted = Recounted {
            patient: now.patient.clone(),
            exit: now.exit.clone()?,
            was: Counts::of(was.figures.answer()?),
            now: Counts::of(now.figures.answer()?),
        };
        (recounted.was != recounted.now).then_some(recounted)
    };
    pairs(&was.rows, &now.rows, key).into_iter().filter_map(recounted).collect()
}

/// The signals that are judged differently; `None` if either policy cannot tell of all.
pub fn signals(was: &SignalsReport, now: &SignalsReport) -> Option<Vec<Rejudged>> {
    if !was.signals_not_known.is_empty() || !now.signals_not_known.is_empty() {
        return None;
    }
    let is_same = |one: &Episode, other: &Episode| {
        (&one.patient, &one.exit, one.signal, one.since) == (&other.patient, &other.exit, other.signal, other.since)
    };
    let find = |episodes: &[Episode], one: &Episode| episodes.iter().find(|other| is_same(one, other)).map(Raised::of);
    let gone = was.signals.iter().filter(|one| find(&now.signals, one).is_none());
    let rejudged = now.signals.iter().chain(gone).map(|one| Rejudged {
        patient: one.patient.clone(),
        exit: one.exit.clone(),
        signal: one.signal,
        urgency: one.urgency,
        since: one.since,
        was: find(&was.signals, one).unwrap_or(Raised::No),
        now: find(&now.signals, one).unwrap_or(Raised::No),
    });
    Some(rejudged.filter(|one| one.was != one.now).collect())
}

/// The site records that score differently.
pub fn scores(was: &GradeReport, now: &GradeReport) -> Vec<Rescored> {
    let key = |row: &GradeRow| Some((row.patient.clone(), row.exit.clone()?));
    let mut found = Vec::new();
    for (was, now) in pairs(&was.rows, &now.rows, key) {
        for (was, now_scored) in pairs(&was.assessments, &now.assessments, |one: &ScoredSite| Some(one.file.clone())) {
            let rescored = Rescored {
                patient: now.patient.clone(),
                exit: now.exit.clone().unwrap_or_default(),
                at: now_scored.at,
                file: now_scored.file.clone(),
                was: Points::of(was),
                now: Points::of(now_scored),
            };
            let points = |points: &Points| (points.total_min, points.total_max, points.band.clone());
            found.extend(Some(rescored).filter(|one| points(&one.was) != points(&one.now)));
        }
    }
    found
}

/// The rows of both answers that have the same key, in the order of the second.
fn pairs<'r, R, K: PartialEq>(was: &'r [R], now: &'r [R], key: impl Fn(&R) -> Option<K>) -> Vec<(&'r R, &'r R)> {
    let earlier: Vec<(Option<K>, &R)> = was.iter().map(|row| (key(row), row)).collect();
    let pair = |row: &'r R| {
        let own = Some(key(row)?);
        earlier.iter().find(|(key, _)| *key == own).map(|(_, was)| (*was, row))
    };
    now.iter().filter_map(pair).collect()
}

impl NextChange {
    fn of(due: &crate::schedule::Due) -> NextChange {
        NextChange {
            state: due.state,
            due_on: due.due_on,
            deadline: due.deadline,
            because: due.because,
            log_expected: due.log_expected,
        }
    }
}

impl Counts {
    fn of(figures: &Figures) -> Counts {
        let Figures { expected, on_time, late, missed, .. } = *figures;
        Counts { expected, on_time, late, missed }
    }
}

impl Raised {
    fn of(episode: &Episode) -> Raised {
        if episode.is_open() { Raised::Open } else { Raised::Ended }
    }
}

impl Points {
    fn of(assessment: &ScoredSite) -> Points {
        Points {
            rubric: assessment.rubric.clone(),
            total: assessment.total,
            total_min: assessment.score.total_min,
            total_max: assessment.score.total_max,
            band: assessment.score.band.clone(),
        }
    }
}
