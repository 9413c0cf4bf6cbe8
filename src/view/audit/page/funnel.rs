//! The funnel plot: each rate against its device-days, with control limits around the pooled rate.

use maud::Markup;

use super::plot::{Drawing, Note, Plot, PointLabels, PointShape, named, point, round_ticks};
use crate::report::pool::{FunnelPlace, Member, PoolReport};
use crate::text::{count, thousands, visible};
use crate::view::svg::{PicturePoint, line, path};

/// A limit line: class, label, and value at an exposure.
type Limit = (&'static str, &'static str, fn(&FunnelPlace) -> Option<f64>);

const LIMITS: [Limit; 4] = [
    ("four", "95 %", |place| place.funnel.inner.high),
    ("four", "", |place| place.funnel.inner.low),
    ("limit", "99.8 %", |place| place.funnel.outer.high),
    ("limit", "", |place| place.funnel.outer.low),
];

/// Draws the picture; `None` without an infection.
pub(in crate::view::audit) fn picture(report: &PoolReport) -> Option<Markup> {
    let pooled = report.pooled.per_1000_device_days.rate.filter(|_| !report.funnel.is_empty())?;
    let (far, top) = size(report);
    let plot = Plot::of(far, (0.0, top));
    let mut marks = plot.axes(
        ("device-days, in thousands", &round_ticks(0.0, far, "")),
        ("infections per 1,000 device-days", &round_ticks(0.0, top, "")),
    );
    marks.push(plot.across("center", pooled));
    let mut notes = vec![Note::of(pooled, "center", format!("pooled {pooled:.2}"))];
    for (class, name, value) in LIMITS {
        let places = line_of(report, &plot, value);
        if let (Some(last), false) = (report.funnel.last().and_then(value), name.is_empty() || places.is_empty()) {
            notes.push(Note::of(last, class, name));
        }
        marks.extend((places.len() > 1).then(|| path(class, &places)));
    }
    marks.extend(plot.notes(notes));
    marks.extend(members(report, &plot));
    let beyond = report.members.iter().enumerate().filter(|(_, one)| one.beyond.is_some());
    let beyond: Vec<String> = beyond.map(|(n, one)| label(n, one)).collect();
    let each: Vec<String> = report.members.iter().enumerate().map(|(n, one)| said(n, one)).collect();
    let drawing = Drawing {
        name: "funnel",
        title: format!("Rates of {} by device-days", report.year),
        about: format!(
            "Pooled {pooled:.2} per 1,000. Beyond the 99.8 % limits: {}. {}.",
            named(&beyond),
            each.join("; ")
        ),
        legend: "A dot is a rate, labeled with its number in the tables; a diamond is beyond the 99.8 % limits. The connected ring is the shrunken rate (empirical Bayes). Lines: the pooled rate and its control limits."
            .to_owned(),
        rows: 0,
        marks,
    };
    Some(drawing.figure())
}

/// Returns the maximum of the device-days, in thousands, and of the rates.
fn size(report: &PoolReport) -> (f64, f64) {
    let far = report.members.iter().map(|one| one.device_days as f64 / 1000.0).fold(0.0, f64::max) * 1.05;
    let of_one = |one: &Member| {
        let rates = [one.per_1000_device_days.rate, one.shrunken.rate, one.funnel.inner.high];
        rates.into_iter().flatten().fold(0.0, f64::max)
    };
    let widest = report.funnel.last().and_then(|place| place.funnel.outer.high).unwrap_or_default();
    (far, report.members.iter().map(of_one).fold(widest, f64::max) * 1.12)
}

/// Returns the points of a limit line that are within the picture.
fn line_of(report: &PoolReport, plot: &Plot, value: fn(&FunnelPlace) -> Option<f64>) -> Vec<PicturePoint> {
    let place = |at: &FunnelPlace| {
        let value = value(at).filter(|value| !plot.is_above(*value))?;
        Some(plot.at(at.device_days / 1000.0, value))
    };
    report.funnel.iter().filter_map(place).collect()
}

/// Draws each rate with its number, connected to its shrunken rate.
fn members(report: &PoolReport, plot: &Plot) -> Vec<Markup> {
    let (mut marks, mut words) = (Vec::new(), PointLabels::default());
    for (n, one) in report.members.iter().enumerate() {
        let days = one.device_days as f64 / 1000.0;
        let own = plot.at(days, one.per_1000_device_days.rate.unwrap_or_default());
        if let Some(rate) = one.shrunken.rate {
            let drawn = plot.at(days, rate);
            marks.push(line("join", own, drawn));
            marks.push(point(PointShape::Open, drawn, &format!("{}: shrunken to {rate:.2} per 1,000", label(n, one))));
        }
        let shape = if one.beyond.is_some() { PointShape::Beyond } else { PointShape::Plain };
        marks.push(point(shape, own, &said(n, one)));
        marks.extend(words.say(&(n + 1).to_string(), own, false));
    }
    marks
}

/// Returns a member's label: its number in the tables, and its name.
pub(in crate::view::audit) fn label(n: usize, one: &Member) -> String {
    format!("{} {}", n + 1, visible(&one.name))
}

/// Describes its place in the funnel.
pub(in crate::view::audit) fn place(one: &Member) -> String {
    match (one.beyond, one.beyond_95) {
        (Some(side), _) => format!("beyond 99.8 %, {side}"),
        (None, Some(side)) => format!("beyond 95 %, {side}"),
        (None, None) => "within".to_owned(),
    }
}

/// Describes a member for screen readers.
fn said(n: usize, one: &Member) -> String {
    let place = one.beyond.or(one.beyond_95).map(|_| place(one));
    let rate = one.per_1000_device_days.rate.unwrap_or_default();
    let parts = [
        format!("{}: {rate:.2} per 1,000", label(n, one)),
        format!("{} in {} device-days", count(one.events as i64, "infection"), thousands(one.device_days)),
    ];
    let words: Vec<String> = parts.into_iter().chain(place).collect();
    words.join(", ")
}
