//! The mean cumulative count by days since implant: all infections per 100 patients.

use super::curves::{Step, at_risk, band, days, stepped};
use super::plot::{Drawing, NEAR, Note, Plot, round_ticks, thousands};
use crate::report::audit::Recurrent;
use crate::surveillance::mean_count::MeanCountStep;
use crate::text::count;
use crate::view::svg::path;

/// Draws the picture, or returns the reason why there is none.
pub(super) fn mean_count(recurrent: &Recurrent) -> Result<Drawing, String> {
    let few = || "Too few patients at risk for a mean count.".to_owned();
    let shown = recurrent.shown.as_ref().filter(|shown| shown.to > shown.from).ok_or_else(few)?;
    let inside = (shown.from, shown.to);
    let step = |step: &MeanCountStep| (step.day, step.value, step.low.zip(step.high));
    let steps: Vec<Step> = shown.mean_count.iter().map(step).collect();
    let last = steps.last().map_or(0.0, |step| step.1 * 100.0);
    let top = steps.iter().filter_map(|step| step.2).map(|limits| limits.1 * 100.0).fold(last.max(1.0), f64::max) * 1.1;
    let plot = Plot::between((shown.from as f64, shown.to as f64), (0.0, top));
    let ticks = days(shown.from, shown.to);
    let mut marks =
        plot.axes(("days since implant", &ticks), ("infections per 100 patients", &round_ticks(0.0, top, "")));
    marks.extend(band("band", &plot, inside, 0.0, &steps));
    marks.push(path("one", &stepped(&plot, inside, 0.0, steps.iter().map(|step| (step.0, step.1)))));
    marks.extend(plot.notes(vec![Note::of(last, NEAR, format!("{last:.0} per 100"))]));
    marks.extend(plot.row(0, "at risk", &at_risk(&recurrent.at_risk, &ticks)));
    let limits = steps.last().and_then(|step| step.2);
    let limits =
        limits.map_or(String::new(), |(low, high)| format!(" (95 % {:.0} to {:.0})", low * 100.0, high * 100.0));
    Ok(Drawing {
        name: "mean-count",
        title: "Mean cumulative count of infections".to_owned(),
        about: format!(
            "A curve from day {} to day {} since implant, {} in total. By the last day, {last:.0} infections per 100 patients{limits}.",
            thousands(shown.from as f64),
            thousands(shown.to as f64),
            count(recurrent.patients as i64, "patient")
        ),
        legend: "All infections per 100 patients, including repeats; death, transplant and recovery end the count. The gray band joins the 95 % limits of each day, which allow for repeat infections in one patient; it is not a band for the whole curve. The last row is the number at risk.".to_owned(),
        rows: 1,
        marks,
    })
}
