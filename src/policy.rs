//! The program's policy: intervals, windows, rubric, curricula — the only place for clinical numbers.
//!
//! Every value has a default, and `records-template/policy.toml` holds all defaults; it is read like any other policy. A
//! part that is present but invalid is `None`: what depends on it is then unknown, never computed from a default.
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

/// The newest schema version of the records that this version can read.
const SCHEMA: i64 = 1;

/// A program's policy. A part is `None` if its section of the file is invalid.
#[derive(Debug, Clone, PartialEq)]
pub struct Policy {
    /// The name of the program.
    pub program: String,
    /// Plan of care.
    pub plan: Option<CarePlan>,
    /// The span of `care_day_starts` in the file; its first line if the default applies.
    pub care_day_starts: Span,
    /// The limits of a clinician's order.
    pub orders: Option<Orders>,
    /// Scoring of an exit site.
    pub scoring: Option<Scoring>,
    /// Thresholds and settings of signals.
    pub signals: Option<Signals>,
    /// Sign-off rules.
    pub teaching: Option<TeachingPolicy>,
    /// Curricula, all versions.
    pub curricula: Option<Vec<Curriculum>>,
    /// Supplies of a household.
    pub supplies: Option<Vec<SupplyItem>>,
    /// Infection counting.
    pub audit: Option<Audit>,
    /// Recipients of alerts.
    pub alerts: Option<Alerts>,
    /// The addresses that are valid, even if another part of the file is not.
    pub addresses: Addresses,
    /// Instruction on whom to call about a signal of today; `None` if invalid.
    pub review_call: Option<String>,
    /// True if each record that a command writes is committed to git immediately.
    pub commits: bool,
    /// The program's lines on the household's sheet; `None` if invalid.
    pub sheet: Option<SheetSetting>,
    /// Places where pictures are kept; `None` if invalid.
    pub photos: Option<Photos>,
    /// Rules with a lowered severity.
    pub severities: Severities,
}

/// The template as `init` writes it.
pub(crate) const TEMPLATE: &str = include_str!("../records-template/policy.toml");

/// The defaults, merged into each policy that is read.
static DEFAULTS: LazyLock<Option<Below>> = LazyLock::new(|| Below::of(TEMPLATE));

impl Policy {
    /// Reads a policy; `None` if the file is not valid TOML.
    ///
    /// # Errors
    /// The policy was written for a newer version.
    pub fn read(source: &RecordText, problems: &mut Vec<Problem>) -> Result<Option<Policy>, Failure> {
        let mut newer = None;
        let policy = record::read_over(source, DEFAULTS.as_ref(), problems, |table| {
            newer = table.whole("schema", (1, i64::MAX), "").filter(|schema| *schema > SCHEMA);
            table.forget_fields();
            Some(Policy::read_table(table))
        });
        match newer {
            Some(schema) => Err(Failure::new(format!(
                "{FILE} has schema = {schema}, written for a newer version of exitsite; install that version"
            ))),
            None => Ok(policy),
        }
    }

    /// Returns the first fault of a text, if any.
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
        // A misspelled [[phase]] must not leave the default phases in force, so an unknown key at the top level
        // invalidates the plan.
        let mut plan = part(table, |table| {
            table.needed().whole_or_else(
                Rule::UnknownSchema,
                "schema",
                (1, SCHEMA),
                "schema version of the records, 1",
            );
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
        let teaching = part(table, |table| Read::read(table, "teaching", "sign-off rules"));
        let curricula = part(table, Curriculum::read_all);
        let supplies = part(table, SupplyItem::read_all);
        let audit = part(table, |table| Read::read(table, "audit", "infection counting"));
        let mut addresses = Addresses::default();
        let alerts = part(table, |table| {
            let read = table.table("alerts", "recipients of alerts, and the hours until they are alerted", |table| {
                let alerts = Alerts::read(table);
                addresses = Addresses::read(table);
                alerts
            });
            read.flatten()
        });
        let review_call = part(table, |table| {
            table.table("review", "settings for a record that needs review today", read_call).flatten()
        });
        let sheet = part(table, SheetSetting::read);
        let photos = part(table, |table| Read::read(table, "photos", "pictures, which are kept outside the records"));
        let commits = part(table, |table| {
            table.table("record", "settings of the writing commands", |table| {
                table.flag("commit", "commit each record to git immediately")
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

/// Reads the instruction on whom to call; an empty sentence is rejected.
fn read_call(table: &mut Table) -> Option<String> {
    let call = table.text("call", "instruction on whom to call about a signal of today");
    if call.as_ref().is_some_and(|call| call.trim().is_empty()) {
        let help = "write a sentence such as \"Call 5-1234 now.\", or remove the line";
        table.add(Rule::CheckSetting, "call", "`call` is empty", help);
    }
    call
}

words! {
    /// A severity that a rule can be lowered to.
    enum LowerLevel {
        /// The record counts, but needs a look.
        Warning = "warning",
        /// For information only.
        Note = "note",
    }
}

fn read_severities(table: &mut Table) -> Severities {
    let rows = table.map("check", "rules with a lowered severity: rule = { severity, why }", |table| {
        let severity = table.needed().word::<LowerLevel>("severity", "warning or note");
        let why = table.needed().text("why", "reason");
        if why.as_ref().is_some_and(|why| why.trim().is_empty()) {
            table.add(
                Rule::CheckSetting,
                "why",
                "`why` is empty",
                "write why this program lowers the severity of the rule",
            );
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
                format!("the severity of {name} cannot be lowered: an unreadable record must be reported"),
                "remove the line, and correct the record",
            ),
            Some(rule) if level < rule.level() => _ = severities.turned_down.insert(rule, level),
            Some(rule) => table.add_at(
                Rule::CheckSetting,
                &span,
                format!("{name} is already a {}; its severity can only be lowered", rule.level()),
                "remove the line",
            ),
            None if table.is_description() => {}
            None => {
                let help = text::nearest(&name, Rule::WORDS.iter().copied())
                    .map_or("`exitsite check --explain all` lists the rules".to_owned(), |rule| {
                        format!("did you mean {rule}?")
                    });
                table.add_at(Rule::CheckSetting, &span, format!("unknown rule {}", text::visible(&name)), help);
            }
        }
    }
    severities
}

/// Reads one part; `None` if it has an error.
fn part<T>(table: &mut Table, reader: impl FnOnce(&mut Table) -> Option<T>) -> Option<T> {
    let known = table.problems().len();
    let value = reader(table);
    if makes_unusable(&table.problems()[known..]) { None } else { value }
}

/// Returns the IANA name of a US time zone given by its abbreviation, in standard or daylight saving time.
///
/// ```
/// # use exitsite::policy::of_abbreviation;
/// assert_eq!(["CST", "edt", "ET"].map(of_abbreviation), ["America/Chicago", "America/New_York", "America/New_York"].map(Some));
/// assert_eq!(of_abbreviation("CET"), None);
/// ```
pub fn of_abbreviation(name: &str) -> Option<&'static str> {
    Some(match name.trim().to_uppercase().as_str() {
        "ET" | "EST" | "EDT" => "America/New_York",
        "CT" | "CST" | "CDT" => "America/Chicago",
        "MT" | "MST" | "MDT" => "America/Denver",
        "PT" | "PST" | "PDT" => "America/Los_Angeles",
        "AKT" | "AKST" | "AKDT" => "America/Anchorage",
        "HT" | "HST" => "Pacific/Honolulu",
        _ => return None,
    })
}

impl Table<'_> {
    /// A time zone by its IANA name.
    pub(crate) fn zone(&mut self, key: &'static str, about: &'static str) -> Option<Tz> {
        let name = self.text(key, about)?;
        let zone = name.parse().ok();
        if zone.is_none() {
            let known = chrono_tz::TZ_VARIANTS.iter().map(|zone| zone.name());
            let help = of_abbreviation(&name)
                .or_else(|| text::nearest(&name, known))
                .map_or("write an IANA name such as America/Chicago".to_owned(), |zone| {
                    format!("did you mean {zone}?")
                });
            self.add(Rule::UnknownZone, key, format!("unknown time zone \"{}\"", text::visible(&name)), help);
        }
        zone
    }
}
