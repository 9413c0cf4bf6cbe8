//! `exitsite patient end`

use super::{Change, Chart, Ends, Whose};
use crate::command::correction::Writing;
use crate::command::gap::{self, Gaps};
use crate::command::{Desk, Outcome};
use crate::entry::{Course, plain};
use crate::problem::Failure;
use crate::record::Value;

/// The end of support: nothing is due from that day on
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    #[command(flatten)]
    whose: Whose,

    /// The day
    #[arg(long, value_name = "DATE")]
    on: Option<String>,

    /// transplant, recovery, death, transferred, other
    #[arg(long, value_name = "REASON")]
    why: Option<String>,

    /// Who writes it down, by code; else EXITSITE_BY
    #[arg(long, value_name = "CODE")]
    by: Option<String>,

    #[command(flatten)]
    ends: Ends,

    #[command(flatten)]
    writing: Writing,
}

pub(super) fn run(args: &Args, desk: &Desk) -> Result<Outcome, Failure> {
    let program = desk.open()?;
    let chart = Chart::open(desk, &program, &args.whose)?;
    let mut gaps = Gaps::of(desk, args.writing.yes);
    let on = gaps.needed("--on", "the day on which support ended", args.on.as_deref(), |text| chart.clock().day(text));
    let why = "why it ended: transplant, recovery, death, transferred or other";
    let why = gaps.needed("--why", why, args.why.as_deref(), chart.read("ended", "why"));
    let by = chart.writer(&mut gaps, args.by.as_deref());
    gaps.end()?;
    let (Some(on), Some(why), Some(by)) = (on, why, by) else { return Err(gap::incomplete()) };
    let mut course = Course::of(&chart.patient)?;
    let words = format!("support ends on {on}, {}", plain(&why));
    course.ended(vec![("on", Some(Value::Date(on))), ("why", Some(why)), ("by", Some(Value::Text(by)))])?;
    let back = format!("If it is wrong: take [ended] out of {} again.", chart.patient.file());
    let doubts = chart.ahead(on).into_iter().collect();
    let change = Change {
        words,
        doubts,
        back,
        takes_effect: Some(on),
        spoken: args.ends.spoken(args.writing),
        ..Change::default()
    };
    chart.settle(&course, change, args.writing)
}
