//! Curves by days since implant with 95 % bands: cumulative incidence of each competing event, and freedom from infection.

use maud::Markup;

use super::plot::{Drawing, Note, Plot, Tick, round_ticks, thousands};
use crate::report::audit::{FirstInfection, PatientGroup, Shown};
use crate::surveillance::follow_up::{self, AtRisk};
use crate::surveillance::incidence::IncidenceStep;
use crate::surveillance::kaplan_meier::KaplanMeierStep;
use crate::text::{count, cut, visible};
use crate::view::svg::{PicturePoint, area, path};

/// The maximum number of groups drawn, largest first: more lines cannot be distinguished.
const MOST_GROUPS: usize = 6;
/// The line classes, each with its own color and pattern.
const LINES: [&str; MOST_GROUPS] = ["one", "two", "three", "four", "five", "six"];
/// The tick spacings in days: a week, a month, a quarter, half a year, years.
const APART: [i64; 10] = [1, 7, 14, 30, 90, 180, 365, 730, 1461, 3652];
/// The maximum length of a line's label.
const LETTERS: usize = 11;

/// A step of either curve: day, value, and limits if it has any.
pub(super) type Step = (i64, f64, Option<(f64, f64)>);

/// Draws the cumulative incidence of each end, or returns the reason why there is no picture.
pub(super) fn incidence(first: &FirstInfection) -> Result<Drawing, String> {
    let shown = drawn(first)?;
    let ends = &shown.cumulative_incidence;
    let all = [
        ("infection", &ends.infection),
        ("death", &ends.death),
        ("transplant", &ends.transplant),
        ("recovery", &ends.recovery),
    ];
    let value = |steps: &[IncidenceStep]| steps.last().map_or(0.0, |step| step.value);
    let limits = ends.infection.iter().filter_map(|step| step.high);
    let high = all.iter().map(|(_, steps)| value(steps)).chain(limits).fold(0.1, f64::max) * 100.0;
    let top = f64::min(100.0, (high * 1.1 / 10.0).ceil() * 10.0);
    let plot = Plot::between((shown.from as f64, shown.to as f64), (0.0, top));
    let days = days(shown.from, shown.to);
    let mut marks = plot.axes(("days since implant", &days), ("cumulative incidence", &round_ticks(0.0, top, " %")));
    let step = |step: &IncidenceStep| (step.day, step.value, step.low.zip(step.high));
    marks.extend(band(
        "band",
        &plot,
        (shown.from, shown.to),
        0.0,
        &ends.infection.iter().map(step).collect::<Vec<Step>>(),
    ));
    let (mut notes, mut said) = (Vec::new(), Vec::new());
    for ((name, steps), class) in all.iter().zip(LINES) {
        let percent = value(steps) * 100.0;
        if percent > 0.0 {
            let steps: Vec<Step> = steps.iter().map(step).collect();
            marks.push(path(
                class,
                &stepped(&plot, (shown.from, shown.to), 0.0, steps.iter().map(|step| (step.0, step.1))),
            ));
            notes.push(Note::of(percent, class, format!("{name} {percent:.0} %")));
        } else {
            notes.push(Note::of(0.0, "", format!("{name}: none")));
        }
        said.push(format!("{name} {percent:.1} %"));
    }
    marks.extend(plot.notes(notes));
    marks.extend(plot.row(0, "at risk", &at_risk(&first.at_risk, &days)));
    let scale =
        if top < 100.0 { format!(" The scale ends at {top:.0} %, that of freedom at 100 %.") } else { String::new() };
    Ok(Drawing {
        name: "incidence",
        title: "First infection and competing events".to_owned(),
        about: format!(
            "Four curves from day {} to day {} since implant, {} in total. By the last day: {}.",
            thousands(shown.from as f64),
            thousands(shown.to as f64),
            count(first.n as i64, "patient"),
            said.join(", ")
        ),
        legend: format!(
            "Patient outcomes: cumulative incidence of the first event. The gray band joins the 95 % limits of infection on each day; it is not a band for the whole curve. The last row is the number at risk.{scale}"
        ),
        rows: 1,
        marks,
    })
}

/// Draws freedom from first infection, or returns the reason why there is no picture.
pub(super) fn freedom(first: &FirstInfection) -> Result<Drawing, String> {
    let shown = drawn(first)?;
    let groups = largest(&first.groups);
    let ends = groups.iter().filter_map(|group| Some(group.curves.shown.as_ref()?.to)).chain([shown.to]);
    let starts = groups.iter().filter_map(|group| Some(group.curves.shown.as_ref()?.from)).chain([shown.from]);
    let (from, to) = (starts.min().unwrap_or(shown.from), ends.max().unwrap_or(shown.to));
    let plot = Plot::between((from as f64, to as f64), (0.0, 100.0));
    let days = days(from, to);
    let mut marks = plot.axes(("days since implant", &days), ("free of infection", &round_ticks(0.0, 100.0, " %")));
    let mut notes = Vec::new();
    let mut draw = |class: &str, band_class: &str, name: &str, shown: &Shown| {
        let steps: Vec<Step> =
            shown.freedom.iter().map(|step| (step.day, step.survival, step.low.zip(step.high))).collect();
        marks.extend(band(band_class, &plot, (shown.from, shown.to), 1.0, &steps));
        marks
            .push(path(class, &stepped(&plot, (shown.from, shown.to), 1.0, steps.iter().map(|step| (step.0, step.1)))));
        notes.push(Note::of(end(shown), class, format!("{name} {:.0} %", end(shown))));
    };
    if groups.is_empty() {
        draw("one", "band", "free", shown);
    }
    for (group, class) in groups.iter().zip(LINES) {
        let name = cut(&visible(&group.value), LETTERS);
        if let Some(shown) = &group.curves.shown {
            draw(class, &format!("band of-{class}"), &name, shown);
        }
    }
    if groups.is_empty() {
        marks.extend(plot.row(0, "at risk", &at_risk(&first.at_risk, &days)));
    }
    for (n, group) in groups.iter().enumerate() {
        marks.extend(plot.row(n, &cut(&visible(&group.value), LETTERS), &at_risk(&group.curves.at_risk, &days)));
    }
    marks.extend(plot.notes(notes));
    Ok(Drawing {
        name: "freedom",
        title: "Freedom from first infection".to_owned(),
        about: about(first, shown, &groups),
        legend: legend(first, groups.len()),
        rows: groups.len().max(1),
        marks,
    })
}

fn drawn(first: &FirstInfection) -> Result<&Shown, String> {
    let few = || "Too few patients at risk for a curve.".to_owned();
    first.shown.as_ref().filter(|shown| shown.to > shown.from).ok_or_else(few)
}

/// Returns the last value of a curve in percent.
fn end(shown: &Shown) -> f64 {
    shown.freedom.last().map_or(1.0, |step: &KaplanMeierStep| step.survival) * 100.0
}

/// Returns the largest groups, in the order of the table.
fn largest(groups: &[PatientGroup]) -> Vec<&PatientGroup> {
    let mut sizes: Vec<(usize, &PatientGroup)> = groups.iter().enumerate().filter(|(_, group)| group.n > 0).collect();
    sizes.sort_by_key(|(n, group)| (std::cmp::Reverse(group.n), *n));
    sizes.truncate(MOST_GROUPS);
    sizes.sort_by_key(|(n, _)| *n);
    sizes.into_iter().map(|(_, group)| group).collect()
}

fn legend(first: &FirstInfection, drawn: usize) -> String {
    let words = "For comparing rates; a difference may be the patients'. Kaplan–Meier estimate of freedom from infection if nothing else ended support: all other ends are censored. The bands join the 95 % limits of each day; they are not bands for a whole curve.";
    let lines = match drawn {
        0 => "The last row is the number at risk.".to_owned(),
        _ if first.groups.len() > drawn => format!(
            "One line for each of the {drawn} largest groups of {}; the rows below are the numbers at risk. A group with too few patients at risk has no line.",
            first.groups.len()
        ),
        _ => "One line per group; the rows below are the numbers at risk. A group with too few patients at risk has no line.".to_owned(),
    };
    format!("{words} {lines}")
}

fn about(first: &FirstInfection, shown: &Shown, groups: &[&PatientGroup]) -> String {
    let limits = shown.freedom.last().and_then(|step| Some((step.low?, step.high?)));
    let limits =
        limits.map_or(String::new(), |(low, high)| format!(" (95 % {:.1} to {:.1} %)", low * 100.0, high * 100.0));
    let whole = format!(
        "{} of {} had a first infection. If nothing else ended support, {:.1} %{limits} would be free of infection on the last day, day {}{}.",
        first.events,
        count(first.n as i64, "patient"),
        end(shown),
        thousands(shown.to as f64),
        median(shown)
    );
    let each = groups.iter().map(|group| match &group.curves.shown {
        None => format!(" {}: too few patients at risk.", visible(&group.value)),
        Some(shown) => format!(
            " {}: {:.1} % on day {}{}.",
            visible(&group.value),
            end(shown),
            thousands(shown.to as f64),
            median(shown)
        ),
    });
    whole + &each.collect::<String>()
}

/// Returns the median of the curve, with the cumulative incidence by that day.
fn median(shown: &Shown) -> String {
    let Some(day) = shown.median_days.value else { return "; median not reached".to_owned() };
    let met = shown.cumulative_incidence.infection.iter().rev().find(|step| step.day as f64 <= day);
    format!(
        "; half would have had one by day {}, when {:.1} % had one (cumulative incidence)",
        thousands(day),
        met.map_or(0.0, |step| step.value * 100.0)
    )
}

/// Draws the area between the limits, up to the last day that has limits.
pub(super) fn band(class: &str, plot: &Plot, days: (i64, i64), first: f64, steps: &[Step]) -> Vec<Markup> {
    let last = steps.iter().rposition(|step| step.2.is_some());
    let Some(last) = last else { return Vec::new() };
    let to = steps.get(last + 1).map_or(days.1, |next| next.0);
    let edge = |of: fn((f64, f64)) -> f64| {
        stepped(plot, (days.0, to), first, steps[..=last].iter().filter_map(|step| Some((step.0, of(step.2?)))))
    };
    let (low, high) = (edge(|limits| limits.0), edge(|limits| limits.1));
    let within = area(class, &high.iter().chain(low.iter().rev()).copied().collect::<Vec<PicturePoint>>());
    // The edges of several bands could be mistaken for curves.
    let edges = if class == "band" { vec![path("edge", &high), path("edge", &low)] } else { Vec::new() };
    [within].into_iter().chain(edges).collect()
}

/// Returns the corners of a step curve over the days shown, in percent.
pub(super) fn stepped(
    plot: &Plot,
    (from, to): (i64, i64),
    first: f64,
    steps: impl Iterator<Item = (i64, f64)>,
) -> Vec<PicturePoint> {
    let mut value = first * 100.0;
    let mut places = vec![plot.at(from as f64, value)];
    for (day, share) in steps {
        // A step without a change has no corner.
        if (share * 100.0 - value).abs() > 1e-9 {
            places.extend([plot.at(day as f64, value), plot.at(day as f64, share * 100.0)]);
            value = share * 100.0;
        }
    }
    places.push(plot.at(to as f64, value));
    places
}

/// Returns at most seven round days.
pub(super) fn days(from: i64, to: i64) -> Vec<Tick> {
    let apart = APART.into_iter().find(|apart| to - from <= apart * 6).unwrap_or(7305);
    let first = from.div_euclid(apart) * apart;
    let round = (first..=to).step_by(apart as usize).filter(|day| *day >= from);
    round.map(|day| Tick { at: day as f64, said: day.to_string() }).collect()
}

/// Returns the number at risk on the tick days.
pub(super) fn at_risk(steps: &[AtRisk], days: &[Tick]) -> Vec<Tick> {
    days.iter().map(|tick| Tick { at: tick.at, said: follow_up::at_risk(steps, tick.at as i64).to_string() }).collect()
}
