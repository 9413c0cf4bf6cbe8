//! The time to first infection.

use super::{Picture, Section, p_words};
use crate::report::audit::{FirstInfection, GroupBy, PatientGroup, Shown};
use crate::surveillance::follow_up::at_risk;
use crate::surveillance::incidence::IncidenceStep;
use crate::surveillance::kaplan_meier::{KaplanMeierStep, Median};
use crate::text::{count, thousands, visible};
use crate::view::table::Cell;

/// The days of the tables: a month, a quarter, half a year, a year, and years.
const DAYS: [i64; 8] = [30, 90, 180, 365, 730, 1095, 1461, 1826];
/// The difference between the two curves.
const CURVES: &str = "Infected, died, transplant, recovered: cumulative incidence of the first event, that is, patient outcomes. Free: Kaplan–Meier freedom from infection if nothing else ended support, with all other ends censored. It is for comparing rates, where a difference may be the patients', and is not a proportion of patients.";

pub(super) fn first_infection(first: &FirstInfection) -> Section {
    let mut section = Section::new("Time to first infection").say(meaning(first)).say(format!(
        "Followed from implant, or from the first day of the records, to the first proven or probable infection, the end of support, or the end of the period: {}. Excluded because of a known or possible infection before the records began: {}. A transfer is censored.",
        count(first.n as i64, "patient"),
        first.left_out
    ));
    if let Some(shown) = &first.shown {
        section = section
            .say(CURVES)
            .say(span(first, shown))
            .show(
                &["day", "at risk", "infected", "95 %", "died", "transplant", "recovered"],
                days(shown).map(|day| incidence_row(first, shown, day)),
            )
            .show(&["day", "free", "95 %"], days(shown).map(|day| freedom_row(first, shown, day)))
            .draw(Picture::Incidence)
            .draw(Picture::Freedom);
    }
    if first.by.is_some() && first.n > 0 {
        section = section.say(groups(first)).say_all(hazard(first)).show(
            &["group", "patients", "infections", "expected", "median days", "95 %"],
            first.groups.iter().map(group_row),
        );
        if first.groups.len() > 2 {
            section = section
                .show(&["group", "hazard ratio", "95 %"], first.groups.iter().map(|group| ratio_row(first, group)));
        }
    }
    section
}

fn meaning(first: &FirstInfection) -> String {
    if first.n == 0 {
        return "No patient can be followed for a first infection, so there is no curve.".to_owned();
    }
    let mut infected = format!("{} of {} had a first infection", first.events, count(first.n as i64, "patient"));
    let Some(shown) = &first.shown else {
        let most = first.at_risk.iter().map(|step| step.patients).max().unwrap_or(0);
        return format!(
            "{infected}. Too few patients at risk for a curve: it needs {} on one day; the maximum was {most}.",
            first.curve_at_risk
        );
    };
    infected += &of_these(first, shown);
    match shown.median_days.value {
        Some(median) => {
            let limits = match open_limits(shown.median_days) {
                Cell::Missing => String::new(),
                limits => format!(", 95 % {limits}"),
            };
            let at_risk = at_risk(&first.at_risk, median as i64);
            format!(
                "{infected}. {} If nothing else ended support, half would have one by day {} (Kaplan–Meier{limits}), {at_risk} at risk.",
                by_day(shown, median as i64),
                thousands(median.round() as i64)
            )
        }
        None => format!(
            "{infected}. {} The Kaplan–Meier curve does not reach half by then, so there is no median.",
            by_day(shown, shown.to)
        ),
    }
}

/// Describes how many of the infections are in the days shown, if not all.
fn of_these(first: &FirstInfection, shown: &Shown) -> String {
    let inside: u64 = shown.freedom.iter().map(|step| step.events).sum();
    let least = first.curve_at_risk;
    match shown.from {
        _ if inside == first.events => String::new(),
        ..=0 => format!(", {inside} of them by day {}, the last with at least {least} at risk", thousands(shown.to)),
        from => format!(
            ", {inside} of them from day {} to day {}, the first and last with at least {least} at risk",
            thousands(from),
            thousands(shown.to)
        ),
    }
}

/// Describes the cumulative incidence of a first infection by a day.
fn by_day(shown: &Shown, day: i64) -> String {
    let step = shown.cumulative_incidence.infection.iter().rev().find(|step| step.day <= day);
    let limits = match step.and_then(|step| step.low.zip(step.high)) {
        Some((low, high)) => format!(" (95 % {})", Cell::share_limits(Some(low), Some(high), 1)),
        None => String::new(),
    };
    let free = match shown.from {
        ..=0 => String::new(),
        from => format!(" of those free of one on day {}", thousands(from)),
    };
    format!(
        "By day {}, {}{free} had a first infection{limits}.",
        thousands(day),
        Cell::Share(step.map_or(0.0, |step| step.value), 1)
    )
}

/// Describes the days shown of the curves, and their condition.
fn span(first: &FirstInfection, shown: &Shown) -> String {
    let condition = match shown.from {
        ..=0 => String::new(),
        day => format!(" They include only patients on support and free of infection on day {day}."),
    };
    format!(
        "The curves are shown from day {} to day {}, the first and last with at least {} at risk.{condition}",
        shown.from, shown.to, first.curve_at_risk
    )
}

fn days(shown: &Shown) -> impl Iterator<Item = i64> {
    let (from, to) = (shown.from, shown.to);
    DAYS.into_iter().filter(move |day| from < *day && *day <= to)
}

fn incidence_row(first: &FirstInfection, shown: &Shown, day: i64) -> Vec<Cell> {
    let (at_risk, ends) = (at_risk(&first.at_risk, day), &shown.cumulative_incidence);
    let step = |steps: &[IncidenceStep]| steps.iter().rev().find(|step| step.day <= day).copied();
    let is_known = |cell: Cell| if at_risk == 0 { Cell::Missing } else { cell };
    let met = |steps: &[IncidenceStep]| is_known(Cell::Share(step(steps).map_or(0.0, |step| step.value), 1));
    vec![
        Cell::Figure(day.to_string()),
        Cell::count(at_risk),
        met(&ends.infection),
        is_known(step(&ends.infection).map_or(Cell::Missing, |step| Cell::share_limits(step.low, step.high, 1))),
        met(&ends.death),
        met(&ends.transplant),
        met(&ends.recovery),
    ]
}

fn freedom_row(first: &FirstInfection, shown: &Shown, day: i64) -> Vec<Cell> {
    let at_risk = at_risk(&first.at_risk, day);
    let step: Option<&KaplanMeierStep> = shown.freedom.iter().rev().find(|step| step.day <= day);
    let (free, limits) = match step {
        _ if at_risk == 0 => (Cell::Missing, Cell::Missing),
        None => (Cell::Share(1.0, 1), Cell::Missing),
        Some(step) => (Cell::Share(step.survival, 1), Cell::share_limits(step.low, step.high, 1)),
    };
    vec![Cell::Figure(day.to_string()), free, limits]
}

fn groups(first: &FirstInfection) -> String {
    let by = first.by.map(|by| by.to_string()).unwrap_or_default();
    let test = &first.log_rank;
    let read = first.by.map_or("", read_when);
    let compared = match (test.chi_square, test.df, test.p) {
        (Some(chi), Some(df), Some(p)) => format!(
            "By {by}: log-rank chi-square {chi:.2}, {df} df, {}. The test is cause-specific: other ends are censored.",
            p_words(p)
        ),
        (Some(chi), Some(df), None) => format!(
            "By {by}: log-rank chi-square {chi:.2}, {df} df; no p, because a group has fewer than 5 expected infections."
        ),
        _ => format!("By {by}: there is nothing to compare."),
    };
    format!("{compared} {read}")
}

/// Describes the hazard ratios: of two groups the figure, of more the reference.
fn hazard(first: &FirstInfection) -> Option<String> {
    let reference = visible(first.hazard_reference.as_ref()?);
    let estimated: Vec<&PatientGroup> =
        first.groups.iter().filter(|group| group.hazard_ratio.ratio.is_some()).collect();
    let figure = match (&estimated[..], first.groups.len()) {
        ([], _) => {
            return Some("No hazard ratio can be estimated: in only one group were patients infected while at risk together with the others.".to_owned());
        }
        ([one], 2) => {
            let (ratio, limits) = ratio_cells(one);
            format!("Hazard ratio of {} to {reference}: {ratio} (95 % limits {limits}).", visible(&one.value))
        }
        _ => format!("Hazard ratios are to {reference}, the group with the most infections."),
    };
    let rough = match first.log_rank.p {
        None => " A group has fewer than 5 expected infections, so its limits are rough.",
        Some(_) => "",
    };
    Some(format!(
        "{figure}{rough} Cause-specific Cox model with the group alone (ties by Efron, Wald limits); it assumes the same ratio at all times since implant, and other differences between the groups are not adjusted for."
    ))
}

fn ratio_cells(group: &PatientGroup) -> (Cell, Cell) {
    let found = &group.hazard_ratio;
    (Cell::number(found.ratio, 2), Cell::Limits(found.low, found.high, 2))
}

/// Says how and when the group of a patient is read.
fn read_when(by: GroupBy) -> &'static str {
    match by {
        GroupBy::Where => "Groups: the place of the first exit site, known at the implant.",
        GroupBy::Reports => {
            "Groups: how the household reports, from the first time at home; it is read from patient.toml as it is now. A patient who was never at home had to stay under support to leave that group, so the comparison favors the others."
        }
        GroupBy::Caregivers => {
            "Groups: the number of caregivers in patient.toml as it is now, counted at the end, not at the implant. Who lives longer has more time to add one, so the comparison favors the groups with more."
        }
        GroupBy::ImplantYear => {
            "Groups: the calendar year of the implant. Later years are followed for a shorter time."
        }
    }
}

fn ratio_row(first: &FirstInfection, group: &PatientGroup) -> Vec<Cell> {
    let (ratio, limits) = match first.hazard_reference.as_ref() == Some(&group.value) {
        true => (Cell::Figure("reference".to_owned()), Cell::Empty),
        false => ratio_cells(group),
    };
    vec![Cell::Text(visible(&group.value)), ratio, limits]
}

fn group_row(group: &PatientGroup) -> Vec<Cell> {
    let median = group.curves.shown.as_ref().map(|shown| shown.median_days).unwrap_or_default();
    vec![
        Cell::Text(visible(&group.value)),
        Cell::count(group.n),
        Cell::count(group.events),
        Cell::number(group.expected, 1),
        Cell::number(median.value, 0),
        open_limits(median),
    ]
}

/// Formats the limits of a median, whose upper limit may not be reached.
fn open_limits(median: Median) -> Cell {
    let bound = |day: Option<f64>| day.map_or("not reached".to_owned(), |day| format!("{day:.0}"));
    match (median.low, median.high) {
        (None, None) => Cell::Missing,
        (low, high) => Cell::Figure(format!("{} to {}", bound(low), bound(high))),
    }
}
