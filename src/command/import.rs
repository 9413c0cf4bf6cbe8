//! `exitsite import`

use std::path::{Path, PathBuf};

use super::closing::{self, Spoken};
use super::correction::{lines, source};
use super::{Context, Outcome, consent};
use crate::ask::effect;
use crate::day::{Instant, Period, is_date_of_care};
use crate::entry::import::{Cells, ImportFlags, Map, Plan, Sides, carry_out};
use crate::entry::is_writer;
use crate::event::{Kind, Source};
use crate::folder::read_outside;
use crate::place::RecordText;
use crate::problem::Failure;
use crate::program::Program;
use crate::report::consequence::{Consequence, Side};
use crate::report::{due, import, rfc3339};
use crate::text::{in_sentences, visible};
use crate::view;
use crate::word::Word;

/// The largest file that is imported, in bytes.
const LARGEST: u64 = 50_000_000;

/// The largest map, in bytes.
const LARGEST_MAP: u64 = 1_000_000;

/// Import a paper log or a spreadsheet: all rows or none
///
/// FILE is CSV in UTF-8, separated by commas, semicolons or tabs, with a header of the records' field names: patient,
/// kind, at (a time) or on (a day) or date and time, by, source, exit, found.dressing, site.drainage, note, and so on;
/// `exitsite schema KIND` lists the fields of a kind. Lists are separated by spaces, organisms by commas. Rows with
/// only patient and day filled in are skipped.
///
/// Every row is checked first. If any row is bad, all bad rows are shown and nothing is written. Rows already on file,
/// including voided ones, are counted. A possible duplicate of a record on file, or of another row, stops the import
/// until column `same` has `same` or `another`; --yes does not decide it.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// The log or spreadsheet
    #[arg(value_name = "FILE.csv")]
    file: PathBuf,

    /// Map of the spreadsheet's own columns, words and dates
    #[arg(long, value_name = "FILE.toml")]
    map: Option<PathBuf>,

    /// Patient of the entire file
    #[arg(long, value_name = "CODE")]
    patient: Option<String>,

    /// Kind for rows without one
    #[arg(long, value_name = "KIND", value_parser = clap::builder::PossibleValuesParser::new(Kind::WORDS))]
    kind: Option<String>,

    /// Person who did or saw it, for rows without one
    #[arg(long, value_name = "CODE")]
    by: Option<String>,

    /// Writer of the records, by code; default: EXITSITE_BY
    #[arg(long, value_name = "CODE")]
    by_entered: Option<String>,

    /// Also record the log of these days; no row may be outside them
    #[arg(long, num_args = 2, value_names = ["FROM", "THROUGH"])]
    log: Vec<String>,

    /// The log is not complete for these days
    #[arg(long, requires = "log")]
    incomplete: bool,

    /// Show the result without writing it
    #[arg(long)]
    dry_run: bool,

    /// Import despite remarks
    #[arg(long)]
    yes: bool,

    /// Source for rows without one: log (default), told, seen or image. Required in a script if the file ends or acts
    /// on a signal of today
    #[arg(long, value_name = "WORD", value_parser = source)]
    source: Option<Source>,

    /// Also commit it to git
    #[arg(long)]
    commit: bool,

    /// Do not commit it, even if the policy says so
    #[arg(long, conflicts_with = "commit")]
    no_commit: bool,
}

pub(super) fn run(args: &Args, context: &Context) -> Result<Outcome, Failure> {
    let program = context.open()?;
    if program.plan().is_none() {
        return Err(Failure::new("Cannot read policy.toml. Correct it first; `exitsite check` shows where."));
    }
    let given = given(args, context, &program)?;
    let bytes = read_outside(&context.surroundings.here.join(&args.file), LARGEST)?;
    let cells = Cells::read(&visible(&given.file), &bytes)?;
    let map = match &args.map {
        Some(path) => Some(map(path, context)?),
        None => None,
    };
    let plan = Plan::of(&program, &cells, map.as_ref(), &given);
    if !plan.is_sound() {
        return Ok(Outcome { stderr: view::not_imported(&given.file, &plan), status: 2, ..Outcome::default() });
    }
    let consequences = consequences(&program, &plan, given.now);
    if let Some(refusal) = ask(args, context, &plan) {
        return Ok(refusal);
    }
    let spoken = Spoken { flag: Some("--source"), is_typed: args.source.is_some(), is_yes: args.yes };
    if !args.dry_run && !closing::ask_once(context, &consequences, spoken)? {
        return Ok(Outcome { stderr: "Nothing was written.\n".to_owned(), status: 2, ..Outcome::default() });
    }
    let danger = closing::danger(&program, &consequences, context.look);
    let noted = view::remarks(&[plan.asked.as_slice(), &plan.noted].concat());
    let stderr = if noted.is_empty() { noted } else { format!("Please check:\n{noted}") };
    if args.dry_run {
        let would = view::would_import(&import::imported(&plan, None), context.look);
        let stdout = format!("{danger}{would}");
        let stderr = format!("{stderr}{}", lines(&closing::would_close(&consequences)));
        return Ok(Outcome { stdout, stderr, ..Outcome::default() });
    }
    let progress = |done, of| {
        if let Some(terminal) = context.surroundings.terminal {
            terminal.progress("Writing records", done, of);
        }
    };
    let done = carry_out(&program.folder, &plan, progress);
    context.surroundings.terminal.iter().for_each(|terminal| terminal.end_progress());
    let done = done?;
    let imported = import::imported(&plan, Some(&done));
    let is_patient = |code: &&str| program.patients.codes.iter().any(|known| known == code);
    let codes = imported.iter().map(|of| of.code.as_str()).filter(is_patient);
    // Like the consequences: a record a few minutes ahead of the clock already counts.
    let as_of = consequences.iter().map(|consequence| consequence.as_of).fold(given.now, Instant::max);
    let rows: Vec<due::Row> = codes.flat_map(|code| effect::standing(&program, code, as_of)).collect();
    let today = program.calendar().today(given.now);
    let entered_at = rfc3339(&program.calendar().on_the_wall(given.now, today));
    let said = view::imported(&imported, &rows, &format!("at = {entered_at}"), context.look);
    let stdout = format!("{danger}{said}");
    let outcome = Outcome { stdout, stderr, ..Outcome::default() };
    let written: Vec<String> = imported.iter().flat_map(|of| of.files.iter().chain(&of.added_to)).cloned().collect();
    if written.is_empty() {
        return Ok(outcome);
    }
    let asked = if args.commit { Some(true) } else { args.no_commit.then_some(false) };
    Ok(context.committed(&program, asked, &written, &format!("import {}", visible(&given.file)), outcome))
}

/// The consequence of the import for each patient of the file.
fn consequences(program: &Program, plan: &Plan, now: Instant) -> Vec<Consequence> {
    let of = |sides: &Sides| {
        let side = |events| Side { patient: &sides.patient, events, unread: &sides.unread };
        let mut consequence = Consequence::of(program.rules(), side(&sides.before), side(&sides.after), now);
        // One question lists everything that the file ends, since no row was typed just now.
        consequence.ended.iter_mut().for_each(|sign| sign.is_plain = false);
        consequence
    };
    let changed = plan.owners.iter().filter(|owner| !owner.new.is_empty() || !owner.additions.is_empty());
    changed.filter_map(|owner| owner.sides.as_ref()).map(of).collect()
}

/// The flags of the import.
fn given(args: &Args, context: &Context, program: &Program) -> Result<ImportFlags, Failure> {
    let writer = args.by_entered.clone().or_else(|| context.surroundings.writer.clone());
    let writer =
        writer.ok_or_else(|| Failure::new("Required: --by-entered CODE, your own code, or set EXITSITE_BY."))?;
    let today = program.calendar().today(context.surroundings.now);
    is_writer(program, None, &writer, today)
        .map_err(|sentences| Failure::new(format!("--by-entered (or EXITSITE_BY): {sentences}")))?;
    let day = |text: &String| match text.parse().ok().filter(|day| text.len() == 10 && is_date_of_care(*day)) {
        Some(day) => Ok(day),
        None => Err(Failure::new(format!("--log \"{}\" is not a date. Write 2026-11-01.", visible(text)))),
    };
    let log = match args.log.as_slice() {
        [from, through] => Some(Period { from: day(from)?, to: day(through)? }),
        _ => None,
    };
    if let Some(Period { from, to }) = log.filter(|days| days.to < days.from) {
        return Err(Failure::new(format!("--log ends on {to}, before it begins on {from}. Swap the two days.")));
    }
    if let Some(patient) = &args.patient {
        program.codes(std::slice::from_ref(patient))?;
    }
    Ok(ImportFlags {
        file: args.file.file_name().unwrap_or_default().to_string_lossy().into_owned(),
        patient: args.patient.clone(),
        kind: args.kind.as_deref().and_then(Kind::from_word),
        by: args.by.clone(),
        source: args.source.unwrap_or(Source::Log),
        writer,
        now: context.surroundings.now,
        log,
        is_complete: !args.incomplete,
    })
}

fn map(path: &Path, context: &Context) -> Result<Map, Failure> {
    let shown = path.display();
    let bytes = read_outside(&context.surroundings.here.join(path), LARGEST_MAP)?;
    let text =
        String::from_utf8(bytes).map_err(|_| Failure::new(format!("{shown} is not UTF-8. Save it as UTF-8.")))?;
    let text = text.strip_prefix('\u{feff}').unwrap_or(&text).to_owned();
    let mut problems = Vec::new();
    let map = Map::read(&RecordText { file: shown.to_string(), text }, &mut problems);
    map.ok_or_else(|| {
        let line = |line: Option<usize>| line.map(|line| format!(":{line}")).unwrap_or_default();
        let words = problems.iter().map(|problem| {
            format!(
                "{shown}{}: {}",
                line(problem.place.line),
                in_sentences(&[&visible(&problem.message), &problem.help])
            )
        });
        Failure::new(words.collect::<Vec<_>>().join("\n"))
    })
}

/// Shows the remarks and asks; returns an outcome unless the user accepts.
fn ask(args: &Args, context: &Context, plan: &Plan) -> Option<Outcome> {
    if plan.asked.is_empty() || args.yes || args.dry_run {
        return None;
    }
    let remarks = view::remarks(&plan.asked);
    let Some(terminal) = context.surroundings.terminal else {
        let stderr = format!(
            "exitsite: Please check before the import. Nothing was written.\n{remarks}If everything is correct, import it with --yes.\n"
        );
        return Some(Outcome { stderr, status: 2, ..Outcome::default() });
    };
    terminal.say(&view::sentences(&format!("Please check before the import:\n{remarks}"), context.look));
    if consent::is_yes(terminal, "Is everything correct? Import it? [y/N]") {
        return None;
    }
    Some(Outcome { stderr: "Nothing was written.\n".to_owned(), status: 2, ..Outcome::default() })
}
