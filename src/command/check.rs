//! `exitsite check`

use std::path::{Path, PathBuf};

use clap::ValueEnum;

use super::{Asking, Desk, Outcome, target};
use crate::check;
use crate::problem::{Failure, Problem, Rule, Severities};
use crate::program::Program;
use crate::report::{Report, Unusable, check as report};
use crate::text;
use crate::view;
use crate::word::Word;

/// Everything that is wrong in the records, each with the place and what to do
///
/// Exits with 1 if there are errors.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// Only what is wrong in these files or folders
    #[arg(value_name = "PATH")]
    paths: Vec<PathBuf>,

    /// Exit with 1 from this level on
    #[arg(long, value_name = "LEVEL", default_value = "error")]
    fail_on: FailOn,

    /// Say why a rule is there, instead; `all` says it of every rule
    #[arg(long, value_name = "RULE")]
    explain: Option<String>,

    #[command(flatten)]
    asking: Asking,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum FailOn {
    /// A record that cannot be used
    Error,
    /// Also what is to be looked at
    Warning,
}

pub(super) fn run(args: &Args, desk: &Desk) -> Result<Outcome, Failure> {
    if let Some(name) = &args.explain {
        return explain(name, desk);
    }
    let program = desk.program()?;
    let as_of = desk.as_of(&program, &args.asking)?;
    let wanted = wanted(&program, &args.paths, &desk.surroundings.here)?;
    let codes = (!wanted.is_empty()).then(|| patients_among(&wanted));
    let mut problems = check::check(&program, as_of.instant.max(desk.surroundings.now), codes.as_deref());
    problems.retain(|problem| wanted.is_empty() || wanted.iter().any(|path| is_inside(&problem.place.file, path)));
    let severities = program.policy.as_ref().map(|policy| policy.severities.clone()).unwrap_or_default();
    let body = report::report(&problems, &severities);
    let fails = body.counts.error > 0 || args.fail_on == FailOn::Warning && body.counts.warning > 0;
    let text = text(args, desk, &program, as_of, &problems, &severities, body);
    Ok(Outcome { stdout: text, status: u8::from(fails), ..Outcome::default() })
}

fn text(
    args: &Args,
    desk: &Desk,
    program: &Program,
    as_of: crate::day::AsOf,
    problems: &[Problem],
    severities: &Severities,
    body: report::CheckReport,
) -> String {
    if !args.asking.json {
        return view::check(problems, severities, &body.counts, desk.look);
    }
    let unusable = problems.iter().filter(|problem| cannot_be_read(problem.rule)).map(Unusable::from).collect();
    view::json(&Report::of("check", as_of, &program.calendar(), unusable, body))
}

/// Whether a file with this problem could not be read at all.
fn cannot_be_read(rule: Rule) -> bool {
    matches!(
        rule,
        Rule::Syntax
            | Rule::NotUtf8
            | Rule::ConflictMarkers
            | Rule::TooLarge
            | Rule::TooDeep
            | Rule::NotARegularFile
            | Rule::CannotBeRead
            | Rule::MissingFile
    )
}

fn explain(name: &str, desk: &Desk) -> Result<Outcome, Failure> {
    if name == "all" {
        return Ok(Outcome { stdout: view::explain_all(desk.look), ..Outcome::default() });
    }
    let Some(rule) = Rule::from_word(name) else {
        let near = text::nearest(name, Rule::WORDS.iter().copied())
            .map(|near| format!("; did you mean {near}?"))
            .unwrap_or(";".to_owned());
        return Err(Failure::new(format!(
            "there is no rule {}{near} `exitsite check --explain all` lists them",
            text::visible(name)
        )));
    };
    Ok(Outcome { stdout: view::explain(rule, desk.look), ..Outcome::default() })
}

/// The paths asked for, relative to the records folder.
fn wanted(program: &Program, paths: &[PathBuf], here: &Path) -> Result<Vec<String>, Failure> {
    let relative = |path: &PathBuf| {
        target::inside(program, path, here).ok_or_else(|| {
            Failure::new(format!(
                "there is no {} in the records folder {}",
                path.display(),
                program.folder.root().display()
            ))
        })
    };
    let wanted: Vec<String> = paths.iter().map(relative).collect::<Result<_, _>>()?;
    // The folder itself is everything.
    Ok(if wanted.iter().any(String::is_empty) { Vec::new() } else { wanted })
}

/// The patients whose folders the paths lie in or hold.
fn patients_among(wanted: &[String]) -> Vec<String> {
    wanted.iter().filter_map(|path| Some(path.strip_prefix("patients/")?.split('/').next()?.to_owned())).collect()
}

fn is_inside(file: &str, path: &str) -> bool {
    file == path || file.strip_prefix(path).is_some_and(|rest| rest.starts_with('/'))
}
