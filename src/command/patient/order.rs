//! `exitsite patient order`

use chrono::NaiveDate;

use super::{Change, Chart, Whose};
use crate::command::closing::Spoken;
use crate::command::correction::Writing;
use crate::command::gap::{self, Gaps};
use crate::command::{Desk, Outcome};
use crate::entry::{self, Course, MeantOrder, plain};
use crate::people::Role;
use crate::problem::Failure;
use crate::record::Value;
use crate::text::quoted;

/// A clinician's order: how often the dressing is changed, or no showers; or its end
///
/// An order overrides the policy while it runs. `--by` is the clinician who gave it.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    #[command(flatten)]
    whose: Whose,

    /// A change every so many days
    #[arg(long, value_name = "N", conflicts_with_all = ["on_weekdays", "min_days", "no_showers"])]
    every_days: Option<String>,

    /// A change on these weekdays, such as mon,wed,fri
    #[arg(long, value_name = "DAYS", conflicts_with = "no_showers")]
    on_weekdays: Option<String>,

    /// With --on-weekdays: not sooner after a change, in days
    #[arg(long, value_name = "N", requires = "on_weekdays")]
    min_days: Option<String>,

    /// No showers
    #[arg(long)]
    no_showers: bool,

    /// The last day, included, of the order that runs then; nothing new is ordered. Where several run, --from, --exit,
    /// --every-days, --on-weekdays or --no-showers says which
    #[arg(long, value_name = "DATE", conflicts_with_all = ["min_days", "until", "by", "why"])]
    end: Option<String>,

    /// Its first day; default: today. With --end: of the order that began that day
    #[arg(long, value_name = "DATE")]
    from: Option<String>,

    /// Its last day, included
    #[arg(long, value_name = "DATE")]
    until: Option<String>,

    /// The exit site that it is for; default: all
    #[arg(long, value_name = "ID")]
    exit: Option<String>,

    /// The clinician who gave it, by code
    #[arg(long, value_name = "CODE")]
    by: Option<String>,

    /// Why
    #[arg(long, value_name = "TEXT")]
    why: Option<String>,

    /// The interval is longer than `[orders] longest_days` of the policy, and is meant so; --yes does not answer that
    #[arg(long, requires = "every_days", conflicts_with = "end")]
    longer_than_usual: bool,

    #[command(flatten)]
    writing: Writing,
}

pub(super) fn run(args: &Args, desk: &Desk) -> Result<Outcome, Failure> {
    let program = desk.open()?;
    let chart = Chart::open(desk, &program, &args.whose)?;
    match &args.end {
        Some(end) => ended(args, &chart, end),
        None => given(args, &chart),
    }
}

fn given(args: &Args, chart: &Chart) -> Result<Outcome, Failure> {
    let mut gaps = Gaps::of(chart.desk, args.writing.yes);
    let every_days = gaps.optional("--every-days", args.every_days.as_deref(), chart.read("order", "every_days"));
    let weekdays = gaps.optional("--on-weekdays", args.on_weekdays.as_deref(), chart.read("order", "on_weekdays"));
    let min_days = gaps.optional("--min-days", args.min_days.as_deref(), chart.read("order", "min_days"));
    if args.every_days.is_none() && args.on_weekdays.is_none() && !args.no_showers {
        gaps.add("nothing is ordered: write --every-days N, --on-weekdays mon,wed,fri, or --no-showers".to_owned());
    }
    let from = chart.day(&mut gaps, "--from", args.from.as_deref());
    let until = gaps.optional("--until", args.until.as_deref(), |text| chart.clock().day(text));
    let by = gaps.needed("--by", "the clinician who gave the order, by code", args.by.as_deref(), |code| {
        entry::is_writer(chart.program, None, code.trim(), chart.today())?;
        Ok(code.trim().to_owned())
    });
    let why = gaps.needed("--why", "why it was ordered", args.why.as_deref(), gap::words);
    gaps.end()?;
    let (Some(from), Some(by), Some(why)) = (from, by, why) else { return Err(gap::incomplete()) };
    let mut course = Course::of(&chart.patient)?;
    let words = words(&every_days, &weekdays, &min_days, args.exit.as_deref(), from, until);
    // Of several orders of one day it is known by what it orders.
    let what = match (&every_days, &weekdays) {
        (Some(days), _) => format!(" --every-days {}", plain(days)),
        (_, Some(days)) => format!(" --on-weekdays {}", plain(days).replace(", ", ",")),
        _ => " --no-showers".to_owned(),
    };
    let doubts = chart.ahead(from).into_iter().chain(no_physician(chart, &by)).collect();
    course.ordered(vec![
        ("from", Some(Value::Date(from))),
        ("until", until.map(Value::Date)),
        ("every_days", every_days),
        ("on_weekdays", weekdays),
        ("min_days", min_days),
        ("no_showers", args.no_showers.then_some(Value::Flag(true))),
        ("exit", args.exit.clone().map(Value::Text)),
        ("by", Some(Value::Text(by))),
        ("why", Some(Value::Text(why))),
    ])?;
    let exit = args.exit.as_ref().map(|exit| format!(" --exit {}", quoted(exit))).unwrap_or_default();
    let back = format!("To end it: exitsite patient order {} --end DATE --from {from}{what}{exit}", chart.patient.code);
    let longer =
        Spoken { flag: Some("--longer-than-usual"), is_typed: args.longer_than_usual, is_yes: args.writing.yes };
    chart.settle(&course, Change { words, doubts, longer: Some(longer), back, ..Change::default() }, args.writing)
}

fn ended(args: &Args, chart: &Chart, end: &str) -> Result<Outcome, Failure> {
    let mut gaps = Gaps::of(chart.desk, args.writing.yes);
    let on = gaps.optional("--end", Some(end), |text| chart.clock().day(text));
    let meant = MeantOrder {
        from: gaps.optional("--from", args.from.as_deref(), |text| chart.clock().day(text)),
        exit: args.exit.clone(),
        every_days: gaps.optional("--every-days", args.every_days.as_deref(), chart.read("order", "every_days")),
        on_weekdays: gaps.optional("--on-weekdays", args.on_weekdays.as_deref(), chart.read("order", "on_weekdays")),
        no_showers: args.no_showers,
    };
    gaps.end()?;
    let on = on.ok_or_else(gap::incomplete)?;
    let mut course = Course::of(&chart.patient)?;
    let order = course.order_ended(on, &meant)?;
    let back = format!("If it is wrong: correct `until` of that [[order]] in {}.", chart.patient.file());
    let words = format!("the order {order} has its last day on {on}");
    chart.settle(&course, Change { words, back, ..Change::default() }, args.writing)
}

fn words(
    every_days: &Option<Value>,
    weekdays: &Option<Value>,
    min_days: &Option<Value>,
    exit: Option<&str>,
    from: NaiveDate,
    until: Option<NaiveDate>,
) -> String {
    let what = match (every_days, weekdays) {
        (Some(Value::Number(1.0)), _) => "a change daily".to_owned(),
        (Some(days), _) => format!("a change every {} days", plain(days)),
        (_, Some(days)) => {
            let least = min_days.as_ref().map(|days| format!(", not within {} days", plain(days))).unwrap_or_default();
            format!("a change on {}{least}", plain(days))
        }
        _ => "no showers".to_owned(),
    };
    let exit = exit.map(|exit| format!(", exit {}", crate::text::visible(exit))).unwrap_or_default();
    let until = until.map_or(" until further notice".to_owned(), |until| format!(" until {until}"));
    format!("{what}{exit}, from {from}{until}")
}

/// That whoever gave the order is no physician.
fn no_physician(chart: &Chart, by: &str) -> Option<String> {
    let person = chart.program.people.as_ref()?.get(by)?;
    (person.role != Role::Physician).then(|| format!("{by} is no physician: write who gave the order"))
}
