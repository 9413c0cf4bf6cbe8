//! `exitsite result`

use super::consent::Last;
use super::correction::{Correction, Said, Which, Writing};
use super::gap::Gaps;
use super::{Desk, Outcome, resolve};
use crate::entry::{Key, plain, typed};
use crate::event::Kind;
use crate::problem::Failure;
use crate::record::Value;
use crate::text::quoted;

/// Fill in the result of a culture
///
/// A result exists from its own date. Filling it in is no amendment; one that is there already is corrected with `amend`.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    #[command(flatten)]
    which: Which,

    /// The day of the result: 2026-11-24, yesterday
    #[arg(long, value_name = "DATE")]
    on: Option<String>,

    /// Whether something grew: yes or no
    #[arg(long, value_name = "YES|NO")]
    growth: Option<String>,

    /// What grew, with commas between
    #[arg(long, value_name = "NAMES")]
    organisms: Option<String>,

    #[command(flatten)]
    writing: Writing,
}

pub(super) fn run(args: &Args, desk: &Desk) -> Result<Outcome, Failure> {
    let program = desk.open()?;
    let correction = Correction::open(desk, &program, &args.which)?;
    let kind = correction.standing.kind;
    if kind != Kind::Culture {
        return Err(Failure::new(format!(
            "{} is a {kind} record; only a culture has a result",
            correction.target.source.file
        )));
    }
    let mut gaps = Gaps::of(desk, args.writing.yes);
    let read = |key: &str, text: &str| typed(&Key::meant(kind, key)?.shape, text, correction.clock());
    let day = |text: &str| resolve::past_day(&correction, text, correction.standing.day(&correction.book.calendar));
    let on = gaps.needed("--on", "the day of the result", args.on.as_deref(), day);
    let growth = gaps.needed("--growth", "whether something grew, yes or no", args.growth.as_deref(), |text| {
        read("result.growth", text)
    });
    let organisms = gaps.optional("--organisms", args.organisms.as_deref(), |text| read("result.organisms", text));
    if growth == Some(Value::Flag(false)) && organisms.is_some() {
        gaps.add("--organisms names what grew, although --growth says no; leave one of them out".to_owned());
    }
    gaps.end()?;
    let filling: Vec<(&str, Value)> =
        [("result.on", on.map(Value::Date)), ("result.growth", growth), ("result.organisms", organisms)]
            .into_iter()
            .filter_map(|(key, value)| Some((key, value?)))
            .collect();
    let corrected = correction.standing.filled(&filling)?;
    let says: Vec<String> =
        filling.iter().map(|(key, value)| format!(" --set {key}={}", quoted(&plain(value)))).collect();
    let back = format!(
        "If it is wrong: exitsite amend {}{} --why \"…\"\n",
        quoted(&correction.target.source.file),
        says.concat()
    );
    correction.settle(&corrected, args.writing, &Said { done: "Filled in", last: Last::Write, back })
}
