//! SVG drawing for all pictures: scales, lines, areas, texts and marks, to one decimal.
//! Color is never the only cue: a shape, a dashed line or a word conveys the same. Left out on purpose: scripts, links, and
//! inline styles; the page provides the style.

use maud::{Markup, Render, html};

/// A point in a picture: x to the right, y down.
pub(super) type PicturePoint = (f64, f64);

/// Renders a picture with a title, and a description for screen readers; `name` is unique in its page.
pub(super) fn picture(name: &str, title: &str, about: &str, (width, height): (f64, f64), marks: &[Markup]) -> Markup {
    html! {
        svg xmlns="http://www.w3.org/2000/svg" viewBox={ "0 0 " (whole(width)) " " (whole(height)) } role="img"
            aria-labelledby={ (name) "-title " (name) "-about" }
        {
            title id={ (name) "-title" } { (title) }
            desc id={ (name) "-about" } { (about) }
            @for mark in marks { (mark) "\n" }
        }
    }
}

/// Renders marks with a tooltip title.
pub(super) fn titled(title: &str, marks: impl Render) -> Markup {
    html! { g { title { (title) } (marks) } }
}

pub(super) fn text(class: &str, (x, y): PicturePoint, said: &str) -> Markup {
    html! { text x=(tenth(x)) y=(tenth(y)) class=[is_class(class)] { (said) } }
}

pub(super) fn line(class: &str, from: PicturePoint, to: PicturePoint) -> Markup {
    html! { line class=(class) x1=(tenth(from.0)) y1=(tenth(from.1)) x2=(tenth(to.0)) y2=(tenth(to.1)) {} }
}

/// Draws a line through points.
pub(super) fn path(class: &str, places: &[PicturePoint]) -> Markup {
    html! { polyline class=(class) points=(points(places)) {} }
}

/// Draws a polygon.
pub(super) fn area(class: &str, places: &[PicturePoint]) -> Markup {
    html! { polygon class=(class) points=(points(places)) {} }
}

pub(super) fn circle(class: &str, (x, y): PicturePoint, radius: f64) -> Markup {
    html! { circle class=(class) cx=(tenth(x)) cy=(tenth(y)) r=(tenth(radius)) {} }
}

/// Draws a rectangle with rounded corners, from its upper left corner.
pub(super) fn rect(class: &str, (x, y): PicturePoint, (width, height): (f64, f64)) -> Markup {
    html! {
        rect class=(class) x=(tenth(x)) y=(tenth(y)) width=(tenth(width.max(0.0))) height=(tenth(height)) rx="2" {}
    }
}

/// A scale: maps values to coordinates along one axis.
#[derive(Debug, Clone, Copy)]
pub(super) struct Scale {
    pub(super) values: (f64, f64),
    pub(super) places: (f64, f64),
    /// The exponent of the scale; below 1 it spreads values near the first one.
    pub(super) power: f64,
}

impl Scale {
    /// Returns the coordinate of a value, clamped to the scale.
    pub(super) fn of(&self, value: f64) -> f64 {
        let (low, high) = self.values;
        let part = if value.is_finite() && high > low { ((value - low) / (high - low)).clamp(0.0, 1.0) } else { 0.0 };
        self.places.0 + part.powf(self.power) * (self.places.1 - self.places.0)
    }
}

fn is_class(class: &str) -> Option<&str> {
    (!class.is_empty()).then_some(class)
}

fn points(places: &[PicturePoint]) -> String {
    places.iter().map(|(x, y)| format!("{x:.1},{y:.1}")).collect::<Vec<_>>().join(" ")
}

fn tenth(value: f64) -> String {
    format!("{value:.1}")
}

fn whole(value: f64) -> String {
    format!("{value:.0}")
}
