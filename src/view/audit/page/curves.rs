//! Curves over the days since the implant: how many have met each end, and who would still be free of an infection.

use super::drawing::{Drawing, Note, Place, Plot, Tick, area, path, round_ticks, thousands};
use crate::report::audit::{FirstInfection, Group};
use crate::surveillance::freedom::{FreedomStep, Median};
use crate::surveillance::incidence::IncidenceStep;
use crate::surveillance::spell::Cohort;
use crate::text::{count, cut, visible};

/// At most so many groups are drawn, those of most patients: more lines cannot be told apart.
const MOST_GROUPS: usize = 6;
/// The classes of the lines: each has a color and a pattern of its own.
const LINES: [&str; MOST_GROUPS] = ["one", "two", "three", "four", "five", "six"];
/// Where the ticks of days may be apart: a week, a month, a quarter, half a year, years.
const APART: [i64; 10] = [1, 7, 14, 30, 90, 180, 365, 730, 1461, 3652];
/// What a line is called has so many letters at most.
const LETTERS: usize = 11;

/// The incidence of each end, or why there is no picture.
pub(super) fn incidence(first: &FirstInfection) -> Result<Drawing, String> {
    let last = last_day(&first.freedom);
    if last == 0 {
        return Err(nobody());
    }
    let ends = &first.cumulative_incidence;
    let all = [
        ("infection", &ends.infection),
        ("death", &ends.death),
        ("transplant", &ends.transplant),
        ("recovery", &ends.recovery),
    ];
    let value = |steps: &[IncidenceStep]| steps.last().map_or(0.0, |step| step.value);
    let high = all.iter().map(|(_, steps)| value(steps)).fold(0.1, f64::max) * 100.0;
    let plot = Plot::of(last as f64, (0.0, f64::min(100.0, (high * 1.1 / 10.0).ceil() * 10.0)));
    let days = days(last);
    let mut marks =
        plot.axes(("days since the implant", &days), ("have met this end first", &round_ticks(0.0, high * 1.1, " %")));
    let (mut notes, mut said) = (Vec::new(), Vec::new());
    for ((name, steps), class) in all.iter().zip(LINES) {
        let percent = value(steps) * 100.0;
        if percent > 0.0 {
            marks.push(path(class, &stepped(&plot, steps.iter().map(|step| (step.day, step.value)), 0.0, last)));
            notes.push(Note::of(percent, class, format!("{name} {percent:.0} %")));
        } else {
            notes.push(Note::of(0.0, "", format!("{name}: none")));
        }
        said.push(format!("{name} {percent:.1} %"));
    }
    marks.extend(plot.notes(notes));
    marks.extend(plot.row(0, "at risk", &at_risk(&first.cohort, &days)));
    Ok(Drawing {
        name: "incidence",
        title: "Which end came first".to_owned(),
        about: format!(
            "Four curves over {} days since the implant, {} in all. By the last day: {}.",
            thousands(last as f64),
            count(first.n as i64, "patient"),
            said.join(", ")
        ),
        legend: "What happens to patients: the share that has met each end first (cumulative incidence). The last row is how many are at risk on that day; where it is under 10 a curve says little.".to_owned(),
        rows: 1,
        marks,
    })
}

/// Freedom from a first infection, or why there is no picture.
pub(super) fn freedom(first: &FirstInfection) -> Result<Drawing, String> {
    let last = last_day(&first.freedom);
    if last == 0 {
        return Err(nobody());
    }
    let plot = Plot::of(last as f64, (0.0, 100.0));
    let days = days(last);
    let mut marks =
        plot.axes(("days since the implant", &days), ("free of an infection", &round_ticks(0.0, 100.0, " %")));
    let groups = largest(&first.groups);
    let mut notes = Vec::new();
    if groups.is_empty() {
        let limit = |of: fn(&FreedomStep) -> Option<f64>| {
            stepped(
                &plot,
                first.freedom.iter().filter_map(|step| Some((step.day, of(step)?))),
                1.0,
                last_with_limits(first),
            )
        };
        let (low, high) = (limit(|step| step.low), limit(|step| step.high));
        marks.push(area("band", &high.iter().chain(low.iter().rev()).copied().collect::<Vec<Place>>()));
        marks.push(path("edge", &high));
        marks.push(path("edge", &low));
        marks.push(curve("one", &plot, &first.freedom, last));
        marks.extend(plot.row(0, "at risk", &at_risk(&first.cohort, &days)));
        notes.push(note("one", "free", &first.freedom));
    }
    for (n, (group, class)) in groups.iter().zip(LINES).enumerate() {
        let name = cut(&visible(&group.value), LETTERS);
        marks.push(curve(class, &plot, &group.curves.freedom, last_day(&group.curves.freedom)));
        marks.extend(plot.row(n, &name, &at_risk(&group.curves.cohort, &days)));
        notes.push(note(class, &name, &group.curves.freedom));
    }
    marks.extend(plot.notes(notes));
    Ok(Drawing {
        name: "freedom",
        title: "Still free of a first infection".to_owned(),
        about: about(first, &groups, last),
        legend: legend(first, groups.len()),
        rows: groups.len().max(1),
        marks,
    })
}

fn nobody() -> String {
    "Nobody is followed for a day, so there is no curve.".to_owned()
}

fn curve(class: &str, plot: &Plot, steps: &[FreedomStep], last: i64) -> crate::view::html::Markup {
    path(class, &stepped(plot, steps.iter().map(|step| (step.day, step.survival)), 1.0, last))
}

/// The end of a curve in percent.
fn end(steps: &[FreedomStep]) -> f64 {
    steps.last().map_or(1.0, |step| step.survival) * 100.0
}

fn note(class: &str, name: &str, steps: &[FreedomStep]) -> Note {
    Note::of(end(steps), class, format!("{name} {:.0} %", end(steps)))
}

/// The groups of most patients, in the order of the table.
fn largest(groups: &[Group]) -> Vec<&Group> {
    let mut sizes: Vec<(usize, &Group)> = groups.iter().enumerate().filter(|(_, group)| group.n > 0).collect();
    sizes.sort_by_key(|(n, group)| (std::cmp::Reverse(group.n), *n));
    sizes.truncate(MOST_GROUPS);
    sizes.sort_by_key(|(n, _)| *n);
    sizes.into_iter().map(|(_, group)| group).collect()
}

fn legend(first: &FirstInfection, drawn: usize) -> String {
    let words = "Compares care: who would still be free of an infection if nothing else ended support (Kaplan–Meier).";
    let lines = match drawn {
        0 => "The gray band lies between the 95 % limits, as far as there are any; the last row is how many are at risk on that day.".to_owned(),
        _ if first.groups.len() > drawn => format!(
            "A line for each of the {drawn} largest groups of {}; the rows below are how many of each are at risk on that day.",
            first.groups.len()
        ),
        _ => "A line for each group; the rows below are how many of each are at risk on that day.".to_owned(),
    };
    format!("{words} {lines}")
}

fn about(first: &FirstInfection, groups: &[&Group], last: i64) -> String {
    let limits = first.freedom.last().and_then(|step| Some((step.low?, step.high?)));
    let limits =
        limits.map_or(String::new(), |(low, high)| format!(" (95 % {:.1} to {:.1} %)", low * 100.0, high * 100.0));
    let whole = format!(
        "{} of {} had a first infection. On day {}, the last, {:.1} %{limits} are free of one{}.",
        first.events,
        count(first.n as i64, "patient"),
        thousands(last as f64),
        end(&first.freedom),
        median(first.median_days)
    );
    let each = groups.iter().map(|group| {
        let steps = &group.curves.freedom;
        format!(
            " {}: {:.1} % on day {}{}.",
            visible(&group.value),
            end(steps),
            thousands(last_day(steps) as f64),
            median(group.curves.median_days)
        )
    });
    whole + &each.collect::<String>()
}

fn median(median: Median) -> String {
    median.value.map_or(", and the curve does not reach half".to_owned(), |day| format!(", and half by day {day:.0}"))
}

fn last_day(steps: &[FreedomStep]) -> i64 {
    steps.last().map_or(0, |step| step.day)
}

/// The last day before the curve is 0, where it has no limits; to the end if it never is.
fn last_with_limits(first: &FirstInfection) -> i64 {
    first.freedom.iter().find(|step| step.survival <= 0.0).map_or(last_day(&first.freedom), |step| step.day)
}

/// The corners of a curve that keeps each value until the next, up to the last day; shares in percent.
fn stepped(plot: &Plot, steps: impl Iterator<Item = (i64, f64)>, first: f64, last: i64) -> Vec<Place> {
    let mut value = first * 100.0;
    let mut places = vec![plot.at(0.0, value)];
    for (day, share) in steps {
        // where nothing changes there is no corner
        if (share * 100.0 - value).abs() > 1e-9 {
            places.extend([plot.at(day as f64, value), plot.at(day as f64, share * 100.0)]);
            value = share * 100.0;
        }
    }
    places.push(plot.at(last as f64, value));
    places
}

/// At most seven round days.
fn days(last: i64) -> Vec<Tick> {
    let apart = APART.into_iter().find(|apart| last <= apart * 6).unwrap_or(7305);
    let round = (0..=last).step_by(apart as usize);
    round.map(|day| Tick { at: day as f64, said: day.to_string() }).collect()
}

/// How many are at risk on some days.
fn at_risk(cohort: &Cohort, days: &[Tick]) -> Vec<Tick> {
    days.iter().map(|tick| Tick { at: tick.at, said: cohort.at_risk(tick.at as i64).to_string() }).collect()
}
