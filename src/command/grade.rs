//! `exitsite grade`

use super::{Asking, Days, Desk, Outcome};
use crate::chart::Looks;
use crate::policy::Rubric;
use crate::problem::Failure;
use crate::report::grade;
use crate::report::{Report, unusable_of};
use crate::view;

/// The exit-site score, item by item, its band, and which way it moves
///
/// It grades what was written down; it does not find or exclude an infection.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// Only these patients
    #[arg(value_name = "PATIENT")]
    patients: Vec<String>,

    /// Every site record instead of the latest
    #[arg(long)]
    each: bool,

    #[command(flatten)]
    days: Days,

    #[command(flatten)]
    asking: Asking,
}

pub(super) fn run(args: &Args, desk: &Desk) -> Result<Outcome, Failure> {
    let program = desk.program(&args.asking)?;
    let as_of = desk.as_of(&program, &args.asking)?;
    let codes = program.codes(&args.patients)?;
    let scoring = program.policy.as_ref().and_then(|policy| policy.scoring.as_ref());
    let (Some(plan), Some(scoring)) = (program.plan(), scoring) else {
        return Err(Failure::new("policy.toml cannot be used, so nothing can be graded; `exitsite check` says why"));
    };
    let wanted = match (args.each, args.days.is_given()) {
        (_, true) => Looks::Each(Some(args.days.period(plan.calendar.today(as_of.instant))?)),
        (true, false) => Looks::Each(None),
        (false, false) => Looks::Latest,
    };
    let (body, mut unusable) = grade::report(&program, scoring, &codes, as_of, wanted);
    unusable.extend(unusable_of(&program, args.patients.is_empty()));
    let is_built_in = Rubric::built_in().as_ref() == Some(&scoring.rubric);
    let report = Report::of("grade", as_of, &plan.calendar, unusable, body);
    let text = if args.asking.json { view::json(&report) } else { view::grade(&report, is_built_in, desk.look) };
    Ok(Outcome::report(text, &report.unusable))
}
