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

mod alerts;
mod audit;
mod change;
mod interval;
mod phase;
mod photos;
mod plan;
mod role;
mod rubric;
mod scoring;
mod sheet;
mod signals;
mod teaching;
mod threshold;

use std::sync::LazyLock;

use chrono_tz::Tz;

pub use alerts::{Addresses, Alerts};
pub use audit::{Acknowledged, Audit, Baseline, Intervention};
pub use change::{KeyPath, KeyStep, PolicyChange, changes};
pub use interval::{Interval, Weekday};
pub use phase::{CarePlace, Phase};
pub use photos::Photos;
pub use plan::{CarePlan, Orders, Returns, Windows};
pub use role::Role;
pub use rubric::{Always, Band, Cutoff, Item, PointBand, PointScale, Rubric, UNDETERMINED};
pub use scoring::Scoring;
pub use sheet::SheetSetting;
pub use signals::Signals;
pub use teaching::{Curriculum, CurriculumRole, CurriculumStep, SupplyItem, TeachingPolicy};
pub use threshold::Threshold;

use crate::place::{RecordText, Span};
use crate::problem::{Failure, Level, Problem, Rule, Severities, makes_unusable};
use crate::record::{self, Below, Field, Read, Table};
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
    /// Plan of care.
    pub plan: Option<CarePlan>,
    /// The place of `care_day_starts` in the file; its first line where the default holds.
    pub care_day_starts: Span,
    /// The limits of a clinician's order.
    pub orders: Option<Orders>,
    /// Scoring of a site.
    pub scoring: Option<Scoring>,
    /// Thresholds and settings of signals.
    pub signals: Option<Signals>,
    /// Rules of a sign-off.
    pub teaching: Option<TeachingPolicy>,
    /// Curricula, in all their versions.
    pub curricula: Option<Vec<Curriculum>>,
    /// Supplies of a household.
    pub supplies: Option<Vec<SupplyItem>>,
    /// Counting of infections.
    pub audit: Option<Audit>,
    /// Recipients of alerts.
    pub alerts: Option<Alerts>,
    /// The addresses that can be read, also where another part of the file cannot be used.
    pub addresses: Addresses,
    /// The sentence of whom to call about a signal of today; `None` if unusable.
    pub review_call: Option<String>,
    /// True if each record that a command writes is committed to git at once.
    pub commits: bool,
    /// The program's lines on a household's sheet; `None` if unusable.
    pub sheet: Option<SheetSetting>,
    /// Places where pictures are kept; `None` if unusable.
    pub photos: Option<Photos>,
    /// Rules turned down.
    pub severities: Severities,
}

/// The template as `init` lays it out.
pub const TEMPLATE: &str = include_str!("../records-template/policy.toml");

/// The defaults: laid under each policy that is read.
static DEFAULTS: LazyLock<Option<Below>> = LazyLock::new(|| Below::of(TEMPLATE));

impl Policy {
    /// Reads a policy. None if the file is no TOML.
    ///
    /// # Errors
    /// A policy that is written for a newer version stops the run.
    pub fn read(source: &RecordText, problems: &mut Vec<Problem>) -> Result<Option<Policy>, Failure> {
        let mut newer = None;
        let policy = record::read_over(source, DEFAULTS.as_ref(), problems, |table| {
            newer = table.whole("schema", (1, i64::MAX), "").filter(|schema| *schema > SCHEMA);
            table.forget_fields();
            Some(Policy::read_table(table))
        });
        match newer {
            Some(schema) => Err(Failure::new(format!(
                "{FILE} has schema = {schema}: it was written for a newer exitsite; install that one"
            ))),
            None => Ok(policy),
        }
    }

    /// The first fault of a text, if it has one.
    pub fn fault(text: &str) -> Option<Problem> {
        let source = RecordText { file: FILE.to_owned(), text: text.to_owned() };
        let mut problems = Vec::new();
        _ = Policy::read(&source, &mut problems);
        problems.into_iter().next()
    }

    /// The template's policy.
    pub(crate) fn built_in() -> Option<Policy> {
        let source = RecordText { file: FILE.to_owned(), text: TEMPLATE.to_owned() };
        record::read(&source, &mut Vec::new(), |table| Some(Policy::read_table(table)))
    }

    /// The keys of a policy.
    pub fn fields() -> Vec<Field> {
        record::describe(Policy::read_table)
    }

    fn read_table(table: &mut Table) -> Policy {
        let mut program = String::new();
        // A misspelled [[phase]] must not leave the default phases in force, so an unknown key at the top breaks the plan.
        let mut plan = part(table, |table| {
            table.needed().whole_or_else(Rule::UnknownSchema, "schema", (1, SCHEMA), "the form of the records, 1");
            program = table.needed().text("program", "name of the program").unwrap_or_default();
            CarePlan::read(table)
        });
        let orders = part(table, |table| Read::read(table, "orders", "the limits of a clinician's order"));
        let scoring = part(table, Scoring::read);
        let signals = part(table, |table| {
            let signals: Signals = Read::read(table, "signals", "thresholds of signals, by their names")?;
            signals.compare_with(plan.as_ref(), table);
            Some(signals)
        });
        let teaching = part(table, |table| Read::read(table, "teaching", "rules of a sign-off"));
        let curricula = part(table, Curriculum::read_all);
        let supplies = part(table, SupplyItem::read_all);
        let audit = part(table, |table| Read::read(table, "audit", "counting of infections"));
        let mut addresses = Addresses::default();
        let alerts = part(table, |table| {
            let read = table.table("alerts", "recipients of alerts, and their hours", |table| {
                let alerts = Alerts::read(table);
                addresses = Addresses::read(table);
                alerts
            });
            read.flatten()
        });
        let review_call = part(table, |table| {
            table.table("review", "the answer to a record that needs review today", read_call).flatten()
        });
        let sheet = part(table, SheetSetting::read);
        let photos =
            part(table, |table| Read::read(table, "photos", "pictures, which are kept outside of the records"));
        let commits = part(table, |table| {
            table.table("record", "settings of the writing commands", |table| {
                table.flag("commit", "each record is committed to git at once")
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
            sheet,
            photos,
            commits: commits.flatten().unwrap_or(false),
            severities,
        }
    }
}

/// Reads whom to call; an empty sentence is none.
fn read_call(table: &mut Table) -> Option<String> {
    let call = table.text("call", "sentence of whom to call about a signal of today");
    if call.as_ref().is_some_and(|call| call.trim().is_empty()) {
        let help = "write a sentence such as \"Call 5-1234 now.\", or leave the line out";
        table.add(Rule::CheckSetting, "call", "`call` is empty", help);
    }
    call
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
        let why = table.needed().text("why", "reason");
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

impl Table<'_> {
    /// A zone by its IANA name.
    pub(crate) fn zone(&mut self, key: &'static str, about: &'static str) -> Option<Tz> {
        let name = self.text(key, about)?;
        let zone = name.parse().ok();
        if zone.is_none() {
            let known = chrono_tz::TZ_VARIANTS.iter().map(|zone| zone.name());
            let help = text::nearest(&name, known)
                .map_or("write an IANA name such as America/Chicago".to_owned(), |zone| {
                    format!("did you mean {zone}?")
                });
            self.add(Rule::UnknownZone, key, format!("there is no time zone \"{}\"", text::visible(&name)), help);
        }
        zone
    }
}
