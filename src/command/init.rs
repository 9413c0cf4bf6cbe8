//! `exitsite init`

use std::path::PathBuf;

use super::question::{Enter, Questions};
use super::{Context, Outcome};
use crate::folder::{self, NewHistory};
use crate::policy::{self, Policy};
use crate::problem::Failure;
use crate::record::{Edit, Value};
use crate::text::{self, visible};
use crate::view::sentences;
use crate::view::words::question::course;

/// Create a records folder, with a policy to fill in
///
/// Refuses a folder that contains a file. If git is installed, the folder becomes a git repository with a first commit
/// and a hook that checks each later commit.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// New folder
    #[arg(value_name = "DIR")]
    dir: PathBuf,

    /// Name of the program, as shown in reports
    #[arg(long, value_name = "NAME")]
    program: Option<String>,

    /// Time zone of the program, such as America/New_York
    #[arg(long, value_name = "ZONE")]
    time_zone: Option<String>,
}

pub(super) fn run(args: &Args, context: &Context) -> Result<Outcome, Failure> {
    let (program, zone) = asked(args, context)?;
    let policy = own_policy(program.as_deref(), zone.as_deref())?;
    let kept = folder::lay_out(&context.surroundings.here.join(&args.dir), &policy)?;
    let dir = text::path(&args.dir);
    let git = match kept {
        NewHistory::Committed => {
            "Git keeps it; the first commit is made.\nLater records are committed by --commit, by `commit = true` in policy.toml, or by your own `git commit`."
        }
        NewHistory::NotCommitted => "Git keeps it; the first commit failed: run `git add -A` and `git commit` there.",
        NewHistory::NotAtAll => "Git is not installed, so the folder has no history.",
    };
    let own = match (&program, &zone) {
        (Some(_), Some(_)) => "read",
        (None, Some(_)) => "set `program`, and read",
        (Some(_), None) => "set `time_zone`, and read",
        (None, None) => "set `program` and `time_zone`, and read",
    };
    // Nothing in the file tells a zone that was never set from a program in the template's zone.
    let template = Policy::built_in().filter(|_| zone.is_none());
    let zone_line = template.map(|template| {
        format!(
            "Time zone: {}, the template's. Set `time_zone` in policy.toml.\n",
            template.plan.map(|plan| plan.calendar.policy_zone().name()).unwrap_or_default()
        )
    });
    let zone_line = zone_line.unwrap_or_default();
    let made = format!(
        "Made {dir}. {git}\n{zone_line}First {own} every value of {dir}/policy.toml: protocols differ between programs.\nNext, in {dir}:\n"
    );
    let made = if context.surroundings.terminal.is_some() { sentences(&made, context.look) } else { made };
    let stdout = format!("{made}{NEXT}");
    Ok(Outcome { stdout, has_written: true, ..Outcome::default() })
}

/// The next four commands.
const NEXT: &str = "  exitsite staff add CODE        the staff, by code
  exitsite patient add CODE      a patient, by code
  exitsite record change CODE    a dressing change
  exitsite due                   the patients who need a change or a call
";

/// The name and the zone as typed, or as answered at a terminal.
fn asked(args: &Args, context: &Context) -> Result<(Option<String>, Option<String>), Failure> {
    let mut answers = (args.program.clone(), args.time_zone.clone());
    let Some(terminal) = context.surroundings.terminal else { return Ok(answers) };
    let questions = Questions { terminal, look: context.look, kept: None };
    questions.walk(&mut answers, 2, |at, (program, zone)| {
        // Every due time depends on the zone, so that Enter does not take the template's.
        let (question, answer, enter) = match at {
            0 => (course::PROGRAM, program, Enter::Leaves("later, in policy.toml")),
            _ => (course::TIME_ZONE, zone, Enter::Asks),
        };
        if answer.is_some() {
            return Ok(false);
        }
        let read = |text: &str| {
            let (name, zone) = if at == 0 { (Some(text), None) } else { (None, Some(text)) };
            own_policy(name, zone).map(|_| text.to_owned()).map_err(|failure| failure.to_string())
        };
        *answer = questions.ask(question, enter, read)?;
        Ok(true)
    })?;
    Ok(answers)
}

/// The template's policy with the program's name and time zone.
fn own_policy(program: Option<&str>, zone: Option<&str>) -> Result<String, Failure> {
    // EST and MST are IANA names too, of zones without daylight saving time.
    if let Some((typed, name)) = zone.and_then(|zone| Some((zone.trim(), policy::of_abbreviation(zone)?))) {
        return Err(Failure::new(format!("\"{}\" names no place. Did you mean {name}?", visible(typed))));
    }
    let edit = Edit::of(policy::TEMPLATE, Policy::fields());
    let mut edit = edit.ok_or_else(|| Failure::new("the template cannot be read"))?;
    for (key, text) in [("program", program), ("time_zone", zone)] {
        if let Some(text) = text {
            edit.set(key, &Value::Text(text.trim().to_owned()))?;
        }
    }
    match Policy::fault(edit.text()) {
        Some(problem) => Err(Failure::new(text::in_sentences(&[&problem.message, &problem.help]))),
        None => Ok(edit.text().to_owned()),
    }
}
