//! Device-days between infections: the main picture of a rare event, since most months of a small program have none.
//! Gaps between random events are skewed; raised to 1 ÷ 3.6 they are nearly symmetric, so that both limits are visible
//! (Nelson LS, J Qual Technol 1994;26:239).

use maud::Markup;

use super::plot::{
    DOT, Drawing, Marked, NEAR, Note, Plot, PointLabels, PointShape, Tick, day_number, month_ticks, named, point,
    thousands,
};
use crate::audit::{Month, months};
use crate::day::{Period, plus};
use crate::report::audit::{BetweenPoint, ControlChart, Gaps};
use crate::text::count;
use crate::view::svg::{PicturePoint, line, path};
use chrono::NaiveDate;

/// The exponent of the transformation.
const POWER: f64 = 1.0 / 3.6;
/// The maximum number of gaps drawn, most recent last.
const MOST: usize = 40;
type Gapped = ControlChart<BetweenPoint, NaiveDate, Gaps>;

/// The minimum distance between ticks.
const TICKS_APART: f64 = 15.0;

/// Draws the picture, or returns the reason why there is none.
pub(super) fn days_between(chart: &Gapped, marked: Marked) -> Result<Drawing, String> {
    let all = chart.points.len();
    if all == 0 {
        return Err(match chart.of_kind.since_last {
            None => "No infection is on file, so there is no gap to draw.".to_owned(),
            Some(days) => format!(
                "Only one infection is on file, so there is no gap to draw; {} device-days have passed since.",
                thousands(days as f64)
            ),
        });
    }
    let points = &chart.points[all.saturating_sub(MOST)..];
    let lines = [("limit", chart.high), ("center", chart.center), ("limit", chart.low)];
    let values = points.iter().map(|point| point.device_days).chain(chart.of_kind.since_last).map(|days| days as f64);
    let high = values.chain(lines.iter().filter_map(|(_, value)| *value)).fold(1.0, f64::max) * 1.15;
    let drawn = drawn(points, marked.through);
    let plot = Plot::between((day_number(drawn.from), day_number(drawn.to) + 1.0), (0.0, high)).raised(POWER);
    let mut marks = marked.over_days(&plot, drawn);
    marks.extend(
        plot.axes(
            ("onset of infection", &month_starts(drawn)),
            ("device-days (scale: power 1/3.6)", &days(&plot, high)),
        ),
    );
    let mut notes = Vec::new();
    for (class, value) in lines.iter().filter_map(|(class, value)| Some((class, (*value)?))) {
        marks.push(plot.across(class, value));
        notes.push(Note::of(value, class, format!("{class} {}", thousands(value))));
    }
    let place = |day: NaiveDate, days: i64| plot.at(day_number(day) + 0.5, days as f64);
    let places: Vec<PicturePoint> = points.iter().map(|point| place(point.onset, point.device_days)).collect();
    marks.push(path("join", &places));
    if let (Some(days), Some(last)) = (chart.of_kind.since_last, places.last()) {
        let open = place(marked.through, days);
        marks.push(line("open", *last, open));
        marks.push(point_of_open(open, days));
        notes.push(Note::of(days as f64, NEAR, format!("{} so far", thousands(days as f64))));
    }
    let mut said = PointLabels::default();
    for (n, (gap, at)) in points.iter().zip(&places).enumerate() {
        let touches = |other: Option<&PicturePoint>| other.is_some_and(|other| is_touching(*at, *other));
        let shape = match gap.beyond {
            true => PointShape::Beyond,
            false if touches(n.checked_sub(1).and_then(|n| places.get(n))) || touches(places.get(n + 1)) => {
                PointShape::Tick
            }
            false => PointShape::Plain,
        };
        marks.push(point(shape, *at, &words(gap, chart)));
        if gap.beyond {
            let word = if is_short(gap, chart) { "short" } else { "long" };
            marks.extend(said.say(word, *at, !is_short(gap, chart)));
        }
    }
    marks.extend(plot.notes(notes));
    Ok(Drawing {
        name: "days-between",
        title: "Device-days between infections".to_owned(),
        about: about(chart, points),
        legend: legend(chart, points.len(), marked),
        rows: 0,
        marks,
    })
}

fn point_of_open(at: PicturePoint, days: i64) -> Markup {
    point(PointShape::Open, at, &format!("{} device-days since the last infection", thousands(days as f64)))
}

fn is_short(gap: &BetweenPoint, chart: &Gapped) -> bool {
    chart.center.is_some_and(|center| (gap.device_days as f64) < center)
}

fn words(gap: &BetweenPoint, chart: &Gapped) -> String {
    let beyond = match (gap.beyond, is_short(gap, chart)) {
        _ if gap.device_days == 0 => ", under one day, not judged",
        (false, _) => "",
        (true, true) => ", short",
        (true, false) => ", long",
    };
    format!("{}: {} device-days{beyond}", gap.onset, thousands(gap.device_days as f64))
}

/// The days of the axis: from the first onset drawn through the last day counted, with a little room at both ends.
fn drawn(points: &[BetweenPoint], through: NaiveDate) -> Period {
    let first = points.first().map_or(through, |point| point.onset);
    let last = points.last().map_or(through, |point| point.onset.max(through));
    let room = (last - first).num_days() / 60 + 1;
    Period { from: plus(first, -room), to: plus(last, room) }
}

/// Returns the starts of at most six months, or the last day if there is none.
fn month_starts(drawn: Period) -> Vec<Tick> {
    let months: Vec<Month> = months(drawn).map(|days| Month::of(days.from)).collect();
    let start = |tick: Tick| Some((months.get(tick.at as usize)?.days().from, tick.said));
    let starts = month_ticks(months.iter().copied()).into_iter().filter_map(start);
    let ticks = starts.filter(|(day, _)| drawn.contains(*day));
    let mut ticks: Vec<Tick> = ticks.map(|(day, said)| Tick { at: day_number(day), said }).collect();
    if ticks.is_empty() {
        ticks.push(Tick { at: day_number(drawn.to), said: drawn.to.to_string() });
    }
    ticks
}

fn is_touching(one: PicturePoint, other: PicturePoint) -> bool {
    (one.0 - other.0).hypot(one.1 - other.1) < 2.0 * DOT
}

/// Returns round device-days that fit on the axis, and 0.
fn days(plot: &Plot, high: f64) -> Vec<Tick> {
    let zero = plot.at(0.0, 0.0).1;
    let mut last = f64::MIN;
    let mut ticks = vec![Tick { at: 0.0, said: "0".to_owned() }];
    for at in (0..9).rev().flat_map(|n| [5.0, 2.0, 1.0].map(|digit| digit * 10f64.powi(n))) {
        let place = plot.at(0.0, at).1;
        if at <= high && place - last >= TICKS_APART && zero - place >= TICKS_APART {
            ticks.push(Tick { at, said: thousands(at) });
            last = place;
        }
    }
    ticks
}

fn limits(chart: &Gapped) -> Option<String> {
    let (center, high) = (chart.center?, chart.high?);
    let from = if chart.of_kind.from_baseline { "the policy's baseline" } else { "all data on file" };
    let half = format!("At the rate of {from}, half of all gaps are under {}", thousands(center));
    Some(match chart.low {
        Some(low) => format!("{half}, and all but 0.27 % are between {} and {}", thousands(low), thousands(high)),
        None => format!("{half}, and 0.135 % over {}; the lower limit is under one day and not used", thousands(high)),
    })
}

fn legend(chart: &Gapped, drawn: usize, marked: Marked) -> String {
    let of = match chart.points.len() {
        all if all > drawn => format!(" The last {drawn} of {}.", count(all as i64, "gap")),
        _ => String::new(),
    };
    let limits = limits(chart).map(|limits| format!(" {limits}.")).unwrap_or_default();
    format!(
        "Higher is better. The scale is device-days raised to 1/3.6, which spreads short gaps. {} A dot is an infection on its day, a tick where dots would touch, and its height the gap before it; a diamond, short or long, is outside the limits; the ring is the current gap.{limits}{of}",
        marked.legend()
    )
}

fn about(chart: &Gapped, points: &[BetweenPoint]) -> String {
    let ends = points.first().zip(points.last());
    let (first, last) = ends.map(|(first, last)| (first.onset.to_string(), words(last, chart))).unwrap_or_default();
    let open = chart.of_kind.since_last.map_or(String::new(), |days| {
        format!(" Since that infection {} device-days have passed without another.", thousands(days as f64))
    });
    let limits = limits(chart).map(|limits| format!(" {limits}.")).unwrap_or_default();
    let beyond: Vec<String> = points.iter().filter(|gap| gap.beyond).map(|gap| words(gap, chart)).collect();
    format!(
        "{} from the onset on {first} to the last onset on {last}.{open}{limits} Outside the limits: {}.",
        count(points.len() as i64, "gap"),
        named(&beyond)
    )
}
