//! The reason why a row is on the list, as it is said on the telephone.

use chrono::NaiveDate;

use crate::event::{Kind, Water};
use crate::report::due::{OpenSignal, Row, SiteRow};
use crate::schedule::{Because, Due, LastChange, Report, State, Trouble};
use crate::signal::Urgency;
use crate::text::{count, visible};
use crate::view::day::{short, short_day};
use crate::word::Word;

/// The signals of today, then why a change is due.
pub(in crate::view) fn reason(row: &Row) -> String {
    match row {
        Row::Site(site) => {
            let of_today = site.signals.iter().flatten().filter(|signal| signal.urgency == Urgency::Today);
            let said: Vec<String> = of_today.map(|signal| open_signal(signal, site.today)).collect();
            let signals = if said.is_empty() { String::new() } else { format!("{}; ", said.join(", ")) };
            format!("{signals}{}", of_change(site))
        }
        Row::Unusable(row) => format!("cannot be judged: {}", row.problem.message),
    }
}

/// A signal with its clock: `pus since Mon 08:00, answered`.
pub(super) fn open_signal(signal: &OpenSignal, today: NaiveDate) -> String {
    let answered = match (signal.is_answered, signal.is_news_answered) {
        (true, true) => ", answered",
        (true, false) => ", answered, but not what came since",
        (false, _) => "",
    };
    let (name, at) = (signal.name.word().replace('-', " "), at_closed_exit(signal));
    format!("{name}{at} since {}{answered}", short(&signal.since.into(), today))
}

/// The words for an exit site that has no row of its own: ` at exit a (closed)`; else none.
pub(in crate::view) fn at_closed_exit(signal: &OpenSignal) -> String {
    signal.closed_exit.as_ref().map(|exit| format!(" at exit {} (closed)", visible(exit))).unwrap_or_default()
}

fn of_change(site: &SiteRow) -> String {
    let (due, today) = (&site.due, site.today);
    let Some(because) = due.because else { return nothing_due(site) };
    let since = match due.order_unknown {
        true => "changed that day for another reason, order unknown",
        false => "not changed since",
    };
    match (because, &due.report) {
        (Because::AfterShower | Because::Damage, Some(report)) => {
            format!("{} {}, {since}", trouble(report), short(&report.at, today))
        }
        (Because::FirstChange, _) => format!("first change after {}", short_day(site.begins, today)),
        (Because::UnknownBefore, _) => {
            format!("records begin {}, nothing known before", short_day(site.begins, today))
        }
        (Because::Return, _) => {
            let back = due.due_on.map(|day| short_day(day, today)).unwrap_or_default();
            let ended = due.ended_by_move.iter();
            let ended =
                ended.map(|one| format!("; before that: {} {}, not changed", trouble(one), short(&one.at, today)));
            format!("back from elsewhere {back}, dressing not looked at yet{}", ended.collect::<String>())
        }
        (because, _) if because == Because::LogLate || due.state == State::AwaitingLog => log(due, today),
        _ => {
            let changed = due.last_change.as_ref();
            let changed =
                changed.map_or("no change on file".to_owned(), |change| format!("changed {}", ago(change, today)));
            let by = if due.phase.as_deref() == Some("order") { " by order" } else { "" };
            let interval = due.interval.as_ref().map(|interval| format!("{interval}{by}")).unwrap_or_default();
            format!("{changed}, {interval}")
        }
    }
}

/// The last day that a log covers, and the day of the next one.
fn log(due: &Due, today: NaiveDate) -> String {
    let through = due
        .heard_through
        .map_or("no log on file".to_owned(), |day| format!("log complete through {}", short_day(day, today)));
    let next = due.log_expected.map(|day| format!(", next expected {}", short_day(day, today))).unwrap_or_default();
    let from = due.heard_from.map(|day| format!(", heard from {}", short_day(day, today))).unwrap_or_default();
    format!("{through}{next}{from}")
}

/// A shower or damage: `showered`, `dressing wet at a shower`.
pub(super) fn trouble(report: &Report) -> String {
    match (report.trouble, report.kind) {
        (Trouble::Shower, _) => bathed(report.water).to_owned(),
        (Trouble::LeftDamaged(dressing), _) => format!("dressing left {dressing}"),
        (Trouble::Damage(dressing), Kind::Shower) => format!("dressing {dressing} at a shower"),
        (Trouble::Damage(dressing), Kind::Trauma) => format!("dressing {dressing} at a pull"),
        (Trouble::Damage(dressing), _) => format!("dressing {dressing}"),
    }
}

/// The kind of water: a swim is no shower.
fn bathed(water: Option<Water>) -> &'static str {
    match water {
        Some(Water::Bath) => "bathed",
        Some(Water::Pool) => "swam",
        Some(Water::Other) => "in water",
        Some(Water::Shower) | None => "showered",
    }
}

fn nothing_due(site: &SiteRow) -> String {
    let today = site.today;
    if let Some(ended) = &site.ended {
        return format!("support ended {}, {}", short_day(ended.on, today), ended.why);
    }
    if let Some(until) = site.closed_on {
        return format!("exit site closed {}", short_day(until, today));
    }
    if today < site.begins {
        return format!("begins {}", short_day(site.begins, today));
    }
    match site.days_elsewhere {
        Some(days) => format!("elsewhere for {}", count(days, "day")),
        None => "nothing is due".to_owned(),
    }
}

/// The time of the last change; from a week on also how many days ago.
fn ago(change: &LastChange, today: NaiveDate) -> String {
    days_ago(short(&change.at, today), change)
}

/// A last change with the number of days from a week on.
pub(super) fn days_ago(when: String, change: &LastChange) -> String {
    if change.days_ago < 7 { when } else { format!("{when}, {} days ago", change.days_ago) }
}
