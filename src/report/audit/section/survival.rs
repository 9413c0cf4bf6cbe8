//! The time to a first infection.

use super::{Picture, Section, known, percent, percents};
use crate::report::audit::{FirstInfection, Group};
use crate::surveillance::freedom::{FreedomStep, Median};
use crate::surveillance::incidence::IncidenceStep;
use crate::text::{count, visible};

/// The days of which the curves are printed: a month, a quarter, half a year, a year, and years.
const DAYS: [i64; 8] = [30, 90, 180, 365, 730, 1095, 1461, 1826];

pub(super) fn first_infection(first: &FirstInfection) -> Section {
    let section = Section::new("Time to a first infection").say(meaning(first)).say(format!(
        "Followed from the implant, or from the day the records begin, to a first proven or probable infection, the end of support, or the period's end: {}. Left out, since they had, or may have had, an infection before the records began: {}. A transfer ends observation only.",
        count(first.n as i64, "patient"),
        first.left_out
    ));
    if first.n == 0 {
        return section;
    }
    let last = first.freedom.last().map_or(0, |step| step.day);
    let days: Vec<i64> = DAYS.into_iter().filter(|day| *day <= last).collect();
    let ends = &first.cumulative_incidence;
    let row = |day: &i64| {
        let infection = incidence(&ends.infection, *day);
        vec![
            day.to_string(),
            first.cohort.at_risk(*day).to_string(),
            percent(Some(infection.map_or(0.0, |step| step.value))),
            infection.map_or("-".to_owned(), |step| percents(step.low, step.high)),
            percent(Some(incidence(&ends.death, *day).map_or(0.0, |step| step.value))),
            percent(Some(incidence(&ends.transplant, *day).map_or(0.0, |step| step.value))),
            percent(Some(incidence(&ends.recovery, *day).map_or(0.0, |step| step.value))),
        ]
    };
    let free_row = |day: &i64| {
        let free = freedom(&first.freedom, *day);
        vec![
            day.to_string(),
            percent(Some(free.map_or(1.0, |step| step.survival))),
            free.map_or("-".to_owned(), |step| percents(step.low, step.high)),
        ]
    };
    let mut section = section
        .say("Infected, died, transplant, recovered: how many have met each end first (cumulative incidence); this is what happens to patients. Free: who would still be free of an infection if nothing else ended support (Kaplan–Meier); this compares care, and is not a share of patients. Where few are at risk one infection moves a curve far; under 10 it says little.")
        .show(&["day", "at risk", "infected", "95 %", "died", "transplant", "recovered"], days.iter().map(row).collect())
        .show(&["day", "free", "95 %"], days.iter().map(free_row).collect())
        .draw(Picture::Incidence)
        .draw(Picture::Freedom);
    if first.by.is_some() {
        section = section.say(groups(first)).show(
            &["group", "patients", "infections", "expected", "median days", "95 %"],
            first.groups.iter().map(group_row).collect(),
        );
    }
    section
}

fn meaning(first: &FirstInfection) -> String {
    let infected = format!("{} of {} had a first infection", first.events, count(first.n as i64, "patient"));
    match first.median_days {
        _ if first.n == 0 => "Nobody is followed from the beginning, so there is no curve.".to_owned(),
        Median { value: Some(median), low, high } => {
            let at_risk = first.cohort.at_risk(median as i64);
            let limits = match (low, high) {
                (None, None) => String::new(),
                _ => format!(" (95 % {})", open_limits(low, high)),
            };
            format!("{infected}; half would have one by day {median:.0}{limits}, with {at_risk} at risk on that day.")
        }
        Median { value: None, .. } => format!("{infected}; the curve does not reach half, so there is no median."),
    }
}

fn groups(first: &FirstInfection) -> String {
    let by = first.by.map(|by| by.to_string()).unwrap_or_default();
    let test = &first.log_rank;
    match (test.chi_square, test.df, test.p) {
        (Some(chi), Some(df), Some(p)) => format!(
            "By {by}: log-rank chi-square {chi:.2}, {df} df, {}. The test is cause-specific: other ends count as leaving.",
            super::p_words(p)
        ),
        (Some(chi), Some(df), None) => format!(
            "By {by}: log-rank chi-square {chi:.2}, {df} df; no p, since a group expects under 5 infections: what looks like a difference may be chance."
        ),
        _ => format!("By {by}: there is nothing to compare."),
    }
}

fn group_row(group: &Group) -> Vec<String> {
    vec![
        visible(&group.value),
        group.n.to_string(),
        group.events.to_string(),
        known(group.expected, 1),
        known(group.curves.median_days.value, 0),
        open_limits(group.curves.median_days.low, group.curves.median_days.high),
    ]
}

/// Limits of a median, whose upper one may not be reached.
fn open_limits(low: Option<f64>, high: Option<f64>) -> String {
    let bound = |day: Option<f64>| day.map_or("not reached".to_owned(), |day| format!("{day:.0}"));
    match (low, high) {
        (None, None) => "-".to_owned(),
        _ => format!("{} to {}", bound(low), bound(high)),
    }
}

fn incidence(steps: &[IncidenceStep], day: i64) -> Option<&IncidenceStep> {
    steps.iter().rev().find(|step| step.day <= day)
}

fn freedom(steps: &[FreedomStep], day: i64) -> Option<&FreedomStep> {
    steps.iter().rev().find(|step| step.day <= day)
}
