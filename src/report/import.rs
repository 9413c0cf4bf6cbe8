//! The result of an import or a dry run, by patient.

use std::collections::BTreeMap;

use chrono::NaiveDate;

use crate::day::Period;
use crate::entry::import::{OwnerPlan, Plan, WriteOutcome, WrittenFiles};
use crate::event::Kind;

/// The result for one patient or staff member.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Imported {
    /// The code.
    pub code: String,
    /// The number of new records by kind, excluding the log itself.
    pub kinds: BTreeMap<Kind, usize>,
    /// The first and the last day of the new records.
    pub days: Option<(NaiveDate, NaiveDate)>,
    /// The number of rows already on file.
    pub on_file: usize,
    /// The number of rows left blank.
    pub not_filled_in: usize,
    /// The records on file to which facts were added.
    pub added_to: Vec<String>,
    /// The period of the imported log, and true if the log was already on file.
    pub log: Option<(Period, bool)>,
    /// The new files.
    pub files: Vec<String>,
}

/// Returns the result by patient; for a plan not carried out, the expected one.
pub fn imported(plan: &Plan, done: Option<&WrittenFiles>) -> Vec<Imported> {
    let mut written = done.map(|done| done.written.iter());
    plan.owners
        .iter()
        .map(|owner| {
            Imported::of(owner, |file| match &mut written {
                Some(written) => written.next().cloned().unwrap_or(WriteOutcome::New(file)),
                None => WriteOutcome::New(file),
            })
        })
        .collect()
}

impl Imported {
    fn of(owner: &OwnerPlan, mut became: impl FnMut(String) -> WriteOutcome) -> Imported {
        let mut imported = Imported {
            code: owner.code.clone(),
            kinds: BTreeMap::new(),
            days: None,
            on_file: owner.on_file,
            not_filled_in: owner.not_filled_in,
            added_to: owner.additions.iter().map(|addition| addition.file.clone()).collect(),
            log: owner.log.map(|log| (log.days, log.is_on_file)),
            files: Vec::new(),
        };
        let has_log = owner.log.is_some_and(|log| !log.is_on_file);
        let rows = owner.new.len() - usize::from(has_log).min(owner.new.len());
        for (n, record) in owner.new.iter().enumerate() {
            let (name, is_row) = (record.name, n < rows);
            match became(format!("{}/{}/{name}", record.owner, name.year())) {
                WriteOutcome::AlreadyThere(_) if is_row => imported.on_file += 1,
                WriteOutcome::AlreadyThere(_) => {}
                WriteOutcome::New(file) => {
                    imported.files.push(file);
                    if is_row {
                        *imported.kinds.entry(name.kind).or_default() += 1;
                        let (from, through) = imported.days.unwrap_or((name.date, name.date));
                        imported.days = Some((from.min(name.date), through.max(name.date)));
                    }
                }
            }
        }
        imported
    }

    /// Returns the number of new records, excluding the log itself.
    pub fn records(&self) -> usize {
        self.kinds.values().sum()
    }
}
