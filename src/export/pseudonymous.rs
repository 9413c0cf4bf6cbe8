//! The tables that may leave the house: no codes, dates, times, notes, texts, file names or zones; days since the implant;
//! and what fewer than five patients have is left out (`rare`).
//!
//! Patients are numbered by what is told of them, mixed by a hash: the number could be worked out again from the tables
//! that it stands in, so it says nothing more than they do, of no code and of no date. Other records give other numbers.
//!
//! What remains, on purpose: how many records of each kind a patient has, and on which days since the implant. Whoever
//! knows some of these days of somebody can find the rest. So the tables are pseudonymous, and protected.

use std::collections::{BTreeMap, HashMap};

use chrono::{Months, NaiveDate};

use super::coarse::{Coarse, Owner, cells, text, word};
use super::columns::{Column, tables};
use super::rare::{FEWEST, Values, tell_of_patients};
use super::{Read, Row};
use crate::day::after;
use crate::patient::{EndReason, Where};
use crate::people::People;
use crate::problem::Failure;
use crate::record::{Shape, Value};
use crate::text::count;
use crate::word::Word;

/// What is said with every such export.
pub const CAUTION: &str = "These records are pseudonymous, not de-identified: whoever knows some days or events of a patient may find the patient in them. They stay protected health records, and the program's privacy office decides about their release.";

/// The fewest months that the records span.
const FEWEST_MONTHS: u32 = 12;

/// Why support ended, or that it has not.
const ENDS: &[&str] = &["none", "transplant", "recovery", "death", "transferred", "other"];

/// The records of all patients, gathered before anything is told of one.
#[derive(Debug, Default)]
pub struct Gathered {
    patients: Vec<Vec<String>>,
    tables: Vec<Table>,
    first: Option<NaiveDate>,
    last: Option<NaiveDate>,
}

/// A table, its values each by a number.
#[derive(Debug)]
struct Table {
    name: &'static str,
    columns: Vec<Coarse>,
    days: Vec<Box<[Option<i32>]>>,
    known: Vec<HashMap<String, u32>>,
    values: Vec<Vec<Value>>,
    rows: Values,
}

/// A table that may leave the house.
pub struct Released<'a> {
    /// Its name.
    pub name: &'static str,
    /// Its columns.
    pub columns: Vec<Column>,
    /// The columns that are empty because of what is left out.
    pub empty: Vec<String>,
    /// How many rows say nothing but patient and day; for patients, not all of their values.
    pub rows_left_out: usize,
    /// Whether so few patients have a row that there are none.
    pub is_left_out: bool,
    /// The rows, made as they are asked for.
    pub rows: Box<dyn Iterator<Item = Row> + 'a>,
}

/// The columns of the table of patients.
fn of_patients() -> Vec<Column> {
    vec![
        patient_column(),
        Column::of("ended.why", Shape::Words(ENDS), "why support ended; none while it goes on"),
        Column::of("where", Shape::Words(Where::WORDS), "where the first exit site is"),
        Column::of("infections_before", Shape::WholeOr("unknown"), "driveline infections before the records begin"),
    ]
}

fn patient_column() -> Column {
    Column::of("patient", Shape::Whole(1, 1_000_000), "a number that means nothing outside of these tables")
}

/// Every table with its columns, in order.
pub fn shapes() -> Vec<(&'static str, Vec<Column>)> {
    let others = tables().iter().filter_map(|table| Some((table.name, columns(&Coarse::of(table)?))));
    [("patients", of_patients())].into_iter().chain(others).collect()
}

fn columns(coarse: &[Coarse]) -> Vec<Column> {
    let left_out = "whether the record says nothing but its patient and its day, since too few have one of its values";
    let own = coarse.iter().map(|coarse| coarse.column.clone());
    [patient_column()].into_iter().chain(own).chain([Column::of("left_out", Shape::Flag, left_out)]).collect()
}

impl Gathered {
    /// Nothing yet.
    pub fn new() -> Gathered {
        let table = |table: &super::Table| {
            let columns = Coarse::of(table)?;
            let n = columns.len();
            let (known, values) = (vec![HashMap::new(); n], vec![Vec::new(); n]);
            Some(Table { name: table.name, columns, days: Vec::new(), known, values, rows: Values::default() })
        };
        Gathered { tables: tables().iter().filter_map(table).collect(), ..Gathered::default() }
    }

    /// Adds a patient; one whose course cannot be used is left out, since no day can be counted.
    pub fn add(&mut self, read: &Read, people: &People, today: NaiveDate) {
        let Some(owner) = Owner::of(read, people) else { return };
        let patient = self.patients.len() as u32;
        for table in &mut self.tables {
            let Some(plain) = tables().iter().find(|plain| plain.name == table.name) else { continue };
            let (voided, day) = (plain.position("voided"), plain.position("care_day"));
            for row in read.rows.get(table.name).into_iter().flatten() {
                if voided.is_some_and(|at| row[at] == Some(Value::Flag(true))) {
                    continue;
                }
                if let Some(Some(Value::Date(day))) = day.map(|at| &row[at]) {
                    self.first = Some(self.first.map_or(*day, |first| first.min(*day)));
                    self.last = Some(self.last.map_or(*day, |last| last.max(*day)));
                }
                table.add(patient, row, &owner);
            }
        }
        self.patients.push(about_patient(read, today));
    }

    /// Leaves out what has to be.
    ///
    /// # Errors
    /// The records are of too few patients, or of too short a time.
    pub fn settle(mut self) -> Result<Settled, Failure> {
        let patients = self.patients.len();
        if patients < FEWEST {
            return Err(Failure::new(format!(
                "these are records of {}, and --deidentify may tell nothing of fewer than {FEWEST}; nothing was written",
                count(patients as i64, "patient")
            )));
        }
        let span = self.first.zip(self.last);
        let is_long = |(first, last): (NaiveDate, NaiveDate)| {
            first.checked_add_months(Months::new(FEWEST_MONTHS)).is_some_and(|end| end <= after(last))
        };
        if !span.is_some_and(is_long) {
            return Err(Failure::new(format!(
                "the records span less than {FEWEST_MONTHS} months, of which --deidentify may tell nothing; nothing was written"
            )));
        }
        for table in &mut self.tables {
            table.known = Vec::new();
            table.rows.leave_out(table.columns.len());
        }
        let told = tell_of_patients(&self.patients);
        let mut settled = Settled { gathered: self, told, order: Vec::new() };
        settled.order = settled.numbered();
        Ok(settled)
    }
}

/// What is told of a patient, the most important first.
fn about_patient(read: &Read, today: NaiveDate) -> Vec<String> {
    let first = |table, column| cells(read, table, column).next();
    let has_ended = matches!(first("patients", "ended.on"), Some(Value::Date(day)) if *day <= today);
    let ended = first("patients", "ended.why").and_then(text).and_then(EndReason::from_word).filter(|_| has_ended);
    let before = first("patients", "infections_before").map_or("unknown".to_owned(), |value| match value {
        Value::Number(number) => number.to_string(),
        _ => "unknown".to_owned(),
    });
    let at = first("exits", "where").and_then(text).unwrap_or("other");
    vec![ended.map_or("none", EndReason::word).to_owned(), at.to_owned(), before]
}

impl Table {
    fn add(&mut self, patient: u32, row: &Row, owner: &Owner) {
        let mut days = Vec::new();
        let mut facts = Vec::new();
        for (n, coarse) in self.columns.iter().enumerate() {
            let value = coarse.value(row, owner);
            if coarse.is_day() {
                days.push(if let Some(Value::Number(day)) = value { Some(day as i32) } else { None });
                facts.push(None);
                continue;
            }
            days.push(None);
            facts.push(value.map(|value| {
                let (known, values) = (&mut self.known[n], &mut self.values[n]);
                *known.entry(value.to_string()).or_insert_with(|| {
                    values.push(value);
                    values.len() as u32 - 1
                })
            }));
        }
        self.days.push(days.into_boxed_slice());
        self.rows.patients.push(patient);
        self.rows.rows.push(facts.into_boxed_slice());
    }

    /// A row as it is told, without its patient.
    fn row(&self, n: usize) -> Row {
        let is_left_out = self.rows.is_left_out[n];
        let mut is_first_day = true;
        let value = |(at, coarse): (usize, &Coarse)| {
            if coarse.is_day() {
                let is_kept = std::mem::take(&mut is_first_day) || !is_left_out;
                return self.days[n][at].filter(|_| is_kept).map(|day| Value::Number(f64::from(day)));
            }
            let is_told = !is_left_out && !self.rows.empty.contains(&at);
            self.rows.rows[n][at].filter(|_| is_told).map(|value| self.values[at][value as usize].clone())
        };
        let values: Row = self.columns.iter().enumerate().map(value).collect();
        [values, vec![Some(Value::Flag(is_left_out))]].concat()
    }
}

/// What may be told.
#[derive(Debug)]
pub struct Settled {
    gathered: Gathered,
    /// Of each patient which values are told.
    told: Vec<Vec<bool>>,
    /// The patients in the order of their numbers.
    order: Vec<u32>,
}

impl Settled {
    /// The patients by a hash of what is told of them.
    fn numbered(&self) -> Vec<u32> {
        let mut hashes: Vec<(u64, u32)> =
            (0..self.told.len()).map(|n| (hash(BEGIN, &self.of_patient(n)), n as u32)).collect();
        for table in self.gathered.tables.iter().filter(|table| !table.is_left_out()) {
            for (n, patient) in table.rows.patients.iter().enumerate() {
                let (before, _) = hashes[*patient as usize];
                hashes[*patient as usize].0 = hash(hash_text(before, table.name), &table.row(n));
            }
        }
        hashes.sort_unstable();
        hashes.into_iter().map(|(_, n)| n).collect()
    }

    /// What is told of a patient.
    fn of_patient(&self, n: usize) -> Row {
        let values = self.gathered.patients[n].iter().enumerate();
        let number = |text: &String| text.parse().map(Value::Number).unwrap_or_else(|_| word(text));
        values.map(|(at, text)| self.told[n][at].then(|| number(text))).collect()
    }

    /// Every table, in order.
    pub fn released(&self) -> impl Iterator<Item = Released<'_>> {
        let patients = self.order.iter().enumerate();
        let rows = patients.map(|(number, n)| numbered(number, self.of_patient(*n as usize)));
        let patients = Released {
            name: "patients",
            columns: of_patients(),
            empty: Vec::new(),
            rows_left_out: self.told.iter().filter(|told| told.contains(&false)).count(),
            is_left_out: false,
            rows: Box::new(rows),
        };
        [patients].into_iter().chain(self.gathered.tables.iter().map(|table| self.table(table)))
    }

    fn table<'a>(&'a self, table: &'a Table) -> Released<'a> {
        let mut of_patient: BTreeMap<u32, Vec<usize>> = BTreeMap::new();
        for (n, patient) in table.rows.patients.iter().enumerate() {
            of_patient.entry(*patient).or_default().push(n);
        }
        let rows = self.order.iter().enumerate().flat_map(move |(number, patient)| {
            let rows = of_patient.remove(patient).unwrap_or_default();
            rows.into_iter().map(move |n| numbered(number, table.row(n)))
        });
        let is_left_out = table.is_left_out();
        let names = |at: &usize| table.columns[*at].column.name.clone();
        Released {
            name: table.name,
            columns: columns(&table.columns),
            empty: table.rows.empty.iter().map(names).collect(),
            rows_left_out: table.rows.is_left_out.iter().filter(|is_left_out| **is_left_out).count(),
            is_left_out,
            rows: if is_left_out { Box::new(std::iter::empty()) } else { Box::new(rows) },
        }
    }
}

impl Table {
    fn is_left_out(&self) -> bool {
        self.rows.count_patients() < FEWEST
    }
}

fn numbered(number: usize, row: Row) -> Row {
    [vec![Some(Value::Number(number as f64 + 1.0))], row].concat()
}

/// Where the hash begins, and what it is multiplied by: FNV-1a over 64 bits.
const BEGIN: u64 = 0xcbf2_9ce4_8422_2325;
const PRIME: u64 = 0x0000_0100_0000_01b3;

fn hash(begin: u64, row: &Row) -> u64 {
    row.iter().fold(begin, |hash, value| {
        let text = value.as_ref().map_or(String::new(), Value::to_string);
        hash_text(hash_text(hash, &text), "\n")
    })
}

fn hash_text(begin: u64, text: &str) -> u64 {
    text.bytes().fold(begin, |hash, byte| (hash ^ u64::from(byte)).wrapping_mul(PRIME))
}
