//! `exitsite check`

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use clap::builder::PossibleValuesParser;

use super::progress::while_reading;
use super::{Context, Outcome, ReadingFlags};
use crate::check;
use crate::day::AsOf;
use crate::folder::{Folder, kept_pictures};
use crate::git::{Repository, Revision};
use crate::problem::{Failure, Problem, Rule};
use crate::program::Program;
use crate::report::{Report, Unusable, check as report};
use crate::text;
use crate::view;
use crate::word::Word;

/// List every error in the records, with its correction
///
/// Exits with 1 if there are errors.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// List only the problems of these files or folders
    #[arg(value_name = "PATH")]
    paths: Vec<PathBuf>,

    /// Also compare with git: records edited without an amendment, or deleted, since this commit
    #[arg(long, value_name = "REV")]
    since: Option<String>,

    /// Also list records that this branch has and this folder lacks; for example origin/main after `git fetch`
    #[arg(long, value_name = "REMOTE/BRANCH")]
    against: Option<String>,

    /// Also look for the recorded pictures in this folder, by checksum; may be given several times
    #[arg(long, value_name = "DIR")]
    photos: Vec<PathBuf>,

    /// Exit with 1 on these: `error`, `warning` (includes errors), or the name of a rule; may be given several times
    #[arg(long, value_name = "LEVEL|RULE", default_value = "error", hide_possible_values = true)]
    #[arg(value_parser = PossibleValuesParser::new(["error", "warning"].iter().chain(Rule::WORDS)))]
    fail_on: Vec<String>,

    /// Explain a rule instead; `all` explains every rule
    #[arg(long, value_name = "RULE")]
    explain: Option<String>,

    #[command(flatten)]
    asking: ReadingFlags,
}

pub(super) fn run(args: &Args, context: &Context) -> Result<Outcome, Failure> {
    if let Some(name) = &args.explain {
        return explain(name, context);
    }
    let program = context.program(&args.asking)?;
    let as_of = context.as_of(&program, &args.asking)?;
    let since = args.since.as_deref().map(|since| Since::of(&program, since)).transpose()?;
    let wanted = wanted(&program, &args.paths, &context.surroundings.here, since.as_ref())?;
    let codes = (!wanted.is_empty()).then(|| patients_among(&wanted));
    let history = since.map(|since| since.problems(&program, &wanted)).transpose()?.unwrap_or_default();
    let now = as_of.instant.max(context.surroundings.now);
    let mut beside = history;
    if let Some(branch) = &args.against {
        let here = &context.surroundings.here;
        let there = Folder::at_revision("--against", context.records.as_deref(), here, branch)?;
        beside.extend(check::against(&program, &there, branch));
    }
    beside.extend(pictures(&args.photos, &program, codes.as_deref(), &context.surroundings.here)?);
    let patients = codes.as_ref().map_or(program.patients.codes.len(), Vec::len);
    let mut problems = while_reading(context, &program, "Checking patients", patients, || {
        check::check_with(&program, now, codes.as_deref(), beside)
    });
    problems.retain(|problem| wanted.is_empty() || wanted.iter().any(|path| is_inside(&problem.place.file, path)));
    let severities = program.policy.as_ref().map(|policy| policy.severities.clone()).unwrap_or_default();
    let body = report::report(&problems, &severities);
    let fails = args.fail_on.iter().any(|what| match what.as_str() {
        "error" => body.counts.error > 0,
        "warning" => body.counts.error + body.counts.warning > 0,
        rule => problems.iter().any(|problem| problem.rule.word() == rule),
    });
    let text = match args.asking.json {
        true => json(&program, as_of, &problems, body),
        false => {
            let fresh = if wanted.is_empty() { check::fresh(&program) } else { Vec::new() };
            view::check(&problems, &severities, &body.counts, &wanted, context.look)
                + &view::fresh(&fresh, context.look)
                + &args
                    .against
                    .as_ref()
                    .map(|branch| view::against(branch, &problems, context.look))
                    .unwrap_or_default()
        }
    };
    Ok(Outcome { stdout: text, status: u8::from(fails), ..Outcome::default() })
}

/// The recorded pictures that are missing from the folders.
fn pictures(
    folders: &[PathBuf],
    program: &Program,
    codes: Option<&[String]>,
    here: &Path,
) -> Result<Vec<Problem>, Failure> {
    if folders.is_empty() {
        return Ok(Vec::new());
    }
    let folders: Vec<PathBuf> = folders.iter().map(|folder| here.join(folder)).collect();
    let pictures = check::pictured(program, codes);
    let is_wanted = |name: &str, bytes: u64| pictures.iter().any(|one| one.may_be(name, bytes));
    Ok(check::unmatched(&pictures, &kept_pictures(&folders, is_wanted)?))
}

/// `--since`: the commit to compare from.
struct Since<'a> {
    typed: &'a str,
    repository: Arc<Repository>,
    revision: Revision,
}

impl<'a> Since<'a> {
    fn of(program: &Program, typed: &'a str) -> Result<Since<'a>, Failure> {
        let repository = program.folder.repository()?;
        let revision = repository.revision("--since", typed)?;
        Ok(Since { typed, repository, revision })
    }

    /// Edits and deletions of records.
    fn problems(&self, program: &Program, wanted: &[String]) -> Result<Vec<Problem>, Failure> {
        let from = Some((self.typed, &self.revision));
        // New files in the same folder distinguish a renamed file from a deleted one.
        let owners: BTreeSet<String> = wanted.iter().map(|path| check::owner(path).to_owned()).collect();
        let owners: Vec<String> = owners.into_iter().collect();
        let steps = program.folder.steps(&self.repository, from, &owners, None)?;
        let problems = check::since(program, &self.repository, &steps);
        self.repository.is_whole().map(|()| problems)
    }
}

fn json(program: &Program, as_of: AsOf, problems: &[Problem], body: report::CheckReport) -> String {
    let unusable = problems.iter().filter(|problem| cannot_be_read(problem.rule)).map(Unusable::from).collect();
    view::json(&Report::of("check", as_of, &program.calendar(), unusable, body))
}

/// Returns true if a file with this problem could not be read at all.
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

fn explain(name: &str, context: &Context) -> Result<Outcome, Failure> {
    if name == "all" {
        return Ok(Outcome { stdout: view::explain_all(context.look), ..Outcome::default() });
    }
    let Some(rule) = Rule::from_word(name) else {
        let near = text::nearest(name, Rule::WORDS.iter().copied())
            .map(|near| format!("; did you mean {near}?"))
            .unwrap_or(";".to_owned());
        return Err(Failure::new(format!(
            "unknown rule {}{near} `exitsite check --explain all` lists the rules",
            text::visible(name)
        )));
    };
    Ok(Outcome { stdout: view::explain(rule, context.look), ..Outcome::default() })
}

/// The requested paths, relative to the records folder; with `--since` they may have been deleted since.
fn wanted(program: &Program, paths: &[PathBuf], here: &Path, since: Option<&Since>) -> Result<Vec<String>, Failure> {
    let is_there = |path: &String| {
        let was_there = |since: &Since| since.repository.held(&since.revision, path);
        path.is_empty() || program.folder.holds(path) || since.is_some_and(was_there)
    };
    let relative = |path: &PathBuf| {
        program.folder.meant(path, here).into_iter().find(is_there).ok_or_else(|| {
            let root = text::path(program.folder.root());
            Failure::new(format!("there is no {} in the records folder {root}", text::path(path)))
        })
    };
    let wanted: Vec<String> = paths.iter().map(relative).collect::<Result<_, _>>()?;
    // The records folder itself means everything.
    Ok(if wanted.iter().any(String::is_empty) { Vec::new() } else { wanted })
}

/// The patients whose folders contain the paths or are named by them.
fn patients_among(wanted: &[String]) -> Vec<String> {
    wanted.iter().filter_map(|path| Some(path.strip_prefix("patients/")?.split('/').next()?.to_owned())).collect()
}

fn is_inside(file: &str, path: &str) -> bool {
    file == path || file.strip_prefix(path).is_some_and(|rest| rest.starts_with('/'))
}
