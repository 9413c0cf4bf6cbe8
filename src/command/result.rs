//! `exitsite result`

use chrono::TimeDelta;

use super::consent::LastQuestion;
use super::correction::{CorrectionParts, OpenCorrection, Which, Writing};
use super::gap::FlagGaps;
use super::pick::{self, WantedRecords};
use super::{Context, Outcome, resolve};
use crate::entry::Key;
use crate::event::{Event, Fact, Kind};
use crate::problem::Failure;
use crate::record::Value;
use crate::text::{a, quoted};
use crate::view::doubt::{Doubt, doubt};
use crate::view::words::question::correction::{GROWTH, ORGANISMS, RESULT_DAY, WHICH_OPEN};

/// Enter the result of a culture
///
/// Filling in an empty result is not an amendment; to correct a result on file, use `amend`. The organism of a culture
/// with growth may be added later.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    #[command(flatten)]
    which: Which,

    /// Day of the result: 2026-11-24, yesterday
    #[arg(long, value_name = "DATE")]
    on: Option<String>,

    /// Growth: yes or no
    #[arg(long, value_name = "YES|NO")]
    growth: Option<String>,

    /// Organisms, separated by commas
    #[arg(long, value_name = "NAMES")]
    organisms: Option<String>,

    #[command(flatten)]
    writing: Writing,
}

pub(super) fn run(args: &Args, context: &Context) -> Result<Outcome, Failure> {
    pick::or_again(context, || correct(args, context))
}

fn correct(args: &Args, context: &Context) -> Result<Outcome, Failure> {
    let program = context.open()?;
    let correction = OpenCorrection::open(context, &program, &args.which, &wanted(args))?;
    let kind = correction.standing.kind;
    if kind != Kind::Culture {
        return Err(Failure::new(format!(
            "{} is {} record. Only a culture has a result.",
            correction.target.source.file,
            a(&kind.to_string())
        )));
    }
    let read = |key: &str, text: &str| Key::meant(kind, key)?.typed(text, correction.clock());
    let flag = |text: &str| match text.trim().to_lowercase().as_str() {
        "1" => read("result.growth", "yes"),
        "2" | "no growth" => read("result.growth", "no"),
        text => read("result.growth", text),
    };
    let day = |text: &str| resolve::past_day(&correction, text, correction.standing.day(&correction.book.calendar));
    // The organism is often identified days after growth is reported.
    let has = |key: &str| correction.standing.values.get(key);
    let is_adding = has("result.growth") == Some(&Value::Flag(true)) && has("result.organisms").is_none();
    let (on, growth, organisms) = FlagGaps::walk(context, args.writing.yes, |gaps| {
        let (on, growth) = if is_adding {
            (
                gaps.optional("--on", RESULT_DAY, args.on.as_deref(), day),
                gaps.optional("--growth", GROWTH, args.growth.as_deref(), flag),
            )
        } else {
            (
                gaps.needed(("--on", "the day of the result", RESULT_DAY), args.on.as_deref(), day),
                gaps.needed(("--growth", "yes or no", GROWTH), args.growth.as_deref(), flag),
            )
        };
        let names = |text: &str| read("result.organisms", text);
        let organisms = match () {
            () if is_adding && growth != Some(Value::Flag(false)) => gaps.needed(
                ("--organisms", "their names, separated by commas", ORGANISMS),
                args.organisms.as_deref(),
                names,
            ),
            () if growth == Some(Value::Flag(true)) => {
                gaps.possible("--organisms", ORGANISMS, args.organisms.as_deref(), names)
            }
            () => gaps.optional("--organisms", ORGANISMS, args.organisms.as_deref(), names),
        };
        if growth == Some(Value::Flag(false)) && organisms.is_some() {
            gaps.add("--organisms contradicts --growth no. Leave one of them out.".to_owned());
        }
        (on, growth, organisms)
    })?;
    let filling: Vec<(&str, Value)> =
        [("result.on", on.map(Value::Date)), ("result.growth", growth), ("result.organisms", organisms)]
            .into_iter()
            .filter_map(|(key, value)| Some((key, value?)))
            .collect();
    let corrected = correction.standing.filled(&filling)?;
    let doubts = is_early(&correction, &filling).into_iter().collect();
    let back = format!(
        "If it is wrong:\n  exitsite amend {}{} --why \"…\"\n",
        quoted(&correction.target.source.file),
        otherwise(&filling)
    );
    correction.settle(
        &corrected,
        args.writing,
        &CorrectionParts { done: "Filled in", last: LastQuestion::Write, back, anew: None, doubts },
    )
}

/// The flags that correct what was filled in: the other growth, or else other organisms.
fn otherwise(filling: &[(&str, Value)]) -> &'static str {
    let has = |key: &str| filling.iter().find(|(known, _)| *known == key).map(|(_, value)| value);
    match (has("result.growth"), has("result.organisms")) {
        (Some(Value::Flag(false)), _) => " --set result.growth=yes",
        (Some(_), None) => " --set result.growth=no",
        (Some(_), Some(_)) => " --set result.growth=no --clear result.organisms",
        (None, Some(_)) => " --set result.organisms=\"…\"",
        (None, None) => " --set result.on=YYYY-MM-DD",
    }
}

/// The doubt about no growth within a day of the swab; of a culture without a time, on its day.
fn is_early(correction: &OpenCorrection, filling: &[(&str, Value)]) -> Option<String> {
    let is_none_grown = filling.contains(&("result.growth", Value::Flag(false)));
    let file = &correction.target.source.file;
    let culture = correction.book.events.iter().find(|event| is_none_grown && event.file() == file)?;
    let since = correction.context.surroundings.now - culture.when.instant;
    let since = match culture.when.wall {
        Some(_) if since >= TimeDelta::zero() && since < TimeDelta::hours(24) => Some(since),
        None if culture.when.care_day == correction.today() => None,
        _ => return None,
    };
    Some(doubt(&Doubt::NoGrowthSoon { since }, correction.today()))
}

fn wanted(args: &Args) -> WantedRecords {
    WantedRecords {
        question: WHICH_OPEN,
        one: "open culture",
        several: "open cultures",
        is_one: is_open,
        may_ask: !args.writing.yes,
    }
}

/// Returns true if a culture has no result, or growth without an organism.
fn is_open(event: &Event) -> bool {
    match &event.fact {
        Fact::Culture(culture) => {
            culture.result.as_ref().is_none_or(|result| result.growth && result.organisms.is_empty())
        }
        _ => false,
    }
}
