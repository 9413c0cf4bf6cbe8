//! `exitsite patient exit`

use super::{Change, Chart, Ends, Whose};
use crate::ask::{self, effect};
use crate::command::correction::Writing;
use crate::command::gap::{self, Gaps};
use crate::command::{Desk, Outcome};
use crate::day::AsOf;
use crate::entry::{Course, plain};
use crate::problem::Failure;
use crate::record::Value;
use crate::schedule::{Because, State};
use crate::signal::{Episode, Urgency};
use crate::text::visible;
use crate::view::{self, words};

/// A further exit site, or the last day of one
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    #[command(flatten)]
    whose: Whose,

    /// Its id, such as b
    #[arg(long, value_name = "ID")]
    id: Option<String>,

    /// Where the line leaves: right-upper, left-upper, right-lower, left-lower, midline, other
    #[arg(long = "where", value_name = "WHERE")]
    at: Option<String>,

    /// Why there is one: implant, exchange, relocation, second-pump
    #[arg(long, value_name = "REASON")]
    why: Option<String>,

    /// Its first day, its POD 0
    #[arg(long, value_name = "DATE")]
    from: Option<String>,

    /// The exit site whose last day that is, as after a relocation
    #[arg(long, value_name = "ID")]
    closes: Option<String>,

    /// The last day of an exit site that is there, included; nothing new is opened
    #[arg(long, value_name = "DATE", conflicts_with_all = ["at", "why", "from", "closes"])]
    until: Option<String>,

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
    match &args.until {
        Some(until) => closed(args, &chart, until),
        None => opened(args, &chart),
    }
}

fn opened(args: &Args, chart: &Chart) -> Result<Outcome, Failure> {
    let mut gaps = Gaps::of(chart.desk, args.writing.yes);
    let id = gaps.needed("--id", "the id of the new exit site, such as b", args.id.as_deref(), gap::words);
    let at = gaps.needed("--where", "where the line leaves", args.at.as_deref(), chart.read("exit", "where"));
    let why = gaps.needed("--why", "why there is one", args.why.as_deref(), chart.read("exit", "why"));
    let from = gaps.needed("--from", "its first day", args.from.as_deref(), |text| chart.clock().day(text));
    let by = chart.writer(&mut gaps, args.by.as_deref());
    gaps.end()?;
    let (Some(id), Some(at), Some(why), Some(from), Some(by)) = (id, at, why, from, by) else {
        return Err(gap::incomplete());
    };
    let mut course = Course::of(&chart.patient)?;
    if let Some(other) = &args.closes {
        course.closed(other, from)?;
    }
    let closes = args.closes.as_ref().map(|other| format!("; exit {} closes that day", visible(other)));
    let words = format!("exit {}, {}, from {from}{}", visible(&id), plain(&at), closes.unwrap_or_default());
    let row = vec![
        ("id", Some(Value::Text(id.clone()))),
        ("where", Some(at)),
        ("from", Some(Value::Date(from))),
        ("why", Some(why)),
        ("by", Some(Value::Text(by))),
    ];
    course.opened(&id, row)?;
    let back = format!("If it is wrong: take that [[exit]] out of {} again.", chart.patient.file());
    let change = Change {
        words,
        doubts: chart.ahead(from).into_iter().collect(),
        closes: args.closes.iter().flat_map(|other| open_at(chart, other)).collect(),
        back,
        takes_effect: Some(from),
        spoken: args.ends.spoken(args.writing),
        ..Change::default()
    };
    chart.settle(&course, change, args.writing)
}

fn closed(args: &Args, chart: &Chart, until: &str) -> Result<Outcome, Failure> {
    let mut gaps = Gaps::of(chart.desk, args.writing.yes);
    let id = gaps.needed("--id", "the id of the exit site", args.id.as_deref(), gap::words);
    let until = gaps.optional("--until", Some(until), |text| chart.clock().day(text));
    gaps.end()?;
    let (Some(id), Some(until)) = (id, until) else { return Err(gap::incomplete()) };
    let mut course = Course::of(&chart.patient)?;
    course.closed(&id, until)?;
    let back = format!("If it is wrong: correct `until` of that [[exit]] in {}.", chart.patient.file());
    let words = format!("exit {} has its last day on {until}", visible(&id));
    let change = Change {
        words,
        doubts: chart.ahead(until).into_iter().collect(),
        closes: open_at(chart, &id),
        back,
        takes_effect: Some(until),
        spoken: args.ends.spoken(args.writing),
        ..Change::default()
    };
    chart.settle(&course, change, args.writing)
}

/// The signals of today and the clocks that are open at an exit site, as sentences.
fn open_at(chart: &Chart, id: &str) -> Vec<String> {
    let (code, now) = (chart.patient.code.as_str(), chart.desk.surroundings.now);
    let (report, _) = ask::signals(chart.program, &[code], AsOf { instant: now, is_given: false }, false);
    let is_here = |signal: &&Episode| signal.urgency == Urgency::Today && signal.exit.as_deref() == Some(id);
    let names: Vec<&str> = report.signals.iter().filter(is_here).map(|signal| words::signal(signal.signal)).collect();
    let mut open = Vec::new();
    if !names.is_empty() {
        let names = names.join(", ");
        open.push(format!(
            "Exit {} still needs review today: {names}. That stays open when the exit closes.",
            visible(id)
        ));
    }
    let rows = effect::standing(chart.program, code, now);
    for row in rows.iter().filter(|row| row.exit() == Some(id)) {
        let because = row.site().and_then(|site| site.due.because);
        let is_running = matches!(because, Some(Because::AfterShower | Because::Damage));
        if is_running || row.state() == State::Overdue {
            let state = view::entry::standing(row);
            open.push(format!(
                "Exit {} has a change due ({state}). Nothing is due there once it is closed.",
                visible(id)
            ));
        }
    }
    open
}
