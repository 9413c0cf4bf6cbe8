//! The audit of a period: figures with confidence limits, their denominators, and the gaps in the data.
//! An audit is a sum over patients: one function builds each part of the report from all [`Contribution`]s. A patient with an
//! unreadable file contributes only what is certain; the report names what it leaves out.

mod before;
mod changes;
mod charts;
mod concentration;
mod delays;
mod external;
mod first;
mod groups;
mod infections;
mod interventions;
mod issued;
mod keeping;
mod lapses;
mod recurrent;
mod risk;
mod signals;
mod warnings;

pub use before::{Before, EventCounts};
pub use changes::{Changes, Done, Found, PhaseChanges, PhaseShare, ShowersFollowed};
pub use charts::{
    Alarm, Basis, BetweenPoint, ChartKind, Charts, ControlChart, CountPoint, Gaps, OnTimePoint, SumPoint, Widened,
};
pub use concentration::{Concentration, PastDue};
pub use delays::{DelayTimes, Delays, MonthSoFar};
pub use external::{Count, Events, ExternalFigures, ExternalReport, FEWEST, Few, Percent, RELEASE, RateLimits};
pub use first::{Curves, FirstInfection, GroupBy, Incidences, PatientGroup, Shown};
pub use groups::GroupRate;
pub use infections::{ByCertainty, Comparison, Infections, Outside, Rates, Sensitivity, Variant};
pub use interventions::{Intervened, LowerAlarm, NoLowerAlarm, Quiet};
pub use issued::{Issued, Restated, RestatedDays, Restatement};
pub use keeping::{Households, Organism, Pulls, Supplies};
pub use lapses::{Lapse, LapseRatio, Lapses};
pub use recurrent::{BetweenPatients, Recurrent, ShownCount, WithInfections};
pub use risk::{RiskByTime, TimeSinceImplant};
pub use signals::{SignalCount, SignalCounts};
pub use warnings::{Warning, Warnings};

use chrono::{Datelike, NaiveDate};
use schemars::JsonSchema;
use serde::Serialize;

use crate::audit::{AuditSpan, Cohort, Contribution, Quality};
use crate::day::Period;
use crate::policy::{Intervention, Policy};
use crate::problem::Failure;
use crate::rules::Rules;
use crate::word::words;

/// Days per month and per year in the rates.
const MONTH_DAYS: f64 = 30.4375;
const YEAR_DAYS: f64 = 365.25;
/// The minimum number at risk for a curve, if the policy's own value cannot be read.
const CURVE_AT_RISK: u64 = 10;
/// The patient-months below which a figure is marked as small.
const SMALL_MONTHS: f64 = 20.0;

/// The audit of a period.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct AuditReport {
    /// The program's name, from the policy.
    pub program: String,
    /// The period, including both days.
    pub period: Period,
    /// The last day counted; earlier than the period's last day if the period is not over.
    pub counted_through: NaiveDate,
    /// The program's case definition of an infection; null if that part of the policy is invalid.
    pub case_definition: Option<String>,
    /// The commits from which the figures were computed.
    #[serde(flatten)]
    pub provenance: Provenance,
    /// True if the patient-time is too short for the figures to be informative.
    pub small: bool,
    /// Figures that unreadable files may affect.
    pub hidden: Vec<HiddenFile>,
    /// The population and the time at risk.
    pub census: Population,
    /// Infections, and their rates.
    pub infections: Infections,
    /// Infections and device-days by group; empty if no grouping was requested.
    pub groups: Vec<GroupRate>,
    /// The rate compared with that of an earlier period.
    pub comparison: Comparison,
    /// The program's interventions up to the last day, each with the rate since then and in the 12 months before.
    pub interventions: Vec<Intervened>,
    /// The interventions that begin after the last day.
    pub interventions_later: Vec<Intervention>,
    /// Infections by time since implant, and observed ÷ expected by the program's own earlier rates.
    pub risk_by_time: RiskByTime,
    /// The delay from onset to determination, and the likely counts of recent months.
    pub delays: Delays,
    /// Differences from an issued report; null if no report was given.
    pub restatement: Option<Restatement>,
    /// The time to first infection.
    pub first_infection: FirstInfection,
    /// All infections of each patient.
    pub recurrent: Recurrent,
    /// The monthly control charts.
    pub charts: Charts,
    /// Expected changes.
    pub changes: Changes,
    /// Days past due by patient.
    pub concentration: Concentration,
    /// Showers followed by a timely change.
    pub after_shower: ShowersFollowed,
    /// Changes that found the anchor in place.
    pub anchor_in_place: Found,
    /// Changes that found the dressing intact.
    pub dressing_intact: Found,
    /// Signals that rose in the period.
    pub signals: SignalCounts,
    /// Line pulls.
    pub trauma: Pulls,
    /// The organisms.
    pub organisms: Vec<Organism>,
    /// Sign-offs on the last day.
    pub teaching: Households,
    /// Households that had to order supplies on the last day.
    pub supplies: Supplies,
    /// Events before each infection. They do not establish a cause.
    pub before_infection: Vec<Before>,
    /// Lapses before infection, compared with the same patients' other days.
    pub lapses: Lapses,
    /// Signals before infections.
    pub warnings: Warnings,
    /// The quality of the records.
    pub data_quality: Quality,
}

/// The commits from which the figures were computed.
#[derive(Debug, Clone, Default, Serialize, JsonSchema)]
pub struct Provenance {
    /// The commit of the records; null without git.
    pub records_commit: Option<String>,
    /// True if the records folder has uncommitted changes; null without git.
    pub uncommitted_changes: Option<bool>,
    /// The commit that last changed the policy; null without git.
    pub policy_commit: Option<String>,
    /// The date of that commit.
    pub policy_changed_on: Option<NaiveDate>,
}

/// An unreadable file of a patient, and the figures that it may affect.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct HiddenFile {
    /// The patient's code.
    pub patient: String,
    /// The figures that are left out or may be incomplete.
    pub what: Hides,
}

/// The population and the time at risk.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Population {
    /// Patients with at least one day of support in the period.
    pub patients: u64,
    /// Patient-days.
    pub device_days: i64,
    /// Device-months, of 30.4375 days.
    pub patient_months: f64,
    /// Device-years, of 365.25 days.
    pub patient_years: f64,
    /// Device-days away.
    pub days_elsewhere: i64,
}

/// The options of an audit.
#[derive(Debug, Clone, Default)]
pub struct AuditOptions {
    /// The comparison period; by default the 12 months before the 12 months that end with the period.
    pub compare: Option<Period>,
    /// The grouping for the time to first infection.
    pub by: Option<GroupBy>,
    /// A previously issued report.
    pub issued: Option<Issued>,
}

/// Computes the figures of a calendar year that may leave the program.
///
/// # Errors
/// No patient was under support in that year.
pub fn external(
    cohort: &Cohort,
    policy: Option<&Policy>,
    span: &AuditSpan,
    is_complete: bool,
) -> Result<ExternalReport, Failure> {
    let year = span.asked.from.year();
    let name = policy.map(|policy| policy.program.clone()).unwrap_or_default();
    let definition = policy.and_then(|policy| policy.audit.as_ref()).map(|audit| audit.case_definition.clone());
    let figures = ExternalFigures::of(&cohort.all, span, (name, year), definition, is_complete);
    if figures.patients == Count::Exact(0) {
        return Err(Failure::new(format!("no patient was on support in {year}. Choose another year")));
    }
    Ok(ExternalReport::of(figures))
}

/// The parts of an audit that answer a committee's questions, apart from the figures of the period.
#[derive(Debug, Clone)]
pub struct CommitteeQuestions {
    interventions: Vec<Intervened>,
    risk_by_time: RiskByTime,
    delays: Delays,
    recurrent: Recurrent,
    concentration: Concentration,
    lapses: Lapses,
    warnings: Warnings,
}

impl CommitteeQuestions {
    /// Answers the questions for a span of days. Public so that their cost can be measured apart.
    pub fn of(cohort: &Cohort, rules: Rules, span: &AuditSpan, compared: Period) -> CommitteeQuestions {
        let all = &cohort.all;
        let audit = rules.policy.and_then(|policy| policy.audit.as_ref());
        let interventions = audit.map_or(&[][..], |audit| &audit.interventions);
        CommitteeQuestions {
            interventions: Intervened::all(all, interventions, span.period.to),
            risk_by_time: RiskByTime::of(all, compared),
            delays: Delays::of(all, span),
            recurrent: Recurrent::of(all, span.period, curve_at_risk(rules)),
            concentration: Concentration::of(all, span.period),
            lapses: Lapses::of(all, span),
            warnings: Warnings::of(all, rules, span),
        }
    }
}

/// The minimum number at risk for a curve.
fn curve_at_risk(rules: Rules) -> u64 {
    let audit = rules.policy.and_then(|policy| policy.audit.as_ref());
    audit.map_or(CURVE_AT_RISK, |audit| audit.curve_at_risk.unsigned_abs())
}

/// Builds the audit of a span of days.
pub fn report(
    cohort: &Cohort,
    rules: Rules,
    provenance: Provenance,
    span: &AuditSpan,
    question: &AuditOptions,
) -> AuditReport {
    let all = &cohort.all;
    let phases: Vec<&str> =
        rules.plan().iter().flat_map(|plan| &plan.phases).map(|phase| phase.name.as_str()).collect();
    let audit = rules.policy.and_then(|policy| policy.audit.as_ref());
    let case_definition = audit.map(|audit| audit.case_definition.clone());
    let census = Population::of(all, span.period);
    let interventions = audit.map_or(&[][..], |audit| &audit.interventions);
    let comparison = Comparison::of(all, span.period, question.compare);
    let compared = Period { from: comparison.from, to: comparison.to };
    let CommitteeQuestions {
        interventions: intervened,
        risk_by_time,
        delays,
        recurrent,
        concentration,
        lapses,
        warnings,
    } = CommitteeQuestions::of(cohort, rules, span, compared);
    AuditReport {
        program: rules.policy.map(|policy| policy.program.clone()).unwrap_or_default(),
        period: span.asked,
        counted_through: span.period.to,
        provenance,
        small: census.patient_months < SMALL_MONTHS,
        hidden: hidden(cohort),
        infections: Infections::of(all, span.period),
        groups: GroupRate::all(all, span.period, question.by),
        interventions: intervened,
        interventions_later: Intervened::later(interventions, span.period.to),
        risk_by_time,
        comparison,
        delays,
        restatement: question
            .issued
            .as_ref()
            .map(|issued| issued.compare(cohort, span.period.to, case_definition.as_deref())),
        case_definition,
        first_infection: FirstInfection::of(all, span.period.to, question.by, curve_at_risk(rules)),
        recurrent,
        charts: Charts::of(all, span, audit),
        changes: Changes::of(all, span.period, &phases),
        concentration,
        after_shower: ShowersFollowed::of(all, span.period, &phases),
        anchor_in_place: Found::of(all, span.period, &phases, |found| found.anchor),
        dressing_intact: Found::of(all, span.period, &phases, |found| found.dressing),
        signals: SignalCounts::of(all, rules, span.period.to),
        trauma: Pulls::of(all, span.period),
        organisms: keeping::organisms(all, span.period),
        teaching: Households::of(all),
        supplies: Supplies::of(all),
        before_infection: before::all(all, span),
        lapses,
        warnings,
        data_quality: Quality::sum(all.iter().map(|one| one.quality)),
        census,
    }
}

/// Returns the patients with unreadable files, by code.
fn hidden(cohort: &Cohort) -> Vec<HiddenFile> {
    let not_counted = cohort.not_counted.iter().map(|(code, _)| (code, Hides::NotCounted));
    let with_problems = cohort.all.iter().filter(|one| !one.problems.is_empty());
    let counted =
        with_problems.map(|one| (&one.patient, if one.care.is_some() { Hides::Later } else { Hides::LeftOut }));
    let hidden = not_counted.chain(counted).map(|(patient, what)| HiddenFile { patient: patient.clone(), what });
    let mut hidden: Vec<HiddenFile> = hidden.collect();
    hidden.sort_by(|a, b| a.patient.cmp(&b.patient));
    hidden
}

words! {
    /// The part of a patient's figures that an unreadable file may affect.
    pub enum Hides {
        /// All figures: patient.toml cannot be read.
        NotCounted = "not counted at all: neither device-days nor infections",
        /// The figures of a file that may belong to the period.
        LeftOut = "left out of changes, showers, what was found, signals and what came before infections; an infection or a pull in a file that cannot be used is not counted",
        /// The figures of a file dated after the period.
        Later = "counted, since the file is named for a later day; an infection with its onset in the period, or an answer to a signal, may be hidden in it",
    }
}

impl Population {
    fn of(all: &[Contribution], period: Period) -> Population {
        let days = device_days(all, period);
        Population {
            patients: all.iter().filter(|one| one.stay.days(period) > 0).count() as u64,
            device_days: days,
            patient_months: days as f64 / MONTH_DAYS,
            patient_years: days as f64 / YEAR_DAYS,
            days_elsewhere: all.iter().map(|one| one.stay.days_elsewhere(period)).sum(),
        }
    }
}

/// Sums the device-days of a period.
fn device_days<'a>(all: impl IntoIterator<Item = &'a Contribution>, period: Period) -> i64 {
    all.into_iter().map(|one| one.stay.days(period)).sum()
}

/// Returns the infections that count as events of a period, patient by patient.
fn events(all: &[Contribution], period: Period) -> impl Iterator<Item = (&Contribution, &crate::audit::Determination)> {
    all.iter().flat_map(move |one| {
        one.infections
            .iter()
            .filter(move |infection| {
                infection.is_event() && period.contains(infection.onset) && one.stay.holds(infection.onset)
            })
            .map(move |infection| (one, infection))
    })
}
