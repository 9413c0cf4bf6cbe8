//! The files of an export: rows are read, written and dropped patient by patient.

use std::collections::BTreeMap;
use std::io::Write;

use rayon::prelude::*;

use crate::command::Context;
use crate::export::release::{self, NOTICE};
use crate::export::{self, ExportColumn, ExportRow, PatientRows, Selection};
use crate::folder::{HandedOut, KeyFile, random_numbers};
use crate::problem::Failure;
use crate::program::Program;
use crate::report::export::{ExportReport, Format, Written};
use crate::report::{Report, Unusable};
use crate::view::export::{Columnar, JsonHead, csv_header, csv_rows, json_head, json_rows, json_tail, told_with_it};

/// The number of patients read at once; more would use more memory and, on a few cores, save no time.
const PATIENTS_AT_ONCE: usize = 4;

/// The files of one export.
pub(super) struct Tables<'a> {
    format: Format,
    folder: HandedOut,
    context: &'a Context<'a>,
    /// The number of rows written to each table.
    rows: BTreeMap<&'static str, usize>,
    /// The columns of each table.
    shapes: Vec<(&'static str, Vec<ExportColumn>)>,
    /// The Parquet files, by table; empty for other formats.
    columnar: BTreeMap<&'static str, Columnar<Box<dyn Write + Send + Sync>>>,
    /// The list of numbers, if the tables are pseudonymous.
    key: Option<KeyFile>,
    numbered: Vec<(u32, &'a str)>,
    /// The unreadable files.
    pub(super) unusable: Vec<Unusable>,
}

impl<'a> Tables<'a> {
    pub(super) fn begin(
        format: Format,
        folder: HandedOut,
        key: Option<KeyFile>,
        context: &'a Context<'a>,
    ) -> Result<Tables<'a>, Failure> {
        let shapes = match key {
            Some(_) => release::shapes(),
            None => export::tables().iter().map(|table| (table.name, table.columns.clone())).collect(),
        };
        let mut tables = Tables {
            format,
            folder,
            context,
            rows: BTreeMap::new(),
            shapes,
            columnar: BTreeMap::new(),
            key,
            numbered: Vec::new(),
            unusable: Vec::new(),
        };
        if format == Format::Parquet {
            tables.begin_columnar()?;
        }
        Ok(tables)
    }

    fn begin_columnar(&mut self) -> Result<(), Failure> {
        let with_notice = self.is_pseudonymous();
        for (name, columns) in &self.shapes {
            let path = file(name, self.format);
            let whole: Box<dyn Write + Send + Sync> = Box::new(self.folder.begin_whole(&path)?);
            let columnar = Columnar::begin(whole, name, columns, with_notice);
            self.columnar.insert(name, columnar.map_err(|error| self.folder.cannot(&path, &error))?);
        }
        Ok(())
    }

    /// Writes the records unchanged.
    pub(super) fn write(
        &mut self,
        program: &Program,
        codes: &[&str],
        selection: &Selection,
        is_everybody: bool,
    ) -> Result<(), Failure> {
        self.write_each(codes, |code| export::read_patient(program, code, selection))?;
        let mut common = vec![export::people(program)];
        common.extend(is_everybody.then(|| export::read_staff(program, selection)));
        common.into_iter().try_for_each(|read| {
            let written = self.written(read);
            self.add(written)
        })
    }

    /// Writes what may go to a recipient under an agreement, in order of the random numbers, and the list of the
    /// numbers.
    pub(super) fn write_pseudonymous(
        &mut self,
        program: &Program,
        codes: &[&'a str],
        selection: &Selection,
    ) -> Result<(), Failure> {
        let mut numbered: Vec<(u32, &str)> =
            random_numbers(codes.len())?.into_iter().zip(codes.iter().copied()).collect();
        numbered.sort_unstable();
        self.numbered.clone_from(&numbered);
        self.write_each(&numbered, |(number, code)| {
            let read = export::read_patient(program, code, selection);
            PatientRows { rows: release::rows(&read, *number), problems: read.problems }
        })
    }

    fn write_each<T: Sync>(&mut self, all: &[T], read: impl Fn(&T) -> PatientRows + Sync) -> Result<(), Failure> {
        let written = all.chunks(PATIENTS_AT_ONCE).enumerate().try_for_each(|(done, some)| {
            let texts: Vec<_> = some.par_iter().map(|one| self.written(read(one))).collect();
            self.progress(done * PATIENTS_AT_ONCE + some.len(), all.len());
            texts.into_iter().try_for_each(|texts| self.add(texts))
        });
        self.context.surroundings.terminal.iter().for_each(|terminal| terminal.end_progress());
        written
    }

    /// The rows as they are in the files.
    fn written(&self, mut read: PatientRows) -> (Vec<(&'static str, Piece)>, PatientRows) {
        let mut rows = std::mem::take(&mut read.rows);
        let piece = |(name, columns): &(&'static str, Vec<ExportColumn>)| {
            let rows = rows.remove(name)?;
            let text = match self.format {
                Format::Csv => csv_rows(columns, &rows, self.is_pseudonymous()),
                Format::Json => json_rows(columns, &rows),
                Format::Parquet => return Some((*name, Piece::Rows(rows))),
            };
            Some((*name, Piece::Text(rows.len(), text)))
        };
        (self.shapes.iter().filter_map(piece).collect(), read)
    }

    fn is_pseudonymous(&self) -> bool {
        self.key.is_some()
    }

    fn add(&mut self, (pieces, read): (Vec<(&'static str, Piece)>, PatientRows)) -> Result<(), Failure> {
        self.note(&read);
        pieces.into_iter().try_for_each(|(name, piece)| match piece {
            Piece::Text(rows, text) => self.append(name, rows, &text),
            Piece::Rows(rows) => self.append_rows(name, rows),
        })
    }

    fn append_rows(&mut self, name: &'static str, rows: Vec<ExportRow>) -> Result<(), Failure> {
        *self.rows.entry(name).or_default() += rows.len();
        let added = self.columnar.get_mut(name).map_or(Ok(()), |columnar| columnar.add(rows));
        added.map_err(|error| self.folder.cannot(&file(name, self.format), &error))
    }

    fn append(&mut self, name: &'static str, rows: usize, text: &str) -> Result<(), Failure> {
        let so_far = self.rows.entry(name).or_default();
        // JSON has a comma before every row but the first.
        let is_first = *so_far == 0 && self.format == Format::Json;
        let text = if is_first { text.strip_prefix(',').unwrap_or(text) } else { text };
        *so_far += rows;
        self.folder.append(&file(name, self.format), text)
    }

    /// Finishes every file and makes the folder visible.
    pub(super) fn finish(mut self, report: &Report<ExportReport>) -> Result<Vec<Written>, Failure> {
        let (mut written, with_notice) = (Vec::new(), self.is_pseudonymous());
        for (name, columns) in &self.shapes {
            let file = file(name, self.format);
            match self.format {
                Format::Csv => self.folder.finish(&file, &csv_header(columns, with_notice), "")?,
                Format::Json => self.folder.finish(&file, &json_head(&head(name, report)), json_tail())?,
                Format::Parquet => {
                    if let Some(columnar) = self.columnar.remove(name) {
                        let whole = columnar.finish(&head(name, report));
                        let whole = whole.map_err(|error| self.folder.cannot(&file, &error))?;
                        self.folder.finish_whole(&file, whole)?;
                    }
                }
            }
            let rows = self.rows.get(name).copied().unwrap_or(0);
            written.push(Written { table: (*name).to_owned(), file, rows });
        }
        match self.key {
            None => self.folder.show()?,
            Some(key) => {
                self.folder.finish("README.txt", &told_with_it(self.format), "")?;
                key.show_with(&self.numbered, self.folder)?;
            }
        }
        Ok(written)
    }

    fn note(&mut self, read: &PatientRows) {
        let makes = read.problems.iter().filter(|problem| problem.makes_unusable());
        self.unusable.extend(makes.map(Unusable::from));
    }

    fn progress(&self, done: usize, of: usize) {
        if let Some(terminal) = self.context.surroundings.terminal {
            terminal.progress("Reading patients", done, of);
        }
    }
}

/// Rows of one table: as text, or for columns.
enum Piece {
    Text(usize, String),
    Rows(Vec<ExportRow>),
}

fn file(name: &str, format: Format) -> String {
    format!("{name}.{format}")
}

/// The text before the rows of a JSON file, without dates and file names; it has the number of unreadable files.
fn head<'a>(table: &'a str, report: &'a Report<ExportReport>) -> JsonHead<'a> {
    let is_pseudonymous = report.body.pseudonymous;
    let mut files: Vec<&str> = report.unusable.iter().map(|one| one.file.as_str()).collect();
    files.dedup();
    let without_names = || Unusable {
        file: String::new(),
        line: None,
        message: format!(
            "{} could not be used; file names are left out",
            crate::text::count(files.len() as i64, "file")
        ),
    };
    JsonHead {
        notice: is_pseudonymous.then_some(NOTICE),
        command: &report.command,
        as_of: (!is_pseudonymous).then_some(report.as_of),
        version: &report.version,
        caution: &report.caution,
        unusable: match is_pseudonymous {
            true if files.is_empty() => Vec::new(),
            true => vec![without_names()],
            false => report.unusable.clone(),
        },
        pseudonymous: is_pseudonymous,
        table,
    }
}
