//! `exitsite patient order`

use clap::{Arg, ArgAction, Command};

use super::{CourseChange, EndsSignals, PATIENT, PatientFile};
use crate::command::closing::Spoken;
use crate::command::form::{CommandForm, KeyFlag, Need, TypedForm};
use crate::command::question::{Choice, Enter, Questions};
use crate::command::{Context, Outcome};
use crate::entry::{Course, plain};
use crate::patient::Patient;
use crate::problem::Failure;
use crate::record::{Value, Values};
use crate::text::{quoted, visible};
use crate::view::words::question::course;

/// Gives an order.
pub(super) const FORM: CommandForm = CommandForm {
    name: "order",
    about: "Record a clinician's order (an interval, or no showers), or the end of an order",
    more: "An order overrides the policy while it is in force. `--by` is the clinician who gave it.",
    whose: PATIENT,
    fields: Patient::fields,
    table: "order",
    keys: &keys(Need::May, Need::May, Need::Switch),
    own,
    run,
};

/// The forms of an order, by what it orders.
static ASKED: [CommandForm; 3] = [
    CommandForm { keys: &keys(Need::Needed, Need::May, Need::Switch), ..FORM },
    CommandForm { keys: &keys(Need::May, Need::Needed, Need::Switch), ..FORM },
    CommandForm { keys: &keys(Need::May, Need::May, Need::Yes), ..FORM },
];

const fn keys(every_days: Need, on_weekdays: Need, no_showers: Need) -> [KeyFlag; 9] {
    [
        KeyFlag::new("every_days", every_days, course::EVERY_DAYS),
        KeyFlag::new("on_weekdays", on_weekdays, course::ON_WEEKDAYS),
        KeyFlag::new("min_days", Need::May, course::MIN_DAYS),
        KeyFlag::new("no_showers", no_showers, course::ORDERED),
        KeyFlag::new("from", Need::Today, course::ORDERED_FROM),
        KeyFlag::new("until", Need::May, course::ORDERED_UNTIL),
        KeyFlag::new("exit", Need::May, course::ORDERED_AT),
        KeyFlag::new("by", Need::Clinician, course::ORDERED_BY),
        KeyFlag::new("why", Need::Needed, course::ORDERED_BECAUSE),
    ]
}

/// Ends an order, with `--end`; the flags say which.
const ENDED: CommandForm = CommandForm {
    keys: &[
        KeyFlag::new("every_days", Need::May, course::EVERY_DAYS),
        KeyFlag::new("on_weekdays", Need::May, course::ON_WEEKDAYS),
        KeyFlag::new("no_showers", Need::Switch, course::ORDERED),
        KeyFlag::new("from", Need::May, course::ORDERED_FROM),
        KeyFlag::new("exit", Need::May, course::ORDERED_AT),
        KeyFlag::called("end", "until", Need::Needed, course::ORDERED_UNTIL),
    ],
    ..FORM
};

fn own(command: Command) -> Command {
    let end = "Last day (inclusive) of the order in force then; nothing new is ordered. If several are in force, --from, --exit, --every-days, --on-weekdays or --no-showers selects one";
    let longer = "Confirm an interval longer than `[orders] longest_days` of the policy; --yes does not confirm that";
    let longer = Arg::new("longer-than-usual").long("longer-than-usual").action(ArgAction::SetTrue).help(longer);
    EndsSignals::flag(command)
        .mut_arg("every-days", |arg| arg.conflicts_with_all(["on-weekdays", "min-days", "no-showers"]))
        .mut_arg("on-weekdays", |arg| arg.conflicts_with("no-showers"))
        .mut_arg("min-days", |arg| arg.requires("on-weekdays"))
        .arg(
            Arg::new("end")
                .long("end")
                .value_name("DAY")
                .help(end)
                .conflicts_with_all(["min-days", "until", "by", "why"]),
        )
        .arg(longer.requires("every-days").conflicts_with("end"))
}

fn run(typed: &TypedForm, context: &Context) -> Result<Outcome, Failure> {
    let program = context.open()?;
    let chart = PatientFile::open(context, &program, typed)?;
    if typed.get("end").is_some() { ended(typed, &chart) } else { given(typed, &chart) }
}

fn given(typed: &TypedForm, chart: &PatientFile) -> Result<Outcome, Failure> {
    let row = chart.row(meant(typed, chart)?, typed)?;
    let from = row.date("from").unwrap_or(chart.today());
    let doubts = chart.ahead(from).into_iter().collect();
    let mut course = Course::of(&chart.patient)?;
    course.ordered(&row)?;
    // Several orders of one day are distinguished by what they order.
    let what = match (row.get("every_days"), row.get("on_weekdays")) {
        (Some(days), _) => format!(" --every-days {}", plain(days)),
        (_, Some(days)) => format!(" --on-weekdays {}", plain(days).replace(", ", ",")),
        _ => " --no-showers".to_owned(),
    };
    let exit = row.text("exit").map(|exit| format!(" --exit {}", quoted(exit))).unwrap_or_default();
    let back =
        format!("To end it:\n  exitsite patient order {} --end DATE --from {from}{what}{exit}", chart.patient.code);
    let longer = Spoken {
        flag: Some("--longer-than-usual"),
        is_typed: typed.is_set("longer-than-usual"),
        is_yes: typed.writing.yes,
    };
    let spoken = Some(EndsSignals::spoken(typed));
    let change =
        CourseChange { words: words(&row), doubts, spoken, longer: Some(longer), back, ..CourseChange::default() };
    chart.settle(&course, change, typed.writing)
}

/// The form of an order: from its flags, else chosen at a terminal.
fn meant(typed: &TypedForm, chart: &PatientFile) -> Result<&'static CommandForm, Failure> {
    if typed.get("every-days").or(typed.get("on-weekdays")).is_some() || typed.is_set("no-showers") {
        static GIVEN: CommandForm = FORM;
        return Ok(&GIVEN);
    }
    let Some(terminal) = chart.context.surroundings.terminal.filter(|_| !typed.writing.yes) else {
        let what = "nothing is ordered: add --every-days N, --on-weekdays mon,wed,fri, or --no-showers";
        return Err(Failure::unwritten(what));
    };
    let questions = Questions { terminal, look: chart.context.look, kept: None };
    let mut chosen = 0;
    questions.walk(&mut chosen, 1, |_, chosen| {
        let choices = Choice::words(&["every-days", "on-weekdays", "no-showers"]);
        *chosen = questions.choose(course::ORDERED, &choices, Enter::Asks)?.unwrap_or_default();
        Ok(true)
    })?;
    Ok(&ASKED[chosen])
}

fn ended(typed: &TypedForm, chart: &PatientFile) -> Result<Outcome, Failure> {
    let row = chart.row(&ENDED, typed)?;
    let on = row.date("until").unwrap_or(chart.today());
    let mut course = Course::of(&chart.patient)?;
    let order = course.order_ended(on, &row)?;
    let back = format!("If it is wrong: correct `until` of that [[order]] in {}.", chart.patient.file());
    let words = format!("order ends on {on}: {order}");
    let spoken = Some(EndsSignals::spoken(typed));
    chart.settle(&course, CourseChange { words, back, spoken, ..CourseChange::default() }, typed.writing)
}

/// An order in words: `a change every 2 days, from 2026-10-01 until further notice`.
fn words(row: &Values) -> String {
    let what = match (row.get("every_days"), row.get("on_weekdays")) {
        (Some(Value::Number(1.0)), _) => "a change daily".to_owned(),
        (Some(days), _) => format!("a change every {} days", plain(days)),
        (_, Some(days)) => {
            let least = row.get("min_days").map(|days| format!(", at least {} days apart", plain(days)));
            format!("a change on {}{}", plain(days), least.unwrap_or_default())
        }
        _ => "no showers".to_owned(),
    };
    let exit = row.text("exit").map(|exit| format!(", exit {}", visible(exit))).unwrap_or_default();
    let until = row.date("until").map_or("until further notice".to_owned(), |until| format!("until {until}"));
    let from = row.get("from").map(plain).unwrap_or_default();
    format!("{what}{exit}, from {from} {until}")
}
