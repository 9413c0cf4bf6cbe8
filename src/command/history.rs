//! `exitsite history`

use std::path::Path;

use super::progress::while_reading;
use super::target::paths_of;
use super::{Context, Days, Outcome, ReadingFlags};
use crate::ask::{history, unusable_of, unusable_of_patient};
use crate::check;
use crate::day::Period;
use crate::event::{EventName, is_patient_code};
use crate::git::{CommitDiff, Repository};
use crate::patient;
use crate::problem::Failure;
use crate::program::Program;
use crate::report::Report;
use crate::text;
use crate::view;

/// List each record written, amended or voided, and its delay
///
/// Without a name it covers the last 28 days; for a patient or a file it covers everything, unless --from or --to is
/// given. Without git it lists the entries and corrections stated in the records.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// Only this patient, or this record
    #[arg(value_name = "PATIENT|FILE")]
    what: Option<String>,

    #[command(flatten)]
    days: Days,

    #[command(flatten)]
    asking: ReadingFlags,
}

pub(super) fn run(args: &Args, context: &Context) -> Result<Outcome, Failure> {
    if let Some(file) = args.what.as_deref().filter(|what| is_no_record(what)) {
        let file = text::visible(file);
        return Err(Failure::new(format!(
            "{file} is not a record, and history covers only records; `git log -p -- {file}` shows its changes"
        )));
    }
    let program = context.program(&args.asking)?;
    let as_of = context.as_of(&program, &args.asking)?;
    let calendar = program.calendar();
    let is_everything = args.what.is_some() && !args.days.is_given();
    // Records are found by clock date, and after midnight the care day is still the day before.
    let today = as_of.instant.with_timezone(&calendar.policy_zone()).date_naive();
    let period = if is_everything { None } else { Some(args.days.period(today)?) };
    let candidates = candidates(&program, args.what.as_deref(), &context.surroundings.here)?;
    // Without git, the history is what the records state.
    let repository = program.folder.repository_if_kept()?;
    let known = Known { program: &program, repository: repository.as_deref(), period };
    let (path, steps) = while_reading(context, &program, "Reading commits", 0, || match &args.what {
        None => Ok::<_, Failure>((None, known.steps(&[])?)),
        Some(typed) => {
            let (path, steps) = known.first_there(candidates)?.ok_or_else(|| nothing_of(&program, typed))?;
            Ok((Some(path), steps))
        }
    })?;
    let body = match (&repository, steps) {
        (Some(repository), Some(steps)) => history::of_git(&program, repository, &steps, as_of, period),
        _ => history::of_records(&program, path.as_deref(), as_of, period),
    };
    repository.iter().try_for_each(|repository| repository.is_whole())?;
    let mut unusable = unusable_of(&program, path.is_none());
    let patient = path.as_deref().and_then(|path| path.strip_prefix("patients/")?.split('/').next());
    if let Some(code) = patient.filter(|code| program.patients.codes.iter().any(|known| known == code)) {
        unusable.extend(unusable_of_patient(&program, code, as_of));
    }
    let report = Report::of("history", as_of, &calendar, unusable, body);
    let text = if args.asking.json { view::json(&report) } else { view::history(&report, context.look) };
    Ok(Outcome::report(text, &report.unusable))
}

/// Returns true for the path of a file in the records folder that is not a record.
fn is_no_record(what: &str) -> bool {
    what.rsplit('/').next() == Some(patient::FILE)
}

/// A path in the records, with the changes of the files below it, if there is git.
type ListedPath = (String, Option<Vec<CommitDiff>>);

/// The sources of the history.
struct Known<'a> {
    program: &'a Program,
    repository: Option<&'a Repository>,
    period: Option<Period>,
}

impl Known<'_> {
    fn steps(&self, paths: &[String]) -> Result<Option<Vec<CommitDiff>>, Failure> {
        let Some(repository) = self.repository else { return Ok(None) };
        // Allows for wrong clocks and time zones; anything too old is dropped by its own time.
        let oldest = self.period.map(|period| self.program.calendar().start(crate::day::plus(period.from, -2)));
        self.program.folder.steps(repository, None, paths, oldest).map(Some)
    }

    /// The first of these paths that is or was on file, with its history.
    fn first_there(&self, paths: Vec<String>) -> Result<Option<ListedPath>, Failure> {
        for path in paths {
            let steps = self.steps(std::slice::from_ref(&path))?;
            let was_there = steps.iter().flatten().flat_map(|step| &step.sides).any(|side| !side.changes.is_empty());
            if self.program.folder.holds(&path) || was_there {
                return Ok(Some((path, steps)));
            }
        }
        Ok(None)
    }
}

/// The paths that a patient's code or a file name may refer to.
///
/// # Errors
/// Records of several patients have that name.
fn candidates(program: &Program, typed: Option<&str>, here: &Path) -> Result<Vec<String>, Failure> {
    let Some(typed) = typed else { return Ok(Vec::new()) };
    let patient = Some(format!("patients/{typed}")).filter(|_| is_patient_code(typed));
    let meant = program.folder.meant(Path::new(typed), here).into_iter();
    let records = meant.filter(|path| path.starts_with("patients/") || path.starts_with("staff/"));
    let by_name = EventName::read(typed).map(|name| paths_of(program, None, name)).unwrap_or_default();
    if let [first, second, ..] = by_name.as_slice() {
        let patients = by_name.len();
        return Err(Failure::new(format!(
            "{patients} patients have a record named {typed}; type the full path, such as {first} or {second}"
        )));
    }
    Ok(patient.into_iter().chain(records).chain(by_name).collect())
}

/// The failure that there is no such patient or record. Suggests the same code written differently, or a similar file
/// of the same patient.
fn nothing_of(program: &Program, typed: &str) -> Failure {
    let code = text::same_code(typed, program.patients.codes.iter().map(String::as_str));
    let mut known: Vec<String> = Vec::new();
    let owner = check::owner(typed);
    if typed.contains('/') {
        let year = typed.strip_prefix(owner).and_then(|rest| rest.split('/').nth(1)).unwrap_or_default();
        let files = program.folder.year(owner, year).events.into_iter();
        known.extend(files.map(|name| format!("{owner}/{year}/{name}")));
    }
    let near = code.or_else(|| text::nearest(typed, known.iter().map(String::as_str)));
    let near = near.map(|near| format!("Did you mean {near}?"));
    let near =
        near.unwrap_or("Name a patient, or a file such as patients/P-014/2026/2026-11-23T1840-shower.toml.".into());
    Failure::new(format!("No patient or record {} on file. {near}", text::visible(typed)))
}
