//! The CUSUM charts: the alarm for a doubled rate, whose sum rises with each infection, and the lower-sided alarm, whose sum
//! rises with each quiet month.

use maud::Markup;

use super::plot::{
    self, BOTTOM, Drawing, Marked, NEAR, Note, Plot, PointShape, month_ticks, named, point, round_ticks,
};
use crate::audit::Month;
use crate::report::audit::{Alarm, ControlChart, Intervened, SumPoint};
use crate::text::count;
use crate::view::audit::section::interventions::name;
use crate::view::svg::{PicturePoint, line, path};

/// The maximum number of months drawn: the most recent ones, oldest first.
const MOST: usize = 60;

/// The texts of a CUSUM chart.
struct Words<'a> {
    name: &'static str,
    title: String,
    /// The explanation of the sum.
    legend: &'a str,
    /// The reason why there is no picture.
    none: &'static str,
}

/// Draws the alarm for a doubled rate, or returns the reason why there is no picture.
pub(super) fn alarm(alarm: &ControlChart<SumPoint, Month, Alarm>, marked: Marked) -> Result<Drawing, String> {
    let anew = if latest(&alarm.points).iter().any(|month| month.acknowledged) {
        " A square is an alarm marked as acknowledged in the policy; at the dotted vertical line after it, the sum restarts at 0."
    } else {
        ""
    };
    let legend = format!(
        "The sum rises with infections above the baseline and falls, never below 0, in quiet months; a diamond at or above the dashed line is an alarm. {}{anew}",
        marked.legend()
    );
    let words = Words {
        name: "alarm",
        title: "CUSUM for a doubled rate".to_owned(),
        legend: &legend,
        none: "No month has passed since the baseline, so there is no CUSUM to draw.",
    };
    drawing(alarm, marked, &words)
}

/// Draws the lower-sided alarm since an intervention, or returns the reason why there is no picture.
pub(super) fn lower_alarm(one: &Intervened, marked: Marked) -> Result<Drawing, String> {
    let legend = format!(
        "The sum rises in quiet months and falls, never below 0, with infections; a diamond at or above the dashed line is an alarm: the rate is lower than in the 12 months before the change. {}",
        marked.legend()
    );
    let words = Words {
        name: "lower-alarm",
        title: format!("CUSUM for a halved rate since {}", name(&one.intervention)),
        legend: &legend,
        none: "No month has passed since the change, so there is no CUSUM to draw.",
    };
    drawing(&one.lower_alarm, marked, &words)
}

/// Returns the months drawn: the most recent ones.
fn latest(points: &[SumPoint]) -> &[SumPoint] {
    &points[points.len().saturating_sub(MOST)..]
}

fn drawing<K>(alarm: &ControlChart<SumPoint, Month, K>, marked: Marked, words: &Words) -> Result<Drawing, String> {
    let months = latest(&alarm.points);
    let (Some(threshold), false) = (alarm.high, months.is_empty()) else { return Err(words.none.to_owned()) };
    let high = months.iter().map(|month| month.value).fold(threshold, f64::max) * 1.15;
    let plot = Plot::of(months.len() as f64, (0.0, high));
    let mut marks = marked.over_months(&plot, &months.iter().map(|month| month.month).collect::<Vec<_>>());
    marks.extend(plot.axes(
        ("month of onset", &month_ticks(months.iter().map(|month| month.month))),
        ("sum (no unit)", &round_ticks(0.0, high, "")),
    ));
    marks.push(plot.across("limit", threshold));
    marks.extend(runs(&plot, months, alarm.points.len() > months.len()));
    marks.extend(points(&plot, months));
    let last = months.last().map_or(0.0, |month| month.value);
    marks.extend(plot.notes(vec![
        Note::of(threshold, "limit", format!("alarm {threshold:.2}")),
        Note::of(last, NEAR, format!("last {last:.2}")),
    ]));
    let drawn = match alarm.points.len() {
        all if all > months.len() => format!(" The last {} of {all} months.", months.len()),
        _ => String::new(),
    };
    Ok(Drawing {
        name: words.name,
        title: words.title.clone(),
        about: about(months, threshold),
        legend: format!("{}{drawn}", words.legend),
        rows: 0,
        marks,
    })
}

/// Draws the connected sums, from 0 at the beginning and after each acknowledged alarm.
fn runs(plot: &Plot, months: &[SumPoint], has_before: bool) -> Vec<Markup> {
    let mut marks = Vec::new();
    let mut run: Vec<PicturePoint> = if has_before { Vec::new() } else { vec![plot.at(0.0, 0.0)] };
    for (n, month) in months.iter().enumerate() {
        run.push(plot.at(n as f64 + 0.5, month.value));
        if month.acknowledged {
            let from = plot.at(n as f64 + 1.0, 0.0);
            marks.push(path("join", &run));
            marks.push(line("anew", (from.0, BOTTOM), (from.0, plot.at(0.0, f64::MAX).1)));
            run = vec![from];
        }
    }
    marks.push(path("join", &run));
    marks
}

fn points(plot: &Plot, months: &[SumPoint]) -> Vec<Markup> {
    let (mut marks, mut said) = (Vec::new(), plot::PointLabels::default());
    for (n, month) in months.iter().enumerate() {
        let at = plot.at(n as f64 + 0.5, month.value);
        let shape = match (month.alarm, month.acknowledged) {
            (true, true) => PointShape::Answered,
            (true, false) => PointShape::Beyond,
            _ => PointShape::Plain,
        };
        marks.push(point(shape, at, &month_words(month)));
        if month.alarm {
            marks.extend(said.say(if month.acknowledged { "acknowledged" } else { "alarm" }, at, false));
        }
    }
    marks
}

fn month_words(month: &SumPoint) -> String {
    let says = match (month.alarm, month.acknowledged) {
        (true, true) => ", alarm, acknowledged",
        (true, false) => ", alarm",
        _ => "",
    };
    format!("{}: sum {:.2}{says}", month.month, month.value)
}

fn about(months: &[SumPoint], threshold: f64) -> String {
    let alarms: Vec<String> = months.iter().filter(|month| month.alarm).map(month_words).collect();
    let ends = months.first().zip(months.last());
    let (first, last) = ends.map(|(first, last)| (first.month.to_string(), month_words(last))).unwrap_or_default();
    let anew: Vec<String> =
        months.iter().filter(|month| month.acknowledged).map(|month| month.month.to_string()).collect();
    let anew = if anew.is_empty() { String::new() } else { format!(" The sum restarts after {}.", named(&anew)) };
    format!(
        "{} from {first}; the last, {last}. Alarms at {threshold:.2} or above: {}.{anew}",
        count(months.len() as i64, "month"),
        named(&alarms)
    )
}
