//! `exitsite resolve`

use chrono::NaiveDate;

use super::consent::LastQuestion;
use super::correction::{CorrectionParts, OpenCorrection, Which, Writing};
use super::gap::FlagGaps;
use super::pick::{self, WantedRecords};
use super::record::not_a_clinician;
use super::{Context, Outcome, consent, gap};
use crate::event::{Event, Fact, Kind};
use crate::problem::Failure;
use crate::record::Value;
use crate::text::{a, quoted};
use crate::view::words::question::correction::{RESOLVED_BY, RESOLVED_DAY, TREATMENT_ENDED, WHICH_OPEN};

/// Record that an infection resolved or a treatment ended
///
/// Filling in an empty day is not an amendment; to correct a day on file, use `amend`.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    #[command(flatten)]
    which: Which,

    /// Day of the resolution, or last day of the treatment: 2026-11-24, yesterday
    #[arg(long, value_name = "DATE")]
    on: Option<String>,

    /// Code of the clinician who determined the resolution; default: EXITSITE_BY
    #[arg(long, value_name = "CODE")]
    by: Option<String>,

    #[command(flatten)]
    writing: Writing,
}

pub(super) fn run(args: &Args, context: &Context) -> Result<Outcome, Failure> {
    pick::or_again(context, || correct(args, context))
}

fn correct(args: &Args, context: &Context) -> Result<Outcome, Failure> {
    let program = context.open()?;
    let correction = OpenCorrection::open(context, &program, &args.which, &wanted(args))?;
    let own_day = correction.standing.day(&correction.book.calendar);
    let onset = match correction.standing.values.get("onset") {
        Some(Value::Date(onset)) => Some(*onset),
        _ => own_day,
    };
    let (key, about, first) = match correction.standing.kind {
        Kind::Infection => ("resolved", "the day it was resolved", onset),
        Kind::Treatment => ("until", "its last day", own_day),
        kind => {
            return Err(Failure::new(format!(
                "{} is {} record. Only an infection can be resolved, and only a treatment ended.",
                correction.target.source.file,
                a(&kind.to_string())
            )));
        }
    };
    let on = FlagGaps::walk(context, args.writing.yes, |gaps| {
        let question = match key {
            "resolved" => RESOLVED_DAY,
            _ => TREATMENT_ENDED,
        };
        let on = gaps.needed(("--on", about, question), args.on.as_deref(), |text| past_day(&correction, text, first));
        if correction.standing.kind == Kind::Infection {
            let by = args.by.as_deref().or(context.surroundings.writer.as_deref());
            gaps.needed(("--by", "the clinician who determined it", RESOLVED_BY), by, |code| {
                clinician(&correction, code)
            })?;
        }
        on
    })?;
    let on = on.ok_or_else(gap::incomplete)?;
    let corrected = correction.standing.filled(&[(key, Value::Date(on))])?;
    let back = format!(
        "If it is wrong:\n  exitsite amend {} --clear {key} --why \"…\"\n",
        quoted(&correction.target.source.file)
    );
    correction.settle(
        &corrected,
        args.writing,
        &CorrectionParts { done: "Filled in", last: LastQuestion::Write, back, anew: None, doubts: Vec::new() },
    )
}

/// The code of a clinician; the refusal names those on the staff list.
fn clinician(correction: &OpenCorrection, code: &str) -> Result<String, String> {
    let code = correction.writer(code)?;
    not_a_clinician(correction.book.program, &code, "resolve an infection", correction.today()).map_or(Ok(code), Err)
}

/// A day that is neither in the future nor before `first`.
pub(super) fn past_day(correction: &OpenCorrection, text: &str, first: Option<NaiveDate>) -> Result<NaiveDate, String> {
    let day = correction.clock().day(text)?;
    consent::date_meant(correction.context.surroundings.terminal, text, &Value::Date(day))?;
    match first {
        _ if day > correction.today() => Err(format!("{day} is in the future. Check the month and the year.")),
        Some(first) if day < first => Err(format!("{day} is before its first day, {first}. Check both dates.")),
        _ => Ok(day),
    }
}

fn wanted(args: &Args) -> WantedRecords {
    WantedRecords {
        question: WHICH_OPEN,
        one: "open infection or treatment",
        several: "open infections and treatments",
        is_one: is_open,
        may_ask: !args.writing.yes,
    }
}

/// Returns true if an infection has no resolution, or a treatment no last day.
fn is_open(event: &Event) -> bool {
    match &event.fact {
        Fact::Infection(infection) => infection.resolved.is_none(),
        Fact::Treatment(treatment) => treatment.until.is_none(),
        _ => false,
    }
}
