//! Signals before infections.

use super::Section;
use crate::report::audit::{Warning, Warnings};
use crate::text::count;
use crate::view::table::Cell;
use crate::view::words;

/// The maximum number of signals in a table; the JSON has all.
const MOST: usize = 10;

/// The definitions of the columns of both tables.
const DEFINITIONS: &str = "Lead: days from the time the first episode could be known to onset; the median of several. Followed: episodes with an onset within 30 days of opening, of those with 30 days of follow-up. Infections not determined yet are not included.";

pub(super) fn warnings(warnings: &Warnings) -> Section {
    let section = Section::new("Signals before infections");
    let Some((by_signal, any, today)) = known(warnings) else {
        return section.say("Not known, because policy.toml or people.toml cannot be read.");
    };
    let days = format!("{} to {}", warnings.from, warnings.to);
    let left_out = match warnings.left_out {
        0 => String::new(),
        n => format!(" Excluded, because signals or days before onset are not on file: {n}."),
    };
    if warnings.infections == 0 {
        return section.say(format!("{days}: no infection with signals on file before it.{left_out}"));
    }
    let (before, never): (Vec<&Warning>, Vec<&Warning>) =
        by_signal.iter().partition(|one| one.infections + one.followed > 0);
    let section = section
        .say(format!(
            "{days}: {}; {today} had an urgent signal open in the 30 days before onset, {any} any signal.{}{left_out}",
            count(warnings.infections as i64, "infection"),
            controls(warnings)
        ))
        .say(format!(
            "An association, not a cause; {} tested, so some may be open before an infection by chance. At the program's own rate, {} of all 30-day periods would contain an infection.",
            if by_signal.len() == 1 { "1 signal is".to_owned() } else { format!("{} signals are", by_signal.len()) },
            Cell::share(warnings.any_30_days, 1)
        ))
        .say_all((!before.is_empty()).then(|| DEFINITIONS.to_owned()));
    let section = match before.len() {
        0..=MOST => section,
        n => section.say(format!("The tables list {MOST} of {n} signals; the JSON has all.")),
    };
    let section = match never.iter().map(|one| one.episodes).sum::<u64>() {
        0 => section,
        episodes => section.say(format!(
            "Not open before any of these infections: {} with {}.",
            count(never.iter().filter(|one| one.episodes > 0).count() as i64, "signal"),
            count(episodes as i64, "episode")
        )),
    };
    let shown = || before.iter().copied().take(MOST);
    section
        .show(
            &["signal", "infections", "95 %", "other 30 days", "lead days"],
            shown().map(|one| before_onset(one, warnings)),
        )
        .show(&["signal", "episodes", "followed", "95 %", "per infection"], shown().map(followed))
}

fn known(warnings: &Warnings) -> Option<(&[Warning], u64, u64)> {
    Some((warnings.by_signal.as_deref()?, warnings.with_any?, warnings.with_any_today?))
}

/// Shares of other 30 days of the same patients.
fn controls(warnings: &Warnings) -> String {
    match (warnings.control_with_any_today, warnings.control_with_any, warnings.control_windows) {
        (Some(today), Some(any), windows @ 1..) => format!(
            " In any other 30 days of the same patients ({} in the year before, without an infection in them or in the 30 days after): {} an urgent one, {} any.",
            count(windows as i64, "window"),
            Cell::Share(today as f64 / windows as f64, 0),
            Cell::Share(any as f64 / windows as f64, 0)
        ),
        _ => " No other 30 days of these patients are on file to compare with.".to_owned(),
    }
}

fn before_onset(one: &Warning, warnings: &Warnings) -> Vec<Cell> {
    let windows = warnings.control_windows;
    let control = (windows > 0).then(|| one.control_windows as f64 / windows as f64);
    vec![
        Cell::text(words::signal(one.signal)),
        Cell::Figure(format!("{} of {}", one.infections, warnings.infections)),
        Cell::share_limits(one.share.clustered_low, one.share.clustered_high, 0),
        Cell::share(control, 0),
        Cell::number(one.median_lead_days, 0),
    ]
}

fn followed(one: &Warning) -> Vec<Cell> {
    let share = &one.followed_share;
    vec![
        Cell::text(words::signal(one.signal)),
        Cell::count(one.episodes),
        Cell::count(one.followed),
        Cell::share_limits(share.clustered_low, share.clustered_high, 1),
        Cell::number(one.looks_per_infection, 1),
    ]
}
