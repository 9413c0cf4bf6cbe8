//! A patient's course of care: exit sites, where the patient is, orders, caregivers, the end of support.
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
//! Left out on purpose: events. What a day is, and which interval it has, can be said from this file and the policy.

mod course;
mod row;

pub use course::{Belonging, ExitDay};
pub use row::{
    CareOrder, CareRow, Caregiver, EndReason, ExitReason, ExitSite, InfectionsBefore, Reports, SupportEnd, Where,
};

use std::sync::Arc;

use chrono::NaiveDate;

use crate::day::Calendar;
use crate::event::is_patient_code;
use crate::place::{RecordText, Span};
use crate::problem::{Problem, Rule, makes_unusable};
use crate::record::{self, Field, Spans, Table};
use crate::text;

/// The file's name.
pub const FILE: &str = "patient.toml";

/// A patient's course of care.
#[derive(Debug, Clone, PartialEq)]
pub struct Patient {
    /// The file.
    pub source: Arc<RecordText>,
    /// The code, never a name.
    pub code: String,
    /// The day of the implant.
    pub implanted: NaiveDate,
    /// The day on which this program's records begin.
    pub records_from: NaiveDate,
    /// Driveline infections before that day.
    pub infections_before: InfectionsBefore,
    /// The last change before that day, where it is known.
    pub last_change_before: Option<NaiveDate>,
    /// Intolerances.
    pub intolerances: Vec<String>,
    /// Every exit site, in the order of the file.
    pub exits: Vec<ExitSite>,
    /// Places of care; each row holds until the next.
    pub care: Vec<CareRow>,
    /// Clinicians' orders, in the order of the file.
    pub orders: Vec<CareOrder>,
    /// Caregivers, by code.
    pub caregivers: Vec<Caregiver>,
    /// The end of support.
    pub ended: Option<SupportEnd>,
    /// The calendar: the program's, in the zones of the care rows.
    pub calendar: Calendar,
    spans: Spans,
}

impl Patient {
    /// Reads patient.toml of the folder `code`. None if it cannot be used; `problems` says why.
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
        let code = table.needed().text("code", "code of the patient, as the folder");
        if let Some(code) = code.as_ref().filter(|code| *code != folder && !table.is_description()) {
            let rule = if is_patient_code(code) { Rule::CodeDisagrees } else { Rule::BadCode };
            table.add(
                rule,
                "code",
                format!("the code is {}, but the folder is {folder}", text::visible(code)),
                format!("write code = \"{folder}\", or move the folder"),
            );
        }
        let implanted = table.needed().date("implanted", "date of the implant");
        let records_from = table.date("records_from", "first day of this program's records; default: implanted");
        let infections_before = table.whole_or(
            "infections_before",
            "unknown",
            "driveline infections before that day: a count, or \"unknown\"",
        );
        let last_change_before =
            table.date("last_change_before", "last dressing change before records_from, if it is known");
        let intolerances = table.texts("intolerances", "intolerances").unwrap_or_default();
        let exits = table.needed().rows("exit", "exit site", ExitSite::read).unwrap_or_default();
        let care = table
            .needed()
            .rows("care", "place of care; each row holds until the next", CareRow::read)
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
            spans: table.take_spans(),
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

    /// The place of a key at the top of the file; the first line where the key is missing.
    pub fn span(&self, key: &str) -> Span {
        self.spans.iter().find(|(t, k, _)| (*t, *k) == ("", key)).map_or(0..0, |(.., span)| span.clone())
    }

    fn check_dates(&self, table: &mut Table) {
        if self.records_from < self.implanted {
            table.add(
                Rule::RecordsFrom,
                "records_from",
                "the records begin before the implant",
                "correct the date that is wrong",
            );
        }
        if self.records_from > self.implanted && self.infections_before == InfectionsBefore::NotGiven {
            table.add(
                Rule::RecordsFrom,
                "records_from",
                "the records begin after the implant, and infections_before is missing",
                "write infections_before = 0, another count, or \"unknown\"",
            );
        }
        if let Some(last) = self.last_change_before.filter(|last| *last >= self.records_from) {
            table.add(
                Rule::RecordsFrom,
                "last_change_before",
                format!("{last} is not before the records begin"),
                "a change on or after that day is an event of its own",
            );
        }
        if let Some(ended) = self.ended.as_ref().filter(|ended| ended.on < self.implanted) {
            table.add_at(
                Rule::EndsBeforeItBegins,
                &ended.span,
                format!("support ended on {}, before the implant", ended.on),
                "correct the date that is wrong",
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
                    format!("there are two exit sites \"{}\"", text::visible(&exit.id)),
                    "give each an id of its own",
                );
            }
            if exit.from < self.implanted {
                table.add_at(
                    Rule::ExitSites,
                    &exit.from_span,
                    format!("the exit site is from {}, before the implant", exit.from),
                    "correct the date that is wrong",
                );
            }
        }
    }

    fn check_care(&self, table: &mut Table) {
        if let Some(first) = self.care.first().filter(|first| first.from > self.records_from) {
            table.add_at(
                Rule::CareRows,
                &first.span,
                format!("the first place is from {}, after the records begin", first.from),
                format!("let the first [[care]] begin on {} or before", self.records_from),
            );
        }
        for pair in self.care.windows(2).filter(|pair| pair[1].from <= pair[0].from) {
            table.add_at(
                Rule::CareRows,
                &pair[1].span,
                format!("this row is from {}, not after the one before", pair[1].from),
                "sort the rows of [[care]] by `from`, each day once",
            );
        }
    }

    fn check_orders(&self, table: &mut Table) {
        for order in &self.orders {
            if let Some(exit) = order.exit.as_ref().filter(|id| self.exits.iter().all(|exit| exit.id != **id)) {
                table.add_at(
                    Rule::ExitUnclear,
                    &order.span,
                    format!("the order is for exit site \"{}\", which there is not", text::visible(exit)),
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
                    "the one that begins later holds; give the other an `until`",
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
                    format!("the code {} is given twice", text::visible(&caregiver.code)),
                    "give each caregiver a code of their own",
                );
            }
        }
    }
}
