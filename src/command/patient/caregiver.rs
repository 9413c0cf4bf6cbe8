//! `exitsite patient caregiver`

use super::{Change, Chart, Whose, is_free};
use crate::command::correction::Writing;
use crate::command::gap::{self, Gaps};
use crate::command::{Desk, Outcome};
use crate::entry::Course;
use crate::problem::Failure;
use crate::record::Value;

/// Somebody more who changes the dressing at home, by code; records can then be by them
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    #[command(flatten)]
    whose: Whose,

    /// The caregiver's code, never a name, such as p014-son
    #[arg(long = "code", value_name = "CODE")]
    caregiver: Option<String>,

    /// What the caregiver is to the patient
    #[arg(long, value_name = "RELATION")]
    relation: Option<String>,

    /// Who writes it down, by code; else EXITSITE_BY
    #[arg(long, value_name = "CODE")]
    by: Option<String>,

    #[command(flatten)]
    writing: Writing,
}

pub(super) fn run(args: &Args, desk: &Desk) -> Result<Outcome, Failure> {
    let program = desk.open()?;
    let chart = Chart::open(desk, &program, &args.whose)?;
    let mut gaps = Gaps::of(desk, args.writing.yes);
    let code = gaps.needed("--code", "the caregiver's code, such as p014-son", args.caregiver.as_deref(), |code| {
        is_free(&program, code.trim())?;
        Ok(code.trim().to_owned())
    });
    let relation = gaps.optional("--relation", args.relation.as_deref(), gap::words);
    let by = chart.writer(&mut gaps, args.by.as_deref());
    gaps.end()?;
    let (Some(code), Some(by)) = (code, by) else { return Err(gap::incomplete()) };
    let mut course = Course::of(&chart.patient)?;
    let words = match &relation {
        Some(relation) => format!("caregiver {code}, {relation}"),
        None => format!("caregiver {code}"),
    };
    course.cared_for(vec![
        ("code", Some(Value::Text(code))),
        ("relation", relation.map(Value::Text)),
        ("by", Some(Value::Text(by))),
    ])?;
    let back = format!("If it is wrong: take that [[caregiver]] out of {} again.", chart.patient.file());
    chart.settle(&course, Change { words, back, ..Change::default() }, args.writing)
}
