//! The files of an export: rows are read patient by patient, written down, and let go.

use std::collections::BTreeMap;

use rayon::prelude::*;

use crate::command::Desk;
use crate::export::pseudonymous::{self, Gathered, Settled};
use crate::export::{self, Column, Read, Row, Selection, Table};
use crate::folder::HandedOut;
use crate::problem::Failure;
use crate::program::Program;
use crate::report::export::{ExportReport, Format, Written};
use crate::report::{Report, Unusable};
use crate::view::export::{JsonHead, csv_header, csv_rows, json_head, json_rows, json_tail, told_with_it};

/// So many patients are read at once; more would be more in memory, and no faster on a few cores.
const PATIENTS_AT_ONCE: usize = 16;

/// So many rows are written down at once.
const ROWS_AT_ONCE: usize = 4096;

/// The files.
pub(super) struct Tables<'a> {
    format: Format,
    folder: HandedOut,
    desk: &'a Desk<'a>,
    /// The rows of each table so far.
    rows: BTreeMap<&'static str, usize>,
    /// What may leave the house, where that was asked for.
    settled: Option<Settled>,
    /// What could not be used.
    pub(super) unusable: Vec<Unusable>,
}

impl<'a> Tables<'a> {
    pub(super) fn new(format: Format, folder: HandedOut, desk: &'a Desk<'a>) -> Tables<'a> {
        Tables { format, folder, desk, rows: BTreeMap::new(), settled: None, unusable: Vec::new() }
    }

    /// Writes the records as they are.
    pub(super) fn write(
        &mut self,
        program: &Program,
        codes: &[&str],
        selection: &Selection,
        is_everybody: bool,
    ) -> Result<(), Failure> {
        let common = if is_everybody {
            vec![export::people(program), export::read_staff(program, selection)]
        } else {
            vec![export::people(program)]
        };
        let format = self.format;
        let written = |mut read: Read| {
            let rows = std::mem::take(&mut read.rows);
            let texts = rows.into_iter().map(|(name, rows)| (name, rows.len(), text(format, &columns_of(name), &rows)));
            (texts.collect::<Vec<_>>(), read)
        };
        for (done, some) in codes.chunks(PATIENTS_AT_ONCE).enumerate() {
            let read = some.par_iter().map(|code| written(export::read_patient(program, code, selection)));
            for part in read.collect::<Vec<_>>() {
                self.add(part)?;
            }
            self.progress(done * PATIENTS_AT_ONCE + some.len(), codes.len());
        }
        common.into_iter().try_for_each(|read| self.add(written(read)))
    }

    fn add(&mut self, (texts, read): (Vec<(&'static str, usize, String)>, Read)) -> Result<(), Failure> {
        self.note(&read);
        texts.into_iter().try_for_each(|(name, rows, text)| self.append(name, rows, &text))
    }

    /// Writes what may leave the house.
    pub(super) fn write_pseudonymous(
        &mut self,
        program: &Program,
        codes: &[&str],
        selection: &Selection,
    ) -> Result<(), Failure> {
        let Some(people) = &program.people else {
            return Err(Failure::new(
                "people.toml cannot be used, so nobody's role can be told; `exitsite check` says why",
            ));
        };
        let mut gathered = Gathered::new();
        let today = program.calendar().today(selection.as_of.instant);
        for (done, some) in codes.chunks(PATIENTS_AT_ONCE).enumerate() {
            let read = some.par_iter().map(|code| export::read_patient(program, code, selection));
            for read in read.collect::<Vec<_>>() {
                self.note(&read);
                gathered.add(&read, people, today);
            }
            self.progress(done * PATIENTS_AT_ONCE + some.len(), codes.len());
        }
        let settled = gathered.settle()?;
        for mut table in settled.released() {
            loop {
                let rows: Vec<Row> = table.rows.by_ref().take(ROWS_AT_ONCE).collect();
                if rows.is_empty() {
                    break;
                }
                self.append(table.name, rows.len(), &text(self.format, &table.columns, &rows))?;
            }
        }
        self.settled = Some(settled);
        Ok(())
    }

    fn append(&mut self, name: &'static str, rows: usize, text: &str) -> Result<(), Failure> {
        let so_far = self.rows.entry(name).or_default();
        // In JSON a comma stands before every row but the first.
        let text = if *so_far == 0 { text.strip_prefix(',').unwrap_or(text) } else { text };
        *so_far += rows;
        self.folder.append(&file(name, self.format), text)
    }

    /// Finishes every file and shows the folder.
    pub(super) fn finish(mut self, report: &Report<ExportReport>) -> Result<Vec<Written>, Failure> {
        let mut written = Vec::new();
        match self.settled.take() {
            None => {
                for Table { name, columns, .. } in export::tables() {
                    written.push(self.finish_table(name, columns, report, Written::default())?);
                }
            }
            Some(settled) => {
                for table in settled.released() {
                    let told = Written {
                        rows_left_out: Some(table.rows_left_out),
                        columns_left_out: table.empty,
                        ..Written::default()
                    };
                    written.push(if table.is_left_out {
                        Written { table: table.name.to_owned(), ..Written::default() }
                    } else {
                        self.finish_table(table.name, &table.columns, report, told)?
                    });
                }
                self.folder.finish("README.txt", &told_with_it(self.format, &written), "")?;
            }
        }
        self.folder.show()?;
        Ok(written)
    }

    fn finish_table(
        &mut self,
        name: &'static str,
        columns: &[Column],
        report: &Report<ExportReport>,
        written: Written,
    ) -> Result<Written, Failure> {
        let file = file(name, self.format);
        let (before, behind) = match self.format {
            Format::Csv => (csv_header(columns), ""),
            Format::Json => (json_head(&head(name, report)), json_tail()),
        };
        self.folder.finish(&file, &before, behind)?;
        let rows = self.rows.get(name).copied().unwrap_or(0);
        Ok(Written { table: name.to_owned(), file: Some(file), rows: Some(rows), ..written })
    }

    fn note(&mut self, read: &Read) {
        let makes = read.problems.iter().filter(|problem| problem.makes_unusable());
        self.unusable.extend(makes.map(Unusable::from));
    }

    fn progress(&self, done: usize, of: usize) {
        if let Some(terminal) = self.desk.surroundings.terminal {
            terminal.progress(done, of);
        }
    }
}

fn file(name: &str, format: Format) -> String {
    format!("{name}.{format}")
}

fn columns_of(name: &str) -> Vec<Column> {
    export::tables().iter().find(|table| table.name == name).map(|table| table.columns.clone()).unwrap_or_default()
}

fn text(format: Format, columns: &[Column], rows: &[Row]) -> String {
    match format {
        Format::Csv => csv_rows(columns, rows),
        Format::Json => json_rows(columns, rows),
    }
}

/// What stands before the rows of a JSON file; where dates and file names are left out, how many files could not be used.
fn head<'a>(table: &'a str, report: &'a Report<ExportReport>) -> JsonHead<'a> {
    let is_pseudonymous = report.body.pseudonymous;
    let mut files: Vec<&str> = report.unusable.iter().map(|one| one.file.as_str()).collect();
    files.dedup();
    let without_names = || Unusable {
        file: String::new(),
        line: None,
        message: format!("{} could not be used; names are left out", crate::text::count(files.len() as i64, "file")),
    };
    JsonHead {
        command: &report.command,
        as_of: (!is_pseudonymous).then_some(&report.as_of),
        version: &report.version,
        caution: if is_pseudonymous { pseudonymous::CAUTION } else { &report.caution },
        unusable: match is_pseudonymous {
            true if files.is_empty() => Vec::new(),
            true => vec![without_names()],
            false => report.unusable.clone(),
        },
        pseudonymous: is_pseudonymous,
        table,
    }
}
