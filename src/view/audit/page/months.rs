//! Monthly charts with limits per month: infections, and days with dressing current.

use maud::Markup;

use super::plot::{
    Drawing, Marked, Note, Plot, PointLabels, PointShape, month_ticks, named, point, round_ticks, thousands,
};
use crate::audit::Month as CalendarMonth;
use crate::report::audit::{Basis, ControlChart, CountPoint, OnTimePoint, Widened};
use crate::text::count;
use crate::view::svg::{PicturePoint, path};

/// The maximum number of months drawn: the most recent ones, oldest first.
const MOST: usize = 60;
/// The reason for no limits.
const NO_LIMITS: &str = "No limits: no infection on file to set them by.";

/// One month of either chart.
struct ChartedMonth {
    name: CalendarMonth,
    value: Option<f64>,
    /// The lower limit; `None` at 0, since nothing can be lower.
    low: Option<f64>,
    high: Option<f64>,
    is_beyond: bool,
    about: String,
}

impl ChartedMonth {
    fn is_low(&self) -> bool {
        self.value.zip(self.low).is_some_and(|(value, low)| value < low)
    }

    /// Returns the label, with "low" or "high" if outside the limits.
    fn words(&self) -> String {
        let beyond = match (self.is_beyond, self.is_low()) {
            (false, _) => "",
            (true, true) => ", low",
            (true, false) => ", high",
        };
        format!("{}: {}{beyond}", self.name, self.about)
    }
}

/// Draws infections per month, or returns the reason why there is no picture.
pub(super) fn infections(
    chart: &ControlChart<CountPoint, CalendarMonth, Basis>,
    marked: Marked,
) -> Result<Drawing, String> {
    let shown = &chart.points[chart.points.len().saturating_sub(MOST)..];
    let center = chart.center;
    if shown.iter().all(|point| point.rate.is_none()) {
        return Err("No device-days, so there is no chart of infections per month.".to_owned());
    }
    let month = |point: &CountPoint| {
        let rate = point.rate.map_or("no device-days".to_owned(), |rate| {
            format!(
                "{} in {} device-days, {rate:.2} per 1,000",
                count(point.events as i64, "infection"),
                thousands(point.device_days as f64)
            )
        });
        (rate, point.device_days)
    };
    let months: Vec<ChartedMonth> = shown
        .iter()
        .map(|point| ChartedMonth {
            name: point.month,
            value: point.rate,
            low: point.low.filter(|low| *low > 0.0),
            high: point.high,
            is_beyond: point.beyond,
            about: month(point).0,
        })
        .collect();
    // A month of a few days has limits (and, with one infection, a rate) that would flatten all others.
    let most = shown.iter().map(|point| point.device_days).max().unwrap_or(0);
    let large = months.iter().zip(shown).filter(|(_, point)| point.device_days * 4 >= most).map(|(month, _)| month);
    let high = large.flat_map(|month| [month.value, month.high]).flatten().fold(center.unwrap_or(0.0), f64::max) * 1.1;
    let high = if high > 0.0 { high } else { 1.0 };
    let plot = Plot::of(months.len() as f64, (0.0, high));
    let mut marks = marked.over_months(&plot, &months.iter().map(|month| month.name).collect::<Vec<_>>());
    marks.extend(plot.axes(
        ("month of onset", &month_ticks(months.iter().map(|month| month.name))),
        ("infections per 1,000 device-days", &round_ticks(0.0, high, "")),
    ));
    marks.extend(center.map(|center| plot.across("center", center)));
    marks.extend(steps(&plot, &months));
    for (n, month) in months.iter().enumerate() {
        if let Some(value) = month.value.filter(|value| *value > 0.0) {
            let at = n as f64 + 0.5;
            marks.push(path("stem", &[plot.at(at, 0.0), plot.at(at, value)]));
        }
    }
    marks.extend(points(&plot, &months));
    let mut notes: Vec<Note> =
        center.map(|center| Note::of(center, "center", format!("center {center:.2}"))).into_iter().collect();
    notes.extend(limit_notes(&months, |limit| (limit > 0.0).then(|| format!("limit {limit:.2}"))));
    marks.extend(plot.notes(notes));
    let from = if chart.of_kind.from_baseline { "the policy's baseline" } else { "all data on file" };
    let cut = months.iter().any(|month| [month.value, month.high].iter().flatten().any(|value| plot.is_above(*value)));
    let cut =
        if cut { " Limits above the top of the chart are not drawn; a triangle is a rate above the top." } else { "" };
    let (rate, limits) = match center {
        Some(center) => (
            format!("The rate of {from} is {center:.2} per 1,000 device-days."),
            format!(
                "the dashed steps are control limits (0.135 % in each tail) at the rate of {from}; a diamond, low or high, is outside the limits"
            ),
        ),
        None => (NO_LIMITS.to_owned(), "no limits: no infection on file to set them by".to_owned()),
    };
    Ok(Drawing {
        name: "infections-a-month",
        title: "Infections per month over device-days".to_owned(),
        about: format!("{} {rate}", about(&months)),
        legend: format!(
            "A dot on a stem is a month's rate; {limits}. {}{}{cut}",
            marked.legend(),
            last_of(months.len(), chart.points.len())
        ),
        rows: 0,
        marks,
    })
}

/// Draws days with dressing current per month, or returns the reason why there is no picture.
pub(super) fn on_time(
    chart: &ControlChart<OnTimePoint, CalendarMonth, Widened>,
    marked: Marked,
) -> Result<Drawing, String> {
    let shown = &chart.points[chart.points.len().saturating_sub(MOST)..];
    let percent = |share: Option<f64>| share.map(|share| share * 100.0);
    let Some(center) = percent(chart.center).filter(|_| shown.iter().any(|point| point.share.is_some())) else {
        return Err("No covered day expects a change, so there is no chart of days with dressing current.".to_owned());
    };
    let words = |point: &OnTimePoint| match percent(point.share) {
        None => "no exit-site-days".to_owned(),
        Some(share) => format!("{share:.1} % of {} exit-site-days", thousands(point.days as f64)),
    };
    let months: Vec<ChartedMonth> = shown
        .iter()
        .map(|point| ChartedMonth {
            name: point.month,
            value: percent(point.share),
            low: percent(point.low).filter(|low| *low > 0.0),
            high: percent(point.high),
            is_beyond: point.beyond,
            about: words(point),
        })
        .collect();
    let lowest = months.iter().flat_map(|month| [month.value, month.low]).flatten().fold(center, f64::min);
    let low = ((lowest - 1.0) / 5.0).floor().max(0.0) * 5.0;
    let plot = Plot::of(months.len() as f64, (low, 100.0));
    let from = if low > 0.0 {
        format!("% of days with dressing current; axis from {low:.0} %")
    } else {
        "% of covered exit-site-days with dressing current".to_owned()
    };
    let mut marks = marked.over_months(&plot, &months.iter().map(|month| month.name).collect::<Vec<_>>());
    marks.extend(
        plot.axes(
            ("month", &month_ticks(months.iter().map(|month| month.name))),
            (&from, &round_ticks(low, 100.0, " %")),
        ),
    );
    marks.push(plot.across("center", center));
    marks.extend(steps(&plot, &months));
    for run in runs(&months, |month| month.value) {
        marks.push(path(
            "join",
            &run.iter().map(|(n, value)| plot.at(*n as f64 + 0.5, *value)).collect::<Vec<PicturePoint>>(),
        ));
    }
    marks.extend(points(&plot, &months));
    let mut notes = vec![Note::of(center, "center", format!("center {center:.1}"))];
    notes.extend(limit_notes(&months, |limit| Some(format!("limit {limit:.1}"))));
    marks.extend(plot.notes(notes));
    let widened = chart
        .of_kind
        .design_effect
        .map_or(String::new(), |effect| format!(", widened by the design effect of {effect:.2}"));
    let begins = if low > 0.0 { format!(" The axis starts at {low:.0} %, not at 0.") } else { String::new() };
    Ok(Drawing {
        name: "days-in-date",
        title: "Days with dressing current per month".to_owned(),
        about: format!("{} Over all these months: {center:.1} %.{begins}", about(&months)),
        legend: format!(
            "The proportion of covered exit-site-days that ended with no change past due. The dashed steps are three standard errors around the mean of all these months{widened}, for months with at least 10 patients; a diamond, low or high, is outside the limits. {}{begins}{}",
            marked.legend(),
            last_of(months.len(), chart.points.len())
        ),
        rows: 0,
        marks,
    })
}

/// Splits the months into runs with known values.
fn runs(months: &[ChartedMonth], value: impl Fn(&ChartedMonth) -> Option<f64>) -> Vec<Vec<(usize, f64)>> {
    let mut runs: Vec<Vec<(usize, f64)>> = vec![Vec::new()];
    for (n, month) in months.iter().enumerate() {
        match (value(month), runs.last_mut()) {
            (Some(value), Some(run)) => run.push((n, value)),
            _ => runs.push(Vec::new()),
        }
    }
    runs.into_iter().filter(|run| !run.is_empty()).collect()
}

/// Draws the limits, one step per month.
fn steps(plot: &Plot, months: &[ChartedMonth]) -> Vec<Markup> {
    let step = |run: Vec<(usize, f64)>| {
        let places: Vec<PicturePoint> =
            run.iter().flat_map(|(n, value)| [plot.at(*n as f64, *value), plot.at(*n as f64 + 1.0, *value)]).collect();
        path("limit", &places)
    };
    let highs = runs(months, |month| month.high.filter(|high| !plot.is_above(*high)));
    let lows = runs(months, |month| month.low);
    highs.into_iter().chain(lows).map(step).collect()
}

/// Draws the points, labeling those outside the limits.
fn points(plot: &Plot, months: &[ChartedMonth]) -> Vec<Markup> {
    let (mut marks, mut said) = (Vec::new(), PointLabels::default());
    for (n, month) in months.iter().enumerate() {
        let Some(value) = month.value else { continue };
        let at = plot.at(n as f64 + 0.5, value);
        let shape = match month.is_beyond {
            _ if plot.is_above(value) => PointShape::Above,
            true => PointShape::Beyond,
            false => PointShape::Plain,
        };
        marks.push(point(shape, at, &month.words()));
        if month.is_beyond {
            marks.extend(said.say(if month.is_low() { "low" } else { "high" }, at, month.is_low()));
        }
    }
    marks
}

/// Labels the limits of the last month.
fn limit_notes(months: &[ChartedMonth], said: impl Fn(f64) -> Option<String>) -> Vec<Note> {
    let last = months.iter().rev().find(|month| month.low.or(month.high).is_some());
    let limits = last.map(|month| [month.high, month.low]).unwrap_or_default();
    limits.into_iter().flatten().filter_map(|limit| Some(Note::of(limit, "limit", said(limit)?))).collect()
}

fn about(months: &[ChartedMonth]) -> String {
    let beyond: Vec<String> = months.iter().filter(|month| month.is_beyond).map(ChartedMonth::words).collect();
    let ends = months.first().zip(months.last());
    let (first, last) = ends.map(|(first, last)| (first.name.to_string(), last.words())).unwrap_or_default();
    format!(
        "{} from {first}; the last, {last}. Outside the limits: {}.",
        count(months.len() as i64, "month"),
        named(&beyond)
    )
}

fn last_of(shown: usize, all: usize) -> String {
    if all > shown { format!(" The last {shown} of {all} months.") } else { String::new() }
}
