//! `exitsite grade`

use super::{Context, Days, Outcome, ReadingFlags};
use crate::ask::{self, unusable_of};
use crate::chart::Looks;
use crate::problem::Failure;
use crate::view;

/// Score the exit site, item by item, with band and trend
///
/// It scores what was recorded; it neither diagnoses nor rules out an infection.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// Only these patients
    #[arg(value_name = "PATIENT")]
    patients: Vec<String>,

    /// List every site record instead of the latest
    #[arg(long)]
    each: bool,

    #[command(flatten)]
    days: Days,

    #[command(flatten)]
    asking: ReadingFlags,
}

pub(super) fn run(args: &Args, context: &Context) -> Result<Outcome, Failure> {
    let query = context.query(&args.asking)?;
    let codes = query.codes(&args.patients)?;
    let scoring = query.program.usable_scoring()?;
    let looks = match (args.each, args.days.is_given()) {
        (_, true) => Looks::Each(Some(args.days.period(query.today())?)),
        (true, false) => Looks::Each(None),
        (false, false) => Looks::Latest,
    };
    let mut grades = ask::grade(&query.program, scoring, &codes, query.as_of, looks);
    grades.1.extend(unusable_of(&query.program, args.patients.is_empty()));
    Ok(query.answer("grade", grades, |report| view::grade(report, &scoring.rubric, context.look)))
}
