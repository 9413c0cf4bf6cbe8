//! The audit of a period: figures with their limits, over what they are counted, and what is not known.
//!
//! An audit is a sum over patients: [`Contribution`]s are read side by side, and each part of the report is made of all
//! of them by one function. A patient with a file that cannot be used adds what is certain; what is left out is named.

mod before;
mod changes;
mod charts;
mod external;
mod first;
mod infections;
mod issued;
mod keeping;
mod section;
mod signals;

pub use before::{Before, Counts};
pub use changes::{Changes, Done, Found, PhaseChanges, PhaseShare, ShowersFollowed};
pub use charts::{
    Alarm, BetweenChart, BetweenPoint, Charts, CountChart, CountPoint, OnTimeChart, OnTimePoint, SumPoint,
};
pub use external::{Count, Events, ExternalFigures, ExternalReport, FEWEST, Few, Limits, Percent, RELEASE};
pub use first::{Curves, FirstInfection, Group, GroupBy, Incidences};
pub use infections::{ByCertainty, Comparison, Infections, Outside, Rates};
pub use issued::{Issued, Restated, RestatedDays, Restatement};
pub use keeping::{Households, Organism, Supplies, Trauma};
pub use section::{Picture, Section, Sheet, heading, sections};
pub use signals::{SignalCount, SignalCounts};

use chrono::NaiveDate;
use rayon::prelude::*;
use schemars::JsonSchema;
use serde::Serialize;

use super::Unusable;
use crate::audit::{Contribution, Quality, Span};
use crate::day::{AsOf, Period};
use crate::policy::Plan;
use crate::problem::Failure;
use crate::program::Program;

/// Days in a month and in a year, as rates count them.
const MONTH_DAYS: f64 = 30.4375;
const YEAR_DAYS: f64 = 365.25;
/// A figure over fewer patient-months says that it is small.
const SMALL_MONTHS: f64 = 20.0;

/// The audit of a period.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct AuditReport {
    /// The program's name, as its policy has it.
    pub program: String,
    /// The period, both days included.
    pub period: Days,
    /// The last day that is counted; before the period's last where it is not over.
    pub counted_through: NaiveDate,
    /// Whose definition of an infection the program uses; null where that part of the policy cannot be used.
    pub case_definition: Option<String>,
    /// The commit of the records; null without git.
    pub records_commit: Option<String>,
    /// Whether the records folder has changes that are in no commit; null without git.
    pub uncommitted_changes: Option<bool>,
    /// The commit at which the policy last changed; null without git.
    pub policy_commit: Option<String>,
    /// The day of that commit.
    pub policy_changed_on: Option<NaiveDate>,
    /// Whether the figures are over so little time that they say little.
    pub small: bool,
    /// What the files that cannot be used may hide.
    pub hidden: Vec<Hidden>,
    /// Over whom and how long is counted.
    pub census: Census,
    /// Infections, and their rates.
    pub infections: Infections,
    /// The rate beside that of a time before.
    pub comparison: Comparison,
    /// What has changed since a report was issued; null if none was given.
    pub restatement: Option<Restatement>,
    /// The time to a first infection.
    pub first_infection: FirstInfection,
    /// From month to month.
    pub charts: Charts,
    /// Expected changes.
    pub changes: Changes,
    /// Showers followed by a change in time.
    pub after_shower: ShowersFollowed,
    /// Changes that found the anchor in place.
    pub anchor_in_place: Found,
    /// Changes that found the dressing intact.
    pub dressing_intact: Found,
    /// Signals that rose in the period.
    pub signals: SignalCounts,
    /// Pulls.
    pub trauma: Trauma,
    /// What grew.
    pub organisms: Vec<Organism>,
    /// Who is signed off on the last day.
    pub teaching: Households,
    /// Who was to order on the last day.
    pub supplies: Supplies,
    /// What came before each infection. Not a cause.
    pub before_infection: Vec<Before>,
    /// How well the records are kept.
    pub data_quality: Quality,
}

/// Two days, both included.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Days {
    /// The first.
    pub from: NaiveDate,
    /// The last.
    pub to: NaiveDate,
}

/// A file that cannot be used, and what that may hide.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Hidden {
    /// The patient's code.
    pub patient: String,
    /// What is left out, and what may be missing.
    pub what: String,
}

/// Over whom and how long is counted.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Census {
    /// Patients with a day under support in the period.
    pub patients: u64,
    /// Patient-days.
    pub device_days: i64,
    /// The same in months of 30.4375 days.
    pub patient_months: f64,
    /// The same in years of 365.25 days.
    pub patient_years: f64,
    /// Of the device-days those elsewhere.
    pub days_elsewhere: i64,
}

/// What an audit is asked.
#[derive(Debug, Clone, Default)]
pub struct Question {
    /// The time to compare with; by default the 12 months before the 12 to the period's end.
    pub compare: Option<Period>,
    /// By what the time to a first infection is compared.
    pub by: Option<GroupBy>,
    /// A report that was issued before.
    pub issued: Option<Issued>,
}

/// What every patient adds, what is hidden, and the files that cannot be used.
struct Read {
    all: Vec<Contribution>,
    hidden: Vec<Hidden>,
    unusable: Vec<Unusable>,
}

fn unusable_of(program: &Program) -> Vec<Unusable> {
    let problems = program.problems.iter().filter(|problem| problem.makes_unusable());
    problems.chain(program.patients.strays.iter().map(|(_, problem)| problem)).map(Unusable::from).collect()
}

fn read(program: &Program, as_of: AsOf, span: &Span) -> Read {
    let read: Vec<Result<Contribution, _>> =
        program.patients.codes.par_iter().map(|code| Contribution::read(program, code, as_of, span)).collect();
    let (mut all, mut hidden, mut unusable) = (Vec::new(), Vec::new(), unusable_of(program));
    for (code, read) in program.patients.codes.iter().zip(read) {
        match read {
            Err(problems) => {
                hidden.push(Hidden { patient: code.clone(), what: NOT_COUNTED.to_owned() });
                unusable.extend(problems.iter().map(Unusable::from));
            }
            Ok(contribution) => {
                if !contribution.problems.is_empty() {
                    let what = if contribution.care.is_some() { LATER } else { LEFT_OUT };
                    hidden.push(Hidden { patient: code.clone(), what: what.to_owned() });
                }
                unusable.extend(contribution.problems.iter().map(Unusable::from));
                all.push(contribution);
            }
        }
    }
    Read { all, hidden, unusable }
}

/// The figures of a calendar year that may leave the program, and the files that cannot be read.
///
/// # Errors
/// No patient was under support in it.
pub fn external(
    program: &Program,
    as_of: AsOf,
    span: &Span,
    year: i32,
) -> Result<(ExternalReport, Vec<Unusable>), Failure> {
    let Read { all, unusable, .. } = read(program, as_of, span);
    let policy = program.policy.as_ref();
    let name = policy.map(|policy| policy.program.clone()).unwrap_or_default();
    let definition = policy.and_then(|policy| policy.audit.as_ref()).map(|audit| audit.case_definition.clone());
    let figures = ExternalFigures::of(&all, span, (name, year), definition, unusable.is_empty());
    if figures.patients == Count::Exact(0) {
        return Err(Failure::new(format!("no patient was under support in {year}; name another year")));
    }
    Ok((ExternalReport::of(figures), unusable))
}

/// The audit of a span of days.
pub fn report(
    program: &Program,
    plan: &Plan,
    as_of: AsOf,
    span: &Span,
    question: &Question,
) -> (AuditReport, Vec<Unusable>) {
    let Read { all, hidden, unusable } = read(program, as_of, span);
    let phases = plan.phases.iter().map(|phase| phase.name.as_str()).collect::<Vec<_>>();
    let audit = program.policy.as_ref().and_then(|policy| policy.audit.as_ref());
    let census = Census::of(&all, span.period);
    let kept = program.folder.kept();
    let charts = Charts::of(&all, span, audit);
    let body = AuditReport {
        program: program.policy.as_ref().map(|policy| policy.program.clone()).unwrap_or_default(),
        period: Days { from: span.asked.from, to: span.asked.to },
        counted_through: span.period.to,
        case_definition: audit.map(|audit| audit.case_definition.clone()),
        records_commit: kept.commit,
        uncommitted_changes: kept.has_changes,
        policy_commit: kept.policy.as_ref().map(|(commit, _)| commit.clone()),
        policy_changed_on: kept.policy.map(|(_, day)| day),
        small: census.patient_months < SMALL_MONTHS,
        hidden,
        infections: Infections::of(&all, span.period),
        comparison: Comparison::of(&all, span.period, question.compare),
        restatement: question.issued.as_ref().map(|issued| {
            let case_definition = audit.map(|audit| audit.case_definition.as_str());
            issued.compare(program, &all, span.period.to, case_definition)
        }),
        first_infection: FirstInfection::of(&all, span.period.to, question.by),
        charts,
        changes: Changes::of(&all, span.period, &phases),
        after_shower: ShowersFollowed::of(&all, span.period, &phases),
        anchor_in_place: Found::of(&all, span.period, &phases, |found| found.anchor),
        dressing_intact: Found::of(&all, span.period, &phases, |found| found.dressing),
        signals: SignalCounts::of(&all, program.rules()),
        trauma: Trauma::of(&all, span.period),
        organisms: keeping::organisms(&all, span.period),
        teaching: Households::of(&all),
        supplies: Supplies::of(&all),
        before_infection: before::all(&all, span),
        data_quality: Quality::sum(all.iter().map(|one| one.quality)),
        census,
    };
    (body, unusable)
}

/// What is hidden where patient.toml cannot be used.
const NOT_COUNTED: &str = "not counted at all: neither device-days nor infections";
/// What is hidden where another file cannot be used.
const LEFT_OUT: &str = "left out of changes, showers, what was found, signals and what came before infections; an infection or a pull in a file that cannot be used is not counted";

/// What is hidden where a file of a later day cannot be used.
const LATER: &str = "counted, since the file is named for a later day; an infection with its onset in the period, or an answer to a signal, may be hidden in it";

impl Census {
    fn of(all: &[Contribution], period: Period) -> Census {
        let days = device_days(all, period);
        Census {
            patients: all.iter().filter(|one| one.stay.days(period) > 0).count() as u64,
            device_days: days,
            patient_months: days as f64 / MONTH_DAYS,
            patient_years: days as f64 / YEAR_DAYS,
            days_elsewhere: all.iter().map(|one| one.stay.days_elsewhere(period)).sum(),
        }
    }
}

/// The device-days of a period.
fn device_days<'a>(all: impl IntoIterator<Item = &'a Contribution>, period: Period) -> i64 {
    all.into_iter().map(|one| one.stay.days(period)).sum()
}

/// The infections that are events of a period, patient by patient.
fn events(all: &[Contribution], period: Period) -> impl Iterator<Item = (&Contribution, &crate::audit::Infection)> {
    all.iter().flat_map(move |one| {
        one.infections
            .iter()
            .filter(move |infection| {
                infection.is_event() && period.contains(infection.onset) && one.stay.holds(infection.onset)
            })
            .map(move |infection| (one, infection))
    })
}
