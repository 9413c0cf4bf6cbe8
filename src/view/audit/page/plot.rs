//! The plot of the audit's pictures: axes, line labels, marks, caption and description.
//! Each picture fits a column of the page and a phone screen, so all have the same width.

use chrono::{Datelike, NaiveDate};
use maud::{Markup, html};

use crate::audit::Month;
use crate::day::Period;
use crate::report::audit::Intervened;
use crate::text::visible;
use crate::view::svg::{self, PicturePoint, Scale, area, circle, line, text, titled};

/// The picture's width and the bounds of its plot, in picture units. The line labels are to the right of the plot.
const WIDTH: f64 = 380.0;
const LEFT: f64 = 38.0;
const RIGHT: f64 = 288.0;
const TOP: f64 = 20.0;
pub(super) const BOTTOM: f64 = 152.0;
/// The height of a picture without rows below its axis.
const HEIGHT: f64 = 184.0;
/// The height of a row of text, and the approximate width of a letter.
pub(super) const ROW: f64 = 11.0;
const LETTER: f64 = 5.4;

/// The radius of a dot.
pub(super) const DOT: f64 = 2.2;

/// The class of a note that labels the last point instead of a line.
pub(super) const NEAR: &str = "near";

/// A picture with its words.
pub(super) struct Drawing {
    /// The id that links the picture to its description in the page.
    pub(super) name: &'static str,
    /// The caption.
    pub(super) title: String,
    /// The description for a screen reader.
    pub(super) about: String,
    /// The explanation of the marks.
    pub(super) legend: String,
    /// Rows of text below the axis.
    pub(super) rows: usize,
    /// The marks, from back to front.
    pub(super) marks: Vec<Markup>,
}

impl Drawing {
    /// Renders the picture with its caption.
    pub(super) fn figure(&self) -> Markup {
        let size = (WIDTH, HEIGHT + self.rows as f64 * ROW);
        html! {
            figure id=(self.name) {
                (svg::picture(self.name, &self.title, &self.about, size, &self.marks))
                figcaption { b { (self.title) "." } " " (self.legend) }
            }
        }
    }
}

/// A plot: maps values to picture coordinates.
#[derive(Debug, Clone, Copy)]
pub(super) struct Plot {
    x: Scale,
    y: Scale,
}

impl Plot {
    /// Creates a plot from 0 to `along` horizontally, over `heights` vertically.
    pub(super) fn of(along: f64, heights: (f64, f64)) -> Plot {
        Plot::between((0.0, along), heights)
    }

    /// Creates a plot over the given horizontal and vertical ranges.
    pub(super) fn between(along: (f64, f64), heights: (f64, f64)) -> Plot {
        let x = Scale { values: along, places: (LEFT, RIGHT), power: 1.0 };
        Plot { x, y: Scale { values: heights, places: (BOTTOM, TOP), power: 1.0 } }
    }

    /// Applies a power scale to the heights, which spreads values near 0.
    pub(super) fn raised(self, power: f64) -> Plot {
        Plot { y: Scale { power, ..self.y }, ..self }
    }

    /// Returns the coordinates of a value.
    pub(super) fn at(&self, along: f64, value: f64) -> PicturePoint {
        (self.x.of(along), self.y.of(value))
    }

    /// Returns true if a value is above the plot.
    pub(super) fn is_above(&self, value: f64) -> bool {
        value > self.y.values.1
    }

    /// Draws both axes with their titles, units and ticks.
    pub(super) fn axes(&self, x: (&str, &[Tick]), y: (&str, &[Tick])) -> Vec<Markup> {
        let mut parts = vec![text("", (0.0, 9.0), y.0), text("end", (RIGHT, BOTTOM + 28.0), x.0)];
        for tick in y.1 {
            let place = self.y.of(tick.at);
            parts.push(line("rule", (LEFT, place), (RIGHT, place)));
            parts.push(text("end", (LEFT - 4.0, place + 3.0), &tick.said));
        }
        for tick in x.1 {
            let place = self.x.of(tick.at);
            parts.push(line("axis", (place, BOTTOM), (place, BOTTOM + 3.0)));
            parts.push(text("mid", (place, BOTTOM + 14.0), &tick.said));
        }
        parts.push(line("axis", (LEFT, BOTTOM), (RIGHT, BOTTOM)));
        parts
    }

    /// Shades the part of the plot between two horizontal values: the report's own period.
    fn period(&self, (from, to): (f64, f64)) -> Markup {
        let (left, right) = (self.x.of(from), self.x.of(to));
        area("period", &[(left, TOP), (right, TOP), (right, BOTTOM), (left, BOTTOM)])
    }

    /// Draws a vertical line at a horizontal value, with its number at the top.
    fn upright(&self, at: f64, number: &str) -> Markup {
        let x = self.x.of(at);
        html! { (line("upright", (x, TOP), (x, BOTTOM))) (text("mid", (x, TOP - 2.0), number)) }
    }

    /// Draws a horizontal line.
    pub(super) fn across(&self, class: &str, value: f64) -> Markup {
        line(class, (LEFT, self.y.of(value)), (RIGHT, self.y.of(value)))
    }

    /// Draws the line labels to the right of the plot, each at the height of its line or as close as space permits.
    pub(super) fn notes(&self, mut notes: Vec<Note>) -> Vec<Markup> {
        for note in &mut notes {
            note.at = self.y.of(note.at);
        }
        notes.sort_by(|a, b| a.at.total_cmp(&b.at));
        let mut last = TOP - ROW;
        for note in &mut notes {
            note.at = note.at.max(last + ROW);
            last = note.at;
        }
        let mut next = BOTTOM + ROW;
        for note in notes.iter_mut().rev() {
            note.at = note.at.min(next - ROW);
            next = note.at;
        }
        let mut parts = Vec::new();
        for note in &notes {
            let begins = if note.class == NEAR { RIGHT + 4.0 } else { RIGHT + 15.0 };
            if ![NEAR, ""].contains(&note.class.as_str()) {
                parts.push(line(&note.class, (RIGHT + 2.0, note.at), (RIGHT + 13.0, note.at)));
            }
            parts.push(text("", (begins, note.at + 3.0), &note.said));
        }
        parts
    }

    /// Draws a row of texts below the axis at their horizontal values, with the name of the row.
    pub(super) fn row(&self, n: usize, name: &str, cells: &[Tick]) -> Vec<Markup> {
        let y = BOTTOM + 28.0 + (n + 1) as f64 * ROW;
        let cell = |tick: &Tick| text("mid", (self.x.of(tick.at), y), &tick.said);
        [text("", (RIGHT + 15.0, y), name)].into_iter().chain(cells.iter().map(cell)).collect()
    }
}

/// A tick: a value on an axis, and its label.
#[derive(Debug, Clone)]
pub(super) struct Tick {
    pub(super) at: f64,
    pub(super) said: String,
}

/// A line label: its height, the class of the sample line (empty for none), and its text.
#[derive(Debug, Clone)]
pub(super) struct Note {
    pub(super) at: f64,
    pub(super) class: String,
    pub(super) said: String,
}

impl Note {
    pub(super) fn of(at: f64, class: &str, said: impl Into<String>) -> Note {
        Note { at, class: class.to_owned(), said: said.into() }
    }
}

/// Returns a few round values from `low` to `high`, labeled with the necessary decimals.
pub(super) fn round_ticks(low: f64, high: f64, unit: &str) -> Vec<Tick> {
    let rough = (high - low).max(1e-6) / 5.0;
    let ten = 10f64.powf(rough.log10().floor());
    let step = [1.0, 2.0, 5.0, 10.0].map(|n| n * ten).into_iter().find(|step| *step >= rough).unwrap_or(rough);
    let decimals = if step >= 1.0 { 0 } else { (-step.log10()).ceil() as usize };
    let first = (low / step).ceil() as i64;
    let values = (first..first + 12).map(|n| n as f64 * step).take_while(|value| *value <= high + step * 1e-6);
    values.map(|at| Tick { at, said: format!("{at:.decimals$}{unit}") }).collect()
}

/// Returns at most six month ticks, a round number of months apart.
pub(super) fn month_ticks(months: impl Iterator<Item = Month>) -> Vec<Tick> {
    let months: Vec<Month> = months.collect();
    let apart = [1, 2, 3, 6, 12, 24, 36, 60, 120].into_iter().find(|apart| months.len() <= apart * 6).unwrap_or(240);
    let named = months.iter().enumerate().filter(|(_, month)| month.number() % apart as i64 == 0);
    named.map(|(n, month)| Tick { at: n as f64 + 0.5, said: month.to_string() }).collect()
}

/// The place of a day on an axis of days.
pub(super) fn day_number(day: NaiveDate) -> f64 {
    f64::from(day.num_days_from_ce())
}

/// The marks on every chart over time: the report's own period, and the program's interventions.
#[derive(Debug, Clone, Copy)]
pub(super) struct Marked<'a> {
    pub(super) period: Period,
    /// The last day counted.
    pub(super) through: NaiveDate,
    pub(super) interventions: &'a [Intervened],
}

impl Marked<'_> {
    /// Draws the marks on an axis with one unit per month.
    pub(super) fn over_months(&self, plot: &Plot, months: &[Month]) -> Vec<Markup> {
        let is_inside = |month: &Month| *month >= Month::of(self.period.from) && *month <= Month::of(self.period.to);
        let part_of_month = |day: NaiveDate| {
            let days = Month::of(day).days();
            let n = months.iter().position(|month| *month == Month::of(day))?;
            let length = (days.to - days.from).num_days() as f64 + 1.0;
            Some(n as f64 + (day - days.from).num_days() as f64 / length)
        };
        self.marks(plot, months, is_inside, part_of_month)
    }

    /// Draws the marks on an axis of days, from a first to a last day.
    pub(super) fn over_days(&self, plot: &Plot, drawn: Period) -> Vec<Markup> {
        let (from, to) = (self.period.from.max(drawn.from), self.period.to.min(drawn.to));
        let period = (from <= to).then(|| plot.period((day_number(from), day_number(to) + 1.0)));
        let place = |day: NaiveDate| drawn.contains(day).then(|| day_number(day));
        period.into_iter().chain(self.uprights(plot, place)).collect()
    }

    fn marks<T>(
        &self,
        plot: &Plot,
        all: &[T],
        is_inside: impl Fn(&T) -> bool,
        place: impl Fn(NaiveDate) -> Option<f64>,
    ) -> Vec<Markup> {
        let inside = all.iter().position(&is_inside).zip(all.iter().rposition(&is_inside));
        let period = inside.map(|(first, last)| plot.period((first as f64, last as f64 + 1.0)));
        period.into_iter().chain(self.uprights(plot, place)).collect()
    }

    /// Draws a numbered line for each intervention with a place.
    fn uprights(&self, plot: &Plot, place: impl Fn(NaiveDate) -> Option<f64>) -> Vec<Markup> {
        let upright = |(n, one): (usize, &Intervened)| {
            let (on, what) = (one.intervention.on, visible(&one.intervention.what));
            Some(titled(&format!("{on}: {what}"), plot.upright(place(on)?, &(n + 1).to_string())))
        };
        self.interventions.iter().enumerate().filter_map(upright).collect()
    }

    /// Returns the explanation of the marks.
    pub(super) fn legend(&self) -> String {
        let each = self.interventions.iter().enumerate();
        let each =
            each.map(|(n, one)| format!("{} {} {}", n + 1, one.intervention.on, visible(&one.intervention.what)));
        let each: Vec<String> = each.collect();
        match each.is_empty() {
            true => "The period of the report is shaded.".to_owned(),
            false => format!(
                "The period of the report is shaded. A numbered vertical line is a change by the program: {}.",
                each.join(", ")
            ),
        }
    }
}

/// Formats a number with thousands separators.
pub(super) fn thousands(number: f64) -> String {
    crate::text::thousands(number.round_ties_even() as i64)
}

/// Lists the last few names and the number of the others, or "none".
pub(super) fn named(names: &[String]) -> String {
    match names {
        [] => "none".to_owned(),
        names if names.len() > 8 => {
            let last = &names[names.len() - 8..];
            format!("{}, and {} earlier", last.join(", "), names.len() - 8)
        }
        names => names.join(", "),
    }
}

/// Labels of points; a label that would overlap the previous one is omitted.
#[derive(Debug, Default)]
pub(super) struct PointLabels {
    last: Option<PicturePoint>,
}

impl PointLabels {
    /// Draws a label above or below a point, if there is room.
    pub(super) fn say(&mut self, word: &str, (x, y): PicturePoint, is_below: bool) -> Option<Markup> {
        let half = word.len() as f64 * LETTER / 2.0;
        let at = (x.max(LEFT + half), if is_below { y + 14.0 } else { y - 8.0 });
        if self.last.is_some_and(|last| (at.0 - last.0).abs() < 2.0 * half && (at.1 - last.1).abs() < ROW) {
            return None;
        }
        self.last = Some(at);
        Some(text("mid halo", at, word))
    }
}

/// The shape of a point.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum PointShape {
    /// A dot.
    Plain,
    /// An upright tick: a dot would touch its neighbor.
    Tick,
    /// A diamond, larger.
    Beyond,
    /// An open square.
    Answered,
    /// A ring.
    Open,
    /// A triangle at the top: the value is above the plot.
    Above,
}

/// Draws a point with its description.
pub(super) fn point(shape: PointShape, (x, y): PicturePoint, about: &str) -> Markup {
    let around = |far: f64| [(x, y - far), (x + far, y), (x, y + far), (x - far, y)];
    let mark = match shape {
        PointShape::Plain => circle("dot", (x, y), DOT),
        PointShape::Tick => line("tick", (x, y - 3.5), (x, y + 3.5)),
        PointShape::Beyond => area("beyond", &around(5.0)),
        PointShape::Answered => {
            area("answered", &[(x - 4.0, y - 4.0), (x + 4.0, y - 4.0), (x + 4.0, y + 4.0), (x - 4.0, y + 4.0)])
        }
        PointShape::Open => circle("ring", (x, y), 3.6),
        PointShape::Above => area("beyond", &[(x, y - 2.0), (x + 4.0, y + 6.0), (x - 4.0, y + 6.0)]),
    };
    titled(about, mark)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ticks_are_few_and_round() {
        let check = |low, high, unit: &str, expected: &[&str]| {
            let said: Vec<String> = round_ticks(low, high, unit).into_iter().map(|tick| tick.said).collect();
            assert_eq!(said, expected);
        };
        check(0.0, 1.13, "", &["0.0", "0.5", "1.0"]);
        check(0.0, 0.049, "", &["0.00", "0.01", "0.02", "0.03", "0.04"]);
        check(70.0, 100.0, " %", &["70 %", "80 %", "90 %", "100 %"]);
        check(0.0, 4.27, "", &["0", "1", "2", "3", "4"]);
    }

    #[test]
    fn months_are_named_where_the_year_is_divided_evenly() {
        let check = |months: &[&str], expected: &[&str]| {
            let said: Vec<String> = month_ticks(months.iter().filter_map(|month| Month::read(month)))
                .into_iter()
                .map(|tick| tick.said)
                .collect();
            assert_eq!(said, expected);
        };
        check(&["2026-09", "2026-10"], &["2026-09", "2026-10"]);
        let year: Vec<String> =
            (11..=12).map(|n| format!("2025-{n}")).chain((1..=12).map(|n| format!("2026-{n:02}"))).collect();
        check(&year.iter().map(String::as_str).collect::<Vec<_>>(), &["2026-01", "2026-04", "2026-07", "2026-10"]);
    }

    #[test]
    fn names_of_lines_do_not_lie_on_each_other_nor_below_the_plot() {
        let plot = Plot::of(10.0, (0.0, 1.0));
        let notes = (0..4).map(|n| Note::of(f64::from(n) * 0.001, NEAR, n.to_string())).collect();
        let shown: [Markup; 4] = plot.notes(notes).try_into().unwrap();
        let expected = [3, 2, 1, 0].map(|n| text("", (RIGHT + 4.0, BOTTOM - f64::from(n) * ROW + 3.0), &n.to_string()));
        assert_eq!(shown.map(Markup::into_string), expected.map(Markup::into_string));
    }

    #[test]
    fn a_value_that_is_none_has_a_place_all_the_same() {
        let check = |values, value| assert!(Plot::of(0.0, values).raised(0.3).at(value, value).1.is_finite());
        check((0.0, 0.0), 1.0);
        check((0.0, 1.0), f64::NAN);
        check((0.0, 1.0), f64::INFINITY);
        assert_eq!([0.4, 999.6, 2140.0, -1234567.0].map(thousands), ["0", "1,000", "2,140", "-1,234,567"]);
    }
}
