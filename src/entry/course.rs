//! Changes to a patient's course: a new patient, a move, an order, an exit site, a caregiver, the end of support.
//!
//! ```toml
//! [[care]]
//! from = 2026-11-24
//! place = "home"
//! by = "co-1"
//! ```
//!
//! Left out on purpose: asking and writing. patient.toml goes in and comes out with its comments and layout kept.

use std::collections::BTreeSet;

use chrono::NaiveDate;

use super::correct::plain;
use super::moment::Clock;
use super::typed::typed;
use crate::patient::{CareOrder, CareRow, Patient};
use crate::policy::Interval;
use crate::problem::Failure;
use crate::record::{Edit, Field, Shape, Value, Values};
use crate::text::{either, visible};
use crate::word::Word;

/// patient.toml during a change.
#[derive(Debug)]
pub struct Course<'a> {
    /// The patient as on file.
    pub patient: &'a Patient,
    edit: Edit,
}

impl<'a> Course<'a> {
    /// Reads a patient's file for a change.
    ///
    /// # Errors
    /// It is not valid TOML.
    pub fn of(patient: &'a Patient) -> Result<Course<'a>, Failure> {
        let edit = Edit::of(&patient.source.text, Patient::fields());
        let edit = edit.ok_or_else(|| Failure::new(format!("Cannot read {}. Correct it first.", patient.file())))?;
        Ok(Course { patient, edit })
    }

    /// The full text of the changed file.
    pub fn text(&self) -> &str {
        self.edit.text()
    }

    /// The first and the last line of the last row of a table that has a value: the row just written.
    pub(crate) fn lines_of(&self, table: &str, key: &str, value: &str) -> Option<(usize, usize)> {
        let lines: Vec<&str> = self.text().lines().collect();
        let heading = format!("[[{table}]]");
        let is_it = |line: &str| {
            let of_key = line.split_once('=').filter(|(known, _)| known.trim() == key);
            of_key
                .is_some_and(|(_, known)| known.split('#').next().unwrap_or_default().trim().trim_matches('"') == value)
        };
        let ends = |line: &&str| line.trim().is_empty() || line.starts_with('[');
        let mut rows = lines.iter().enumerate().filter(|(_, line)| line.trim() == heading).map(|(at, _)| at);
        let end = |at: usize| at + 1 + lines[at + 1..].iter().take_while(|line| !ends(line)).count();
        let at = rows.rfind(|at| lines[*at..end(*at)].iter().any(|line| is_it(line)))?;
        Some((at + 1, end(at)))
    }

    /// Records that the patient is elsewhere from a day on.
    ///
    /// # Errors
    /// There is already a row from that day, or a later one that is not only planned, or the row before has the same values.
    pub fn moved(&mut self, from: NaiveDate, row: &Values, today: NaiveDate) -> Result<(), Failure> {
        let file = self.patient.file();
        if let Some(same) = self.patient.care.iter().find(|known| known.from == from) {
            return Err(Failure::new(format!(
                "{} is already {} from {from}. If that is wrong, correct that row of [[care]] in {file}; otherwise choose another day with --from.",
                self.patient.code,
                at(same)
            )));
        }
        if let Some(later) = self.patient.care.iter().find(|known| known.from > from) {
            if later.from > today && self.patient.care.last().is_some_and(|last| last.from == later.from) {
                return self.moved_before(from, row);
            }
            return Err(Failure::new(format!(
                "{} is {} from {}. Write an earlier row into {file} by hand, above that one.",
                self.patient.code,
                at(later),
                later.from
            )));
        }
        if let Some(last) = self.patient.care.last().filter(|last| says_the_same(last, row)) {
            return Err(Failure::new(format!(
                "{} is already {} since {}. Nothing was written.",
                self.patient.code,
                at(last),
                last.from
            )));
        }
        self.edit.append("care", row)
    }

    /// The planned move after a day: the last row, if it is in the future.
    pub(crate) fn planned(&self, from: NaiveDate, today: NaiveDate) -> Option<&CareRow> {
        self.patient.care.last().filter(|last| last.from > from && last.from > today)
    }

    /// Records a move before a planned one: to the same place, the planned row gets the new day; to another, the new row
    /// stands before the plan.
    fn moved_before(&mut self, from: NaiveDate, row: &Values) -> Result<(), Failure> {
        let at_row = self.patient.care.len() - 1;
        let rows = self.edit.values().rows("care");
        let Some(plan) = rows.last().map(|plan| (*plan).clone()) else { return Ok(()) };
        let set = |edit: &mut Edit| {
            row.keys().into_iter().try_for_each(|(key, value)| edit.set_in_row("care", at_row, &key, value))
        };
        if plan.text("place") == row.text("place") {
            return set(&mut self.edit);
        }
        if let Some(before) =
            self.patient.care.iter().rfind(|known| known.from < from).filter(|one| says_the_same(one, row))
        {
            return Err(Failure::new(format!(
                "{} is already {} since {}. Nothing was written.",
                self.patient.code,
                at(before),
                before.from
            )));
        }
        if let Some((key, _)) = plan.keys().into_iter().find(|(key, _)| row.get(key).is_none()) {
            return Err(Failure::new(format!(
                "{} is {} from {}, with {key}, which this move lacks. Give --{}, or write an earlier row into {} by hand, above that one.",
                self.patient.code,
                self.patient.care.last().map_or("", at),
                self.patient.care.last().map_or(from, |last| last.from),
                key.replace('_', "-"),
                self.patient.file()
            )));
        }
        set(&mut self.edit)?;
        self.edit.append("care", &plan)
    }

    /// The settings of the last stay at the same place that this row lacks: the time zone, and how the household
    /// reports.
    pub(crate) fn forgotten(&self, place: &str, has_zone: bool, has_reports: bool) -> Vec<String> {
        let Some(last) = self.patient.care.iter().rfind(|row| row.place.word() == place) else { return Vec::new() };
        let mut forgotten = Vec::new();
        if let Some(zone) = last.time_zone.filter(|_| !has_zone) {
            forgotten.push(format!(
                "The time zone of the last stay ({place}) was {zone}: add --time-zone {zone} if it is the same now"
            ));
        }
        if last.reports.word() == "log" && !has_reports {
            forgotten.push(format!(
                "At the last stay ({place}) the household kept a log: add --reports log if it does again"
            ));
        }
        forgotten
    }

    /// Records a clinician's order.
    ///
    /// # Errors
    /// It cannot be inserted into the layout of the file.
    pub fn ordered(&mut self, row: &Values) -> Result<(), Failure> {
        self.edit.append("order", row)
    }

    /// Ends the order in force on a day with that day.
    ///
    /// # Errors
    /// No such order is in force on that day, or several are.
    pub(crate) fn order_ended(&mut self, on: NaiveDate, meant: &Values) -> Result<String, Failure> {
        let is_it =
            |order: &CareOrder| order.from <= on && order.until.is_none_or(|until| on <= until) && fits(order, meant);
        let orders = self.patient.orders.iter().enumerate();
        let running: Vec<(usize, &CareOrder)> = orders.filter(|(_, order)| is_it(order)).collect();
        match running.as_slice() {
            [] => Err(Failure::new(format!(
                "{} has no such order in force on {on}. `exitsite show {0}` lists the orders.",
                self.patient.code
            ))),
            [(_, order)] if order.until == Some(on) => {
                Err(Failure::new(format!("That order already ends on {on}. Nothing was written.")))
            }
            [(n, order)] => {
                self.edit.set_in_row("order", *n, "until", &Value::Date(on))?;
                Ok(said_of(order))
            }
            several => {
                let said: Vec<String> = several.iter().map(|(_, order)| said_of(order)).collect();
                let said: Vec<&str> = said.iter().map(String::as_str).collect();
                Err(Failure::new(format!(
                    "Several orders are in force on {on}: {}. Choose one with --from, --exit, --every-days, --on-weekdays or --no-showers, or write `until` into {} by hand.",
                    either(&said),
                    self.patient.file()
                )))
            }
        }
    }

    /// Records a further exit site.
    ///
    /// # Errors
    /// The id is in use.
    pub fn opened(&mut self, id: &str, row: &Values) -> Result<(), Failure> {
        is_new_exit(self.patient, id).map_err(Failure::new)?;
        self.edit.append("exit", row)
    }

    /// Records the last day of an exit site.
    ///
    /// # Errors
    /// No exit site has that id, or it is already closed.
    pub fn closed(&mut self, id: &str, until: NaiveDate) -> Result<(), Failure> {
        let n = open_exit(self.patient, id).map_err(Failure::new)?;
        self.edit.set_in_row("exit", n, "until", &Value::Date(until))
    }

    /// Records the end of support.
    ///
    /// # Errors
    /// Support has already ended.
    pub fn ended(&mut self, row: &Values) -> Result<(), Failure> {
        if let Some(ended) = &self.patient.ended {
            return Err(Failure::new(format!(
                "Support of {} already ended on {}, {}. If that is wrong, correct [ended] in {}.",
                self.patient.code,
                ended.on,
                ended.why,
                self.patient.file()
            )));
        }
        row.keys().into_iter().try_for_each(|(key, value)| self.edit.set(&format!("ended.{key}"), value))
    }

    /// Records another caregiver.
    ///
    /// # Errors
    /// The row cannot be inserted into the layout of the file.
    pub(crate) fn cared_for(&mut self, row: &Values) -> Result<(), Failure> {
        self.edit.append("caregiver", row)
    }
}

/// Returns true if an order has these values: `from`, `exit`, `every_days`, `on_weekdays`, `no_showers`.
fn fits(order: &CareOrder, meant: &Values) -> bool {
    let has_days = |days: &Value| match &order.interval {
        Some(Interval::EveryDays(every)) => plain(days) == every.to_string(),
        _ => false,
    };
    let has_weekdays = |days: &Value| match &order.interval {
        Some(Interval::OnWeekdays { weekdays, .. }) => {
            let meant = plain(days);
            let meant: BTreeSet<&str> = meant.split(", ").collect();
            meant == weekdays.iter().map(|weekday| weekday.word()).collect()
        }
        _ => false,
    };
    meant.date("from").is_none_or(|from| order.from == from)
        && meant.text("exit").is_none_or(|exit| order.exit.as_deref() == Some(exit))
        && meant.get("every_days").is_none_or(has_days)
        && meant.get("on_weekdays").is_none_or(has_weekdays)
        && (meant.get("no_showers").is_none() || order.no_showers)
}

/// The file of a new patient, in the layout of the records.
pub fn new_patient(top: Values, exit: Values, care: Vec<Values>, caregivers: Vec<Values>) -> String {
    let mut all = top;
    let rows = |rows: Vec<Values>| Value::List(rows.into_iter().map(Value::Table).collect());
    all.set("exit", rows(vec![exit]));
    all.set("care", rows(care));
    if !caregivers.is_empty() {
        all.set("caregiver", rows(caregivers));
    }
    all.write(&Patient::fields())
}

/// Parses text typed for a key of patient.toml, by the shape of the key; `table` is empty for a top-level key.
///
/// # Errors
/// One sentence that says what to type instead.
pub fn typed_for(table: &str, key: &str, text: &str, clock: Clock) -> Result<Value, String> {
    typed_as(&Patient::fields(), table, key, text, clock)
}

/// Parses text typed for a key of a file with these fields, by the shape of the key; `table` is empty for a top-level
/// key.
///
/// # Errors
/// One sentence that says what to type instead.
pub fn typed_as(fields: &[Field], table: &str, key: &str, text: &str, clock: Clock) -> Result<Value, String> {
    let inner = match fields.iter().find(|field| field.name == table).map(|field| &field.shape) {
        Some(Shape::Table(inner) | Shape::Rows(inner)) => inner.as_slice(),
        _ => fields,
    };
    let is_it = |field: &&Field| field.name == key;
    typed(key, inner.iter().find(is_it).map_or(&Shape::Text, |field| &field.shape), text, clock)
}

/// A row of the keys that have a value.
pub fn row<const N: usize>(keys: [(&str, Option<Value>); N]) -> Values {
    let mut row = Values::default();
    for (key, value) in keys {
        if let Some(value) = value {
            row.set(key, value);
        }
    }
    row
}

/// The place of a care row in words.
fn at(row: &CareRow) -> &'static str {
    match row.place.word() {
        "home" => "at home",
        word => word,
    }
}

fn says_the_same(last: &CareRow, row: &Values) -> bool {
    row.text("place") == Some(last.place.word())
        && row.text("reports").unwrap_or("each") == last.reports.word()
        && row.text("time_zone") == last.time_zone.map(|zone| zone.name())
}

/// An order in a few words: `every 2 days from 2026-10-01`.
fn said_of(order: &CareOrder) -> String {
    let what = match &order.interval {
        Some(interval) => interval.to_string(),
        None => "no showers".to_owned(),
    };
    let exit = order.exit.as_ref().map(|exit| format!(" for exit {}", visible(exit))).unwrap_or_default();
    format!("{what}{exit} from {}", order.from)
}
/// Checks that an id can be that of a new exit site: up to 16 letters, digits and hyphens, and not yet in use.
///
/// # Errors
/// It cannot; one sentence.
pub(crate) fn is_new_exit(patient: &Patient, id: &str) -> Result<(), String> {
    let is_of_an_id = |c: char| c.is_ascii_alphanumeric() || c == '-';
    if id.is_empty() || id.len() > 16 || !id.chars().all(is_of_an_id) {
        return Err(format!("\"{}\" is not an id. Type a letter, such as b.", visible(id)));
    }
    match patient.exits.iter().find(|exit| exit.id == id) {
        Some(known) => Err(format!(
            "{} already has an exit site {id}, {} from {}. Choose another id for the new one.",
            patient.code, known.at, known.from
        )),
        None => Ok(()),
    }
}

/// The index of an exit site without a last day.
///
/// # Errors
/// No exit site has that id, or it is already closed; one sentence.
pub(crate) fn open_exit(patient: &Patient, id: &str) -> Result<usize, String> {
    let Some(n) = patient.exits.iter().position(|exit| exit.id == id) else {
        let ids: Vec<&str> = patient.exits.iter().map(|exit| exit.id.as_str()).collect();
        return Err(format!("{} has no exit site {}. Use {}.", patient.code, visible(id), visible(&either(&ids))));
    };
    match patient.exits[n].until {
        Some(known) => Err(format!(
            "Exit site {id} already has a last day, {known}. If that is wrong, correct `until` in {}.",
            patient.file()
        )),
        None => Ok(n),
    }
}
