//! The effects of a policy change: changed values, next changes that move, and past days that count differently.

use chrono::NaiveDate;
use schemars::JsonSchema;
use serde::Serialize;

use super::At;
use super::due::{DueReport, Row as DueRow};
use super::grade::{GradeReport, GradeRow};
use super::missed::{Figures, MissedReport, MissedRow};
use super::signals::SignalsReport;
use crate::day::{Period, WallTime};
use crate::event::{Signal, SiteField};
use crate::policy::PolicyChange;
use crate::schedule::{Because, State};
use crate::score::ScoredSite;
use crate::signal::{Episode, Urgency};
use crate::word::words;

/// The differences between two policies applied to the same records.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct PolicyReport {
    /// The commit of the earlier policy; null if a tree without a commit was given.
    pub since_commit: Option<String>,
    /// The values that differ.
    pub changes: Vec<PolicyChange>,
    /// The number of exit sites whose next change could be computed under both policies.
    pub exit_sites: usize,
    /// The exit sites whose next change moves.
    pub next_changes: Vec<Moved>,
    /// The period over which expected changes are compared.
    pub period: Period,
    /// The exit sites whose past changes in that period count differently.
    pub missed: Vec<Recounted>,
    /// The signals raised, or still open, under only one of the policies; null if signals are not known under either.
    pub signals: Option<Vec<Rejudged>>,
    /// The site records that score differently; null if either policy has no valid rubric.
    pub scores: Option<Vec<Rescored>>,
}

/// A pair of results, under the earlier and the current policy.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Moved {
    /// The patient's code.
    pub patient: String,
    /// The exit site's id.
    pub exit: String,
    /// Under the earlier policy.
    pub was: NextChange,
    /// Under the current policy.
    pub now: NextChange,
}

/// The next change of an exit site.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct NextChange {
    /// `overdue`, `due`, `upcoming`, `awaiting-log` or `none`.
    pub state: State,
    /// The care day on which it falls due.
    pub due_on: Option<NaiveDate>,
    /// The deadline.
    pub deadline: Option<WallTime>,
    /// The reason it is due.
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
    /// Under the current policy.
    pub now: Counts,
}

/// Expected changes by outcome.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Counts {
    /// Sum of on time, late and missed.
    pub expected: i64,
    /// Done on the due day or earlier.
    pub on_time: i64,
    /// Done after the due day, before the next change was due.
    pub late: i64,
    /// Not done before the next change was due.
    pub missed: i64,
}

words! {
    /// The state of a signal under a policy.
    pub enum Raised {
        /// Raised and not ended.
        Open = "open",
        /// Raised and ended.
        Ended = "ended",
        /// Not raised.
        No = "not-raised",
    }
}

/// A signal whose state differs between the policies.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Rejudged {
    /// The patient's code.
    pub patient: String,
    /// The exit site's id; null if the signal concerns the patient as such.
    pub exit: Option<String>,
    /// The signal's name.
    pub signal: Signal,
    /// `today` or `this-week`.
    pub urgency: Urgency,
    /// The time at which it opened.
    pub since: WallTime,
    /// Under the earlier policy.
    pub was: Raised,
    /// Under the current policy.
    pub now: Raised,
}

/// A site record that scores differently.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Rescored {
    /// The patient's code.
    pub patient: String,
    /// The exit site's id.
    pub exit: String,
    /// The time of the record, or its date.
    pub at: At,
    /// The record.
    pub file: String,
    /// Under the earlier policy.
    pub was: Points,
    /// Under the current policy.
    pub now: Points,
}

/// A score.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Points {
    /// The rubric.
    pub rubric: String,
    /// The total; null if an item was not looked at.
    pub total: Option<i64>,
    /// The lowest possible total.
    pub total_min: i64,
    /// The highest possible total.
    pub total_max: i64,
    /// The band.
    pub band: String,
    /// Fields with a finding that the rubric does not score.
    pub unscored: Vec<SiteField>,
}

/// Returns the number of exit sites known under both policies, and those whose next change moves.
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

/// Returns the exit sites whose past changes count differently.
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

/// Returns the signals whose state differs; `None` if not all are known under both policies.
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

/// Returns the site records that score differently.
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

/// Pairs the rows of both results by key, in the order of the second.
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
            unscored: assessment.score.unscored.clone(),
        }
    }
}
