//! A patient's course of care: exit sites, places of care, orders, caregivers, the end of support.
//!
//! ```toml
//! code = "P-014"
//! implanted = 2026-08-03
//!
//! [[exit]]
//! id = "a"
//! where = "right-upper"
//! from = 2026-08-03
//! why = "implant"
//!
//! [[care]]
//! from = 2026-08-03
//! place = "inpatient"
//! ```
//!
//! Left out on purpose: events. The course of a day and its interval follow from this file and the policy.

mod course;
mod row;

pub use course::{Belonging, ExitDay};
pub use row::{
    CareOrder, CareRow, Caregiver, EndReason, Ended, ExitReason, ExitSite, InfectionsBefore, Reports, SupportEnd, Where,
};

use std::sync::Arc;

use chrono::NaiveDate;

use crate::day::Calendar;
use crate::event::is_patient_code;
use crate::place::{RecordText, Span};
use crate::problem::{Problem, Rule, makes_unusable};
use crate::record::{self, Field, Table};
use crate::text;

/// The file name.
pub const FILE: &str = "patient.toml";

/// A patient's course of care.
#[derive(Debug, Clone, PartialEq)]
pub struct Patient {
    /// The file.
    pub source: Arc<RecordText>,
    /// Code, never a name.
    pub code: String,
    /// Implant date.
    pub implanted: NaiveDate,
    /// First day of this program's records.
    pub records_from: NaiveDate,
    /// Driveline infections before that day.
    pub infections_before: InfectionsBefore,
    /// Last change before that day, if known.
    pub last_change_before: Option<NaiveDate>,
    /// Intolerances.
    pub intolerances: Vec<String>,
    /// Exit sites, in the order of the file.
    pub exits: Vec<ExitSite>,
    /// Places of care; each row applies until the next.
    pub care: Vec<CareRow>,
    /// Clinicians' orders, in the order of the file.
    pub orders: Vec<CareOrder>,
    /// Caregivers, by code.
    pub caregivers: Vec<Caregiver>,
    /// The end of support.
    pub ended: Option<SupportEnd>,
    /// The calendar: the program's, with the time zones of the care rows.
    pub calendar: Calendar,
}

impl Patient {
    /// Reads patient.toml of the folder `code`. Returns `None` if it is unreadable; `problems` receives the reasons.
    pub fn read(
        source: &Arc<RecordText>,
        code: &str,
        calendar: &Calendar,
        problems: &mut Vec<Problem>,
    ) -> Option<Patient> {
        let known = problems.len();
        let patient = record::read(source, problems, |table| Self::read_table(table, source, code, calendar));
        patient.filter(|_| !makes_unusable(&problems[known..]))
    }

    /// The keys of patient.toml.
    pub fn fields() -> Vec<Field> {
        let nothing = Arc::new(RecordText { file: String::new(), text: String::new() });
        let calendar = Calendar::new(chrono::NaiveTime::MIN, chrono_tz::Tz::UTC);
        record::describe(|table| Self::read_table(table, &nothing, "", &calendar))
    }

    fn read_table(table: &mut Table, source: &Arc<RecordText>, folder: &str, calendar: &Calendar) -> Option<Patient> {
        let code = table.needed().text("code", "code of the patient, the same as the folder");
        if let Some(code) = code.as_ref().filter(|code| *code != folder && !table.is_description()) {
            let rule = if is_patient_code(code) { Rule::CodeDisagrees } else { Rule::BadCode };
            table.add(
                rule,
                "code",
                format!("the code is {}, but the folder is {folder}", text::visible(code)),
                format!("write code = \"{folder}\", or move the folder"),
            );
        }
        let implanted = table.needed().date("implanted", "implant date");
        let records_from = table.date("records_from", "first day of this program's records; default: implanted");
        let infections_before = table.whole_or(
            "infections_before",
            "unknown",
            "driveline infections before that day: a count, or \"unknown\"",
        );
        let last_change_before = table.date("last_change_before", "last dressing change before records_from, if known");
        let intolerances = table.texts("intolerances", "intolerances").unwrap_or_default();
        let exits = table.needed().rows("exit", "exit site", ExitSite::read).unwrap_or_default();
        let care = table
            .needed()
            .rows("care", "place of care; each row applies until the next", CareRow::read)
            .unwrap_or_default();
        let orders = table.rows("order", "order of a clinician", CareOrder::read).unwrap_or_default();
        let caregivers = table.rows("caregiver", "caregiver, by code", Caregiver::read).unwrap_or_default();
        let ended = table.table("ended", "end of support", SupportEnd::read).flatten();
        let zones = care.iter().map(|row| (row.from, row.time_zone.unwrap_or(calendar.policy_zone()))).collect();
        let patient = Patient {
            source: source.clone(),
            code: code?,
            implanted: implanted?,
            records_from: records_from.or(implanted)?,
            infections_before: infections_before.map_or(InfectionsBefore::NotGiven, |count| {
                count.map_or(InfectionsBefore::Unknown, InfectionsBefore::Count)
            }),
            last_change_before,
            intolerances,
            exits,
            care,
            orders,
            caregivers,
            ended,
            calendar: calendar.with_zones(zones),
        };
        patient.check_dates(table);
        patient.check_exits(table);
        patient.check_care(table);
        patient.check_orders(table);
        patient.check_caregivers(table);
        Some(patient)
    }

    /// The path of the file in the records folder.
    pub fn file(&self) -> &str {
        &self.source.file
    }

    /// The span of a key at the top level; the first line if the key is missing.
    pub fn span(&self, key: &str) -> Span {
        record::place(&self.source.text, "", key)
    }

    fn check_dates(&self, table: &mut Table) {
        if self.records_from < self.implanted {
            table.add(
                Rule::RecordsFrom,
                "records_from",
                "the records begin before the implant",
                "correct the wrong date",
            );
        }
        if self.records_from > self.implanted && self.infections_before == InfectionsBefore::NotGiven {
            table.add(
                Rule::RecordsFrom,
                "records_from",
                "the records begin after the implant, but infections_before is missing",
                "write infections_before = 0, another count, or \"unknown\"",
            );
        }
        if let Some(last) = self.last_change_before.filter(|last| *last >= self.records_from) {
            table.add(
                Rule::RecordsFrom,
                "last_change_before",
                format!("{last} is not before the first day of the records"),
                "record a change on or after that day as an event",
            );
        }
        if let Some(ended) = self.ended.as_ref().filter(|ended| ended.on < self.implanted) {
            table.add_at(
                Rule::EndsBeforeItBegins,
                &ended.span,
                format!("support ended on {}, before the implant", ended.on),
                "correct the wrong date",
            );
        }
    }

    fn check_exits(&self, table: &mut Table) {
        if self.exits.is_empty() && table.has("exit") && table.problems().is_empty() {
            table.add(Rule::MissingKey, "exit", "there is no exit site", "add [[exit]] with id, where, from and why");
        }
        for (n, exit) in self.exits.iter().enumerate() {
            if self.exits[..n].iter().any(|other| other.id == exit.id) {
                table.add_at(
                    Rule::ExitSites,
                    &exit.span,
                    format!("two exit sites have the id \"{}\"", text::visible(&exit.id)),
                    "give each a unique id",
                );
            }
            if exit.from < self.implanted {
                table.add_at(
                    Rule::ExitSites,
                    &exit.from_span,
                    format!("the exit site begins on {}, before the implant", exit.from),
                    "correct the wrong date",
                );
            }
        }
    }

    fn check_care(&self, table: &mut Table) {
        if let Some(first) = self.care.first().filter(|first| first.from > self.records_from) {
            table.add_at(
                Rule::CareRows,
                &first.span,
                format!("the first place of care begins on {}, after the records begin", first.from),
                format!("begin the first [[care]] on or before {}", self.records_from),
            );
        }
        for pair in self.care.windows(2).filter(|pair| pair[1].from <= pair[0].from) {
            table.add_at(
                Rule::CareRows,
                &pair[1].span,
                format!("this row begins on {}, not after the previous row", pair[1].from),
                "sort the rows of [[care]] by `from`, with no day twice",
            );
        }
    }

    fn check_orders(&self, table: &mut Table) {
        for order in &self.orders {
            if let Some(exit) = order.exit.as_ref().filter(|id| self.exits.iter().all(|exit| exit.id != **id)) {
                table.add_at(
                    Rule::ExitUnclear,
                    &order.span,
                    format!("the order is for unknown exit site \"{}\"", text::visible(exit)),
                    "write the id of an [[exit]]",
                );
            }
        }
        for (n, order) in self.orders.iter().enumerate() {
            if self.orders[..n].iter().any(|other| other.disagrees_with(order)) {
                table.add_at(
                    Rule::OrdersDisagree,
                    &order.span,
                    "two orders with different intervals run on the same days",
                    "the one that begins later applies; give the other an `until`",
                );
            }
        }
    }

    fn check_caregivers(&self, table: &mut Table) {
        for (n, caregiver) in self.caregivers.iter().enumerate() {
            if self.caregivers[..n].iter().any(|other| other.code == caregiver.code) {
                table.add_at(
                    Rule::CodeTwice,
                    &caregiver.span,
                    format!("the code {} is used twice", text::visible(&caregiver.code)),
                    "give each caregiver a unique code",
                );
            }
        }
    }
}
