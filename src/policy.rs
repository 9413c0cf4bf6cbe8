//! The program's policy: intervals, windows, rubric, curricula — the only place for clinical numbers.
//!
//! Every value has a default, and all defaults stand in `records-template/policy.toml`, which is read here as any other
//! policy is. A part that is there but broken is None: what it feeds is then unknown, and never computed from a default.
//!
//! ```toml
//! schema = 1
//! program = "…"
//! time_zone = "America/Chicago"
//! ```

mod interval;
mod phase;
mod plan;
mod role;
mod rubric;
mod setting;
mod threshold;
mod teaching;

use std::sync::LazyLock;

use chrono_tz::Tz;

pub use interval::{Interval, Weekday};
pub use phase::{CarePlace, Phase};
pub use plan::{Orders, Plan, Returns, Windows};
pub use role::Role;
pub use rubric::{Always, Band, Cutoff, Item, Rubric, Scale, Step as RubricStep, UNDETERMINED};
pub use setting::{Addresses, Alerts, Audit, SignalSetting, Signals};
pub use teaching::{Curriculum, CurriculumRole, Step, SupplyItem, Teaching};
pub use threshold::Threshold;

use crate::place::{Source, Span};
use crate::problem::{Failure, Level, Problem, Rule, Severities, makes_unusable};
use crate::record::{self, Field, Table};
use crate::text;
use crate::word::{Word, words};

/// The file that marks a records folder.
pub const FILE: &str = "policy.toml";

/// The newest form of the records that this version knows.
const SCHEMA: i64 = 1;

/// A program's policy. Each part is None where the file says something about it that cannot be used.
#[derive(Debug, Clone, PartialEq)]
pub struct Policy {
    /// The name of the program.
    pub program: String,
    /// What the state of a patient needs.
    pub plan: Option<Plan>,
    /// Where the start of the care day stands in the file; its first line where the default holds.
    pub care_day_starts: Span,
    /// The limits of a clinician's order.
    pub orders: Option<Orders>,
    /// How a site is scored.
    pub scoring: Option<Scoring>,
    /// What raises a signal.
    pub signals: Option<Signals>,
    /// When somebody is signed off.
    pub teaching: Option<Teaching>,
    /// What is taught, in all its versions.
    pub curricula: Option<Vec<Curriculum>>,
    /// What a household needs.
    pub supplies: Option<Vec<SupplyItem>>,
    /// How infections are counted.
    pub audit: Option<Audit>,
    /// Who is told.
    pub alerts: Option<Alerts>,
    /// The addresses that can be read, also where another part of the file cannot be used.
    pub addresses: Addresses,
    /// Whom to call about a signal of today, as a sentence; None where it cannot be used.
    pub review_call: Option<String>,
    /// Whether each record that a command writes is committed to git at once.
    pub commits: bool,
    /// Rules turned down.
    pub severities: Severities,
}

/// How a site is scored.
#[derive(Debug, Clone, PartialEq)]
pub struct Scoring {
    /// The rubric.
    pub rubric: Rubric,
    /// A trend compares with a record at most this many days older.
    pub trend_days: i64,
}

/// The defaults, as `init` lays them out.
static DEFAULTS: LazyLock<Option<Policy>> = LazyLock::new(|| {
    let text = include_str!("../records-template/policy.toml").to_owned();
    let source = Source { file: FILE.to_owned(), text };
    record::read(&source, &mut Vec::new(), |table| Some(Policy::read_table(table, None)))
});

impl Policy {
    /// Reads a policy. None if the file is no TOML.
    ///
    /// # Errors
    /// A policy that is written for a newer version stops the run.
    pub fn read(source: &Source, problems: &mut Vec<Problem>) -> Result<Option<Policy>, Failure> {
        let mut newer = None;
        let policy = record::read(source, problems, |table| {
            newer = table.whole("schema", (1, i64::MAX), "").filter(|schema| *schema > SCHEMA);
            table.forget_fields();
            Some(Policy::read_table(table, DEFAULTS.as_ref()))
        });
        match newer {
            Some(schema) => Err(Failure::new(format!(
                "{FILE} has schema = {schema}: it was written for a newer exitsite; install that one"
            ))),
            None => Ok(policy),
        }
    }

    /// The keys of a policy.
    pub fn fields() -> Vec<Field> {
        record::describe(|table| Policy::read_table(table, None))
    }

    fn read_table(table: &mut Table, defaults: Option<&Policy>) -> Policy {
        let mut program = String::new();
        // A misspelled [[phase]] must not leave the default phases in force, so an unknown key at the top breaks the plan.
        let mut plan = part(table, |table| {
            table.needed().whole_or_else(Rule::UnknownSchema, "schema", (1, SCHEMA), "the form of the records, 1");
            program = table.needed().text("program", "the name of the program").unwrap_or_default();
            Plan::read(table, defaults.and_then(|policy| policy.plan.as_ref()))
        });
        let orders = part(table, |table| Orders::read(table, defaults.and_then(|policy| policy.orders)));
        let scoring = part(table, |table| Scoring::read(table, defaults.and_then(|policy| policy.scoring.as_ref())));
        let signals = part(table, |table| {
            let signals = Signals::read(table, defaults.and_then(|policy| policy.signals.as_ref()))?;
            signals.compare_with(plan.as_ref(), table);
            Some(signals)
        });
        let teaching = part(table, |table| Teaching::read(table, defaults.and_then(|policy| policy.teaching.as_ref())));
        let curricula =
            part(table, |table| Curriculum::read_all(table).or(defaults.and_then(|policy| policy.curricula.clone())));
        let supplies =
            part(table, |table| SupplyItem::read_all(table).or(defaults.and_then(|policy| policy.supplies.clone())));
        let audit = part(table, |table| Audit::read(table, defaults.and_then(|policy| policy.audit.as_ref())));
        let mut addresses = Addresses::default();
        let alerts = part(table, |table| {
            Alerts::read(table, defaults.and_then(|policy| policy.alerts.as_ref()), &mut addresses)
        });
        let review_call = part(table, |table| {
            let call = table.table("review", "the answer to a record that needs review today", setting::read_call);
            call.unwrap_or(defaults.and_then(|policy| policy.review_call.clone()))
        });
        let commits = part(table, |table| {
            table.table("record", "what the writing commands do", |table| {
                table.flag("commit", "whether each record is committed to git at once")
            })
        });
        let severities = part(table, |table| Some(read_severities(table))).unwrap_or_default();
        let care_day_starts = table.span("care_day_starts");
        let known = table.problems().len();
        table.report_unknown_keys();
        if table.problems().len() > known {
            plan = None;
        }
        Policy {
            program,
            plan,
            care_day_starts,
            orders,
            scoring,
            signals,
            teaching,
            curricula,
            supplies,
            audit,
            alerts,
            addresses,
            review_call,
            commits: commits.flatten().unwrap_or(false),
            severities,
        }
    }
}

impl Scoring {
    fn read(table: &mut Table, default: Option<&Scoring>) -> Option<Scoring> {
        let own = Rubric::read_all(table);
        let (name, trend_days) = table
            .table("score", "how a site is scored", |table| {
                let name = table.text("rubric", "the rubric: exit-site, or one of this file's own");
                if let Some(name) = &name
                    && name != rubric::BUILT_IN
                    && own.iter().all(|rubric| rubric.name != *name)
                {
                    let known =
                        own.iter().map(|rubric| rubric.name.as_str()).chain([rubric::BUILT_IN]).collect::<Vec<_>>();
                    let help = format!("it is {}", text::either(&known));
                    table.add(Rule::Rubric, "rubric", format!("there is no rubric \"{}\"", text::visible(name)), help);
                }
                (
                    name,
                    table.whole("trend_days", (1, 3650), "a trend compares with a record at most this many days older"),
                )
            })
            .unwrap_or_default();
        let rubric = own.into_iter().find(|rubric| Some(&rubric.name) == name.as_ref()).or_else(Rubric::built_in);
        Some(Scoring { rubric: rubric?, trend_days: trend_days.or(default.map(|scoring| scoring.trend_days))? })
    }
}

words! {
    /// A level that a rule can be turned down to.
    enum LowerLevel {
        /// Use the record, but look.
        Warning = "warning",
        /// For the record.
        Note = "note",
    }
}

fn read_severities(table: &mut Table) -> Severities {
    let rows = table.map("check", "rules turned down: rule = { severity, why }", |table| {
        let severity = table.needed().word::<LowerLevel>("severity", "warning or note");
        let why = table.needed().text("why", "the reason");
        if why.as_ref().is_some_and(|why| why.trim().is_empty()) {
            table.add(Rule::CheckSetting, "why", "`why` gives no reason", "write why this program turns the rule down");
        }
        why.and(severity)
    });
    let mut severities = Severities::default();
    for (name, span, severity) in rows.unwrap_or_default() {
        let level = match severity {
            LowerLevel::Warning => Level::Warning,
            LowerLevel::Note => Level::Note,
        };
        match Rule::from_word(&name) {
            Some(rule) if !rule.can_be_turned_down() => table.add_at(
                Rule::CheckSetting,
                &span,
                format!("{name} cannot be turned down: a record that cannot be used must be seen"),
                "leave the line out, and mend the record",
            ),
            Some(rule) if level < rule.level() => _ = severities.turned_down.insert(rule, level),
            Some(rule) => table.add_at(
                Rule::CheckSetting,
                &span,
                format!("{name} is {} already; it can only be turned down", rule.level()),
                "leave the line out",
            ),
            None if table.is_description() => {}
            None => {
                let help = text::nearest(&name, Rule::WORDS.iter().copied())
                    .map_or("`exitsite check --explain all` lists the rules".to_owned(), |rule| {
                        format!("did you mean {rule}?")
                    });
                table.add_at(Rule::CheckSetting, &span, format!("there is no rule {}", text::visible(&name)), help);
            }
        }
    }
    severities
}

/// Reads one part; None if it has an error.
fn part<T>(table: &mut Table, reader: impl FnOnce(&mut Table) -> Option<T>) -> Option<T> {
    let known = table.problems().len();
    let value = reader(table);
    if makes_unusable(&table.problems()[known..]) { None } else { value }
}

/// A zone by its IANA name.
pub fn time_zone(table: &mut Table, name: &str) -> Option<Tz> {
    let zone = name.parse().ok();
    if zone.is_none() {
        let known = chrono_tz::TZ_VARIANTS.iter().map(|zone| zone.name());
        let help = text::nearest(name, known)
            .map_or("write an IANA name such as America/Chicago".to_owned(), |zone| format!("did you mean {zone}?"));
        table.add(Rule::UnknownZone, "time_zone", format!("there is no time zone \"{}\"", text::visible(name)), help);
    }
    zone
}
