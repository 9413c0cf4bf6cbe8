//! Shares of what was done: changes on time, days in date, showers followed, what changes found. By phase, too.

use schemars::JsonSchema;
use serde::Serialize;

use crate::audit::{self, Contribution, CountsByPhase, ExitCare};
use crate::day::Period;
use crate::schedule::{ChangeOutcome, DaysInDate, OnTime};
use crate::surveillance::share::{ClusterCount, Share};

/// A patient under this share of days in date is counted apart. Source: rules of the audit, common practice.
const UNDER: f64 = 0.9;
/// The name that stands for a phase while a clinician's order gives the interval.
const ORDER: &str = "order";

/// Expected changes.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Changes {
    /// All phases together.
    #[serde(flatten)]
    pub all: Done,
    /// Patients with such days.
    pub patients: u64,
    /// Patients under 90 % of days with dressing current.
    pub patients_under_90: u64,
    /// The figures by phase.
    pub by_phase: Vec<PhaseChanges>,
}

/// Outcomes of expected changes.
#[derive(Debug, Clone, Copy, Serialize, JsonSchema)]
pub struct Done {
    /// On time, late and missed.
    pub expected: u64,
    /// On its day, or early.
    pub on_time: u64,
    /// After its day, before the next was due.
    pub late: u64,
    /// Not before the next was due.
    pub missed: u64,
    /// Nobody has told yet; in none of the others.
    pub unreported: u64,
    /// Days on whose end nothing regular was past due: the fairer figure, since extra changes make extra successes.
    pub days_in_date: DaysInDate<Share>,
    /// On time of those expected.
    pub share: OnTime<Share>,
}

/// The changes of one phase.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct PhaseChanges {
    /// The phase's name, or `order`.
    pub phase: String,
    /// The figures of this phase.
    #[serde(flatten)]
    pub done: Done,
}

/// A share of one phase.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct PhaseShare {
    /// The phase's name, or `order`.
    pub phase: String,
    /// All of which it is known.
    pub known: u64,
    /// Those that are so.
    pub yes: u64,
    /// Their share.
    pub share: Share,
}

/// Showers, each at each exit site open that day, whose time for a change is over.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct ShowersFollowed {
    /// All of them.
    pub showers: u64,
    /// A change followed in time.
    pub in_time: u64,
    /// None did.
    pub late: u64,
    /// A time is not known, or nobody has told.
    pub time_unknown: u64,
    /// Not among them: showers that a move elsewhere ended while there was time for a change.
    pub ended_by_move: u64,
    /// In time, of those of which it is known.
    pub share: Share,
    /// In time of all, if no change followed any of the unknown in time; null without a shower.
    pub if_none_followed: Option<f64>,
    /// In time of all, if a change followed each of the unknown in time; null as above.
    pub if_all_followed: Option<f64>,
    /// The figures by phase.
    pub by_phase: Vec<PhaseShare>,
}

/// Findings at changes.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Found {
    /// Changes that say it.
    pub known: u64,
    /// The number in order.
    pub yes: u64,
    /// Changes that are silent on it.
    pub unknown: u64,
    /// In order, of those that say it.
    pub share: Share,
    /// The figures by phase.
    pub by_phase: Vec<PhaseShare>,
}

impl Changes {
    pub(super) fn of(all: &[Contribution], period: Period, phases: &[&str]) -> Changes {
        let days: Vec<ClusterCount> = cares(all).map(|care| sum(&care.days_in_date(period), |_| true)).collect();
        let is_under =
            |counted: &&ClusterCount| counted.whole > 0 && (counted.part as f64) < UNDER * counted.whole as f64;
        let of_phase =
            |phase: &str| PhaseChanges { phase: phase.to_owned(), done: Done::of(all, period, |name| name == phase) };
        let is_there = |one: &PhaseChanges| one.done.expected + one.done.unreported + one.done.days_in_date.days > 0;
        Changes {
            all: Done::of(all, period, |_| true),
            patients: days.iter().filter(|counted| counted.whole > 0).count() as u64,
            patients_under_90: days.iter().filter(is_under).count() as u64,
            by_phase: named(phases).map(of_phase).filter(is_there).collect(),
        }
    }
}

impl Done {
    fn of(all: &[Contribution], period: Period, is_in: impl Fn(&str) -> bool) -> Done {
        let total = |outcome| cares(all).map(|care| count(care, period, &is_in, outcome)).sum::<u64>();
        let [on_time, late, missed, unreported] =
            [ChangeOutcome::OnTime, ChangeOutcome::Late, ChangeOutcome::Missed, ChangeOutcome::Unreported].map(total);
        let expected = on_time + late + missed;
        let of_all = |part: u64| (expected + unreported > 0).then(|| part as f64 / (expected + unreported) as f64);
        Done {
            expected,
            on_time,
            late,
            missed,
            unreported,
            days_in_date: days_in_date(cares(all).map(|care| sum(&care.days_in_date(period), &is_in)).collect()),
            share: OnTime {
                share: Share::of(&cares(all).map(|care| timely(care, period, &is_in)).collect::<Vec<_>>()),
                if_all_missed: of_all(on_time),
                if_all_met: of_all(on_time + unreported),
            },
        }
    }
}

/// The expected changes of a patient with an outcome.
fn count(care: &ExitCare, period: Period, is_in: &impl Fn(&str) -> bool, outcome: ChangeOutcome) -> u64 {
    let is_counted = |one: &&audit::Expected| period.contains(one.day) && is_in(&one.phase) && one.outcome == outcome;
    care.expected.iter().filter(is_counted).count() as u64
}

/// The changes of a patient that were on time, of those that were on time, late or missed.
pub(super) fn timely(care: &ExitCare, period: Period, is_in: &impl Fn(&str) -> bool) -> ClusterCount {
    let [part, late, missed] = [ChangeOutcome::OnTime, ChangeOutcome::Late, ChangeOutcome::Missed]
        .map(|outcome| count(care, period, is_in, outcome));
    ClusterCount { part, whole: part + late + missed }
}

/// The days in date of several patients.
fn days_in_date(patients: Vec<ClusterCount>) -> DaysInDate<Share> {
    DaysInDate {
        days: patients.iter().map(|one| one.whole).sum(),
        in_date: patients.iter().map(|one| one.part).sum(),
        share: Share::of(&patients),
    }
}

impl ShowersFollowed {
    pub(super) fn of(all: &[Contribution], period: Period, phases: &[&str]) -> ShowersFollowed {
        let (tallies, unknown): (Vec<CountsByPhase>, Vec<u64>) =
            cares(all).map(|care| care.showers_followed(period)).unzip();
        let whole = PhaseShare::of("", &tallies, |_| true);
        let time_unknown = unknown.iter().sum();
        let showers = whole.known + time_unknown;
        let of_all = |part: u64| (showers > 0).then(|| part as f64 / showers as f64);
        ShowersFollowed {
            showers,
            in_time: whole.yes,
            late: whole.known - whole.yes,
            time_unknown,
            ended_by_move: cares(all).flat_map(|care| &care.ended_by_move).filter(|day| period.contains(**day)).count()
                as u64,
            share: whole.share,
            if_none_followed: of_all(whole.yes),
            if_all_followed: of_all(whole.yes + time_unknown),
            by_phase: by_phase(&tallies, phases),
        }
    }
}

impl Found {
    pub(super) fn of(
        all: &[Contribution],
        period: Period,
        phases: &[&str],
        what: impl Fn(&audit::ChangeFindings) -> Option<bool>,
    ) -> Found {
        let (tallies, unknown): (Vec<CountsByPhase>, Vec<u64>) =
            cares(all).map(|care| care.found(period, &what)).unzip();
        let whole = PhaseShare::of("", &tallies, |_| true);
        Found {
            known: whole.known,
            yes: whole.yes,
            unknown: unknown.iter().sum(),
            share: whole.share,
            by_phase: by_phase(&tallies, phases),
        }
    }
}

impl PhaseShare {
    fn of(phase: &str, tallies: &[CountsByPhase], is_in: impl Fn(&str) -> bool) -> PhaseShare {
        let patients: Vec<ClusterCount> = tallies.iter().map(|tally| sum(tally, &is_in)).collect();
        PhaseShare {
            phase: phase.to_owned(),
            known: patients.iter().map(|one| one.whole).sum(),
            yes: patients.iter().map(|one| one.part).sum(),
            share: Share::of(&patients),
        }
    }
}

fn by_phase(tallies: &[CountsByPhase], phases: &[&str]) -> Vec<PhaseShare> {
    let of_phase = |phase: &str| PhaseShare::of(phase, tallies, |name| name == phase);
    named(phases).map(of_phase).filter(|one| one.known > 0).collect()
}

/// The names of the phases, each once, in the policy's order, and that of an order.
fn named<'a>(phases: &'a [&'a str]) -> impl Iterator<Item = &'a str> {
    let is_first = |(n, name): &(usize, &&str)| !phases[..*n].contains(*name) && **name != ORDER;
    phases.iter().enumerate().filter(is_first).map(|(_, name)| *name).chain([ORDER])
}

/// The known facts of each patient.
pub(super) fn cares(all: &[Contribution]) -> impl Iterator<Item = &ExitCare> {
    all.iter().filter_map(|one| one.care.as_ref())
}

/// The counts of some phases together.
pub(super) fn sum(tally: &CountsByPhase, is_in: impl Fn(&str) -> bool) -> ClusterCount {
    tally.iter().filter(|(phase, _)| is_in(phase)).map(|(_, counted)| *counted).sum()
}
