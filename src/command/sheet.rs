//! `exitsite sheet`

use std::path::{Path, PathBuf};

use super::{Context, Outcome, ReadingFlags};
use crate::ask::{self, unusable_of};
use crate::day::{AsOf, Period};
use crate::folder::write_outside;
use crate::problem::Failure;
use crate::program::Program;
use crate::report::sheet::{self, MonthLog, SheetReport, Wanted};
use crate::report::{Report, Unusable};
use crate::text;
use crate::view::{self, Language};

/// Print a household's log of a month, or a checkoff
///
/// The answers on the log are boxes and numbers, the same in every language; `import` reads them from the rows of
/// --csv. Due days are planned from the last change on file, assuming that each change is made on its due day.
/// --checkoff prints the steps of a curriculum of the policy, for the observer to check off.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// The patient; optional with --checkoff
    #[arg(value_name = "PATIENT", required_unless_present = "checkoff")]
    patient: Option<String>,

    /// Month of the log; default: this month
    #[arg(long, value_name = "YYYY-MM", conflicts_with = "checkoff")]
    month: Option<String>,

    /// Print the checkoff of this curriculum of the policy instead of a log
    #[arg(long, value_name = "CURRICULUM")]
    checkoff: Option<String>,

    /// Learner: a code, or patient; selects the curriculum for nurses or for caregivers
    #[arg(long = "for", value_name = "LEARNER", requires = "checkoff")]
    learner: Option<String>,

    /// Version of the curriculum; default: the newest
    #[arg(long, value_name = "N", requires = "checkoff")]
    version: Option<i64>,

    /// Language, such as es: sheet/es.toml of the records, or the built-in one; default: the policy's
    #[arg(long, value_name = "CODE")]
    language: Option<String>,

    /// Write a page to print, on US Letter or A4, to this file; replaces only a page written by this command
    #[arg(long, value_name = "FILE", conflicts_with = "json")]
    html: Option<PathBuf>,

    /// Write the rows of the log as CSV to this new file, or - to print them
    #[arg(long, value_name = "FILE", conflicts_with_all = ["json", "checkoff"])]
    csv: Option<PathBuf>,

    /// Write the due days from today on as a calendar (RFC 5545), without findings or names, to this file; replaces
    /// only a calendar written by this command
    #[arg(long, value_name = "FILE", conflicts_with_all = ["json", "checkoff"])]
    ics: Option<PathBuf>,

    #[command(flatten)]
    asking: ReadingFlags,
}

pub(super) fn run(args: &Args, context: &Context) -> Result<Outcome, Failure> {
    let program = context.program(&args.asking)?;
    let as_of = context.as_of(&program, &args.asking)?;
    if let Some(code) = &args.patient {
        program.codes(std::slice::from_ref(code))?;
    }
    let calendar = program.calendar();
    let mut unusable = unusable_of(&program, false);
    let body = match (&args.checkoff, &args.patient) {
        (None, Some(code)) => {
            let (log, files) = log(args, &program, code, as_of)?;
            unusable.extend(files);
            SheetReport { log: Some(log), checkoffs: Vec::new() }
        }
        (curriculum, patient) => {
            let wanted = Wanted {
                curriculum: curriculum.as_deref().unwrap_or_default(),
                version: args.version,
                patient: patient.as_deref(),
                learner: args.learner.as_deref(),
                today: Some(calendar.today(as_of.instant)),
            };
            SheetReport { log: None, checkoffs: sheet::checkoffs(program.rules(), wanted)? }
        }
    };
    let language = language(args, &program)?;
    let report = Report::of("sheet", as_of, &calendar, unusable, body);
    let mut outcome = Outcome::report(output(args, context, &report, &language, as_of)?, &report.unusable);
    if !args.asking.json && report.body.log.as_ref().is_some_and(|log| log.numbers.is_empty()) {
        outcome
            .stderr
            .push_str("exitsite: The sheet has no telephone number: set `numbers` in [sheet] of policy.toml.\n");
    }
    Ok(outcome)
}

/// The language of the sheet: the one requested, else the policy's.
fn language(args: &Args, program: &Program) -> Result<Language, Failure> {
    let setting = program.policy.as_ref().and_then(|policy| policy.sheet.as_ref());
    let code = args.language.as_deref().or(setting.map(|setting| setting.language.as_str())).unwrap_or("en");
    let source = match Language::file(code).filter(|file| program.folder.holds(file)) {
        Some(file) => {
            let mut problems = Vec::new();
            let source = program.folder.read(&file, &mut problems);
            let why = || problems.first().map_or(String::new(), |problem| format!(": {}", problem.message));
            Some(source.ok_or_else(|| Failure::new(format!("{file} cannot be read{}", why())))?)
        }
        None => None,
    };
    Language::read(code, source.as_ref().map(|source| source.text.as_str()))
}

fn log(args: &Args, program: &Program, code: &str, as_of: AsOf) -> Result<(MonthLog, Vec<Unusable>), Failure> {
    let plan = program.usable_plan()?;
    let month: Period = match &args.month {
        Some(text) => sheet::month(text).map_err(|sentence| Failure::new(format!("--month {sentence}")))?,
        None => sheet::month_of(plan.calendar.today(as_of.instant)),
    };
    ask::log(program, plan, code, as_of, month)
}

/// Writes the requested files and returns the text to print.
fn output(
    args: &Args,
    context: &Context,
    report: &Report<SheetReport>,
    language: &Language,
    as_of: AsOf,
) -> Result<String, Failure> {
    if args.asking.json {
        return Ok(view::json(report));
    }
    let mut out = String::new();
    let write =
        |file: &Path, text: &str, mark: Option<&str>| write_outside(&context.surroundings.here.join(file), text, mark);
    if let Some(file) = &args.html {
        write(file, &view::sheet_page(report, language), Some(&view::sheet_mark()))?;
        let pages = report.body.log.as_ref().map_or(report.body.checkoffs.len(), |log| log.exits.len());
        out.push_str(&format!("Wrote {}: {} to print.\n", text::path(file), text::count(pages as i64, "page")));
    }
    if let (Some(file), Some(log)) = (&args.csv, &report.body.log) {
        if file.as_os_str() == "-" {
            return Ok(view::sheet_rows(log));
        }
        write(file, &view::sheet_rows(log), None)?;
        out.push_str(&format!("Wrote {}: rows to fill in, for `exitsite import`.\n", text::path(file)));
    }
    if let (Some(file), Some(log)) = (&args.ics, &report.body.log) {
        let days = text::count(view::due_days(log).len() as i64, "due day");
        write(file, &view::calendar(log, language, as_of.instant), Some(view::CALENDAR_MARK))?;
        out.push_str(&format!("Wrote {}: {days}.\n", text::path(file)));
    }
    if out.is_empty() {
        return Ok(view::sheet(report, language, context.look));
    }
    if let Some(remark) = language.to_check() {
        out.push_str(&format!("sheet/{}.toml: {}.\n", language.code, text::visible(remark)));
    }
    Ok(out)
}
